"""Quantities at the edge: text with a unit in, SI floats inside, trade and SI text out.

Every number with a dimension enters as text with its unit ("63 gauge", "20 in", "45 N", "260 %")
and is read here once; nothing below this module knows a unit other than SI's.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from woold.errors import UnitError
from woold.units.factors import FACTORS, Unit
from woold.units.kinds import KINDS, Kind
from woold.words import say, to_say

if TYPE_CHECKING:
    import pint

__all__ = [
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
]

UnitSystem = Literal["trade", "si", "both"]


ANGLE = "angle"
"""Dimension of an angle, which must not pass for a plain number."""

_PRICES = {"kg": to_say("a price per kilogram"), "s": to_say("a price per time")}

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

# A number, then a unit. No operators before the unit: the text is data and never an expression.
_QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*(.*?)\s*", re.DOTALL)
_UNIT = re.compile(r"[A-Za-zµμΩ°²³%·*/^\d. ]{0,32}")
_MONEY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*([A-Z]{3})\s*(?:/\s*(.*?))?\s*", re.DOTALL)
_LONGEST_TEXT = 64


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(
        cache_folder=None, on_redefinition="ignore"
    )
    registry.define("film_gauge = 0.254 micrometer = gauge = ga")  # 1/100 mil
    registry.define("film_mil = 25.4 micrometer = mil")  # not the angle of the same name
    return registry


def read_by_pint(text: str) -> Unit:
    """A unit as the pint library reads it.

    Raises:
        Exception: whatever pint raises for a unit that it does not know.
    """
    registry = _registry()
    unit = registry.parse_units(text or "dimensionless")
    powers = sorted((name.strip("[]"), power) for name, power in unit.dimensionality.items())
    dimension = " ".join(f"{name}^{power:g}" for name, power in powers)
    if unit in (registry.Unit("deg"), registry.Unit("rad"), registry.Unit("turn")):
        dimension = ANGLE
    if dimension == "temperature^1":
        offset = float(registry.Quantity(0.0, unit).to("kelvin").magnitude)
        step = registry.Unit(f"delta_{unit}") if offset else unit
        return Unit(dimension, float(registry.Quantity(1.0, step).to("kelvin").magnitude), offset)
    return Unit(dimension, float(registry.Quantity(1.0, unit).to_base_units().magnitude))


@functools.lru_cache(maxsize=2048)
def _unit(text: str) -> Unit:
    """A unit, from the table of those that are often written, or by pint."""
    known = FACTORS.get(text)
    return read_by_pint(text) if known is None else known


def _kind_of(unit_text: str) -> str:
    """The name of the kind that a unit belongs to, for messages."""
    dimension = _unit(unit_text).dimension
    if not dimension:
        return say("a plain number or percentage")
    if dimension == ANGLE:
        return say("an angle")
    for kind in KINDS.values():
        if kind.unit and _unit(kind.unit).dimension == dimension:
            return say(kind.name)
    return say("a quantity in {unit}", unit=unit_text)


def _examples(kind: Kind) -> str:
    texts = [f'"{text}"' for text in kind.examples]
    if len(texts) == 1:
        return say("{kind}, such as {first}", kind=say(kind.name), first=texts[0])
    if len(texts) == 2:
        return say(
            "{kind}, such as {first} or {last}",
            kind=say(kind.name),
            first=texts[0],
            last=texts[1],
        )
    return say(
        "{kind}, such as {first} or {next} or {last}",
        kind=say(kind.name),
        first=texts[0],
        next=texts[1],
        last=texts[2],
    )


def parse_quantity(text: object, kind_name: str, field: str) -> float:
    """SI value of a quantity's text.

    Args:
        text: what was typed, such as ``"63 gauge"``; a bare number only where the kind is a plain
            number or a fraction.
        kind_name: key of :data:`KINDS`.
        field: dotted name of the field, for messages.

    Returns:
        The value in the kind's SI unit; for an elongation the stretch ratio (260 % gives 3.6).

    Raises:
        UnitError: no number, not finite, no unit, an unknown unit, or a unit of another kind.
    """
    kind = KINDS[kind_name]
    allowed = _examples(kind)
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise UnitError.one(field, repr(text), allowed, say("Write one quantity."))
    if isinstance(text, int | float):
        if kind_name in ("ratio", "fraction"):
            number = float(text) if abs(text) < 1e300 else math.inf
            return _finite(number, text, field, allowed)
        raise UnitError.one(
            field,
            say("{words!r}, without a unit", words=text),
            allowed,
            say("Write the unit, in quotation marks."),
        )
    if len(text) > _LONGEST_TEXT:
        raise UnitError.one(field, repr(text), allowed, say("Shorten it."))
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError.one(field, repr(text), allowed, say("Start with a number."))
    if re.match(r",\d", match[2]):
        raise UnitError.one(
            field, repr(text), allowed, say("Write a decimal point, and no comma between digits.")
        )
    number = _finite(float(match[1]), text, field, allowed)
    unit_text = match[2].replace("%", "percent").replace("°C", "degC").replace("°F", "degF")
    if not unit_text:
        if kind_name in ("ratio", "fraction"):
            return number
        raise UnitError.one(
            field, say("{words!r}, without a unit", words=text), allowed, say("Write the unit.")
        )
    return _finite(_to_si(number, unit_text, text, kind, field, allowed), text, field, allowed)


def _to_si(number: float, unit_text: str, text: str, kind: Kind, field: str, allowed: str) -> float:
    if _UNIT.fullmatch(unit_text) is None or re.search(r"\*\*|\^\s*\d\d|\d\d\d", unit_text):
        raise UnitError.one(field, repr(text), allowed, say("Write a number, a space and a unit."))
    try:
        unit = _unit(unit_text)
    except Exception:
        raise UnitError.one(
            field,
            say("{words!r}, whose unit {unit_text!r} is unknown", words=text, unit_text=unit_text),
            allowed,
            say("Check the unit."),
        ) from None
    if unit.dimension != _unit(kind.unit).dimension:
        todo = say("That is {kind}.", kind=_kind_of(unit_text))
        if kind is KINDS["force"] and unit.dimension == _unit("kg").dimension:
            hint = say('A force in pounds is written "lbf", in kilograms "kgf".')
            todo = f"{todo} {hint}"
        raise UnitError.one(field, repr(text), allowed, todo)
    return float(kind.is_elongation) + number * unit.factor + unit.offset


def _finite(value: float, given: object, field: str, allowed: str) -> float:
    if not math.isfinite(value):
        raise UnitError.one(field, repr(given), allowed, say("Write a finite number."))
    return value


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of one currency, per SI unit of something or on its own.

    Args:
        amount: value per SI unit ("2.2 USD/kg" gives 2.2; "60 USD/h" gives 1/60 a second).
        currency: ISO 4217 code.
    """

    amount: float
    currency: str

    def __str__(self) -> str:
        return f"{self.amount:,.2f} {self.currency}"


def parse_money(text: object, per: str, field: str) -> Money:
    """Money per SI unit of ``per`` ("" for an amount on its own).

    Args:
        text: what was typed, such as ``"2.2 USD/kg"``.
        per: SI unit that the amount is divided by: ``"kg"``, ``"s"`` or ``""``.
        field: dotted name of the field, for messages.

    Raises:
        UnitError: no number, no three-letter currency code, or a divisor of another kind.
    """
    example = {"kg": '"2.2 USD/kg"', "s": '"45 EUR/h"', "": '"18000 USD"'}[per]
    allowed = say("money such as {example}, with the currency's three letters", example=example)
    match = _MONEY.fullmatch(text) if isinstance(text, str) and len(text) < 64 else None
    if match is None or bool(match[3]) != bool(per):
        raise UnitError.one(field, repr(text), allowed, say("Write it like the example."))
    amount = _finite(float(match[1]), text, field, allowed)
    if per:
        kind = Kind(_PRICES[per], per, per, per, (example.strip('"'),))
        amount /= _to_si(1.0, match[3], str(text), kind, field, allowed)
    return Money(amount, match[2])


def show(value: float, kind_name: str, system: UnitSystem = "both", digits: int = 3) -> str:
    """Text of an SI value in the units of ``system``: ``"508 mm (20 in)"``.

    Args:
        value: SI value; for an elongation the stretch ratio.
        kind_name: key of :data:`KINDS`.
        system: ``"si"`` metric, ``"trade"`` the trade's units, ``"both"`` metric (trade).
        digits: significant digits; whole parts are never cut.
    """
    kind = KINDS[kind_name]
    metric = _in_unit(value, kind, kind.metric, digits)
    if kind.trade == kind.metric:
        return metric
    trade = _in_unit(value, kind, kind.trade, digits)
    return {"si": metric, "trade": trade, "both": f"{metric} ({trade})"}[system]


def show_range(low: float, high: float, kind_name: str, system: UnitSystem = "both") -> str:
    """Text of a range of SI values, the unit said once: ``"70 to 78 N (15.7 to 17.5 lbf)"``.

    Args:
        low, high: SI values.
        kind_name: key of :data:`KINDS`.
        system: as for :func:`show`.
    """
    kind = KINDS[kind_name]

    def in_unit(unit: str) -> str:
        first = significant(from_si(low, kind_name, unit))
        return say("{low} to {high}", low=first, high=_in_unit(high, kind, unit, 3))

    if kind.trade == kind.metric:
        return in_unit(kind.metric)
    if system == "both":
        return f"{in_unit(kind.metric)} ({in_unit(kind.trade)})"
    return in_unit(kind.trade if system == "trade" else kind.metric)


def from_si(value: float, kind_name: str, unit: str) -> float:
    """The SI value of a kind in another unit; for an elongation from the stretch ratio."""
    if KINDS[kind_name].is_elongation:
        value -= 1.0
    read = _unit(unit)
    return (value - read.offset) / read.factor


def _in_unit(value: float, kind: Kind, unit: str, digits: int) -> str:
    name = next(key for key, known in KINDS.items() if known is kind)
    number = from_si(value, name, unit)
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
        return f"{number:g}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(number))))
    text = f"{number:,.{decimals}f}" if abs(number) >= 10_000 else f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
