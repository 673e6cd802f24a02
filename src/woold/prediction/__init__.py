"""A case goes through the physics, once; a prediction comes out."""
