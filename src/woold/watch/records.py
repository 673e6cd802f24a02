"""Cycle records from CSV or Parquet files, one row a load, SI inside.

Columns are known by name; the unit stands behind the last underscore: ``film_mass_g``,
``film_length_ft``, ``cycle_time_s``, ``prestretch_percent``. Other columns are ignored and listed.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from woold.errors import InputError, Problem
from woold.prediction.result import Finding
from woold.tables.parquet import is_parquet, quiet_engine, require_sound_parquet
from woold.units import KINDS, parse_quantity
from woold.watch.text_records import read_text
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["LABELS", "MEASURES", "Records", "column_meaning", "per_si_unit", "read_records"]

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

MOST_BAD_ROWS = 0.05  # more than this share and the file is refused: it is not what it seems
_EXAMPLES = 3


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


def _si_name(measure: str) -> str:
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


def _known_columns() -> list[str]:
    measures = [f"{name}_{unit}" for name, (_, units) in MEASURES.items() for unit in units]
    return ["time", *measures, *COUNTS, *LABELS]


def read_records(paths: Sequence[Path], renames: Mapping[str, str] | None = None) -> Records:
    """Cycle records of one or several files, in the order given.

    Args:
        paths: CSV or Parquet files with the same columns.
        renames: known column -> name in the file.

    Raises:
        InputError: a file that cannot be read, no time or no film column, a column without its
            unit, more than 5 % of rows that cannot be used.
    """
    import polars as pl

    findings: list[Finding] = []
    frames = []
    for path in paths:
        raw = _read_file(path, findings)
        raw = _renamed(raw, renames or {}, path)
        frames.append(_typed(raw, path, findings))
    try:
        frame = pl.concat(frames, how="diagonal") if len(frames) > 1 else frames[0]
    except pl.exceptions.PolarsError as error:
        raise InputError.one(
            "records",
            str(error)[:200],
            say("files with the same columns"),
            say("Read files of other columns one by one."),
        ) from None
    if frame.height == 0:
        raise InputError.one(
            "records", say("no row"), say("at least one load"), say("Is this the right file?")
        )
    return Records(frame, tuple(findings))


def _read_file(path: Path, findings: list[Finding]) -> pl.DataFrame:
    import polars as pl

    if not path.is_file():
        raise InputError.one(
            str(path), say("no such file"), say("a CSV or Parquet file"), say("Check the name.")
        )
    try:
        if is_parquet(path):
            require_sound_parquet(path)
            with quiet_engine():
                return pl.read_parquet(path)
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
            near = difflib.get_close_matches(known, _known_columns(), 1)
            todo = (
                say("Did you mean {near}?", near=near[0])
                if near
                else say("Write one of these names.")
            )
            problems.append(
                Problem(
                    f"--column {known}", say("unknown column"), ", ".join(_known_columns()), todo
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
            columns.append(_in_si(_number(raw, column), name, unit).alias(_si_name(name)))
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


def per_si_unit(kind_name: str, unit: str) -> float:
    """How much of the kind's SI unit one ``unit`` is; for an elongation a share."""
    value = parse_quantity(f"1 {unit}", kind_name, kind_name)
    return value - 1.0 if KINDS[kind_name].is_elongation else value


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
    has_offset = text.str.contains(r"(Z|[+-]\d\d:?\d\d)$")
    counted = raw.select(offsets=has_offset.sum(), filled=pl.col("time").is_not_null().sum())
    offsets, filled = counted.row(0)
    if 0 < offsets < filled:
        raise InputError.one(
            f"{path.name}.time",
            say(
                "{offsets} of {filled} rows with an offset from UTC", offsets=offsets, filled=filled
            ),
            say("all rows with one, or none"),
            say("Export all times alike, in UTC if possible."),
        )
    if offsets:
        return text.str.to_datetime(
            time_unit="us", time_zone="UTC", strict=False, format="%+"
        ).dt.replace_time_zone(None)
    seconds = pl.when(text.str.count_matches(":") == 1).then(text + ":00").otherwise(text)
    return seconds.str.to_datetime("%Y-%m-%dT%H:%M:%S%.f", time_unit="us", strict=False)


def _usable(
    source: pl.DataFrame, typed: pl.DataFrame, path: Path, findings: list[Finding]
) -> pl.DataFrame:
    """Rows whose time, machine and figures make sense; the others are counted by reason."""
    import polars as pl

    reasons: list[tuple[str, pl.Expr]] = [
        (say("no time that can be read"), pl.col("time").is_null()),
        (say("a time before 2000, as of a clock that was reset"), pl.col("time").dt.year() < 2000),
        (say("a time that lies in the future"), pl.col("time") > pl.lit(_latest())),
        (say("no machine"), pl.col("machine").is_null() | (pl.col("machine") == "")),
    ]
    for column in typed.columns:
        if column in ("time", "source_row", *LABELS):
            continue
        least_is_zero = column in ("breaks", "break_counter", "film_counter_m")
        wrong = (pl.col(column) < 0) if least_is_zero else (pl.col(column) <= 0)
        reasons.append(
            (
                say("{column} below 0", column=column)
                if least_is_zero
                else say("{column} not above 0", column=column),
                wrong | pl.col(column).is_infinite() | pl.col(column).is_nan(),
            )
        )
    # Text that is there and yet no number.
    for column, kind in source.schema.items():
        meaning = column_meaning(column)
        if meaning is None or meaning[0] not in ("measure", "count") or kind != pl.String:
            continue
        name = meaning[1] if meaning[0] == "count" else _si_name(meaning[1])
        unread = typed[name].is_null() & source[column].is_not_null()
        if unread.any():
            reasons.append((say("{column} that is no number", column=column), pl.lit(unread)))
    bad = pl.Series([False] * typed.height, dtype=pl.Boolean)
    parts = []
    for text, expression in reasons:
        mask = typed.select(expression.fill_null(False)).to_series()
        if mask.len() != typed.height:  # a literal of one value
            continue
        if mask.any():
            rows = typed.filter(mask)["source_row"]
            where = ", ".join(str(row) for row in rows.head(_EXAMPLES))
            more = ", …" if rows.len() > _EXAMPLES else ""
            parts.append(
                say(
                    "{text} ({count}: row {where})", text=text, count=rows.len(), where=where + more
                )
            )
            bad |= mask
    count = int(bad.sum())
    if count > MOST_BAD_ROWS * typed.height:
        raise InputError.one(
            path.name,
            say(
                "{count} of {rows} rows that cannot be used: {parts}",
                count=count,
                rows=typed.height,
                parts="; ".join(parts),
            )[:400],
            say("at most {most_bad_rows:.0%} of them", most_bad_rows=MOST_BAD_ROWS),
            say("Mend the file, or name the right columns with --column."),
        )
    if count:
        findings.append(
            Finding("rows_set_aside", path.name, say("set aside: {parts}.", parts="; ".join(parts)))
        )
    return typed.filter(~bad) if count else typed


def _latest() -> object:
    import datetime

    return datetime.datetime.now(datetime.UTC).replace(tzinfo=None) + datetime.timedelta(days=1)
