"""Quantities asked for beside a file, in an option or a call: read and judged alike.

Each has a hard range, outside of which it is refused, and a usual one, outside of which it is asked
about and confirmed by its name, `--as-typed slowest`.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping

from woold.case.fields import Section, facts_of, field_names, plain, quantity
from woold.case.usual import is_usual, question_about
from woold.errors import InputError, Problem, Question
from woold.units import parse_quantity, show, show_range
from woold.words import say

__all__ = [
    "Asked",
    "asked_count",
    "asked_quantity",
    "cell_problems",
    "cell_questions",
    "cells_of",
    "cells_of_sheets",
    "confirmed_names",
]


class Asked(Section):
    """What can be asked for beside a case or a table; SI."""

    speed: float = quantity(
        "turning_speed", "turning speed", gt=0, usual=("1 rpm", "80 rpm"), le=105.0
    )
    slowest: float = quantity(
        "turning_speed", "lowest turning speed tried", gt=0, usual=("0.5 rpm", "60 rpm"), le=105.0
    )
    fastest: float = quantity(
        "turning_speed", "highest turning speed tried", gt=0, usual=("3 rpm", "120 rpm"), le=105.0
    )
    gain: float = quantity(
        "drive_gain", "gain tried", gt=0, usual=("0.01 m/s/rad", "60 m/s/rad"), le=10_000
    )
    hole: float = quantity("small_length", "pivot to hole", gt=0, usual=("10 mm", "600 mm"), le=2.0)
    stop_angle: float = quantity(
        "angle", "stop of the dancer", ge=-6.3, usual=("-90 deg", "90 deg"), le=6.3
    )
    stop_length: float = quantity(
        "small_length", "stop of the dancer", ge=-5.0, usual=("-700 mm", "700 mm"), le=5.0
    )
    stop_share: float = quantity(
        "fraction", "stop of the dancer", ge=-2.0, usual=("-100 %", "100 %"), le=2.0
    )
    arm_length: float = quantity(
        "small_length",
        "pivot to the roller of a filmed arm",
        gt=0,
        usual=("50 mm", "700 mm"),
        le=5.0,
    )
    tag_side: float = quantity(
        "small_length",
        "side of the small tags of a film",
        ge=0.015,
        usual=("15 mm", "120 mm"),
        usual_from="what phones see well from 2 m, and what fits on the sheet",
        le=0.12,
    )
    corners: int = plain("corners of the load", ge=1, usual=(1, 12), le=100)
    specimen_width: float = quantity(
        "small_length",
        "of the specimen",
        gt=0,
        usual=("4 mm", "60 mm"),
        usual_from="ASTM D882 asks for 5 to 25.4 mm; from memory",
        le=2.0,
    )
    specimen_thickness: float = quantity(
        "thickness", "of the specimen", gt=0, usual=("6 um", "60 um"), le=0.001
    )
    gauge_length: float = quantity(
        "small_length", "between the grips", gt=0, usual=("10 mm", "300 mm"), le=2.0
    )
    fit_from: float = quantity(
        "elongation", "from which a film draws evenly", ge=1.0, usual=("5 %", "200 %"), le=11.0
    )
    at_least: float = quantity(
        "fraction", "saving that a share of sites reaches", gt=-1.0, usual=("-10 %", "50 %"), lt=1.0
    )
    probability: float = quantity(
        "fraction", "chance that a program holds", ge=0.5, usual=("50 %", "99 %"), le=0.99
    )
    pilot_mass: float = quantity(
        "small_mass", "film on a load of the pilot", gt=0, usual=("20 g", "5 kg"), le=1000.0
    )
    film_loss: float = quantity(
        "fraction", "film that fewer recipes may cost", ge=0.0, usual=("0 %", "20 %"), le=1.0
    )
    hold_margin: float = quantity(
        "fraction", "hold over what is asked", ge=0.0, usual=("0 %", "50 %"), le=5.0
    )
    set_force: float = quantity(
        "force", "force to load that may be set", gt=0.0, usual=("5 N", "250 N"), le=2000.0
    )
    rethread_time: float = quantity(
        "time", "to change a roll and lace the film", ge=0.0, usual=("10 s", "30 min"), le=86_400.0
    )
    loads: int = plain("loads of each treatment", ge=2, usual=(4, 2000), le=20_000)


def asked_quantity(name: str, text: str, shown: str = "", as_typed: Collection[str] = ()) -> float:
    """A quantity that was asked for [SI].

    Args:
        name: of a field of :class:`Asked`.
        text: what was typed, with its unit.
        shown: what it is called where it was typed, such as "--slowest"; its name if not given.
        as_typed: names of what was asked about and is right.

    Raises:
        InputError: no such quantity, one beyond what can be, or a question about one that is not
            usual.
    """
    value = parse_quantity(text, facts_of(Asked, name).kind, shown or name)
    return _judged(name, value, str(text), shown, as_typed)


def asked_count(name: str, count: int, shown: str = "", as_typed: Collection[str] = ()) -> int:
    """A count that was asked for; see :func:`asked_quantity`."""
    return int(_judged(name, count, str(count), shown, as_typed))


def _judged(name: str, value: float, text: str, shown: str, as_typed: Collection[str]) -> float:
    facts = facts_of(Asked, name)
    span = _span_missed(Asked, name, value)
    if span:
        raise InputError.one(shown or name, text, span, say("Mend the value, or its unit."))
    if name in as_typed or is_usual(facts, value):
        return value
    raise InputError(question_about(facts, value, name))


def _span_missed(model: type[Section], name: str, value: float) -> str:
    """What a field can hold, where a value lies outside of it; "" where it does not."""
    facts = facts_of(model, name)
    metadata = model.model_fields[name].metadata
    # pydantic keeps gt and ge apart; the hard range has only their values.
    is_open = any(hasattr(each, "gt") for each in metadata)
    is_open_above = any(hasattr(each, "lt") for each in metadata)
    low, high = facts.hard
    above = value > low if is_open else value >= low
    below = value < high if is_open_above else value <= high
    if above and below:
        return ""
    if is_open and low == 0.0:
        return say("above 0, to {most}", most=show(high, facts.kind) if facts.kind else f"{high:g}")
    return show_range(low, high, facts.kind) if facts.kind else f"{low:g} to {high:g}"


def confirmed_names(
    as_typed: Collection[str], used: Collection[str]
) -> tuple[list[str], list[str]]:
    """Names that are right as typed: those of a command's options, and all others.

    Args:
        as_typed: names that were given.
        used: names of fields of :class:`Asked` that the command has.

    Raises:
        InputError: a name of an option that the command does not have.
    """
    wrong = [each for each in as_typed if each in field_names(Asked) and each not in used]
    if wrong:
        near = difflib.get_close_matches(wrong[0], used, n=1)
        todo = say('Did you mean "{key}"?', key=near[0]) if near else say("Take it out.")
        raise InputError(Problem("--as-typed", wrong[0], ", ".join(used) or say("none"), todo))
    return [each for each in as_typed if each in used], [
        each for each in as_typed if each not in used
    ]


def cells_of(as_typed: Collection[str]) -> tuple[list[str], list[str]]:
    """Names that are right as typed: those of a table's cells and columns, and all others.

    Args:
        as_typed: names that were given; only those of a cell or column hold a blank or a colon.
    """
    cells = [each for each in as_typed if " " in each or ":" in each or each.startswith("site[")]
    return cells, [each for each in as_typed if each not in cells]


def cells_of_sheets(as_typed: Collection[str]) -> tuple[list[str], list[str]]:
    """Names that are right as typed: those of a sheet's cells, such as "Loads!F12", and others.

    Args:
        as_typed: names that were given.
    """
    cells = [each for each in as_typed if "!" in each]
    return cells, [each for each in as_typed if each not in cells]


def cell_problems(
    model: type[Section], values: Mapping[str, float], names: Mapping[str, str]
) -> Iterator[Problem]:
    """What is refused of the cells of a table: what no field of its model can hold.

    Args:
        model, values, names: as for :func:`cell_questions`.
    """
    for column, value in values.items():
        if column in model.model_fields and (span := _span_missed(model, column, value)):
            kind = facts_of(model, column).kind
            given = show(value, kind) if kind else f"{value:g}"
            yield Problem(names[column], given, span, say("Mend the value, or its unit."))


def cell_questions(
    model: type[Section],
    values: Mapping[str, float],
    names: Mapping[str, str],
    as_typed: Collection[str],
) -> Iterator[Question]:
    """What is asked about the cells of a table, or about a column by the value that stands for it.

    Args:
        model: whose fields are the columns.
        values: by column, SI; other columns are left alone.
        names: what each is called in the table.
        as_typed: names of what was asked about and is right.
    """
    for column, value in values.items():
        if column in model.model_fields and names[column] not in as_typed:
            facts = facts_of(model, column)
            if not is_usual(facts, value):
                yield question_about(facts, value, names[column])
