"""One reader for every quantity that is typed: a number, then a unit, in the usual spellings."""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING

from woold.errors import UnitError
from woold.units.factors import FACTORS, Unit
from woold.units.half_said import elongation_meant, half_said
from woold.units.kinds import KINDS, Kind
from woold.units.numbers import Number, leading_number, plain_text
from woold.units.spellings import (
    AMBIGUOUS,
    SMALLER,
    customary,
    is_bare_reciprocal,
    length_mark,
    usual_spelling,
)
from woold.words import say

if TYPE_CHECKING:
    import pint

__all__ = [
    "ANGLE",
    "LONGEST_TEXT",
    "finite",
    "one_reading",
    "parse_quantity",
    "read_by_pint",
    "si_of",
    "unit_of",
    "unit_typed",
]

ANGLE = "angle"
"""Dimension of an angle, which must not pass for a plain number."""

LONGEST_TEXT = 64
"""Letters of a quantity."""

# A number, then a unit. No operators before the unit: the text is data and never an expression.
_SIMPLE = re.compile(r"\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?)\s*(\S*)\s*")
_UNIT = re.compile(r"[A-Za-zµμΩ°²³%·*/^()\d. -]{0,32}")
_COMPOUND = re.compile(r"""\s*([A-Za-z]+\.?|['"])\s*(?=[0-9.])(.*)""", re.DOTALL)
_SEVERAL = re.compile(r"^(?:[-–—]|to\b|bis\b|\.\.+)\s*[0-9]|±|\+/?-|[x×]\s*[0-9]")
"""A range, a value with its doubt, or two sides at once."""

_PERCENT = re.compile(r"%|per\s?cent|pct", re.IGNORECASE)


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
def unit_of(text: str) -> Unit:
    """A unit, from the table of those that are often written, or by pint."""
    known = FACTORS.get(text)
    return read_by_pint(text) if known is None else known


def unit_typed(text: object) -> str:
    """The unit of a quantity as it was typed; "" where none can be made out."""
    if not isinstance(text, str):
        return ""
    found = leading_number(plain_text(text))
    return found[1] if found else ""


def parse_quantity(
    text: object, kind_name: str, field: str, last_unit: str = "", meant: tuple[str, ...] = ()
) -> float:
    """SI value of a quantity's text.

    Args:
        text: what was typed, such as ``"63 gauge"`` or ``"5 ft 3 1/2 in"``; a bare number only
            where the kind is a plain number or a fraction.
        kind_name: key of :data:`KINDS`.
        field: dotted name of the field, for messages.
        last_unit: unit that was typed last for this kind, to offer where one is missing.
        meant: units with which a bare number would be usual there; they are offered first.

    Returns:
        The value in the kind's SI unit; for an elongation the stretch ratio (260 % gives 3.6).

    Raises:
        UnitError: no number, not finite, no unit, an unknown unit, a unit of another kind, or a
            comma that may part thousands or decimals.
    """
    kind = KINDS[kind_name]
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise UnitError.one(field, repr(text), _examples(kind), say("Write one quantity."))
    if isinstance(text, int | float):
        if kind_name in ("ratio", "fraction"):
            number = float(text) if abs(text) < 1e300 else math.inf
            return finite(number, text, field, _examples(kind))
        raise _without_unit(text, kind, field, last_unit, meant)
    if len(text) > LONGEST_TEXT:
        raise UnitError.one(field, repr(text), _examples(kind), say("Shorten it."))
    simple = _SIMPLE.fullmatch(text)
    known = FACTORS.get(simple[2]) if simple and simple[2] else None
    is_turning = kind_name == "turning_speed"
    if simple and known and known.dimension == unit_of(kind.unit).dimension and not is_turning:
        value = float(kind.is_elongation) + float(simple[1]) * known.factor + known.offset
        return finite(value, text, field, _examples(kind))
    return _read(text, kind_name, field, last_unit, meant)


def _read(
    text: str, kind_name: str, field: str, last_unit: str, meant: tuple[str, ...] = ()
) -> float:
    kind = KINDS[kind_name]
    allowed = _examples(kind)
    found = leading_number(plain_text(text))
    if found is None:
        raise UnitError.one(field, repr(text), allowed, say("Start with a number."))
    number, unit_text = found
    meant_so = half_said(plain_text(text).strip(), number, unit_text, kind_name)
    if meant_so:
        raise UnitError.one(field, repr(text), allowed, meant_so)
    if not unit_text:
        if kind_name not in ("ratio", "fraction"):
            raise _without_unit(text.strip(), kind, field, last_unit, meant)
        return finite(one_reading(number, "", field, allowed, text), text, field, allowed)
    compound = _COMPOUND.fullmatch(unit_text) if kind_name != "angle" else None
    if compound is not None:
        value = _compound(number, compound, kind_name, field, text)
        if value is not None:
            return finite(value, text, field, allowed)
    value = one_reading(number, unit_text, field, allowed, text)
    value = si_of(value, unit_text, kind_name, say(kind.name), field, allowed, text)
    return finite(value, text, field, allowed)


def _compound(
    number: Number, found: re.Match[str], kind_name: str, field: str, text: str
) -> float | None:
    """SI value of "5 ft 3 in"; None where the text is no such thing.

    Raises:
        UnitError: the smaller part is as large as one of the larger unit.
    """
    larger = length_mark(found[1]) or usual_spelling(found[1], kind_name)
    rest = leading_number(found[2])
    if larger not in SMALLER or rest is None or not rest[1]:
        return None
    allowed = _examples(KINDS[kind_name])
    deeper = _COMPOUND.fullmatch(rest[1])
    smaller = length_mark(rest[1]) or usual_spelling(deeper[1] if deeper else rest[1], kind_name)
    if smaller not in SMALLER[larger]:
        return None
    about = say(KINDS[kind_name].name)
    whole = one_reading(number, larger, field, allowed, text)
    first = si_of(whole, larger, kind_name, about, field, allowed, text)
    behind = parse_quantity(found[2], kind_name, field)
    one = unit_of(larger).factor
    if not 0.0 <= behind < one:
        unit = f"{from_si_to(one, smaller):g} {smaller}"
        raise UnitError.one(
            field,
            repr(text),
            say("less than {unit} behind the larger unit", unit=unit),
            say("Write it in one unit."),
        )
    return first - behind if str(text).strip().startswith(("-", "\u2212")) else first + behind


def from_si_to(value: float, unit: str) -> float:
    """An SI value in a unit without a zero of its own."""
    return value / unit_of(unit).factor


def si_of(
    number: float,
    unit_text: str,
    kind_name: str,
    about: str,
    field: str,
    allowed: str,
    text: object,
) -> float:
    """SI value of a number in a unit that was typed.

    Args:
        number: the number.
        unit_text: the unit, in any usual spelling.
        kind_name: key of :data:`KINDS`, or an SI unit that stands for itself.
        about: what the kind is called.
        field, allowed: for messages.
        text: all that was typed.

    Raises:
        UnitError: an unknown unit, or one of another kind.
    """
    kind = KINDS.get(kind_name) or Kind(about, kind_name, kind_name, kind_name, ())
    if _SEVERAL.search(unit_text):
        raise UnitError.one(
            field, repr(text), allowed, say("That is more than one number: write one.")
        )
    unit_name = usual_spelling(unit_text.strip(), kind_name)
    if unit_of(kind.unit).dimension == "length^1":
        unit_name = length_mark(unit_text) or unit_name
    unclear = _unclear_unit(unit_text, unit_name)
    if unclear:
        choices = AMBIGUOUS[unclear.casefold()]
        raise UnitError.one(
            field,
            repr(text),
            allowed,
            say('A "{unit}" differs from place to place: write {one} or {other}.',
                unit=unclear, one=choices[0], other=choices[1]),
        )  # fmt: skip
    if _UNIT.fullmatch(unit_name) is None or re.search(r"\*\*|\^\s*-?\d\d|\d\d\d", unit_name):
        raise UnitError.one(field, repr(text), allowed, say("Write a number, a space and a unit."))
    try:
        if len(_PERCENT.findall(unit_name)) > 1:
            raise ValueError(unit_name)
        unit = unit_of(unit_name)
    except Exception:
        raise UnitError.one(
            field,
            say("{words!r}, whose unit {unit_text!r} is unknown", words=text, unit_text=unit_text),
            allowed,
            say("Check the unit."),
        ) from None
    if unit.dimension != unit_of(kind.unit).dimension:
        todo = say("That is {kind}.", kind=_kind_of(unit_name))
        if kind is KINDS["ratio"]:
            hint = say("Write the number alone.")
            todo = f"{todo} {hint}"
        if kind is KINDS["force"] and unit.dimension == unit_of("kg").dimension:
            hint = say('A force in pounds is written "lbf", in kilograms "kgf".')
            todo = f"{todo} {hint}"
        raise UnitError.one(field, repr(text), allowed, todo)
    factor = unit.factor
    if kind_name == "turning_speed" and is_bare_reciprocal(unit_name):
        factor *= math.tau  # so many a minute are turns
    return float(kind.is_elongation) + number * factor + unit.offset


def _unclear_unit(unit_text: str, unit_name: str) -> str:
    """A unit, alone or within another, that means different things; "" where none does."""
    if unit_name in FACTORS and unit_text.strip().casefold() not in AMBIGUOUS:
        return ""
    words = re.findall(r"[A-Za-z]+", unit_text)
    return next((each for each in words if each.casefold() in AMBIGUOUS), "")


def one_reading(
    number: Number, unit: str, field: str, allowed: str, text: str, is_thousands: bool = False
) -> float:
    """The number, where its comma can mean one thing only.

    Args:
        number: as it was read.
        unit: behind it; nobody writes lb or in behind a decimal comma.
        field, allowed, text: for messages; the text is what was typed.
        is_thousands: a comma with three digits behind it parts thousands here.

    Raises:
        UnitError: it can mean two things.
    """
    if number.other is None or is_thousands or customary(unit):
        return number.value
    one, other = (f"{each:.15g} {unit}".strip() for each in number)
    raise UnitError.one(
        field,
        say("{text!r}, a comma that may part thousands or decimals", text=text),
        allowed,
        say('Write "{one}" or "{other}", whichever is meant.', one=one, other=other),
    )


def finite(value: float, given: object, field: str, allowed: str) -> float:
    """The value.

    Raises:
        UnitError: it is not finite.
    """
    if not math.isfinite(value):
        raise UnitError.one(field, repr(given), allowed, say("Write a finite number."))
    return value


def _without_unit(
    given: object, kind: Kind, field: str, last_unit: str, meant: tuple[str, ...]
) -> UnitError:
    """A bare number: which unit may be meant, the last one used first."""
    if kind.is_elongation and (todo := elongation_meant(given)):
        error = UnitError.one(
            field, say("{words!r}, without a unit", words=given), _examples(kind), todo
        )
        assert isinstance(error, UnitError)
        return error
    units = [each for each in meant or (last_unit, kind.metric, kind.trade) if each]
    texts = [f'"{given} {unit}"' for unit in dict.fromkeys(_as_typed(each) for each in units)]
    todo = say("Write the unit, in quotation marks: {first}.", first=texts[0])
    if last_unit and units[0] == last_unit:
        todo = say(
            "Write the unit, in quotation marks: {first}, as the last one typed.", first=texts[0]
        )
    elif len(texts) > 1:
        todo = say(
            "Write the unit, in quotation marks: {first} or {last}.", first=texts[0], last=texts[1]
        )
    error = UnitError.one(
        field, say("{words!r}, without a unit", words=given), _examples(kind), todo
    )
    assert isinstance(error, UnitError)
    return error


def _as_typed(unit: str) -> str:
    return {"percent": "%"}.get(unit, unit)


def _kind_of(unit_name: str) -> str:
    """The name of the kind that a unit belongs to, for messages."""
    dimension = unit_of(unit_name).dimension
    if not dimension:
        return say("a plain number or percentage")
    if dimension == ANGLE:
        return say("an angle")
    # An angle counts for nothing in a dimension: what is per angle is meant only if it says so.
    per_angle = re.search(r"rad|deg|°", unit_name) is not None
    for kind in sorted(KINDS.values(), key=lambda each: ("/rad" in each.unit) is not per_angle):
        if kind.unit and unit_of(kind.unit).dimension == dimension:
            return say(kind.name)
    return say("a quantity in {unit}", unit=unit_name)


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
