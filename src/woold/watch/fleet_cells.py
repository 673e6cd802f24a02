"""Cells of a fleet's table that cannot be used, found by whatever engine holds the table.

The same reasons as where a single machine's records are read (`woold.watch.records`): counted in
the query of the days, and a few rows of each named with file, row and what was given.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from woold.errors import InputError
from woold.tables.text_table import MISSING
from woold.watch.cycle_columns import column_meaning, least_of, most_of
from woold.watch.fleet_sources import FILE, ROW
from woold.watch.set_aside import EXAMPLES, Aside, Example
from woold.words import say

if TYPE_CHECKING:
    import ibis

__all__ = ["CellFault", "asides_of", "cell_faults", "number_in", "offsets_in", "time_in"]

_NUMBER = r"^[-+]?([0-9]{1,30}([.][0-9]{0,30})?|[.][0-9]{1,30})([eE][-+]?[0-9]{1,2})?$"
_TIME = (
    r"^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
    r"([T ]([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9]([.][0-9]{1,9})?)?"
    r"(Z|[+-](0[0-9]|1[0-5]):?[0-5][0-9])?)?$"
)
_OFFSET = "[T ][0-9:.]+(Z|[+-][0-9]{2}:?[0-9]{2})$"
_LONG_MONTHS = ("01", "03", "05", "07", "08", "10", "12")


@dataclass(frozen=True, slots=True)
class CellFault:
    """A reason to set rows aside, its column, and where it holds."""

    code: str
    column: str
    holds: Any


def number_in(table: ibis.Table, column: str) -> ibis.Expr:
    """Numbers of a column; nothing where it holds none."""
    import ibis

    found = table[column]
    if not found.type().is_string():
        return found.cast("float64")
    text = found.strip()
    return text.re_search(_NUMBER).ifelse(text, ibis.null("string")).cast("float64")


def time_in(table: ibis.Table) -> ibis.Expr:
    """The time of each load, in UTC; nothing where none can be read.

    Raises:
        InputError: bare numbers.
    """
    import ibis

    kind = table.time.type()
    if kind.is_temporal() and not kind.is_time():
        return table.time.cast("timestamp")
    if not kind.is_string():
        raise InputError.one(
            "time",
            str(kind),
            say("ISO 8601 text or a date and time"),
            say("A bare number could be seconds, milliseconds or days."),
        )
    text = table.time.strip()
    sound = text.re_search(_TIME) & _is_day(text)
    # Each engine's session is in UTC: what states no offset is UTC, any other is taken off.
    whole = sound.ifelse(_in_full(text.replace(" ", "T")), ibis.null("string"))
    return whole.cast("timestamp('UTC')").cast("timestamp")


def _in_full(text: ibis.Expr) -> ibis.Expr:
    """A time with its seconds, and a colon in its offset: not every engine reads it without."""
    # Engines do not name what a pattern found alike, so that pieces are cut out by their place.
    has_no_seconds = text.re_search("^.{10}T[0-9]{2}:[0-9]{2}([^:0-9].*)?$")
    text = has_no_seconds.ifelse(text.substr(0, 16) + ":00" + text.substr(16), text)
    has_no_colon = text.re_search("T.*[+-][0-9]{4}$")
    before = text.length() - 2
    return has_no_colon.ifelse(text.substr(0, before) + ":" + text.substr(before), text)


def offsets_in(table: ibis.Table) -> ibis.Expr | None:
    """Whether each time states how far it is from UTC; None where the column holds no text."""
    if not table.time.type().is_string():
        return None
    return table.time.strip().re_search(_OFFSET)


def _is_day(text: ibis.Expr) -> ibis.Expr:
    """Whether the month has that day: an engine refuses a whole query for a 31st of April."""
    month, day = text.substr(5, 2), text.substr(8, 2)
    year = text.re_search("^[0-9]{4}").ifelse(text.substr(0, 4), "0").cast("int64")
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    in_february = (day <= "28") | (leap & (day == "29"))
    return (month == "02").ifelse(in_february, month.isin(_LONG_MONTHS) | (day <= "30"))


def cell_faults(table: ibis.Table, columns: Sequence[str]) -> list[CellFault]:
    """Every reason for which rows of a table may be set aside.

    Args:
        table: cycle records.
        columns: measured or counted, by their name in the table.
    """
    import ibis

    time = time_in(table)
    latest = datetime.datetime.now(datetime.UTC).replace(tzinfo=None) + datetime.timedelta(days=1)
    machine = table.machine.cast("string")
    found = [
        CellFault("unread time", "time", time.isnull()),
        CellFault("reset clock", "time", time.year() < 2000),
        CellFault("future", "time", time > ibis.literal(latest)),
        CellFault("no machine", "machine", machine.isnull() | (machine.strip() == "")),
    ]
    for column in columns:
        found += _number_faults(table, column)
    return [CellFault(each.code, each.column, each.holds.fill_null(False)) for each in found]


def _number_faults(table: ibis.Table, column: str) -> Iterator[CellFault]:
    meaning = column_meaning(column)
    assert meaning is not None
    value = number_in(table, column)
    endless = value.isnan() | value.isinf()
    unread = endless
    if table[column].type().is_string():
        written = table[column].strip().notin(MISSING)
        unread = unread | (value.isnull() & written)
    yield CellFault("no number", column, unread)
    least = least_of(meaning[1])
    low = value < 0.0 if least == "zero" else value <= 0.0
    yield CellFault(least, column, low & ~endless)
    most = most_of(column)
    if math.isfinite(most):
        yield CellFault("too large", column, (value > 1.000001 * most) & ~endless)


def asides_of(
    table: ibis.Table, faults: Sequence[CellFault], counts: Sequence[int]
) -> tuple[Aside, ...]:
    """What was set aside, with a few rows of each reason.

    Args:
        table: cycle records.
        faults: reasons.
        counts: rows of each.
    """
    return tuple(
        Aside(fault.code, fault.column, count, _examples(table, fault))
        for fault, count in zip(faults, counts, strict=True)
        if count
    )


def _examples(table: ibis.Table, fault: CellFault) -> tuple[Example, ...]:
    """The first rows for which a reason holds; where rows have no number, by machine and time."""
    kept = {"given": table[fault.column].cast("string")}
    numbered = [name for name in (FILE, ROW) if name in table.columns]
    kept |= {name: table[name].cast("string") for name in numbered}
    if ROW not in numbered:
        kept |= {"named": table.machine.cast("string"), "at": table.time.cast("string")}
    rows = table.filter(fault.holds).select(**kept)
    order = [rows[FILE], rows[ROW].length(), rows[ROW]] if len(numbered) == 2 else [rows.given]
    first = rows.order_by(order).limit(EXAMPLES).to_pyarrow().to_pylist()
    return tuple(Example(_place(each), each["given"]) for each in first)


def _place(row: dict[str, Any]) -> str:
    if row.get(ROW) is None:
        return say("{machine} at {time}", machine=row["named"] or "-", time=row["at"] or "-")
    name = str(row.get(FILE) or "").replace("\\", "/").rpartition("/")[2]
    return say("{file}, row {row}", file=name, row=row[ROW])
