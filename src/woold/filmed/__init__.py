"""The dancer filmed with a phone: a film of printed tags, or of picked points, becomes a trace."""
