"""What a real test measured, typed or from a table: recorded accelerations and slips."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from woold.case.asked import cell_problems, cell_questions
from woold.case.fields import Section, quantity
from woold.case.model import Case
from woold.errors import InputError, names_its_file
from woold.physics.stack_fit import MeasuredSlips
from woold.physics.stack_motion import BaseMotion, pulse, recorded_motion
from woold.prediction.result import Finding
from woold.tables.text_stream import BEGINNING
from woold.tables.text_table import (
    decoded_table,
    dialect_of,
    is_missing,
    joined,
    plain_number,
    read_table,
    split_heading,
)
from woold.units import parse_quantity
from woold.words import say

__all__ = ["MeasuredRow", "given_rows", "how_read", "measured_slips", "read_recording", "read_rows"]

_GRAVITY = "9.80665 m/s^2"
_LARGEST = 50_000_000
_REST = 1.0
"""Time after a test's pulse in which the stack comes to rest [s]."""


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """One interface in one test.

    Args:
        level: acceleration of the test, as a share of gravity [-].
        ramp_time, hold_time: of its pulse [s].
        height: of the interface over the deck [m].
        largest: most slip of the tier above over the one below [m].
        kept: slip that stayed; None where it was not measured [m].
    """

    level: float
    ramp_time: float
    hold_time: float
    height: float
    largest: float
    kept: float | None = None


_KINDS = {
    "acceleration": "ratio",
    "ramp": "time",
    "hold": "time",
    "height": "small_length",
    "largest": "small_length",
    "kept": "small_length",
}


class SlipCells(Section):
    """What is usual in the columns of a table of slips and of a recording; SI."""

    acceleration: float = quantity(
        "ratio", "of the test, over gravity", ge=0.0, usual=("0.05", "1.5"), le=100.0
    )
    ramp: float = quantity("time", "of its pulse", ge=0.0, usual=("0 s", "2 s"), le=3600.0)
    hold: float = quantity("time", "of its pulse", ge=0.0, usual=("0 s", "20 s"), le=3600.0)
    height: float = quantity(
        "small_length", "of the interface", ge=0.0, usual=("0 mm", "2.8 m"), le=20.0
    )
    largest: float = quantity(
        "small_length", "most slip", ge=0.0, usual=("0 mm", "400 mm"), le=20.0
    )
    kept: float = quantity(
        "small_length", "slip that stayed", ge=0.0, usual=("0 mm", "400 mm"), le=20.0
    )
    along: float = quantity(
        "acceleration",
        "largest of a recorded trip",
        ge=0.0,
        usual=("0.1 m/s^2", "40 m/s^2"),
        le=10_000.0,
    )


def given_rows(text: str, as_typed: Collection[str] = ()) -> tuple[MeasuredRow, ...]:
    """Rows of a file of that name, or the one row that was typed.

    Args:
        text: name of a file, or a row with commas.
        as_typed: cells that were asked about and are right, "slips.csv:2 height".

    Raises:
        InputError: neither can be read.
    """
    if "," in text and not Path(text).exists():
        return (_typed_row(text, as_typed),)
    return read_rows(text, as_typed)


def _typed_row(text: str, as_typed: Collection[str]) -> MeasuredRow:
    """A row typed as "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm, 5 mm"; the last may be left out.

    Raises:
        InputError: another number of parts, or one that cannot be read.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) not in (5, 6):
        raise InputError.one(
            "--slips",
            text,
            say("acceleration, ramp, hold, height, largest slip and, if measured, slip kept"),
            say('Write --slips "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm, 5 mm".'),
        )
    return _row(dict(zip(_KINDS, parts, strict=False)), "--slips", as_typed)


@names_its_file
def read_rows(path: Path | str, as_typed: Collection[str] = ()) -> tuple[MeasuredRow, ...]:
    """Rows of a table with headings acceleration, ramp [s], hold [s], height [mm], largest [mm],
    kept [mm]; the unit stands in brackets or in each cell.

    Args:
        path: the file.
        as_typed: cells that were asked about and are right, "slips.csv:2 height".

    Raises:
        InputError: the file cannot be read, a heading is missing, or a cell cannot be read or is
            asked about.
    """
    needed = [name for name in _KINDS if name != "kept"]
    rows = _table(path, needed, ("kept",))
    return tuple(_row(row, f"{path}:{line}", as_typed) for line, row in rows)


@names_its_file
def read_recording(path: Path | str, as_typed: Collection[str] = ()) -> BaseMotion:
    """Accelerations of a vehicle from a table with headings time [s], acceleration [m/s^2] (or
    [g]) and, if recorded, vertical [m/s^2], upward and without gravity.

    Args:
        path: the file.
        as_typed: columns that were asked about and are right, "trip.csv acceleration".

    Raises:
        InputError: the file cannot be read, a heading is missing, a cell cannot be read, or the
            largest acceleration is asked about.
    """
    rows = _table(path, ("time", "acceleration"), ("vertical",))
    columns: dict[str, list[float]] = {"time": [], "acceleration": [], "vertical": []}
    for line, row in rows:
        where = f"{path}:{line}"
        columns["time"].append(parse_quantity(row["time"], "time", where))
        for name in ("acceleration", "vertical"):
            if row.get(name):
                columns[name].append(_acceleration(row[name], where))
    largest = max((abs(each) for each in columns["acceleration"]), default=0.0)
    name = f"{path} acceleration"
    if wrong := list(cell_problems(SlipCells, {"along": largest}, {"along": name})):
        raise InputError.many(wrong)
    asked = list(cell_questions(SlipCells, {"along": largest}, {"along": name}, as_typed))
    if asked:
        raise InputError.many(asked)
    vertical = columns["vertical"] or None
    return recorded_motion(columns["time"], columns["acceleration"], vertical)


def how_read(texts: Sequence[Path | str]) -> tuple[Finding, ...]:
    """How the tables of slips and recordings are written; nothing for plain commas.

    Args:
        texts: names of files that were read, or rows that were typed, of which nothing is said.
    """
    findings = []
    for text in texts:
        if Path(text).exists():
            with Path(text).open("rb") as stream:
                beginning = stream.read(BEGINNING)
            whole = beginning[: beginning.rfind(b"\n") + 1 or None]
            letters, decided = decoded_table(
                whole[: len(whole) // 2 * 2] if b"\0" in whole else whole,
                str(text),
                say("a text table that can be read"),
            )
            told = joined((*decided, *dialect_of(letters)[1]))
            if told:
                findings.append(Finding("read_as", Path(text).name, told))
    return tuple(findings)


def measured_slips(case: Case, rows: Sequence[MeasuredRow]) -> tuple[MeasuredSlips, ...]:
    """Rows put together by test, each interface in its place.

    Raises:
        InputError: a height at which no tiers meet.
    """
    load = case.load
    tests: dict[tuple[float, float, float], MeasuredSlips] = {}
    for row in rows:
        index = round(row.height / load.height * load.tiers)
        place = index * load.height / load.tiers
        if not 0 <= index < load.tiers or abs(place - row.height) > 0.25 * load.height / load.tiers:
            raise InputError.one(
                "height",
                f"{row.height:g} m",
                say(
                    "where tiers meet: 0 m, the deck, and every {step:.3g} m from there",
                    step=load.height / load.tiers,
                ),
                say("Measure from the deck to the lower edge of a tier, or mend load.tiers."),
            )
        key = (row.level, row.ramp_time, row.hold_time)
        if key not in tests:
            empty = np.full(load.tiers + 1, np.nan)
            tests[key] = MeasuredSlips(pulse(*key, rest_time=_REST), empty, empty.copy())
        tests[key].largest[index + 1] = row.largest
        if row.kept is not None:
            tests[key].kept[index + 1] = row.kept
    return tuple(tests.values())


def _row(cells: Mapping[str, str], where: str, as_typed: Collection[str]) -> MeasuredRow:
    values = {
        name: parse_quantity(cells[name].removesuffix(" g"), kind, f"{where} {name}")
        for name, kind in _KINDS.items()
        if cells.get(name)
    }
    for name, value in values.items():
        if value < 0.0:
            raise InputError.one(
                f"{where} {name}", f"{value:g}", say("0 or more"), say("Mend the value.")
            )
    names = {name: f"{where} {name}" for name in values}
    if wrong := list(cell_problems(SlipCells, values, names)):
        raise InputError.many(wrong)
    asked = list(cell_questions(SlipCells, values, names, as_typed))
    if asked:
        raise InputError.many(asked)
    return MeasuredRow(
        values["acceleration"],
        values["ramp"],
        values["hold"],
        values["height"],
        values["largest"],
        values.get("kept"),
    )


def _acceleration(text: str, where: str) -> float:
    number, _, unit = text.partition(" ")
    if unit.strip() == "g":
        return parse_quantity(number, "ratio", where) * parse_quantity(
            _GRAVITY, "acceleration", where
        )
    return parse_quantity(text, "acceleration", where)


def _table(
    path: Path | str, needed: Sequence[str], optional: Sequence[str]
) -> list[tuple[int, dict[str, str]]]:
    """Cells by heading, each with its unit, and the line they stand in."""
    table = read_table(path, say("a text table that can be read"), _LARGEST)
    first = table.rows[0][1] if table.rows else []
    headings = [split_heading(cell) for cell in first]
    places = {name.lower(): index for index, (name, _) in enumerate(headings)}
    missing = [name for name in needed if name not in places]
    if missing or len(table.rows) < 2:
        raise InputError.one(
            str(path),
            ", ".join(name for name, _ in headings) or say("nothing"),
            say("headings {names}, and a row below", names=", ".join(needed)),
            say("Write the unit in brackets behind each heading."),
        )
    rows = []
    for number, line in table.rows[1:]:
        cells = {}
        for name in (*needed, *optional):
            index = places.get(name, len(line))
            cell = line[index] if index < len(line) else ""
            cell = "" if is_missing(cell) else plain_number(cell, table.dialect)
            unit = headings[index][1] if index < len(headings) else ""
            cells[name] = f"{cell} {unit}".strip() if cell else ""
            if name in needed and not cell:
                raise InputError.one(
                    f"{path}:{number} {name}",
                    say("nothing"),
                    say("a number"),
                    say("Fill it in, or take the line out."),
                )
        rows.append((number, cells))
    return rows
