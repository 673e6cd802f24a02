"""Does the load hold what is asked of it, by how much, and what limits it."""
