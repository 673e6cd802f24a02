"""The spread of a pilot: a few film masses of one load type, read from a text file."""

from __future__ import annotations

import math
from pathlib import Path

from woold.errors import InputError, Problem
from woold.trial.power import cv_upper_limit
from woold.units import parse_quantity
from woold.words import say

__all__ = ["pilot_spread"]


def pilot_spread(path: Path | str) -> tuple[float, float]:
    """Coefficient of variation of a pilot and its upper 80 % limit.

    The file holds one film mass a line, such as "312 g"; further columns are not read, and neither
    are empty lines nor a first line without a number.

    Raises:
        InputError: the file cannot be read, or a line is no mass; one problem for each.
    """
    try:
        lines = Path(path).read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError.one(
            str(path), str(error), say("a text file with one mass a line"), say("Check the name.")
        ) from None
    masses: list[float] = []
    problems: list[Problem] = []
    for number, line in enumerate(lines, start=1):
        first = line.replace(";", ",").split(",")[0].strip().strip('"')
        if not first or (number == 1 and not any(letter.isdigit() for letter in first)):
            continue
        try:
            mass = parse_quantity(first, "small_mass", f"{path}, line {number}")
        except InputError as error:
            problems += error.problems
            continue
        if mass <= 0 or not math.isfinite(mass):
            problems.append(
                Problem(f"{path}, line {number}", first, say("a mass above 0"), say("Mend it."))
            )
        masses.append(mass)
    if problems:
        raise InputError.many(problems)
    return cv_upper_limit(masses)
