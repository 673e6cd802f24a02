"""What a sampling rate can show: a swing faster than half of it looks like a slower one."""

from __future__ import annotations

import numpy as np

__all__ = ["FASTEST_BOUNCE", "LEAST_RATE", "alias_readings", "highest_shown"]

FASTEST_BOUNCE = 20.0
"""Above it no dancer's arm bounces on its film [Hz]. Common practice, no source."""

LEAST_RATE = 25.0
"""Samples a second below which a ringing, an oscillation and their aliases look alike [Hz]."""


def highest_shown(rate: float) -> float:
    """Highest frequency that a rate can show, half of it [Hz].

    Args:
        rate: samples a second [Hz].
    """
    return rate / 2


def alias_readings(frequency: float, rate: float) -> tuple[float, ...]:
    """Faster swings that would look the same, up to the fastest bounce.

    |k f_s ± f|, k = 1, 2, ...

    Args:
        frequency: as seen, below half of the rate [Hz].
        rate: samples a second f_s [Hz].

    Returns:
        Frequencies, growing [Hz]; none where the rate leaves no doubt.
    """
    whole = rate * np.arange(1, int(FASTEST_BOUNCE / rate) + 2)
    mirrored = np.sort(np.concatenate([whole - frequency, whole + frequency]))
    return tuple(float(each) for each in mirrored if each <= FASTEST_BOUNCE)
