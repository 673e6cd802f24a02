"""A tensile test from a CSV file, as testing machines write them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from woold.errors import InputError, Problem, UnitError, names_its_file
from woold.physics.tensile_test import points_before_break
from woold.tables.text_table import Dialect, TextTable, is_missing, joined, plain_number, read_table
from woold.units import parse_quantity
from woold.words import say, to_say

__all__ = ["Specimen", "TensileTest", "read_tensile_test"]

Array = npt.NDArray[np.float64]
Lines = list[tuple[int, list[str]]]

_LARGEST_FILE = 10_000_000
_MOST_PROBLEMS = 20
_DEEPEST_HEADER = 80

# A unit stands in brackets at the end, or after a stroke, a comma or a space: "Strain, %".
_IN_BRACKETS = re.compile(r"(.*?)\s*[\[(]\s*([^\[\]()]*?)\s*[\])]\s*$")
_AFTER_MARK = re.compile(r"(.*?)(?:\s*[/,;:_]\s*|\s+)(%|[a-zA-Z]+(?:[/*^][a-zA-Z0-9^]+)*)\s*$")
_WORDS = (
    ("stress", ("stress",)),
    ("elongation", ("strain", "elongation")),
    (
        "extension",
        ("extension", "displacement", "separation", "crosshead", "travel", "stroke", "position"),
    ),
    ("force", ("force", "load")),
)
_KINDS_SAID = {
    "stress": to_say("stress"),
    "elongation": to_say("elongation"),
    "extension": to_say("extension"),
    "force": to_say("force"),
}
_OTHERS = ("rate", "speed", "time", "true", "modulus", "energy", "break", "width", "thickness")
_SHARES = ("", "-", "1", "mm/mm", "in/in", "m/m")
_LENGTHS = ("mm", "cm", "m", "um", "µm", "in", "inch", "mil", "ft")
_SPELLINGS = {
    "n/mm2": "MPa",
    "n/mm²": "MPa",
    "n/mm^2": "MPa",
    "lbs": "lbf",
    "lb": "lbf",
    "lbf/in2": "psi",
    "lbf/in^2": "psi",
    "inch": "in",
    "percent": "%",
}
_ALLOWED = to_say(
    "a CSV file with a line that names its columns with units: elongation [%], stress [MPa]; or"
    " elongation [%], force [N]; or extension [mm], force [N]"
)


@dataclass(frozen=True, slots=True)
class TensileTest:
    """Points of a tensile test along the machine direction.

    Args:
        stretches: stretch ratios, rising, shape (n,) [-].
        stresses: force over unstretched section, shape (n,) [Pa].
        left_out: points that were not used: before the start, after the break, or not rising.
        read_as: how its table was read, a sentence; "" for plain commas and headings.
    """

    stretches: Array
    stresses: Array
    left_out: int
    read_as: str = ""


@dataclass(frozen=True, slots=True)
class Specimen:
    """Size of a specimen, where its file has forces or extensions.

    Args:
        width, thickness: of the unstretched section [m].
        gauge_length: length that was stretched, the grips' distance at the start [m].
    """

    width: float | None = None
    thickness: float | None = None
    gauge_length: float | None = None


@names_its_file
def read_tensile_test(path: Path | str, specimen: Specimen | None = None) -> TensileTest:
    """Points of a tensile test from a CSV file.

    The first line that names an elongation (strain) or an extension (displacement, grip
    separation), and a stress or a force (load), names the columns; what stands above it is left
    out, and so are other columns. A unit stands in brackets, after a stroke or comma, or in the
    line below, which counts more. A strain is taken before an extension, and a stress before a
    force. Commas, semicolons or tabs part the cells; with semicolons or tabs a decimal comma is
    read. Lines that begin with # are left out, and so are points after the break.

    Args:
        path: the file.
        specimen: size of the specimen, where the file has forces or extensions.

    Raises:
        InputError: a file that cannot be read, columns or units that are missing, cells that are
            no numbers; one problem for each line.
    """
    size = specimen or Specimen()
    lines, table = _lines(Path(path))
    columns, first = _columns(str(path), lines)
    _require(columns, size)
    points = _points(str(path), lines[first:], columns, table.dialect)
    area = (size.width or 1.0) * (size.thickness or 1.0)
    stresses = points[:, 1] / area if "force" in columns else points[:, 1]
    stretches = points[:, 0]
    if "extension" in columns:
        stretches = 1.0 + stretches / (size.gauge_length or 1.0)
    rising = np.maximum.accumulate(np.concatenate(([-np.inf], stretches[:-1]))) < stretches
    use = np.flatnonzero(rising & (stretches >= 1.0))
    if len(use):
        use = use[: points_before_break(stretches[use], stresses[use])]
    read_as = joined((*table.decided, *_headings_taken(lines[:first], columns)))
    return TensileTest(stretches[use], stresses[use], len(stretches) - len(use), read_as)


def _require(columns: dict[str, tuple[int, str]], size: Specimen) -> None:
    """Refuses a file whose forces or extensions say nothing without the specimen's size."""
    asked = []
    if "force" in columns:
        why = say("the specimen's size, as the file has forces")
        asked += [("--width", size.width, why), ("--thickness", size.thickness, why)]
    if "extension" in columns:
        why = say("the grips' distance at the start, as the file has extensions")
        asked.append(("--gauge-length", size.gauge_length, why))
    missing = [
        Problem(name, say("nothing"), why, say('Add {name} "..."', name=name))
        for name, value, why in asked
        if value is None
    ]
    if missing:
        raise InputError.many(missing)


def _lines(path: Path) -> tuple[Lines, TextTable]:
    """Cells of every line that holds any, with its number; and how the file is written."""
    table = read_table(path, say(_ALLOWED), _LARGEST_FILE)
    rows = [(number, cells) for number, cells in table.rows if not cells[0].startswith("#")]
    if len(rows) < 2:
        raise InputError.one(
            str(path),
            say("fewer than two lines"),
            say(_ALLOWED),
            say("Is it the right file? Export the points of the test."),
        )
    return rows, table


def _columns(path: str, lines: Lines) -> tuple[dict[str, tuple[int, str]], int]:
    """Place and unit of the two columns that count, by kind; and the first line of numbers."""
    header: list[str] = lines[0][1]
    for index, (_, cells) in enumerate(lines[:_DEEPEST_HEADER]):
        kinds = [_kind(cell) for cell in cells]
        if not ({"elongation", "extension"} & set(kinds) and {"stress", "force"} & set(kinds)):
            continue
        header, below = cells, lines[index + 1][1] if index + 1 < len(lines) else []
        has_units = bool(below) and not any(_is_number(cell) for cell in below)
        pull = "elongation" if "elongation" in kinds else "extension"
        push = "stress" if "stress" in kinds else "force"
        columns: dict[str, tuple[int, str]] = {}
        for kind in (pull, push):
            if kinds.count(kind) > 1:
                raise InputError.one(
                    path,
                    say("two columns of {kind}", kind=kind),
                    say(_ALLOWED),
                    say("Take one out."),
                )
            place = kinds.index(kind)
            unit = _unit(cells[place])
            # A line of units counts: brackets above it may hold other words.
            if has_units and place < len(below) and below[place].strip("[]() "):
                unit = below[place].strip("[]() ")
            if unit is None:
                break
            unit = _SPELLINGS.get(unit.lower(), unit)
            columns[_kind_by_unit(kind, unit)] = (place, unit)
        else:
            return columns, index + 1 + has_units
        break
    found = ", ".join(cell.strip() for cell in header)
    given = say("columns {names}", names=found[:190])
    raise InputError.one(path, given, say(_ALLOWED), say("Name them, with units, in one line."))


def _headings_taken(head: Lines, columns: dict[str, tuple[int, str]]) -> Iterator[str]:
    """What was taken for what, where a heading is not the plain name of its column."""
    cells = next(
        cells
        for _, cells in reversed(head)
        if all(_kind(cells[p]) for p, _ in columns.values() if p < len(cells))
    )
    for kind, (place, unit) in columns.items():
        if cells[place].casefold() != f"{kind} [{unit}]".casefold():
            yield say(
                "column {heading!r} as {kind} in {unit}",
                heading=cells[place],
                kind=say(_KINDS_SAID[kind]),
                unit=unit or "1",
            )


def _kind(cell: str) -> str | None:
    """What a heading names; None where it is none of what counts."""
    name = cell.lower()
    if any(word in name for word in _OTHERS):
        return None
    return next((kind for kind, words in _WORDS if any(word in name for word in words)), None)


def _kind_by_unit(kind: str, unit: str) -> str:
    """An elongation in millimetres is an extension, an extension in per cent an elongation."""
    if kind == "elongation" and unit not in _SHARES and unit.lower() in _LENGTHS:
        return "extension"
    return "elongation" if kind == "extension" and unit in ("%", "mm/mm", "in/in", "m/m") else kind


def _unit(cell: str) -> str | None:
    """Unit in a heading; None where it has none."""
    match = _IN_BRACKETS.match(cell)
    if match is not None:
        return match[2]
    match = _AFTER_MARK.match(cell)
    if match is not None and _kind(match[1]) is not None and _kind(match[2]) is None:
        return match[2]
    return None


def _is_number(cell: str) -> bool:
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return True


def _points(
    path: str,
    rows: Sequence[tuple[int, list[str]]],
    columns: dict[str, tuple[int, str]],
    dialect: Dialect,
) -> Array:
    """Elongation or extension, and stress or force, of each line, SI."""
    points, problems = [], []
    for number, cells in rows:
        if all(is_missing(cells[place]) for place, _ in columns.values() if place < len(cells)):
            continue
        point = []
        where = say("{file} line {number}", file=path, number=number)
        for kind, (place, unit) in columns.items():
            cell = plain_number(cells[place], dialect) if place < len(cells) else ""
            quantity = "small_length" if kind == "extension" else kind
            try:
                # A plain number counts as a share: 0.5 is 50 %.
                is_share = kind == "elongation" and unit in _SHARES
                number_in_cell = float(cell)
                text = f"{100 * number_in_cell} %" if is_share else f"{cell} {unit}"
                point.append(parse_quantity(text, quantity, where))
            except ValueError:
                allowed, todo = say("a number in {unit}", unit=unit), say("Mend that line.")
                problems.append(Problem(where, repr(cell), allowed, todo))
            except UnitError as error:
                problems += error.problems
        points.append(point)
        if len(problems) >= _MOST_PROBLEMS:
            break
    if problems:
        raise InputError.many(problems[:_MOST_PROBLEMS])
    if not points:
        raise InputError.one(
            path,
            say("no line of numbers"),
            say(_ALLOWED),
            say("Is it the right file? Export the points of the test."),
        )
    return np.array(points)
