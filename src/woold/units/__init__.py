"""Quantities at the edge: text with a unit in, SI floats inside, trade and SI text out.

Every number with a dimension enters as text with its unit ("63 gauge", "20 in", "45 N", "260 %")
and is read here once; nothing below this module knows a unit other than SI's.
"""

from __future__ import annotations

import math
from typing import Literal

from woold.units.kinds import KINDS, Kind
from woold.units.money import DOLLAR_LIKE, Money, parse_money
from woold.units.reading import ANGLE, parse_quantity, read_by_pint, unit_of, unit_typed
from woold.units.spellings import AMBIGUOUS
from woold.words import say

__all__ = [
    "AMBIGUOUS",
    "ANGLE",
    "DOLLAR_LIKE",
    "KINDS",
    "Kind",
    "Money",
    "UnitSystem",
    "from_si",
    "parse_money",
    "parse_quantity",
    "read_by_pint",
    "show",
    "show_range",
    "significant",
    "unit_symbol",
    "unit_typed",
]

UnitSystem = Literal["trade", "si", "both"]

_SYMBOLS = {
    "percent": "%",
    "um": "µm",
    "deg": "°",
    "degC": "°C",
    "degF": "°F",
    "m^2": "m²",
    "mm^2": "mm²",
    "in^2": "in²",
    "kg/m^3": "kg/m³",
    "lb/ft^3": "lb/ft³",
    "m/s^2": "m/s²",
    "ft/s^2": "ft/s²",
    "kg*m^2": "kg·m²",
    "lb*ft^2": "lb·ft²",
    "N*m*s": "N·m·s",
    "N*m": "N·m",
    "N*m/rad": "N·m/rad",
    "lbf*ft": "lbf·ft",
}


def show(value: float, kind_name: str, system: UnitSystem = "both", digits: int = 3) -> str:
    """Text of an SI value in the units of ``system``: ``"508 mm (20 in)"``.

    Args:
        value: SI value; for an elongation the stretch ratio.
        kind_name: key of :data:`KINDS`.
        system: ``"si"`` metric, ``"trade"`` the trade's units, ``"both"`` metric (trade).
        digits: significant digits; whole parts are never cut.
    """
    kind = KINDS[kind_name]
    metric = _in_unit(value, kind_name, kind.metric, digits)
    if kind.trade == kind.metric:
        return metric
    trade = _in_unit(value, kind_name, kind.trade, digits)
    return {"si": metric, "trade": trade, "both": f"{metric} ({trade})"}[system]


def show_range(low: float, high: float, kind_name: str, system: UnitSystem = "both") -> str:
    """Text of a range of SI values, the unit said once: ``"70 to 78 N (15.7 to 17.5 lbf)"``.

    Ends that read alike are said once.

    Args:
        low, high: SI values.
        kind_name: key of :data:`KINDS`.
        system: as for :func:`show`.
    """
    kind = KINDS[kind_name]

    def in_unit(unit: str) -> str:
        first = significant(from_si(low, kind_name, unit))
        last = _in_unit(high, kind_name, unit, 3)
        if first == significant(from_si(high, kind_name, unit)):
            return last
        return say("{low} to {high}", low=first, high=last)

    if kind.trade == kind.metric:
        return in_unit(kind.metric)
    if system == "both":
        return f"{in_unit(kind.metric)} ({in_unit(kind.trade)})"
    return in_unit(kind.trade if system == "trade" else kind.metric)


def from_si(value: float, kind_name: str, unit: str) -> float:
    """The SI value of a kind in another unit; for an elongation from the stretch ratio."""
    if KINDS[kind_name].is_elongation:
        value -= 1.0
    read = unit_of(unit)
    return (value - read.offset) / read.factor


def _in_unit(value: float, kind_name: str, unit: str, digits: int) -> str:
    number = from_si(value, kind_name, unit)
    text = significant(number, digits)
    symbol = unit_symbol(unit)
    if not symbol:
        return text
    return f"{text}{'' if symbol == '°' else ' '}{symbol}"


def unit_symbol(unit: str) -> str:
    """A unit as it is shown: "µm" for "um"."""
    return _SYMBOLS.get(unit, unit)


def significant(number: float, digits: int = 3) -> str:
    """Plain decimal text with ``digits`` significant digits; whole parts are never cut."""
    if number == 0 or not math.isfinite(number):
        return f"{number:zg}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(number))))
    text = f"{number:,.{decimals}f}" if abs(number) >= 10_000 else f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
