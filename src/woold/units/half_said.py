"""Quantities of which a part is left to be guessed: 4 ft 11, 1:30, 3.6:1. What to write instead."""

from __future__ import annotations

import re

from woold.units.factors import FACTORS
from woold.units.kinds import KINDS
from woold.units.numbers import Number, leading_number, plain_text
from woold.units.spellings import SMALLER, length_mark, usual_spelling
from woold.words import say

__all__ = ["elongation_meant", "half_said"]

_RATIO = re.compile(
    r"([0-9]+(?:[.,][0-9]+)?)\s*(?::\s*1|[x×]|times|fold|-fold|ratio)"
    r"|1\s*:\s*([0-9]+(?:[.,][0-9]+)?)|[x×]\s*([0-9]+(?:[.,][0-9]+)?)",
    re.IGNORECASE,
)
"""How many times as long: 3.6:1, 3.6x."""
_CLOCK = re.compile(r"[0-9]{1,3}:[0-5][0-9](?::[0-5][0-9])?")
_UNFINISHED = re.compile(r"([A-Za-z]+\.?|['])\s*([0-9]{1,3}(?:[.,][0-9]+)?)\s*(m?)")
"""4 ft 11 without what the 11 are."""
_MOST_BARE_RATIO = 10.0
"""A bare number below this may be a stretch ratio, a share or per cent."""


def half_said(text: str, number: Number, unit_text: str, kind_name: str) -> str:
    """What to write where part of a quantity is left to be guessed; "" where none is.

    Args:
        text: all of it.
        number, unit_text: its first number, and what stands behind that.
        kind_name: key of `woold.units.KINDS`.
    """
    if KINDS[kind_name].is_elongation and (found := _RATIO.fullmatch(text)):
        ratio = float((found[1] or found[2] or found[3]).replace(",", "."))
        return _ratio_in_percent(ratio)
    if kind_name in ("time", "hours") and _CLOCK.fullmatch(text):
        first, second = text.split(":")[:2]
        return say(
            'Write it with units: "{long}" or "{short}".',
            long=f"{int(first)} h {int(second)} min", short=f"{int(first)} min {int(second)} s",
        )  # fmt: skip
    if (found := _UNFINISHED.fullmatch(unit_text)) is None:
        return ""
    larger = length_mark(found[1]) or usual_spelling(found[1], kind_name)
    if larger not in SMALLER or (found[3] and larger != "h"):
        return ""
    wanted = FACTORS.get(KINDS[kind_name].unit)
    if wanted is None or wanted.dimension != FACTORS[larger].dimension:
        return ""
    whole = f"{number.value:g} {larger} {found[2]} {SMALLER[larger][0]}"
    return say('Write the smaller unit too: "{whole}", if that is meant.', whole=whole)


def _ratio_in_percent(ratio: float) -> str:
    """How a stretch ratio is written: three times as long is 200 %."""
    return say(
        'Write per cent: "{percent} %" if the film gets {ratio} times as long.',
        percent=f"{100.0 * (ratio - 1.0):.6g}", ratio=f"{ratio:.6g}",
    )  # fmt: skip


def elongation_meant(given: object) -> str:
    """What to write for a small bare number, which may be a ratio; "" for a large one.

    Args:
        given: the number, as it was typed.
    """
    found = leading_number(plain_text(str(given)))
    if found is None or not 0.0 < found[0].value < _MOST_BARE_RATIO:
        return ""
    number = found[0].value
    ratio = _ratio_in_percent(number) if number >= 1.0 else ""
    share = say('Write "{percent} %" if it gets longer by {number} of its length.',
                percent=f"{100.0 * number:.6g}", number=f"{number:.6g}")  # fmt: skip
    return f"{ratio} {share}".strip()
