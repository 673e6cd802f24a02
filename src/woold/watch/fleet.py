"""A whole fleet's cycle records, far more than fit in memory: one query, then the same charts.

The engine (DuckDB, Spark, PostgreSQL: whatever Ibis speaks to) reduces the loads of every machine
to one row a day and load type. The days are then charted here, by the same code as loads are.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from woold.case.asked import cell_questions
from woold.errors import InputError
from woold.prediction.result import Finding
from woold.watch.charts import Array, Mask
from woold.watch.cycle_columns import MEASURES, CycleColumns, column_meaning, per_si_unit
from woold.watch.fleet_cells import (
    CellFault,
    asides_of,
    cell_faults,
    number_in,
    offsets_in,
    time_in,
)
from woold.watch.level_chart import LevelChart, level_chart
from woold.watch.savings import SavingsKept, savings_of_totals
from woold.watch.set_aside import aside_finding, require_alike, require_few
from woold.watch.settings import ANY_TYPE, WatchSettings
from woold.watch.text_labels import Labels, labels_of
from woold.words import say

if TYPE_CHECKING:
    import ibis
    import polars as pl

__all__ = ["FleetRow", "FleetSummary", "daily_totals", "summarise_fleet"]

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
        charted: false when there are too few set-up days, or their film is a setting.
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


@dataclass(frozen=True, slots=True)
class _Query:
    """The query of the days, and the reasons that it counts.

    Args:
        days: see :func:`daily_totals`, with a column ``fault_0``, ``fault_1`` ... for each reason.
        faults: reasons for which loads are set aside.
        film: name of the film's column in the records.
    """

    days: ibis.Table
    faults: tuple[CellFault, ...]
    film: str


def daily_totals(table: ibis.Table, settings: WatchSettings) -> ibis.Table:
    """One row per machine, load type and day: ``loads``, ``film_kg``, ``breaks``, ``set_aside``.

    Loads with a cell that cannot be used, or without a film figure, are counted in ``set_aside``.

    Args:
        table: cycle records, columns named as for :mod:`~woold.watch.records`; amounts per load,
            not running counters.
        settings: for the film's mass per metre where lengths are recorded.

    Raises:
        InputError: no time, machine or film column.
    """
    return _query(table, settings).days


def _query(table: ibis.Table, settings: WatchSettings) -> _Query:
    import ibis

    columns = {name: column_meaning(name) for name in table.columns}
    roles = {meaning[1]: (name, meaning) for name, meaning in columns.items() if meaning}
    name, per_unit = _film_column(roles, table.columns, settings)
    breaks = roles["breaks"][0] if "breaks" in roles else None
    faults = tuple(cell_faults(table, [name, *([breaks] if breaks else [])]))
    film = number_in(table, name) * per_unit
    bad = ibis.or_(*(each.holds for each in faults))
    usable = ~bad & film.notnull()
    broke = number_in(table, breaks).cast("int64") if breaks else ibis.null("int64")
    load_type = table["load_type"].cast("string") if "load_type" in roles else ibis.literal("")
    offset = offsets_in(table)
    reduced = table.select(
        timed=table.time.notnull().ifelse(1, 0),
        offset=ibis.literal(0) if offset is None else offset.fill_null(False).ifelse(1, 0),
        machine=table.machine.cast("string").fill_null("").strip(),
        load_type=load_type.fill_null(""),
        day=bad.ifelse(ibis.null("timestamp"), time_in(table)).truncate("D").cast("date"),
        film=usable.ifelse(film, ibis.null("float64")),
        breaks=usable.ifelse(broke, ibis.null("int64")),
        # Not every engine casts truth to a number.
        usable=usable.ifelse(1, 0),
        bad=bad.ifelse(1, 0),
        empty=(~bad & film.isnull()).ifelse(1, 0),
        **{f"fault_{at}": each.holds.ifelse(1, 0) for at, each in enumerate(faults)},
    )
    counted = ("bad", "empty", "timed", "offset", *(f"fault_{at}" for at in range(len(faults))))
    days = reduced.group_by("machine", "load_type", "day").agg(
        loads=reduced.usable.sum().cast("int64"),
        film_kg=reduced.film.sum(),
        breaks=reduced.breaks.sum().cast("int64"),
        set_aside=(reduced.count() - reduced.usable.sum()).cast("int64"),
        **{each: reduced[each].sum().cast("int64") for each in counted},
    )
    return _Query(days, faults, name)


def _film_column(
    roles: Mapping[str, tuple[str, tuple[str, str, str]]],
    columns: Sequence[str],
    settings: WatchSettings,
) -> tuple[str, float]:
    """The column that film is counted by, and film of one of its units [kg]."""
    for needed in ("time", "machine"):
        if needed not in roles:
            raise InputError.one(
                needed,
                ", ".join(columns),
                say("a column {needed}", needed=needed),
                say("Rename a column of the files or of the table."),
            )
    if "film_mass" in roles:
        measure, factor = "film_mass", 1.0
    elif "film_length" in roles and settings.film.mass_per_metre is not None:
        measure, factor = "film_length", settings.film.mass_per_metre
    else:
        raise InputError.one(
            "film",
            ", ".join(columns),
            say("film_mass_g (or _kg, _lb, _oz), or film_length_m with film.mass_per_metre"),
            say("Rename a column of the files or of the table, with its unit."),
        )
    name, meaning = roles[measure]
    return name, factor * per_si_unit(MEASURES[measure][0], meaning[2])


def summarise_fleet(
    table: ibis.Table, settings: WatchSettings, as_typed: Collection[str] = ()
) -> FleetSummary:
    """Every machine of the fleet on charts of its days.

    Args:
        table: see :func:`daily_totals`.
        settings: the set-up phase is as many days as hold ``setup_loads``, at least twenty.
        as_typed: columns that were asked about and are right, "fleet film_mass_g".

    Raises:
        InputError: records that cannot be read, or of which too many rows cannot be used, or a
            question about a film per load that is not usual.
    """
    import polars as pl

    query = _query(table, settings)
    try:
        totals = pl.from_arrow(query.days.to_pyarrow())
        assert isinstance(totals, pl.DataFrame)
        counts = [int(totals[f"fault_{at}"].sum() or 0) for at in range(len(query.faults))]
        asides = asides_of(table, query.faults, counts)
    except Exception as error:  # each engine has errors of its own, without a common base
        raise InputError.one(
            "source",
            say("not readable ({error})", error=str(error).partition("\n")[0][:120]),
            say("whole Parquet files or a table"),
            say("Copy the files again."),
        ) from None
    rows = int(totals["loads"].sum() or 0) + int(totals["set_aside"].sum() or 0)
    require_alike("fleet.time", int(totals["offset"].sum() or 0), int(totals["timed"].sum() or 0))
    require_few(asides, int(totals["bad"].sum() or 0), rows, "fleet")
    findings = [aside_finding(asides, "fleet")] if asides else []
    if empty := int(totals["empty"].sum() or 0):
        told = say("Loads without a figure in {column}: {count}.", column=query.film, count=empty)
        findings.append(Finding("loads_without_film", "fleet", told))
    totals = totals.filter(pl.col("day").is_not_null() & (pl.col("loads") > 0))
    if totals.height == 0:
        raise InputError.one(
            "fleet",
            say("no load that can be used"),
            say("at least one"),
            say("Look at what was set aside, or name other files."),
        )
    _require_usual(totals, query.film, as_typed)
    totals = totals.sort("machine", "day", "load_type")
    machines = [_machine_row(part, settings) for part in totals.partition_by("machine")]
    uncharted = sum(not row.charted for row in machines)
    if uncharted:
        told = say(
            "Machines that are not charted, with fewer than {least_setup_days} days of loads or"
            " with the same film every day: {uncharted}.",
            uncharted=uncharted,
            least_setup_days=LEAST_SETUP_DAYS + 1,
        )
        findings.append(Finding("machines_not_charted", "fleet", told))
    machines.sort(key=lambda row: (-(row.lost_kg_per_year or 0.0), row.machine))
    return FleetSummary(tuple(machines), tuple(findings))


def _require_usual(totals: pl.DataFrame, column: str, as_typed: Collection[str]) -> None:
    """Asks about a film per load that is not usual: a wrong unit, most of all."""
    mean = float(totals["film_kg"].sum()) / float(totals["loads"].sum())
    names = {"film_mass_kg": f"fleet {column}"}
    asked = list(cell_questions(CycleColumns, {"film_mass_kg": mean}, names, as_typed))
    if asked:
        raise InputError.many(asked)


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
