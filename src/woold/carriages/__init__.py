"""Studies of film carriages: one, two side by side, a shelf of films for one."""
