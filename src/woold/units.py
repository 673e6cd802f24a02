"""Quantities at the edge: text with a unit in, SI floats inside, trade and SI text out.

Every number with a dimension enters as text with its unit ("63 gauge", "20 in", "45 N", "260 %")
and is read here once; nothing below this module knows a unit other than SI's.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from woold.errors import UnitError
from woold.words import say

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
    "show",
    "show_range",
    "significant",
    "unit_symbol",
]

UnitSystem = Literal["trade", "si", "both"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: how it is read and how it is shown.

    Args:
        name: what it is called in messages.
        unit: SI unit that the value inside is in.
        metric: unit shown under "si".
        trade: unit shown under "trade" (the same as ``metric`` where the trade has no other).
        examples: texts that can be read.
        is_elongation: text is an elongation ("260 %"), the value inside a stretch ratio (3.6).
    """

    name: str
    unit: str
    metric: str
    trade: str
    examples: tuple[str, ...]
    is_elongation: bool = False


KINDS: dict[str, Kind] = {
    "length": Kind("length", "m", "m", "in", ("1.2 m", "48 in")),
    "small_length": Kind("length", "m", "mm", "in", ("40 mm", "1.5 in")),
    "thickness": Kind("thickness", "m", "um", "gauge", ("63 gauge", "16 um", "0.63 mil")),
    "roughness": Kind("length", "m", "um", "um", ("5 um",)),
    "film_length": Kind("length", "m", "m", "ft", ("120 m", "400 ft")),
    "area": Kind("area", "m^2", "mm^2", "in^2", ("8 mm^2",)),
    "mass": Kind("mass", "kg", "kg", "lb", ("600 kg", "1300 lb")),
    "small_mass": Kind("mass", "kg", "g", "oz", ("300 g", "10 oz")),
    "linear_density": Kind("mass per length", "kg/m", "g/m", "oz/ft", ("3.6 g/m",)),
    "density": Kind("density", "kg/m^3", "kg/m^3", "lb/ft^3", ("918 kg/m^3",)),
    "force": Kind("force", "N", "N", "lbf", ("45 N", "10 lbf")),
    "tension_per_width": Kind("force per length", "N/m", "N/m", "lbf/in", ("300 N/m",)),
    "stress": Kind("stress", "Pa", "MPa", "psi", ("9 MPa", "1300 psi")),
    "stiffness": Kind("spring rate", "N/m", "N/mm", "lbf/in", ("1.2 N/mm", "7 lbf/in")),
    "damping": Kind("damping", "N*m*s", "N*m*s", "N*m*s", ("0.4 N*m*s",)),
    "torsion_stiffness": Kind(
        "torque per angle", "N*m/rad", "N*m/rad", "N*m/rad", ("2000 N*m/rad",)
    ),
    "drive_gain": Kind(
        "film speed per angle", "m/s/rad", "m/s/rad", "m/s/rad", ("1.2 m/s/rad", "0.02 m/s/deg")
    ),
    "drive_integral_gain": Kind(
        "film speed per angle and time",
        "m/s/rad/s",
        "m/s/rad/s",
        "m/s/rad/s",
        ("0.5 m/s/rad/s",),
    ),
    "inertia": Kind("moment of inertia", "kg*m^2", "kg*m^2", "lb*ft^2", ("0.05 kg*m^2",)),
    "torque": Kind("torque", "N*m", "N*m", "lbf*ft", ("2 N*m",)),
    "power": Kind("power", "W", "W", "W", ("120 W",)),
    "angle": Kind("angle", "rad", "deg", "deg", ("180 deg",)),
    "turning_speed": Kind("turning speed", "rad/s", "rpm", "rpm", ("12 rpm",)),
    "frequency": Kind("frequency", "Hz", "Hz", "Hz", ("2 Hz",)),
    "speed": Kind("speed", "m/s", "m/s", "ft/min", ("0.8 m/s", "150 ft/min")),
    "acceleration": Kind("acceleration", "m/s^2", "m/s^2", "ft/s^2", ("2 m/s^2",)),
    "time": Kind("time", "s", "s", "s", ("15 s", "2 min", "16 h")),
    "hours": Kind("time", "s", "h", "h", ("16 h", "30 day")),
    "temperature": Kind("temperature", "K", "degC", "degF", ("23 degC", "73 degF")),
    "elongation": Kind("elongation", "", "percent", "percent", ("260 %",), is_elongation=True),
    "fraction": Kind("fraction", "", "percent", "percent", ("5 %", "0.05")),
    "ratio": Kind("plain number", "", "", "", ("0.6",)),
}

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


@functools.lru_cache(maxsize=2048)
def _unit(text: str) -> Any:
    return _registry().parse_units(text)


@functools.lru_cache(maxsize=2048)
def _dimension(text: str) -> tuple[Any, bool]:
    """Dimension of a unit, and whether it is one of an angle."""
    unit = _unit(text)
    return unit.dimensionality, unit in (_unit("deg"), _unit("rad"), _unit("turn"))


@functools.lru_cache(maxsize=2048)
def _linear_factor(unit: str, si: str) -> float:
    return float(_registry().Quantity(1.0, unit).to(si).magnitude)


def _kind_of(unit_text: str) -> str:
    """The name of the kind that a unit belongs to, for messages; '' when none fits."""
    dimension = _unit(unit_text).dimensionality
    if not dimension:
        return "plain number, percentage or angle"
    for kind in KINDS.values():
        if kind.unit and _unit(kind.unit).dimensionality == dimension:
            return kind.name
    return f"quantity in {unit_text}"


def _with_article(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _examples(kind: Kind) -> str:
    return f"{_with_article(kind.name)}, such as " + " or ".join(
        f'"{text}"' for text in kind.examples
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
        dimension, is_angle = _dimension(unit_text)
    except Exception:
        raise UnitError.one(
            field,
            say("{words!r}, whose unit {unit_text!r} is unknown", words=text, unit_text=unit_text),
            allowed,
            say("Check the unit."),
        ) from None
    asked, _ = _dimension(kind.unit or "dimensionless")
    if dimension != asked or is_angle != (kind.unit == "rad"):
        todo = f"That is {_with_article('angle' if is_angle else _kind_of(unit_text))}."
        if kind.name == "force" and _unit(unit_text).dimensionality == _unit("kg").dimensionality:
            todo += ' A force in pounds is written "lbf", in kilograms "kgf".'
        raise UnitError.one(field, repr(text), allowed, todo)
    if kind.is_elongation:
        return 1.0 + number * _linear_factor(unit_text, "dimensionless")
    if kind.unit == "K":
        return float(_registry().Quantity(number, unit_text).to("kelvin").magnitude)
    return number * _linear_factor(unit_text, kind.unit or "dimensionless")


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
    allowed = f"money such as {example}, with the currency's three letters"
    match = _MONEY.fullmatch(text) if isinstance(text, str) and len(text) < 64 else None
    if match is None or bool(match[3]) != bool(per):
        raise UnitError.one(field, repr(text), allowed, say("Write it like the example."))
    amount = _finite(float(match[1]), text, field, allowed)
    if per:
        kind = Kind(f"price per {per}", per, per, per, (example.strip('"'),))
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
        return f"{first} to {_in_unit(high, kind, unit, 3)}"

    if kind.trade == kind.metric:
        return in_unit(kind.metric)
    if system == "both":
        return f"{in_unit(kind.metric)} ({in_unit(kind.trade)})"
    return in_unit(kind.trade if system == "trade" else kind.metric)


def from_si(value: float, kind_name: str, unit: str) -> float:
    """The SI value of a kind in another unit; for an elongation from the stretch ratio."""
    kind = KINDS[kind_name]
    if kind.is_elongation:
        value -= 1.0
    if kind.unit == "K":
        return float(_registry().Quantity(value, "kelvin").to(unit).magnitude)
    return value / _linear_factor(unit or "dimensionless", kind.unit or "dimensionless")


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
