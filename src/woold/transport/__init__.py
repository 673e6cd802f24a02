"""Does the wrapped load stand its way."""
