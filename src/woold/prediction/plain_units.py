"""What the plain numbers of a case count: turns, teeth, shares of gravity, or nothing at all."""

from __future__ import annotations

import re

from woold.units import KINDS
from woold.words import say, to_say

__all__ = ["with_unit"]

_TURNS = to_say("turns")

_COUNTED = {
    "tiers": to_say("tiers"),
    "teeth": to_say("teeth"),
    "film_lines": to_say("lines of film"),
    "spring": to_say("number of the spring"),
    "wraps": _TURNS,
    "bottom_wraps": _TURNS,
    "top_wraps": _TURNS,
    "closing_wraps": _TURNS,
    "first_turn": _TURNS,
    "last_turn": _TURNS,
    "bottom_wraps_least": _TURNS,
    "bottom_wraps_most": _TURNS,
    "top_wraps_least": _TURNS,
    "top_wraps_most": _TURNS,
    "bands_most": to_say("bands"),
    "loads_per_shift": to_say("loads in a shift"),
    "shifts_per_year": to_say("shifts in a year"),
    "breaks_per_1000_loads": to_say("breaks in 1000 loads"),
    "emission_factor": to_say("kg CO2e per kg of film"),
    "acceleration": to_say("times gravity"),
    "neck_down_error": to_say("standard uncertainties"),
}
"""By the last part of a field's name; every other plain number is a ratio."""


def with_unit(text: str, field: str, kind: str) -> str:
    """A value's text with what it counts, where its kind has no unit: "36 [teeth]", "0.6 [-]".

    Args:
        text: the value, or its range, with the unit of its kind.
        field: dotted name.
        kind: key of `woold.units.KINDS`, or another.
    """
    if kind in KINDS and KINDS[kind].metric:
        return text
    name = re.sub(r"\[\d+\]", "", field).rpartition(".")[2]
    return f"{text} [{say(_COUNTED[name]) if name in _COUNTED else '-'}]"
