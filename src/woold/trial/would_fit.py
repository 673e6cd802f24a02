"""What would fit in place of a reading that is off: another unit, a slipped point, other digits."""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Callable, Sequence

from woold.errors import WooldError
from woold.trial.alike import Usual
from woold.units import parse_quantity

__all__ = ["unit_factor", "would_fit"]

_SLIPS = (1, -1, 2, -2, 3, -3)
_ALIKE = 0.02
"""Readings this near to one another (ln) say the same in two ways."""


@functools.lru_cache(maxsize=512)
def unit_factor(unit: str, kind: str) -> float | None:
    """SI value of one of a unit; None where it is none of that kind, and 1 where there is none."""
    if not unit:
        return 1.0
    try:
        return parse_quantity(f"1 {unit}", kind, "unit")
    except WooldError:
        return None


def would_fit(
    si: float,
    unit: str,
    of_kind: tuple[str, Sequence[str]],
    usual: Usual,
    as_held: Callable[[float], float] = lambda si: si,
) -> tuple[str, ...]:
    """What would fit, as text with its unit; the nearest first, two where they are the same.

    Args:
        si: SI value of what was typed.
        unit: it was typed in; "" for plain numbers.
        of_kind: kind of quantity, and units on offer for it.
        usual: what is usual.
        as_held: what is held against the usual, of an SI value (such as net of gross mass).
    """
    kind, units = of_kind
    factor = unit_factor(unit, kind)
    if not factor:
        return ()
    number = si / factor
    found: list[tuple[float, str]] = []

    def offer(text: str, value: float) -> None:
        held = as_held(value)
        if held > 0.0 and usual.holds(held):
            found.append((abs(math.log(held / usual.middle)), text))

    for other in units:
        of_other = unit_factor(other, kind)
        if of_other and not math.isclose(of_other, factor):
            offer(f"{_plain(number)} {other}", number * of_other)
    for power in _SLIPS:
        offer(f"{_plain(number * 10.0**power)} {unit}".strip(), si * 10.0**power)
    if not found:
        for text in _other_digits(_plain(number)):
            offer(f"{text} {unit}".strip(), float(text) * factor)
    found.sort()
    return tuple(text for off, text in found[:2] if off <= found[0][0] + _ALIKE)


def _plain(number: float) -> str:
    return f"{number:.10g}"


def _other_digits(text: str) -> list[str]:
    """The number with two neighbouring digits in the other order."""
    if not re.fullmatch(r"\d+(\.\d+)?", text):
        return []
    places = [at for at, letter in enumerate(text) if letter.isdigit()]
    found = []
    for one, other in itertools.pairwise(places):
        if text[one] != text[other]:
            letters = list(text)
            letters[one], letters[other] = letters[other], letters[one]
            found.append("".join(letters))
    return found
