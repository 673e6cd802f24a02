"""A whole fleet's cycle records, far more than fit in memory: one query, then the same charts.

The engine (DuckDB, Spark, PostgreSQL: whatever Ibis speaks to) reduces the loads of every machine
to one row a day and load type. The days are then charted here, by the same code as loads are.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.tables.parquet import require_sound_parquet
from woold.watch.charts import Array, Mask
from woold.watch.level_chart import LevelChart, level_chart
from woold.watch.records import MEASURES, column_meaning, per_si_unit
from woold.watch.savings import SavingsKept, savings_of_totals
from woold.watch.settings import ANY_TYPE, WatchSettings
from woold.watch.text_labels import Labels, labels_of
from woold.words import say

if TYPE_CHECKING:
    import ibis
    import polars as pl

__all__ = [
    "Engine",
    "FleetRow",
    "FleetSummary",
    "daily_totals",
    "open_fleet",
    "summarise_fleet",
]

Engine = Literal["duckdb", "spark"]
LEAST_SETUP_DAYS = 20
LEAST_LOADS_A_DAY = 5


@dataclass(frozen=True, slots=True)
class FleetRow:
    """One machine of the fleet, by its days.

    Args:
        machine: its name.
        loads, days: that have a film figure.
        film_per_load_kg: mean over all loads.
        recent: film of the last stretch of days, since the last step of its level, as a share of
            the set-up days.
        changed: first day after the last step; None when there was none.
        first_alarm, last_alarm: days that signal after the set-up days; None when none did.
        alarms: days that signal.
        breaks_per_1000: film breaks per thousand loads; None when they are not recorded.
        lost_kg_per_year: film above the set-up level, at the recent level and the machine's loads
            a day; negative is a gain.
        savings: kept to date, of the loads whose type has a promise.
        charted: false when there are too few set-up days.
    """

    machine: str
    loads: int
    days: int
    film_per_load_kg: float
    recent: float | None
    changed: datetime.date | None
    first_alarm: datetime.date | None
    last_alarm: datetime.date | None
    alarms: int
    breaks_per_1000: float | None
    lost_kg_per_year: float | None
    savings: SavingsKept | None
    charted: bool


_UNCHARTED: dict[str, Any] = {
    "recent": None, "changed": None, "first_alarm": None, "last_alarm": None, "alarms": 0,
    "lost_kg_per_year": None, "charted": False,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class FleetSummary:
    """The fleet, the machine that loses most film first."""

    rows: tuple[FleetRow, ...]
    findings: tuple[Finding, ...]


def open_fleet(
    sources: Sequence[str], engine: Engine = "duckdb", table: str = "", memory: str = "3GB"
) -> Any:
    """The fleet's table.

    Args:
        sources: Parquet files or patterns (``cycles/*.parquet``), or one ``postgres://...``.
        engine: for Parquet.
        table: name of the table of a database.
        memory: that DuckDB may use before it spills to disk.

    Raises:
        InputError: the engine is not installed, or there is nothing to read.
    """
    try:
        import ibis

        if len(sources) == 1 and "://" in sources[0]:
            if not table:
                raise InputError.one(
                    "--table",
                    say("nothing"),
                    say("the name of the table"),
                    say("Name the table with --table."),
                )
            return ibis.connect(sources[0]).table(table)
        if engine == "spark":
            spark = _spark()
            return ibis.union(*(spark.read_parquet(source) for source in sources))
        for source in sources:
            if Path(source).is_file():
                require_sound_parquet(Path(source), most_rows=2**62)
        connection = ibis.duckdb.connect()
        # Its progress bar would go to standard output, in the middle of a JSON document.
        connection.raw_sql("SET enable_progress_bar = false")
        connection.raw_sql("SET TimeZone = 'UTC'; SET preserve_insertion_order = false")
        connection.raw_sql(f"SET memory_limit = '{_memory(memory)}'")
        return connection.read_parquet(list(sources))
    except ImportError as error:
        extra = {"spark": "pyspark, and Java", "duckdb": "woold[fleet]"}[engine]
        if any("://" in source for source in sources):
            extra = "woold[fleet-postgresql]"
        given = say("needs {package}, which is missing", package=error.name)
        raise InputError.one(
            "fleet", given, say("an installed engine"), say("Install {extra}.", extra=extra)
        ) from None
    except InputError:
        raise
    except Exception as error:  # each engine has errors of its own, without a common base
        raise InputError.one(
            "source",
            f"{', '.join(sources)} ({str(error).splitlines()[0][:120]})",
            say("Parquet files or a table"),
            say("Check the names, the rights and the connection."),
        ) from None


def _memory(text: str) -> str:
    import re

    if re.fullmatch(r"\d{1,6}(\.\d+)?\s?[MG]i?B", text) is None:
        raise InputError.one(
            "--memory",
            repr(text),
            say('an amount such as "3GB"'),
            say("Write a number with MB or GB."),
        )
    return text


def _spark() -> Any:
    """A connection to a local Spark, quiet, in UTC."""
    import ibis
    from pyspark.sql import SparkSession

    session = (
        SparkSession.builder.master("local[2]")
        .appName("woold")
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.shuffle.partitions", "8")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    return ibis.pyspark.connect(session)


def daily_totals(table: ibis.Table, settings: WatchSettings) -> ibis.Table:
    """One row per machine, load type and day: ``loads``, ``film_kg``, ``breaks``, ``set_aside``.

    Loads without a time, a machine or a film figure above 0 are counted in ``set_aside``.

    Args:
        table: cycle records, columns named as for :mod:`~woold.watch.records`; amounts per load,
            not running counters.
        settings: for the film's mass per metre where lengths are recorded.

    Raises:
        InputError: no time, machine or film column.
    """
    import ibis

    columns = {name: column_meaning(name) for name in table.columns}
    roles = {meaning[1]: (name, meaning) for name, meaning in columns.items() if meaning}
    for needed in ("time", "machine"):
        if needed not in roles:
            raise InputError.one(
                needed,
                ", ".join(table.columns),
                say("a column {needed}", needed=needed),
                say("Rename a column of the files or of the table."),
            )
    if "film_mass" in roles:
        measure, factor = "film_mass", 1.0
    elif "film_length" in roles and settings.film.mass_per_metre is not None:
        measure, factor = "film_length", settings.film.mass_per_metre
    else:
        allowed = say("film_mass_g (or _kg, _lb, _oz), or film_length_m with film.mass_per_metre")
        raise InputError.one(
            "film",
            ", ".join(table.columns),
            allowed,
            say("Rename a column of the files or of the table, with its unit."),
        )
    name, meaning = roles[measure]
    film = table[name].cast("float64") * (factor * per_si_unit(MEASURES[measure][0], meaning[2]))
    usable = table.time.notnull() & table.machine.notnull() & film.notnull() & (film > 0.0)
    breaks = (
        table[roles["breaks"][0]].cast("int64") if "breaks" in roles else ibis.null().cast("int64")
    )
    load_type = table["load_type"].cast("string") if "load_type" in roles else ibis.literal("")
    reduced = table.select(
        machine=table.machine.cast("string").fill_null(""),
        load_type=load_type.fill_null(""),
        day=table.time.cast("timestamp").truncate("D").cast("date"),
        film=usable.ifelse(film, ibis.null().cast("float64")),
        breaks=usable.ifelse(breaks, ibis.null().cast("int64")),
        usable=usable.fill_null(False).ifelse(1, 0),  # not every engine casts truth to a number
    )
    return reduced.group_by("machine", "load_type", "day").agg(
        loads=reduced.usable.sum().cast("int64"),
        film_kg=reduced.film.sum(),
        breaks=reduced.breaks.sum().cast("int64"),
        set_aside=(reduced.count() - reduced.usable.sum()).cast("int64"),
    )


def summarise_fleet(table: ibis.Table, settings: WatchSettings) -> FleetSummary:
    """Every machine of the fleet on charts of its days.

    Args:
        table: see :func:`daily_totals`.
        settings: the set-up phase is as many days as hold ``setup_loads``, at least twenty.
    """
    import polars as pl

    query = daily_totals(table, settings)
    try:
        totals = pl.from_arrow(query.to_pyarrow())
    except Exception as error:  # each engine has errors of its own, without a common base
        raise InputError.one(
            "source",
            say("not readable ({error})", error=str(error).partition("\n")[0][:120]),
            say("whole Parquet files or a table"),
            say("Copy the files again."),
        ) from None
    assert isinstance(totals, pl.DataFrame)
    findings = []
    aside = int(totals["set_aside"].sum() or 0)
    if aside:
        findings.append(
            Finding(
                "rows_set_aside",
                "fleet",
                say("Loads without time, machine or film: {aside}.", aside=aside),
            )
        )
    totals = totals.filter(pl.col("day").is_not_null() & (pl.col("loads") > 0))
    if totals.height == 0:
        raise InputError.one(
            "fleet",
            say("no load that can be used"),
            say("at least one"),
            say("Look at what was set aside, or name other files."),
        )
    totals = totals.sort("machine", "day", "load_type")
    rows = [_machine_row(part, settings) for part in totals.partition_by("machine")]
    uncharted = sum(not row.charted for row in rows)
    if uncharted:
        findings.append(
            Finding(
                "machines_not_charted",
                "fleet",
                say(
                    "Machines with fewer than {least_setup_days} days that can be charted:"
                    " {uncharted}.",
                    uncharted=uncharted,
                    least_setup_days=LEAST_SETUP_DAYS + 1,
                ),
            )
        )
    rows.sort(key=lambda row: (-(row.lost_kg_per_year or 0.0), row.machine))
    return FleetSummary(tuple(rows), tuple(findings))


def _machine_row(part: pl.DataFrame, settings: WatchSettings) -> FleetRow:
    loads = part["loads"].to_numpy().astype(np.int64)
    film = part["film_kg"].to_numpy().astype(float)
    types = labels_of(part["load_type"])
    days, shares = _day_shares(part["day"].to_numpy(), loads, film, types, settings)
    breaks = part["breaks"].sum() if part["breaks"].null_count() < part.height else None
    total = int(loads.sum())
    base: dict[str, Any] = {
        "machine": str(part["machine"][0]),
        "loads": total,
        "days": int(part["day"].n_unique()),
        "film_per_load_kg": float(film.sum()) / total,
        "breaks_per_1000": None if breaks is None else 1000.0 * float(breaks) / total,
        "savings": _savings(loads, film, types, settings),
    }
    setup = _setup_days(days.size, total, base["days"], settings)
    if days.size <= setup:
        return FleetRow(**base, **_UNCHARTED)
    # Rounded down to a power of two, so that limits are reckoned once for many machines.
    every = 2.0 ** max(
        5, math.floor(math.log2(settings.charts.false_alarm_every * base["days"] / total))
    )
    try:
        chart = level_chart(shares, setup, every, settings.charts, of_means=True)
    except InputError:  # film that is the same every day: a setting
        return FleetRow(**base, **_UNCHARTED)
    alarms = np.flatnonzero(_signals(chart))
    steps = chart.steps
    span = max(1, int((days[-1] - days[0]).astype(int)) + 1)
    return FleetRow(
        **base,
        recent=chart.recent,
        changed=days[steps[-1].index].item() if steps else None,
        first_alarm=days[alarms[0]].item() if alarms.size else None,
        last_alarm=days[alarms[-1]].item() if alarms.size else None,
        alarms=int(alarms.size),
        lost_kg_per_year=(chart.recent - 1.0) * base["film_per_load_kg"] * total / span * 365.25,
        charted=True,
    )


def _signals(chart: LevelChart) -> Mask:
    """Values from an alarm on, until the level is back."""
    found = np.zeros(chart.values.size, dtype=bool)
    for each in chart.excursions:
        found[each.alarm : each.last + 1] = True
    return found


def _setup_days(charted_days: int, loads: int, days: int, settings: WatchSettings) -> int:
    """Days of the set-up phase: as many as hold the loads asked for, at least twenty."""
    wanted = int(np.ceil(settings.charts.setup_loads * days / max(loads, 1)))
    return min(max(LEAST_SETUP_DAYS, wanted), max(LEAST_SETUP_DAYS, charted_days // 2))


def _day_shares(
    day: NDArray[np.datetime64],
    loads: NDArray[np.int64],
    film: NDArray[np.float64],
    types: Labels,
    settings: WatchSettings,
) -> tuple[NDArray[np.datetime64], NDArray[np.float64]]:
    """Film of each day as a share of what the set-up days' film per load of each type gives."""
    days, codes = np.unique(day, return_inverse=True)
    setup = _setup_days(days.size, int(loads.sum()), days.size, settings)
    means = _type_means(film, loads, types, codes < setup)
    known = np.isfinite(means)
    expected = np.bincount(codes[known], (loads * means)[known], days.size)
    taken = np.bincount(codes[known], film[known], days.size)
    counted = np.bincount(codes[known], loads[known], days.size)
    enough = counted >= LEAST_LOADS_A_DAY
    return days[enough], taken[enough] / expected[enough]


def _type_means(
    totals: Array, counts: NDArray[np.int64], types: Labels, in_setup: Mask, least: int = 5
) -> Array:
    """Mean per load of each row's type in the set-up phase; NaN where it has too few loads there.

    Args:
        totals: summed over the row's loads, shape (rows,).
        counts: loads of each row.
        types: of each row.
        in_setup: which rows belong to the set-up phase.
        least: loads that a type must have there.
    """
    names = len(types.names)
    loads = np.bincount(types.codes[in_setup], counts[in_setup], names)
    sums = np.bincount(types.codes[in_setup], totals[in_setup], names)
    means = np.where(loads >= least, sums / np.maximum(loads, 1), np.nan)
    return np.asarray(means[types.codes], float)


def _savings(
    loads: NDArray[np.int64], film: NDArray[np.float64], types: Labels, settings: WatchSettings
) -> SavingsKept | None:
    counts = np.bincount(types.codes, loads, len(types.names))
    sums = np.bincount(types.codes, film, len(types.names))
    promises = settings.promises
    return savings_of_totals(
        [
            (int(count), float(total), promises.get(name, promises.get(ANY_TYPE)))
            for name, count, total in zip(types.names, counts, sums, strict=True)
        ]
    )
