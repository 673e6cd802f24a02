"""The line: every carriage, machine, film and load of a plant as one question."""
