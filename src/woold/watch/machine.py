"""One machine's records: put in order, charted against their set-up phase, and explained."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.watch.breaks import BreaksChart, breaks_chart
from woold.watch.change import Hint, hints_for
from woold.watch.charts import Array, Mask
from woold.watch.labels import Labels, labels_of
from woold.watch.order import amounts_of_counter, order_of_loads
from woold.watch.panel import Panel, panel_of
from woold.watch.records import LABELS
from woold.watch.savings import SavingsKept, savings_kept
from woold.watch.settings import WatchSettings
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["Alarm", "Charted", "MachineWatch", "type_means", "watch_machine", "watch_values"]

FilmSource = Literal["weighed", "length", "counter", "turns"]
MOST_AUTOCORRELATION = 0.2  # above this the run lengths no longer hold; common practice
MOST_BETWEEN = 50  # values between two signals of one alarm
_NAMES = {"film": "film per load", "prestretch": "pre-stretch", "cycle_time": "cycle time"}


@dataclass(frozen=True, slots=True)
class Alarm:
    """A stretch of loads that one chart signals.

    Args:
        quantity: film, prestretch, cycle_time or breaks.
        chart: individuals, ewma, cusum or counts.
        direction: ``"up"`` or ``"down"``.
        first, last: indices of the first and last load of it, in the order of wrapping.
        time, last_time: when these were wrapped.
        signals: loads, or groups of loads, that signal.
    """

    quantity: str
    chart: str
    direction: Literal["up", "down"]
    first: int
    last: int
    time: datetime.datetime
    last_time: datetime.datetime
    signals: int


@dataclass(frozen=True, slots=True)
class Charted:
    """One quantity of one machine on its charts, as a share of its mean in the set-up phase.

    Args:
        quantity: film, prestretch or cycle_time.
        mean: in the set-up phase, over the load types [SI unit; pre-stretch as a ratio].
        loads: index of the (last) load of each charted value.
        panel: charts of the shares; their centre is about 1.
        hints: for each step of the level, what may have caused it.
        left_out: loads of types that the set-up phase did not see five times.
    """

    quantity: str
    mean: float
    loads: NDArray[np.int64]
    panel: Panel
    hints: tuple[tuple[Hint, ...], ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class MachineWatch:
    """All that was found for one machine.

    Args:
        machine: its name.
        loads: rows in order, doubles left out.
        film_source: where film per load comes from; None when it has none.
        times: of the loads, shape (loads,), datetime64[us].
        charted: the quantities that could be charted.
        breaks: chart of film breaks; None when there is no such column or no break to start from.
        savings, months: kept in all, and month by month; None or empty without a promise.
        alarms: after the set-up phase, in order.
        findings: about the records and the set-up phase.
    """

    machine: str
    loads: int
    film_source: FilmSource | None
    times: NDArray[np.datetime64]
    charted: tuple[Charted, ...]
    breaks: BreaksChart | None
    savings: SavingsKept | None
    months: tuple[tuple[str, SavingsKept], ...]
    alarms: tuple[Alarm, ...]
    findings: tuple[Finding, ...]


def watch_machine(
    frame: pl.DataFrame,
    settings: WatchSettings,
    since: datetime.datetime | None = None,
) -> MachineWatch:
    """Charts, steps, alarms and savings of one machine.

    Args:
        frame: its rows of :class:`~woold.watch.records.Records`, in the order of the files.
        settings: what to watch against.
        since: alarms that ended before are not reported.
    """
    machine = str(frame["machine"][0])
    findings: list[Finding] = []
    frame = _in_order(frame, machine, findings)
    times = frame["time"].to_numpy()
    film, source = _film(frame, settings, machine, findings)
    load_types = labels_of(
        frame["load_type"] if "load_type" in frame.columns else [""] * frame.height
    )
    labels = {
        name: labels_of(frame[name])
        for name in LABELS
        if name in frame.columns and name not in ("machine", "load_type")
    }
    quantities: dict[str, Array] = {}
    if film is not None:
        quantities["film"] = film
    for name, column in (("prestretch", "prestretch"), ("cycle_time", "cycle_time_s")):
        if column in frame.columns:
            quantities[name] = frame[column].cast(float).fill_null(np.nan).to_numpy()
    charted = []
    for name, values in quantities.items():
        try:
            charted.append(watch_values(name, values, load_types, labels, settings))
        except InputError as error:
            problem = error.problems[0]
            message = f"{_NAMES[name]} is not charted: {problem.given}; {problem.todo}"
            findings.append(Finding("not_charted", f"{machine}.{name}", message))
    findings.extend(_set_up_findings(machine, charted))
    breaks = _breaks(frame, settings, machine, findings)
    alarms = _alarms(charted, breaks, times, settings)
    if since is not None:
        alarms = [alarm for alarm in alarms if alarm.last_time >= since]
    savings = savings_kept(film, load_types, settings.promises) if film is not None else None
    return MachineWatch(
        machine=machine,
        loads=frame.height,
        film_source=source,
        times=times,
        charted=tuple(charted),
        breaks=breaks,
        savings=savings,
        months=_months(times, film, load_types, settings) if film is not None and savings else (),
        alarms=tuple(alarms),
        findings=tuple(findings),
    )


def _in_order(frame: pl.DataFrame, machine: str, findings: list[Finding]) -> pl.DataFrame:
    seconds = frame["time"].dt.epoch("us").to_numpy() / 1e6
    figures = frame.drop("source_row")
    ordering = order_of_loads(seconds, lambda rows: figures[rows].hash_rows(seed=1).to_numpy())
    if ordering.doubles:
        findings.append(
            Finding(
                "doubles",
                machine,
                say("{doubles} rows stand twice: one is used.", doubles=ordering.doubles),
            )
        )
    if ordering.conflicts:
        findings.append(
            Finding(
                "same_time",
                machine,
                say(
                    "{conflicts} loads have the same time as another and other figures: all"
                    " are used. Are two machines under one name?",
                    conflicts=ordering.conflicts,
                ),
            )
        )
    if ordering.late:
        findings.append(
            Finding(
                "late_rows",
                machine,
                say("{late} rows came late: put into their place.", late=ordering.late),
            )
        )
    for index, seconds_back in ordering.set_back:
        row = frame["source_row"][index]
        findings.append(
            Finding(
                "clock_set_back",
                machine,
                say(
                    "the clock goes back by about {seconds_back:.0f} min at row {row}; the"
                    " order of the file is kept there.",
                    seconds_back=seconds_back / 60,
                    row=row,
                ),
            )
        )
    if np.array_equal(ordering.order, np.arange(frame.height)):
        return frame
    return frame[ordering.order]


def _film(
    frame: pl.DataFrame, settings: WatchSettings, machine: str, findings: list[Finding]
) -> tuple[Array | None, FilmSource | None]:
    """Film of each load [kg] from the best source there is, and which that was."""

    def column(name: str) -> Array:
        return np.asarray(frame[name].cast(float).fill_null(np.nan).to_numpy(), float)

    if "film_mass_kg" in frame.columns:
        return column("film_mass_kg"), "weighed"
    length: Array
    source: FilmSource
    if "film_length_m" in frame.columns:
        length, source = column("film_length_m"), "length"
    elif "film_counter_m" in frame.columns:
        amounts = amounts_of_counter(column("film_counter_m"))
        length, source = amounts.values, "counter"
        if amounts.resets or amounts.gaps:
            findings.append(
                Finding(
                    "counter",
                    f"{machine}.film_counter",
                    say(
                        "the counter started again {resets} times and jumped {gaps} times, as"
                        " if rows were missing: these loads have no film figure.",
                        resets=amounts.resets,
                        gaps=amounts.gaps,
                    ),
                )
            )
    elif settings.perimeter is not None and "turns" in frame.columns:
        length, source = column("turns") * settings.perimeter, "turns"
        findings.append(
            Finding(
                "film_from_turns",
                f"{machine}.film",
                say(
                    "film is reckoned from turns and perimeter: a change of stretch cannot be seen."
                ),
            )
        )
    else:
        findings.append(
            Finding(
                "no_film", f"{machine}.film", say("film from turns needs film.perimeter, as set.")
            )
        )
        return None, None
    if settings.mass_per_metre is None:
        if settings.promises:
            raise InputError.one(
                "film.mass_per_metre",
                say("nothing"),
                say('a mass per length, such as "3.6 g/m"'),
                say("The records hold film lengths, and the promise is in film mass."),
            )
        # Charts are of shares, for which any constant will do.
        findings.append(
            Finding("length_only", f"{machine}.film", say("film is a length: no mass, no money."))
        )
        return length, source
    return length * settings.mass_per_metre, source


def watch_values(
    quantity: str,
    values: Array,
    load_types: Labels,
    labels: Mapping[str, Labels],
    settings: WatchSettings,
) -> Charted:
    """Charts of one quantity.

    Each load is divided by the mean of its load type in the set-up phase, so that loads of several
    sizes make one chart. Types without five loads in that phase are left out.

    Args:
        quantity: name.
        values: of the loads in order, NaN where not known, shape (loads,).
        load_types: of each load.
        labels: roll, shift, setting of each load.
        settings: set-up phase and false alarms.

    Raises:
        InputError: fewer than twenty values in the set-up phase, or values that never change.
    """
    known = np.flatnonzero(np.isfinite(values))
    kept = values[known]
    setup = min(settings.setup_loads, kept.size)
    in_setup = np.arange(kept.size) < setup
    means = type_means(kept, np.ones(kept.size, np.int64), load_types.take(known), in_setup)
    usable = np.isfinite(means)
    left_out = int(kept.size - usable.sum())
    known, kept, means = known[usable], kept[usable], means[usable]
    setup = int(usable[:setup].sum())
    shares = kept / means if kept.size else kept
    overall = float(kept[:setup].mean()) if setup else float("nan")
    if settings.group > 1:
        known, shares, setup = _grouped(known, shares, setup, settings.group)
    every = max(20.0, settings.false_alarm_every / settings.group)  # values of a chart
    panel = panel_of(shares, setup, every, settings)
    charted_labels = {name: each.take(known) for name, each in labels.items()}
    return Charted(
        quantity=quantity,
        mean=overall,
        loads=known,
        panel=panel,
        hints=tuple(tuple(hints_for(change, shares, charted_labels)) for change in panel.changes),
        left_out=left_out,
    )


def type_means(
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


def _grouped(
    known: NDArray[np.int64], shares: Array, setup: int, group: int
) -> tuple[NDArray[np.int64], Array, int]:
    """Means of consecutive loads; the set-up phase keeps whole groups only."""
    count = shares.size // group
    means = shares[: count * group].reshape(count, group).mean(axis=1)
    return known[group - 1 : count * group : group], means, setup // group


def _set_up_findings(machine: str, charted: Sequence[Charted]) -> list[Finding]:
    found = []
    for each in charted:
        field = f"{machine}.{each.quantity}"
        panel, count = each.panel, each.panel.set_up.count
        if each.left_out:
            found.append(
                Finding(
                    "load_types_left_out",
                    field,
                    say(
                        "{left_out} loads are not charted: the set-up phase saw their load"
                        " type fewer than five times. Lengthen charts.setup_loads.",
                        left_out=each.left_out,
                    ),
                )
            )
        outside = int(
            each.panel.individuals.signals[:count].sum() + each.panel.ewma.signals[:count].sum()
        )
        if outside:
            found.append(
                Finding(
                    "set_up_not_in_control",
                    field,
                    say(
                        "the set-up phase of {names} is not in control itself ({outside}"
                        " signals in {count} values): limits are too wide or in the wrong"
                        " place. Choose another set-up phase.",
                        names=_NAMES[each.quantity],
                        outside=outside,
                        count=count,
                    ),
                )
            )
        if each.panel.set_up.autocorrelation > max(MOST_AUTOCORRELATION, 2.0 / count**0.5):
            found.append(
                Finding(
                    "loads_hang_together",
                    field,
                    say(
                        "neighbouring loads are alike in {names} (correlation"
                        " {autocorrelation:.2f}): false alarms come more often than asked."
                        " Chart means with charts.group.",
                        names=_NAMES[each.quantity],
                        autocorrelation=panel.set_up.autocorrelation,
                    ),
                )
            )
    return found


def _breaks(
    frame: pl.DataFrame, settings: WatchSettings, machine: str, findings: list[Finding]
) -> BreaksChart | None:
    if "breaks" in frame.columns:
        counts = frame["breaks"].fill_null(0.0).to_numpy()
    elif "break_counter" in frame.columns:
        counter = frame["break_counter"].cast(float).fill_null(np.nan).to_numpy()
        counts = np.nan_to_num(amounts_of_counter(counter, may_be_zero=True).values)
    else:
        return None
    chart = breaks_chart(np.rint(counts).astype(np.int64), settings.setup_loads)
    if chart is None:
        findings.append(
            Finding(
                "no_break_in_set_up",
                f"{machine}.breaks",
                say(
                    "no film break in the first {setup_loads} loads: a longer set-up phase is"
                    " needed to chart breaks.",
                    setup_loads=settings.setup_loads,
                ),
            )
        )
    return chart


def _alarms(
    charted: Sequence[Charted],
    breaks: BreaksChart | None,
    times: NDArray[np.datetime64],
    settings: WatchSettings,
) -> list[Alarm]:
    alarms: list[Alarm] = []
    for each in charted:
        panel = each.panel
        start = panel.set_up.count
        single, weighted, sums = panel.individuals, panel.ewma, panel.cusum
        for chart, up, down in (
            ("individuals", single.values > single.high, single.values < single.low),
            ("ewma", weighted.values > weighted.high, weighted.values < weighted.low),
            ("cusum", sums.upper > sums.limit, sums.lower > sums.limit),
        ):
            alarms += _runs(each.quantity, chart, "up", up, each.loads, start, times)
            alarms += _runs(each.quantity, chart, "down", down, each.loads, start, times)
    if breaks is not None:
        lasts = breaks.starts + breaks.loads - 1
        start = int(np.searchsorted(lasts, settings.setup_loads))
        above, below = breaks.counts > breaks.high, breaks.counts < breaks.low
        alarms += _runs("breaks", "counts", "up", above, lasts, start, times)
        alarms += _runs("breaks", "counts", "down", below, lasts, start, times)
    return sorted(alarms, key=lambda alarm: (alarm.first, alarm.quantity, alarm.chart))


def _runs(
    quantity: str,
    chart: str,
    direction: Literal["up", "down"],
    signals: Mask,
    loads: NDArray[np.int64],
    start: int,
    times: NDArray[np.datetime64],
) -> list[Alarm]:
    """Signals after the set-up phase; those less than fifty values apart make one alarm."""
    places = np.flatnonzero(signals[start:]) + start
    if places.size == 0:
        return []
    parts = np.split(places, np.flatnonzero(np.diff(places) > MOST_BETWEEN) + 1)
    return [
        Alarm(
            quantity=quantity,
            chart=chart,
            direction=direction,
            first=int(loads[part[0]]),
            last=int(loads[part[-1]]),
            time=times[loads[part[0]]].item(),
            last_time=times[loads[part[-1]]].item(),
            signals=int(part.size),
        )
        for part in parts
    ]


def _months(
    times: NDArray[np.datetime64], film: Array, types: Labels, settings: WatchSettings
) -> tuple[tuple[str, SavingsKept], ...]:
    months = times.astype("datetime64[M]")
    found = []
    for month in np.unique(months):
        mine = np.flatnonzero(months == month)
        kept = savings_kept(film[mine], types.take(mine), settings.promises)
        if kept is not None:
            found.append((str(month), kept))
    return tuple(found)
