"""Service factors of drives that couple two rollers: what selection rules multiply the load by."""

from __future__ import annotations

from typing import Final

from woold.words import to_say

__all__ = ["SERVICE_FACTORS", "ServiceFactor"]

ServiceFactor = tuple[float, float, str]
"""Least and largest factor [-], and where they are from."""

SERVICE_FACTORS: Final[dict[str, ServiceFactor]] = {
    "chain": (
        1.0,
        1.4,
        to_say(
            "ISO 10823, application factor of a chain drive with an electric motor, smooth running"
            " to moderate shocks; from memory"
        ),
    ),
    "belt": (
        1.4,
        1.8,
        to_say("toothed belts with an electric motor, 8 to 16 h a day; common practice, no source"),
    ),
}
"""By what couples the rollers. Gears and two motors have none here: their makers state it."""
