"""The shelf in a store: things kept with all their versions, and what has changed since."""
