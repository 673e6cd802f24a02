"""What another carriage may save a customer, from five facts."""
