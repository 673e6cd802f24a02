"""The case: what the user states, checked, with where each number came from."""
