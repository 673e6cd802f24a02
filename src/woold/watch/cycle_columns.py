"""Columns of cycle records: how they are named, what they hold, and what is usual in them."""

from __future__ import annotations

import math

from woold.case.fields import Section, facts_of, plain, quantity
from woold.units import KINDS, parse_quantity

__all__ = [
    "COUNTS",
    "LABELS",
    "MEASURES",
    "CycleColumns",
    "column_meaning",
    "known_columns",
    "least_of",
    "most_of",
    "per_si_unit",
    "si_name",
]

MEASURES: dict[str, tuple[str, tuple[str, ...]]] = {
    "film_mass": ("small_mass", ("kg", "g", "lb", "oz")),
    "film_length": ("film_length", ("m", "ft")),
    "film_counter": ("film_length", ("m", "ft")),
    "prestretch": ("elongation", ("percent",)),
    "cycle_time": ("time", ("s", "min")),
}
"""Measured columns: kind and the units that may stand behind the name."""

COUNTS = ("turns", "breaks", "break_counter")
LABELS = ("machine", "load_type", "roll", "shift", "setting")

_FROM_ZERO = ("breaks", "break_counter", "film_counter", "prestretch")


class CycleColumns(Section):
    """What is usual in the middle of a column, by its name in SI; running counters have nothing."""

    film_mass_kg: float = quantity(
        "small_mass", "film on a load", gt=0.0, usual=("20 g", "5 kg"), le=100.0
    )
    film_length_m: float = quantity(
        "film_length", "film on a load", gt=0.0, usual=("5 m", "2000 m"), le=100_000.0
    )
    prestretch: float = quantity(
        "elongation", "of the film", ge=1.0, usual=("20 %", "450 %"), le=11.0
    )
    cycle_time_s: float = quantity(
        "time", "of a load", gt=0.0, usual=("8 s", "20 min"), le=86_400.0
    )
    turns: float = plain("of a load", gt=0.0, usual=(2.0, 150.0), le=10_000.0)
    breaks: float = plain("of film in a load", ge=0.0, usual=(0.0, 2.0), le=1000.0)


def si_name(measure: str) -> str:
    """Name of a measure's column in SI: film_mass_kg, prestretch."""
    return {
        "film_mass": "film_mass_kg",
        "cycle_time": "cycle_time_s",
        "prestretch": "prestretch",
    }.get(measure, f"{measure}_m")


def column_meaning(column: str) -> tuple[str, str, str] | None:
    """What a column is: ("measure", name, unit), ("count"|"label"|"time", name, "") or None."""
    if column == "time":
        return "time", column, ""
    if column in COUNTS:
        return "count", column, ""
    if column in LABELS:
        return "label", column, ""
    name, _, unit = column.rpartition("_")
    if name in MEASURES and unit in MEASURES[name][1]:
        return "measure", name, unit
    return None


def known_columns() -> list[str]:
    """Every name that a column can be known by."""
    measures = [f"{name}_{unit}" for name, (_, units) in MEASURES.items() for unit in units]
    return ["time", *measures, *COUNTS, *LABELS]


def least_of(name: str) -> str:
    """ "zero" where a measure or count may be 0, "above zero" where a load has more."""
    return "zero" if name in _FROM_ZERO else "above zero"


def most_of(column: str) -> float:
    """Largest value that a column can hold, in its own unit; a running counter has none."""
    meaning = column_meaning(column)
    if meaning is None:
        return math.inf
    role, name, unit = meaning
    key = si_name(name) if role == "measure" else name
    if key not in CycleColumns.model_fields:
        return math.inf
    most = facts_of(CycleColumns, key).hard[1]
    if role != "measure":
        return most
    kind = MEASURES[name][0]
    return (most - float(KINDS[kind].is_elongation)) / per_si_unit(kind, unit)


def per_si_unit(kind_name: str, unit: str) -> float:
    """How much of the kind's SI unit one ``unit`` is; for an elongation a share."""
    value = parse_quantity(f"1 {unit}", kind_name, kind_name)
    return value - 1.0 if KINDS[kind_name].is_elongation else value
