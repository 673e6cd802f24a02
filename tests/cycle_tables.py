"""Cycle records as a machine writes them, of known mean, spread and jump."""

from __future__ import annotations

import datetime

import numpy as np

__all__ = ["cycles"]


def cycles(loads: int, jump: float, machine: str = "line 1") -> str:
    """Records of a machine, fifty loads a day.

    Args:
        loads: how many.
        jump: of the mean film from half of them on [g]; it is 180 g before, its sigma 4 g.
        machine: its name.
    """
    rng = np.random.default_rng(5)
    lines = ["time,machine,film_mass_g"]
    for n in range(loads):
        mass = 180.0 + 4.0 * rng.standard_normal() + (jump if n >= loads // 2 else 0.0)
        minutes = datetime.timedelta(days=n // 50, minutes=10 * (n % 50))
        time = datetime.datetime(2026, 3, 2, 6) + minutes
        lines.append(f"{time.isoformat()},{machine},{mass:.2f}")
    return "\n".join(lines) + "\n"
