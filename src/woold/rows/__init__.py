"""How a result is told: rows and blocks of text, made once, shown on every surface."""
