"""One machine's records: put in order, charted against their set-up phase, and explained."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.watch.breaks import BreaksChart, breaks_chart
from woold.watch.charts import Array
from woold.watch.counters import amounts_of_counter
from woold.watch.cycle_columns import LABELS
from woold.watch.events import Event, events_of
from woold.watch.film_per_load import FilmSource, film_per_load
from woold.watch.load_order import order_of_loads
from woold.watch.quantity_charts import QUANTITIES, Charted, set_up_findings, watch_values
from woold.watch.savings import SavingsKept, savings_kept
from woold.watch.settings import WatchSettings
from woold.watch.text_labels import Labels, labels_of
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["MachineWatch", "watch_machine"]


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
        events: alarms after the set-up phase, grouped, in order.
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
    events: tuple[Event, ...]
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
        since: events that ended before are not reported.
    """
    machine = str(frame["machine"][0])
    findings: list[Finding] = []
    frame = _in_order(frame, machine, findings)
    times = frame["time"].to_numpy()
    film, source = film_per_load(frame, settings, machine, findings)
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
            charted.append(watch_values(name, values, load_types, labels, settings.charts))
        except InputError as error:
            problem = error.problems[0]
            message = say(
                "{name} is not charted: {given}; {todo}",
                name=say(QUANTITIES[name]),
                given=problem.given,
                todo=problem.todo,
            )
            findings.append(Finding("not_charted", f"{machine}.{name}", message))
    findings.extend(set_up_findings(machine, charted, settings.charts.group))
    breaks = _breaks(frame, settings, machine, findings)
    events = events_of(charted, breaks, labels, frame.height)
    if since is not None:
        events = [each for each in events if times[each.last].item() >= since]
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
        events=tuple(events),
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
                say(
                    "Rows that stand twice: {doubles}; one of each is used.",
                    doubles=ordering.doubles,
                ),
            )
        )
    if ordering.conflicts:
        findings.append(
            Finding(
                "same_time",
                machine,
                say(
                    "Loads with the time of another and other figures: {conflicts}; all are"
                    " used. Are two machines under one name?",
                    conflicts=ordering.conflicts,
                ),
            )
        )
    if ordering.late:
        findings.append(
            Finding(
                "late_rows",
                machine,
                say("Rows that came late: {late}; put into their place.", late=ordering.late),
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
    charts = settings.charts
    chart = breaks_chart(
        np.rint(counts).astype(np.int64), charts.setup_loads, charts.false_alarm_every
    )
    if chart is None:
        text = say("fewer than two film breaks: there is no gap between breaks to chart.")
        findings.append(Finding("too_few_breaks", f"{machine}.breaks", text))
    return chart


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
