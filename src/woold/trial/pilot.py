"""The spread of a pilot: a few film masses of one load type, read from a text file."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from woold.case.asked import Asked, cell_questions
from woold.errors import InputError, Problem, Question, names_its_file
from woold.tables.text_table import is_missing, joined, plain_number, read_table, split_heading
from woold.trial.power import cv_upper_limit
from woold.units import parse_quantity
from woold.words import say

__all__ = ["Pilot", "pilot_spread"]


@dataclass(frozen=True, slots=True)
class Pilot:
    """The spread of a pilot.

    Args:
        variation: coefficient of variation [-].
        upper_limit: its upper 80 % limit [-].
        read_as: how the file was read, a sentence; "" for plain commas and points.
    """

    variation: float
    upper_limit: float
    read_as: str


@names_its_file
def pilot_spread(path: Path | str, as_typed: Collection[str] = ()) -> Pilot:
    """Coefficient of variation of a pilot and its upper 80 % limit.

    The file holds one film mass a line, such as "312 g"; further columns are not read, and neither
    are empty lines nor a first line without a number, whose unit in brackets holds for the rest.

    Args:
        path: the file.
        as_typed: lines that were asked about and are right, "pilot.csv, line 3".

    Raises:
        InputError: the file cannot be read, or a line is no mass or is asked about; one problem
            for each.
    """
    table = read_table(path, say("a text file with one mass a line"))
    masses: list[float] = []
    problems: list[Problem] = []
    unit = ""
    for index, (number, cells) in enumerate(table.rows):
        first = cells[0]
        if is_missing(first):
            continue
        if index == 0 and not any(letter.isdigit() for letter in first):
            unit = split_heading(first)[1]
            continue
        if unit and len(cells) > len(table.rows[0][1]):
            # A decimal comma where commas part the cells: 312,5 is not 312.
            given, allowed = ", ".join(cells), say("as many cells as headings")
            todo = say("Write decimal points, or semicolons between the columns.")
            problems.append(
                Problem(say("{path}, line {line}", path=path, line=number), given, allowed, todo)
            )
            continue
        where = say("{path}, line {line}", path=path, line=number)
        plain = plain_number(first, table.dialect)
        try:
            text = f"{float(plain):.17g} {unit}".strip()
        except ValueError:
            text = plain
        try:
            mass = parse_quantity(text, "small_mass", where)
        except InputError as error:
            problems += error.problems
            continue
        if not 0.0 < mass <= 1000.0:
            problems.append(
                Problem(where, first, say("a mass above 0, to 1000 kg"), say("Mend it."))
            )
        problems += cell_questions(Asked, {"pilot_mass": mass}, {"pilot_mass": where}, as_typed)
        masses.append(mass)
    # What cannot be comes before what can hardly be.
    wrong = [each for each in problems if not isinstance(each, Question)]
    if problems:
        raise InputError.many((wrong or problems)[:20])
    variation, upper_limit = cv_upper_limit(masses)
    return Pilot(variation, upper_limit, joined(table.decided))
