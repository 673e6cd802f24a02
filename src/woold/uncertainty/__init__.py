"""What inputs that are not known exactly change."""
