"""What the records of trials teach: inputs that nobody measured, sharpened by every test wrap."""
