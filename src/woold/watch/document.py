"""What a watch says, as JSON documents; text and page read the same results."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from woold.prediction.result import Finding
from woold.rows.document import JsonDocument
from woold.watch.breaks import BreaksChart
from woold.watch.events import Alarm, Event
from woold.watch.film_per_load import FilmSource
from woold.watch.fleet import FleetRow, FleetSummary
from woold.watch.level_steps import Hint, LevelStep
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import Charted
from woold.watch.rows import WATCH_CAUTIONS
from woold.watch.savings import SavingsKept
from woold.watch.settings import ChartSettings, WatchSettings

__all__ = ["FleetDocument", "WatchDocument", "fleet_document", "watch_document"]

_UNITS = {"film": "kg", "prestretch": "ratio", "cycle_time": "s"}


@dataclass(frozen=True, slots=True)
class HintGiven:
    """Something that may have caused a step, and the load at which it happened."""

    column: str
    text: str
    chance: float
    load: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPlace:
    """A step of a level: at which load, within which, and the levels on either side."""

    load: int
    load_low: int
    load_high: int
    time: str | None
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StepSeen(StepPlace):
    """A step with what may have caused it."""

    hints: tuple[HintGiven, ...]


@dataclass(frozen=True, slots=True)
class ChartRead:
    """The chart of a quantity, read at its last load."""

    quantity: str
    unit: str
    set_up_mean: float
    set_up_values: int
    set_up_sigma_share: float
    skewness: float
    excess_kurtosis: float
    is_normal: bool
    autocorrelation: float
    recent_share: float
    weighted_mean_share: float
    score_limit: float
    upper_score: float
    lower_score: float
    steps: tuple[StepSeen, ...]
    loads_left_out: int


@dataclass(frozen=True, slots=True)
class BreaksRead:
    """The chart of film breaks, read at its last load."""

    breaks: int
    per_1000_loads: float
    set_up_breaks: int
    set_up_loads: int
    limit_quicker: float
    limit_slower: float
    quicker: float
    slower: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmRaised(StepPlace):
    """A stretch of loads that the chart of one quantity signals."""

    quantity: str
    direction: Literal["up", "down"]
    alarm_load: int
    last_load: int
    is_open: bool


@dataclass(frozen=True, slots=True)
class EventSeen:
    """Alarms that belong together."""

    alarm_load: int
    alarm_time: str | None
    last_load: int
    last_time: str | None
    is_open: bool
    alarms: tuple[AlarmRaised, ...]
    hints: tuple[HintGiven, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SavingsSum:
    """What was saved, and what was promised for the same loads; no money without a price."""

    loads: int
    loads_left_out: int
    film_mass_kg: float
    baseline_mass_kg: float
    saved_mass_kg: float
    saved_mass_low_kg: float
    saved_mass_high_kg: float
    promised_mass_kg: float
    promised_mass_low_kg: float
    promised_mass_high_kg: float
    saving: float
    kept_share: float | None
    falls_short: bool
    saved_money: float | None
    promised_money: float | None
    currency: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthSum(SavingsSum):
    """The savings of a month."""

    month: str


@dataclass(frozen=True, slots=True)
class MachineSeen:
    """A machine: its charts, alarms and savings."""

    machine: str
    loads: int
    film_source: FilmSource | None
    first_time: str | None
    last_time: str | None
    quantities: tuple[ChartRead, ...]
    breaks: BreaksRead | None
    events: tuple[EventSeen, ...]
    savings: SavingsSum | None
    months: tuple[MonthSum, ...]


@dataclass(frozen=True, slots=True)
class WatchDocument(JsonDocument):
    """The document of ``woold watch loads --json``."""

    told_as = "watch"

    settings: ChartSettings
    machines: tuple[MachineSeen, ...]
    event_count: int
    savings_fall_short: bool
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = WATCH_CAUTIONS


@dataclass(frozen=True, slots=True)
class FleetMachine:
    """A machine of a fleet by its days."""

    machine: str
    loads: int
    days: int
    film_mass_per_load_kg: float
    recent_share: float | None
    changed: str | None
    first_alarm: str | None
    last_alarm: str | None
    alarms: int
    breaks_per_1000_loads: float | None
    lost_mass_per_year_kg: float | None
    lost_money_per_year: float | None
    savings: SavingsSum | None
    charted: bool


@dataclass(frozen=True, slots=True)
class FleetDocument(JsonDocument):
    """The document of ``woold watch fleet --json``."""

    told_as = "fleet"

    settings: ChartSettings
    machines: tuple[FleetMachine, ...]
    alarm_count: int
    savings_fall_short: bool
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = WATCH_CAUTIONS


def watch_document(
    machines: Sequence[MachineWatch], settings: WatchSettings, findings: Sequence[Finding]
) -> WatchDocument:
    """Charts, alarms and savings of every machine.

    Args:
        machines: the most urgent first.
        settings: what was watched against.
        findings: about the records.
    """
    own = (found for each in machines for found in each.findings)
    return WatchDocument(
        settings=settings.charts,
        machines=tuple(_machine(each, settings) for each in machines),
        event_count=sum(len(each.events) for each in machines),
        savings_fall_short=any(
            each.savings is not None and each.savings.falls_short for each in machines
        ),
        findings=(*findings, *own),
    )


def fleet_document(summary: FleetSummary, settings: WatchSettings) -> FleetDocument:
    """Every machine of a fleet.

    Args:
        summary: the fleet by its days.
        settings: what was watched against.
    """
    return FleetDocument(
        settings=settings.charts,
        machines=tuple(_fleet_machine(row, settings) for row in summary.rows),
        alarm_count=sum(row.alarms for row in summary.rows),
        savings_fall_short=any(
            row.savings is not None and row.savings.falls_short for row in summary.rows
        ),
        findings=summary.findings,
    )


def _machine(each: MachineWatch, settings: WatchSettings) -> MachineSeen:
    return MachineSeen(
        machine=each.machine,
        loads=each.loads,
        film_source=each.film_source,
        first_time=_text(each.times[0].item()),
        last_time=_text(each.times[-1].item()),
        quantities=tuple(_charted(charted, each) for charted in each.charted),
        breaks=None if each.breaks is None else _breaks(each.breaks),
        events=tuple(_event(event, each) for event in each.events),
        savings=None if each.savings is None else SavingsSum(**_sums(each.savings, settings)),
        months=tuple(MonthSum(month=month, **_sums(kept, settings)) for month, kept in each.months),
    )


def _charted(each: Charted, machine: MachineWatch) -> ChartRead:
    chart, found, loads = each.chart, each.chart.set_up, each.loads
    return ChartRead(
        quantity=each.quantity,
        unit=_UNITS[each.quantity],
        set_up_mean=each.mean,
        set_up_values=found.count,
        set_up_sigma_share=found.sigma,
        skewness=found.skewness,
        excess_kurtosis=found.excess_kurtosis,
        is_normal=found.is_normal,
        autocorrelation=chart.autocorrelation,
        recent_share=chart.recent,
        weighted_mean_share=float(chart.means[-1]),
        score_limit=chart.limit,
        upper_score=float(chart.upper[-1]),
        lower_score=float(chart.lower[-1]),
        steps=tuple(
            StepSeen(
                **_place(
                    step, [int(loads[at]) for at in (step.index, step.low, step.high)], machine
                ),
                hints=tuple(
                    _hint(hint, None if hint.index is None else int(loads[hint.index]))
                    for hint in hints
                ),
            )
            for step, hints in zip(chart.steps, each.hints, strict=True)
        ),
        loads_left_out=each.left_out,
    )


def _place(step: LevelStep, loads: Sequence[int], machine: MachineWatch) -> dict[str, Any]:
    return {
        "load": loads[0] + 1,
        "load_low": loads[1] + 1,
        "load_high": loads[2] + 1,
        "time": _text(machine.times[loads[0]].item()),
        "before": step.before,
        "after": step.after,
    }


def _hint(hint: Hint, load: int | None) -> HintGiven:
    return HintGiven(hint.column, hint.text, hint.chance, None if load is None else load + 1)


def _event(event: Event, machine: MachineWatch) -> EventSeen:
    return EventSeen(
        alarm_load=event.alarm + 1,
        alarm_time=_text(machine.times[event.alarm].item()),
        last_load=event.last + 1,
        last_time=_text(machine.times[event.last].item()),
        is_open=event.is_open,
        alarms=tuple(_alarm(each, machine) for each in event.alarms),
        hints=tuple(_hint(hint, hint.index) for hint in event.hints),
    )


def _alarm(alarm: Alarm, machine: MachineWatch) -> AlarmRaised:
    step = alarm.step
    return AlarmRaised(
        **_place(step, (step.index, step.low, step.high), machine),
        quantity=alarm.quantity,
        direction=alarm.direction,
        alarm_load=alarm.alarm + 1,
        last_load=alarm.last + 1,
        is_open=alarm.is_open,
    )


def _breaks(chart: BreaksChart) -> BreaksRead:
    return BreaksRead(
        breaks=int(chart.at.size),
        per_1000_loads=1000.0 * chart.rate,
        set_up_breaks=chart.set_up_breaks,
        set_up_loads=chart.set_up_loads,
        limit_quicker=chart.limit_up,
        limit_slower=chart.limit_down,
        quicker=float(chart.upper[-1]),
        slower=float(chart.lower[-1]),
    )


def _sums(kept: SavingsKept, settings: WatchSettings) -> dict[str, Any]:
    """Fields of a sum of savings, which a month has as well."""
    price = settings.film.price
    return {
        "loads": kept.loads,
        "loads_left_out": kept.loads_left_out,
        "film_mass_kg": kept.film_kg,
        "baseline_mass_kg": kept.baseline_kg,
        "saved_mass_kg": kept.saved_kg,
        "saved_mass_low_kg": kept.saved_low_kg,
        "saved_mass_high_kg": kept.saved_high_kg,
        "promised_mass_kg": kept.promised_kg,
        "promised_mass_low_kg": kept.promised_low_kg,
        "promised_mass_high_kg": kept.promised_high_kg,
        "saving": kept.saving,
        "kept_share": kept.kept,
        "falls_short": kept.falls_short,
        "saved_money": None if price is None else price.amount * kept.saved_kg,
        "promised_money": None if price is None else price.amount * kept.promised_kg,
        "currency": None if price is None else price.currency,
    }


def _fleet_machine(row: FleetRow, settings: WatchSettings) -> FleetMachine:
    lost, price = row.lost_kg_per_year, settings.film.price
    return FleetMachine(
        machine=row.machine,
        loads=row.loads,
        days=row.days,
        film_mass_per_load_kg=row.film_per_load_kg,
        recent_share=row.recent,
        changed=_text(row.changed),
        first_alarm=_text(row.first_alarm),
        last_alarm=_text(row.last_alarm),
        alarms=row.alarms,
        breaks_per_1000_loads=row.breaks_per_1000,
        lost_mass_per_year_kg=lost,
        lost_money_per_year=None if price is None or lost is None else price.amount * lost,
        savings=None if row.savings is None else SavingsSum(**_sums(row.savings, settings)),
        charted=row.charted,
    )


def _text(moment: datetime.datetime | datetime.date | np.datetime64 | None) -> str | None:
    return moment.isoformat() if isinstance(moment, datetime.date) else None
