"""Trials: planning them, writing them down, and comparing the two treatments."""
