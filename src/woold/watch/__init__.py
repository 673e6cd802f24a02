"""Watching that a saving stays: cycle records, charts, change points, film and money kept."""
