"""A share as per cent in a trial's sentences, as reports write it: with a space before the sign."""

from __future__ import annotations

__all__ = ["percent"]


def percent(share: float, decimals: int = 1) -> str:
    """A share as per cent.

    Args:
        share: as a fraction.
        decimals: behind the point.
    """
    return f"{100.0 * share:.{decimals}f} %"
