"""A recorded trace: a text table of columns, read in pieces, however long."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from woold.dancer.trace_headings import (
    POSITION_KINDS,
    TIME_UNITS,
    found_places,
    heading_unit,
)
from woold.errors import InputError, names_its_file
from woold.physics.trace import Trace, pulse_times
from woold.tables.text_stream import BEGINNING, opened_text
from woold.tables.text_table import (
    MISSING,
    Dialect,
    decoded_table,
    dialect_of,
    is_missing,
    joined,
    plain_number,
)
from woold.units import KINDS, from_si
from woold.words import say, to_say

__all__ = ["TraceColumns", "TraceFile", "read_trace"]

Floats = NDArray[np.float64]
_PIECE = 1 << 24
_NAMES = {
    "time": to_say("time"),
    "position": to_say("position"),
    "pulse": to_say("turn pulse"),
    "table": to_say("turntable angle"),
    "reading": to_say("standard error"),
}
_OWN_HEADINGS = ("time", "dancer", "turn pulse", "turntable", "standard error")


@dataclass(frozen=True, slots=True)
class TraceColumns:
    """Which column holds what; None is found by its heading.

    Args:
        time, position, pulse, table: heading or number (1 the first) of the column.
        time_unit, position_unit: unit where the heading does not say it in brackets.
    """

    time: str | None = None
    position: str | None = None
    pulse: str | None = None
    table: str | None = None
    time_unit: str | None = None
    position_unit: str | None = None


@dataclass(frozen=True, slots=True)
class TraceFile:
    """A trace that was read.

    Args:
        trace: SI.
        kind: "angle", "small_length" or "fraction", keys of `woold.units.KINDS`.
        rows: rows with all values.
        missing: rows left out because a value was missing.
        read_as: how the table was read; "" for plain commas.
    """

    trace: Trace
    kind: str
    rows: int
    missing: int
    read_as: str = ""


@dataclass(frozen=True, slots=True)
class _Layout:
    dialect: Dialect
    decided: tuple[str, ...]
    first_line: int
    width: int
    places: dict[str, int]
    scales: dict[str, float]
    kind: str
    headings: tuple[str, ...]


@names_its_file
def read_trace(
    path: Path | str,
    columns: TraceColumns = TraceColumns(),
    progress: Callable[[int, int], None] | None = None,
) -> TraceFile:
    """A trace from a text table: comma, semicolon or tab between columns.

    Headings name the columns, with their unit in brackets: "time [s]", "dancer [deg]",
    "turn pulse", "turntable [deg]", "standard error [deg]" of the position. A file of numbers
    alone needs its units given.

    Args:
        path: the file.
        columns: which column holds what.
        progress: called with bytes read and bytes in all.

    Returns:
        The trace and what was left out of it.

    Raises:
        InputError: the file cannot be read, a column or unit is not known, or a row holds what is
            no number; the line is named.
    """
    path = Path(path)
    try:
        size = path.stat().st_size
        with opened_text(path, say("a text table with a trace in it")) as stream:
            layout = _layout(stream, path, columns)
            read_as = _told(layout, isinstance(stream, io.BytesIO))
            parts = list(_parts(stream, path, layout, size, progress))
    except OSError as error:
        raise InputError.one(
            str(path),
            error.strerror or say("cannot be read"),
            say("a text table with a trace in it"),
            say("Check the name and the rights of the file."),
        ) from None
    names = list(layout.places)
    values = np.concatenate([part for part, _ in parts]) if parts else np.empty((0, len(names)))
    missing = sum(count for _, count in parts)
    if not len(values):
        raise InputError.one(
            str(path),
            say("no row with numbers"),
            say("a row for each instant"),
            say("Is it the right file? Look whether the recording was kept."),
        )
    column = {name: values[:, place] * layout.scales[name] for place, name in enumerate(names)}
    trace = Trace(
        time=column["time"],
        position=column["position"],
        turn_times=pulse_times(column["time"], column["pulse"]) if "pulse" in column else None,
        turntable_angle=column.get("table"),
        reading_error=column.get("reading"),
    )
    return TraceFile(trace, layout.kind, len(values), missing, read_as)


def _told(layout: _Layout, in_utf_16: bool) -> str:
    """How the table was read."""
    decided = [say("letters in UTF-16"), *layout.decided] if in_utf_16 else [*layout.decided]
    for name, place in layout.places.items():
        told = layout.headings[place] or str(place + 1)
        if not told.lower().startswith(_OWN_HEADINGS):
            what = say(_NAMES[name])
            decided.append(say("column {heading!r} as {name}", heading=told, name=what))
    return joined(decided)


def _layout(stream: BinaryIO, path: Path, columns: TraceColumns) -> _Layout:
    """How the table is written, columns and units; the stream is left behind the headings."""
    first, rest = stream.readline(BEGINNING), stream.read(BEGINNING)
    # A line that was cut is left out of what tells the dialect.
    raw = first + rest[: rest.rfind(b"\n") + 1 or None]
    text, letters = decoded_table(raw, str(path), say("a text table: .csv or tab-separated"))
    dialect, said = dialect_of(text)
    line = text.partition("\n")[0].strip()
    cells = [cell.strip() for cell in next(csv.reader([line], delimiter=dialect.separator), [""])]
    has_header = any(_value(cell, dialect) is None and not is_missing(cell) for cell in cells)
    headings = cells if has_header else [""] * len(cells)
    stream.seek(len(first) if has_header else 0)
    places = _places(path, headings, columns, has_header)
    scales, kind = _scales(path, headings, places, columns)
    first_line = 2 if has_header else 1
    shape = (dialect, (*letters, *said), first_line, len(cells))
    return _Layout(*shape, places, scales, kind, tuple(headings))


def _places(
    path: Path, headings: Sequence[str], columns: TraceColumns, has_header: bool
) -> dict[str, int]:
    bare = [re.sub(r"[\[(].*", "", heading).strip().lower() for heading in headings]
    places: dict[str, int] = {}
    said = found_places(headings)
    for name in _NAMES:
        asked = getattr(columns, name, None)
        if asked is not None:
            places[name] = _asked_place(path, name, asked, headings, bare)
        elif has_header:
            if name in said:
                places[name] = said[name]
        elif name in ("time", "position") and len(headings) > 1:
            places[name] = 0 if name == "time" else 1
    lacking = [name for name in ("time", "position") if name not in places]
    if lacking:
        shown = ", ".join(heading or say("(none)") for heading in headings)
        raise InputError.one(
            _column_field(path, *lacking),
            say("headings {shown}", shown=shown),
            say("a heading such as 'time [s]' and 'dancer [deg]'"),
            say("Name it: --{lacking}-column HEADING.", lacking=lacking[0]),
        )
    if len({places["time"], places["position"]}) < 2:
        raise InputError.one(
            _column_field(path, "position"),
            say("column {number}, which is the time", number=places["time"] + 1),
            say("another"),
            say("Name the column of the position with --position-column."),
        )
    return places


def _column_field(path: Path, *names: str) -> str:
    if len(names) == 1:
        return say("{path}, {name} column", path=path, name=say(_NAMES[names[0]]))
    return say("{path}, time and position column", path=path)


def _asked_place(
    path: Path, name: str, asked: str, headings: Sequence[str], bare: Sequence[str]
) -> int:
    wanted = asked.strip().lower()
    for place, heading in enumerate(headings):
        if wanted in (heading.lower(), bare[place]) and heading:
            return place
    if wanted.isdigit() and 1 <= int(wanted) <= len(headings):
        return int(wanted) - 1
    raise InputError.one(
        f"--{name}-column",
        asked,
        (
            say("one of the headings {headings}", headings=", ".join(headings))
            if any(headings)
            else say("a number from 1 to {headings}", headings=len(headings))
        ),
        say("The file is {path}.", path=path),
    )


def _scales(
    path: Path, headings: Sequence[str], places: dict[str, int], columns: TraceColumns
) -> tuple[dict[str, float], str]:
    units = {name: heading_unit(headings[place]) for name, place in places.items()}
    time_unit = columns.time_unit or units["time"]
    position_unit = columns.position_unit or units["position"]
    if time_unit not in TIME_UNITS:
        raise InputError.one(
            say("{path}, unit of time", path=path),
            time_unit or say("none"),
            ", ".join(TIME_UNITS),
            say("Write it in the heading, 'time [s]', or give --time-unit."),
        )
    if position_unit not in POSITION_KINDS:
        raise InputError.one(
            say("{path}, unit of position", path=path),
            position_unit or say("none"),
            ", ".join(POSITION_KINDS),
            say("Write it in the heading, 'dancer [deg]', or give --position-unit."),
        )
    kind = POSITION_KINDS[position_unit]
    scales = {"time": TIME_UNITS[time_unit], "position": _to_si(position_unit, kind)}
    if "pulse" in places:
        scales["pulse"] = 1.0
    if "reading" in places:
        unit = units["reading"] or position_unit
        if POSITION_KINDS.get(unit) != kind:
            raise InputError.one(
                say("{path}, unit of the standard error", path=path),
                unit,
                position_unit,
                say("Write the position's own unit in the heading, or leave the column out."),
            )
        scales["reading"] = _to_si(unit, kind)
    if "table" in places:
        unit = units["table"] or "deg"
        if unit not in ("deg", "rad"):
            raise InputError.one(
                say("{path}, unit of the turntable's angle", path=path),
                unit,
                say("deg or rad"),
                say("Write the unit in the heading, 'turntable [deg]'."),
            )
        scales["table"] = _to_si(unit, "angle")
    return {name: scales[name] for name in places}, kind


def _to_si(unit: str, kind: str) -> float:
    assert kind in KINDS
    return 1.0 / from_si(1.0, kind, "percent" if unit == "%" else unit)


def _parts(
    stream: BinaryIO,
    path: Path,
    layout: _Layout,
    size: int,
    progress: Callable[[int, int], None] | None,
) -> Iterator[tuple[Floats, int]]:
    """Rows of the asked columns, piece by piece, and how many were left out."""
    line = layout.first_line
    while piece := stream.read(_PIECE):
        piece += stream.readline()
        yield _numbers(piece, path, layout, line)
        line += piece.count(b"\n")
        if progress is not None:
            progress(stream.tell(), size)


def _numbers(piece: bytes, path: Path, layout: _Layout, first_line: int) -> tuple[Floats, int]:
    import polars

    used = {place: name for name, place in layout.places.items()}
    schema = {
        used.get(place, f"column {place}"): polars.Float64 if place in used else polars.String
        for place in range(layout.width)
    }
    try:
        table = polars.read_csv(
            io.BytesIO(piece),
            has_header=False,
            separator=layout.dialect.separator,
            decimal_comma=layout.dialect.decimal_comma,
            schema=schema,
            null_values=list(MISSING),
        )
    except polars.exceptions.PolarsError:
        # Rows of unlike length, blanks, text: slowly, so that the line can be named.
        return _numbers_line_by_line(piece, path, layout, first_line)
    values = np.column_stack([table[name].to_numpy() for name in layout.places]).astype(np.float64)
    there = np.isfinite(values)
    whole = there.all(axis=1)
    # A blank line is no row that lacks a value.
    return values[whole], int(there.any(axis=1).sum() - whole.sum())


def _numbers_line_by_line(
    piece: bytes, path: Path, layout: _Layout, first_line: int
) -> tuple[Floats, int]:
    rows, missing = [], 0
    for offset, raw in enumerate(piece.splitlines()):
        line = raw.decode("utf-8", errors="replace").strip()
        if not line:
            continue
        cells = [cell.strip().strip('"') for cell in line.split(layout.dialect.separator)]
        row = []
        for name, place in layout.places.items():
            cell = cells[place] if place < len(cells) else ""
            value = np.nan if is_missing(cell) else _value(cell, layout.dialect)
            if value is None:
                field = say(
                    "{path}, line {line}, {name}",
                    path=path,
                    line=first_line + offset,
                    name=say(_NAMES[name]),
                )
                raise _no_number(field, cell)
            row.append(value)
        if np.isfinite(row).all():
            rows.append(row)
        else:
            missing += 1
    return np.array(rows).reshape(-1, len(layout.places)), missing


def _no_number(field: str, cell: str) -> InputError:
    todo = say("Take out the line or mend it.")
    if re.fullmatch(r"[-+\d.,eE]+\s*[^\d\s].*", cell):
        todo = say("One unit for the whole column, in its heading, and numbers alone below it.")
    error = InputError.one(field, repr(cell), say("a number"), todo)
    assert isinstance(error, InputError)
    return error


def _value(cell: str, dialect: Dialect) -> float | None:
    """A cell's number; the sign of a degree behind it is no part of it."""
    try:
        return float(plain_number(cell.rstrip(" °º"), dialect))
    except ValueError:
        return None
