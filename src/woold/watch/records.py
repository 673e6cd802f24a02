"""Cycle records from CSV or Parquet files, one row a load, SI inside.

Columns are known by name; the unit stands behind the last underscore: ``film_mass_g``,
``film_length_ft``, ``cycle_time_s``, ``prestretch_percent``. Other columns are ignored and listed.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from woold.case.asked import cell_questions
from woold.errors import InputError, Problem, errors_in
from woold.prediction.result import Finding
from woold.tables.parquet import is_parquet, parquet_frame
from woold.tables.text_table import MISSING
from woold.units import KINDS
from woold.watch.cycle_columns import (
    MEASURES,
    CycleColumns,
    column_meaning,
    known_columns,
    least_of,
    most_of,
    per_si_unit,
    si_name,
)
from woold.watch.set_aside import (
    EXAMPLES,
    Aside,
    Example,
    aside_finding,
    require_alike,
    require_few,
)
from woold.watch.text_records import read_text
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["Records", "read_records"]


@dataclass(frozen=True, slots=True)
class Records:
    """Rows that could be read.

    Args:
        frame: columns ``time`` (naive, UTC where the file gave an offset), ``machine``,
            ``source_row`` (1 for the first row below the header), then what was found of
            ``film_mass_kg``, ``film_length_m``, ``film_counter_m``, ``prestretch`` (ratio),
            ``cycle_time_s``, the counts and the labels.
        findings: what was set aside or ignored.
    """

    frame: pl.DataFrame
    findings: tuple[Finding, ...]


def read_records(
    paths: Sequence[Path],
    renames: Mapping[str, str] | None = None,
    as_typed: Collection[str] = (),
) -> Records:
    """Cycle records of one or several files, in the order given.

    Args:
        paths: CSV or Parquet files with the same columns.
        renames: known column -> name in the file.
        as_typed: columns that were asked about and are right, "cycles.csv film_mass_g".

    Raises:
        InputError: a file that cannot be read, no time or no film column, a column without its
            unit, more than 5 % of rows that cannot be used, or a column whose middle value is not
            usual.
    """
    import polars as pl

    findings: list[Finding] = []
    frames = []
    for path in paths:
        with errors_in(path):
            raw = _renamed(_read_file(path, findings), renames or {}, path)
            frames.append(_typed(raw, path, findings))
            _require_usual(raw.columns, frames[-1], path, as_typed)
    try:
        frame = pl.concat(frames, how="diagonal") if len(frames) > 1 else frames[0]
    except pl.exceptions.PolarsError as error:
        raise InputError.one(
            ", ".join(str(path) for path in paths)[:200],
            str(error)[:200],
            say("files with the same columns"),
            say("Read files of other columns one by one."),
        ) from None
    if frame.height == 0:
        raise InputError.one(
            ", ".join(str(path) for path in paths)[:200],
            say("no row"),
            say("at least one load"),
            say("Is this the right file?"),
        )
    return Records(frame, tuple(findings))


def _require_usual(
    columns: Sequence[str], typed: pl.DataFrame, path: Path, as_typed: Collection[str]
) -> None:
    """Asks about columns whose middle value is not usual: a wrong unit, most of all."""
    values, names = {}, {}
    for column in columns:
        meaning = column_meaning(column)
        if meaning is None or meaning[0] not in ("measure", "count"):
            continue
        name = meaning[1] if meaning[0] == "count" else si_name(meaning[1])
        middle = typed[name].median()
        if isinstance(middle, float | int):
            values[name], names[name] = float(middle), f"{path.name} {column}"
    asked = list(cell_questions(CycleColumns, values, names, as_typed))
    if asked:
        raise InputError.many(asked)


def _read_file(path: Path, findings: list[Finding]) -> pl.DataFrame:
    import polars as pl

    if not path.is_file():
        raise InputError.one(
            str(path), say("no such file"), say("a CSV or Parquet file"), say("Check the name.")
        )
    try:
        if is_parquet(path):
            return parquet_frame(path).with_columns(
                pl.when(pl.col(pl.String).str.strip_chars().is_in(MISSING))
                .then(None)
                .otherwise(pl.col(pl.String))
                .name.keep()
            )
        return read_text(path, column_meaning, findings)
    except InputError:
        raise
    except (Exception, pl.exceptions.PanicException) as error:  # damaged in whatever way
        raise InputError.one(
            str(path),
            str(error).splitlines()[0][:160],
            say("a CSV file in UTF-8, or a Parquet file"),
            say("Export or copy it again."),
        ) from None


def _renamed(raw: pl.DataFrame, renames: Mapping[str, str], path: Path) -> pl.DataFrame:
    problems = []
    for known, found in renames.items():
        if column_meaning(known) is None:
            near = difflib.get_close_matches(known, known_columns(), 1)
            todo = (
                say("Did you mean {near}?", near=near[0])
                if near
                else say("Write one of these names.")
            )
            problems.append(
                Problem(
                    f"--column {known}", say("unknown column"), ", ".join(known_columns()), todo
                )
            )
        if found not in raw.columns:
            problems.append(
                Problem(
                    f"--column {known}",
                    say("no {found!r} in {name}", found=found, name=path.name),
                    ", ".join(raw.columns),
                    say("Write the name as it stands in the file."),
                )
            )
    if problems:
        raise InputError.many(problems)
    taken = {found: known for known, found in renames.items()}
    # A column that already has the known name gives way to the one that was named.
    return raw.drop(
        [known for known in renames if known in raw.columns and known not in taken]
    ).rename(taken)


def _typed(raw: pl.DataFrame, path: Path, findings: list[Finding]) -> pl.DataFrame:
    import polars as pl

    meanings = {column: column_meaning(column) for column in raw.columns}
    problems = []
    if "time" not in raw.columns:
        problems.append(
            Problem(
                f"{path.name}.time",
                say("columns {columns}", columns=", ".join(raw.columns)),
                say("a column time"),
                say("Name it with --column time=NAME."),
            )
        )
    measures = [meaning[1] for meaning in meanings.values() if meaning and meaning[0] == "measure"]
    for name in MEASURES:
        if measures.count(name) > 1:
            problems.append(
                Problem(
                    f"{path.name}.{name}",
                    say("two columns"),
                    say("one"),
                    say("Take one of them out, or name the right one with --column."),
                )
            )
        bare = [column for column in raw.columns if column == name]
        if bare:
            problems.append(
                Problem(
                    f"{path.name}.{name}",
                    say("no unit in the name"),
                    ", ".join(f"{name}_{unit}" for unit in MEASURES[name][1]),
                    say("Write the unit behind the name, or name the column with --column."),
                )
            )
    if not problems and not {*measures, *raw.columns} & {
        "film_mass",
        "film_length",
        "film_counter",
        "turns",
    }:
        problems.append(
            Problem(
                f"{path.name}.film",
                say("columns {columns}", columns=", ".join(raw.columns)),
                say("film_mass_g, film_length_m, film_counter_m or turns"),
                say("Name it with --column film_mass_g=NAME."),
            )
        )
    if problems:
        raise InputError.many(problems)
    ignored = [column for column, meaning in meanings.items() if meaning is None]
    if ignored:
        findings.append(
            Finding(
                "columns_ignored",
                path.name,
                say("not used: {ignored}.", ignored=", ".join(ignored)),
            )
        )
    source = raw.with_row_index("source_row", offset=1)
    columns = [pl.col("source_row").cast(pl.Int64), _time(raw, path).alias("time")]
    for column, meaning in meanings.items():
        if meaning is None or meaning[0] == "time":
            continue
        role, name, unit = meaning
        if role == "label":
            columns.append(pl.col(column).cast(pl.String).str.strip_chars().alias(name))
        elif role == "count":
            columns.append(_number(raw, column).alias(name))
        else:
            columns.append(_in_si(_number(raw, column), name, unit).alias(si_name(name)))
    typed = source.select(columns)
    if "machine" not in typed.columns:
        typed = typed.with_columns(machine=pl.lit("machine"))
    return _usable(source, typed, path, findings)


def _number(raw: pl.DataFrame, column: str) -> pl.Expr:
    import polars as pl

    expression = pl.col(column)
    if raw.schema[column] == pl.String:
        expression = expression.str.strip_chars()
    return expression.cast(pl.Float64, strict=False)


def _in_si(value: pl.Expr, name: str, unit: str) -> pl.Expr:
    """A column in its SI unit, by the same registry of units as everything else."""
    kind_name = MEASURES[name][0]
    scaled = value * per_si_unit(kind_name, unit)
    return 1.0 + scaled if KINDS[kind_name].is_elongation else scaled


def _time(raw: pl.DataFrame, path: Path) -> pl.Expr:
    """The time column as a naive date and time, in UTC where an offset is given."""
    import polars as pl

    kind = raw.schema["time"]
    if kind == pl.Date:
        return pl.col("time").cast(pl.Datetime("us"))
    if isinstance(kind, pl.Datetime):
        column = pl.col("time").cast(pl.Datetime("us", kind.time_zone))
        return (
            column.dt.convert_time_zone("UTC").dt.replace_time_zone(None)
            if kind.time_zone
            else column
        )
    if kind != pl.String:
        raise InputError.one(
            f"{path.name}.time",
            f"{kind}",
            say("ISO 8601 text or a date and time"),
            say("A bare number could be seconds, milliseconds or days."),
        )
    text = pl.col("time").str.strip_chars().str.replace(" ", "T", literal=True)
    # As an engine of a fleet reads them: a day alone, no seconds, an offset without its colon.
    text = text.str.replace(r"^(\d{4}-\d\d-\d\d)$", "${1}T00:00:00")
    text = text.str.replace(r"(T\d\d:\d\d)(Z|[+-]|$)", "${1}:00${2}")
    text = text.str.replace(r"([+-]\d\d)(\d\d)$", "${1}:${2}")
    has_offset = text.str.contains(r"T.*(Z|[+-]\d\d:?\d\d)$")
    counted = raw.select(offsets=has_offset.sum(), filled=pl.col("time").is_not_null().sum())
    offsets, filled = counted.row(0)
    require_alike(f"{path.name}.time", offsets, filled)
    if offsets:
        return text.str.to_datetime(
            time_unit="us", time_zone="UTC", strict=False, format="%+"
        ).dt.replace_time_zone(None)
    return text.str.to_datetime("%Y-%m-%dT%H:%M:%S%.f", time_unit="us", strict=False)


def _usable(
    source: pl.DataFrame, typed: pl.DataFrame, path: Path, findings: list[Finding]
) -> pl.DataFrame:
    """Rows whose time, machine and figures make sense; the others are counted by reason."""
    import polars as pl

    bad = pl.Series([False] * typed.height, dtype=pl.Boolean)
    asides = []
    for code, column, mask in _faults(source, typed):
        count = int(mask.sum())
        if not count:
            continue
        rows = source.filter(mask).head(EXAMPLES)
        given = rows[column].to_list() if column in rows.columns else [None] * rows.height
        examples = tuple(
            Example(say("row {row}", row=row), None if each is None else str(each))
            for row, each in zip(rows["source_row"], given, strict=True)
        )
        asides.append(Aside(code, column, count, examples))
        bad |= mask
    require_few(asides, int(bad.sum()), typed.height, path.name)
    if not asides:
        return typed
    findings.append(aside_finding(asides, path.name))
    return typed.filter(~bad)


def _faults(source: pl.DataFrame, typed: pl.DataFrame) -> Iterator[tuple[str, str, pl.Series]]:
    """Reason, column in the file, and the rows that it holds for."""
    import polars as pl

    def where(expression: pl.Expr) -> pl.Series:
        return typed.select(expression.fill_null(False)).to_series()

    yield "unread time", "time", where(pl.col("time").is_null())
    yield "reset clock", "time", where(pl.col("time").dt.year() < 2000)
    yield "future", "time", where(pl.col("time") > pl.lit(_latest()))
    machine = pl.col("machine")
    if "machine" in source.columns:
        yield "no machine", "machine", where(machine.is_null() | (machine == ""))
    for column in source.columns:
        meaning = column_meaning(column)
        if meaning is None or meaning[0] not in ("measure", "count"):
            continue
        name = meaning[1] if meaning[0] == "count" else si_name(meaning[1])
        value = pl.col(name)
        # Text that is there and yet no number, and numbers without an end.
        endless = where(value.is_infinite() | value.is_nan())
        yield "no number", column, endless | (typed[name].is_null() & source[column].is_not_null())
        zero = 1.0 if name == "prestretch" else 0.0
        least = least_of(meaning[1])
        low = value < zero if least == "zero" else value <= zero
        yield least, column, where(low & ~value.is_infinite() & ~value.is_nan())
        # Floats of another unit may differ in their last digit.
        in_si = _most_in_si(meaning, column)
        yield "too large", column, where((value > 1.000001 * in_si) & value.is_finite())


def _most_in_si(meaning: tuple[str, str, str], column: str) -> float:
    most = most_of(column)
    if meaning[0] != "measure":
        return most
    kind = MEASURES[meaning[1]][0]
    return float(KINDS[kind].is_elongation) + most * per_si_unit(kind, meaning[2])


def _latest() -> object:
    import datetime

    return datetime.datetime.now(datetime.UTC).replace(tzinfo=None) + datetime.timedelta(days=1)
