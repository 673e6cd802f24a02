"""Many trials into one honest claim."""
