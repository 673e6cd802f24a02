"""Studies of the dancer: springs, cycle, tuning, recorded traces."""
