"""What a watch says, as JSON; text and page read the same results."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from woold.prediction.result import Finding
from woold.watch.breaks import BreaksChart
from woold.watch.events import Alarm, Event
from woold.watch.fleet import FleetRow, FleetSummary
from woold.watch.level_steps import Hint, LevelStep
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import Charted
from woold.watch.rows import WATCH_CAUTIONS
from woold.watch.savings import SavingsKept
from woold.watch.settings import WatchSettings
from woold.words import say

__all__ = ["fleet_document", "watch_document"]

_UNITS = {"film": "kg", "prestretch": "ratio", "cycle_time": "s"}


def watch_document(
    machines: Sequence[MachineWatch], settings: WatchSettings, findings: Sequence[Finding]
) -> dict[str, Any]:
    """The document of ``woold watch loads --json``."""
    return {
        "settings": _settings(settings),
        "machines": [_machine(each, settings) for each in machines],
        "event_count": sum(len(each.events) for each in machines),
        "savings_fall_short": any(
            each.savings is not None and each.savings.falls_short for each in machines
        ),
        "findings": [
            asdict(finding)
            for finding in (*findings, *(found for each in machines for found in each.findings))
        ],
        "cautions": [say(each) for each in WATCH_CAUTIONS],
    }


def fleet_document(summary: FleetSummary, settings: WatchSettings) -> dict[str, Any]:
    """The document of ``woold watch fleet --json``."""
    return {
        "settings": _settings(settings),
        "machines": [_fleet_row(row, settings) for row in summary.rows],
        "alarm_count": sum(row.alarms for row in summary.rows),
        "savings_fall_short": any(
            row.savings is not None and row.savings.falls_short for row in summary.rows
        ),
        "findings": [asdict(finding) for finding in summary.findings],
        "cautions": [say(each) for each in WATCH_CAUTIONS],
    }


def _settings(settings: WatchSettings) -> dict[str, Any]:
    return settings.charts.model_dump()


def _machine(each: MachineWatch, settings: WatchSettings) -> dict[str, Any]:
    return {
        "machine": each.machine,
        "loads": each.loads,
        "film_source": each.film_source,
        "first_time": _text(each.times[0].item()),
        "last_time": _text(each.times[-1].item()),
        "quantities": [_charted(charted, each) for charted in each.charted],
        "breaks": None if each.breaks is None else _breaks(each.breaks),
        "events": [_event(event, each) for event in each.events],
        "savings": _savings(each.savings, settings),
        "months": [
            {"month": month, **(_savings(kept, settings) or {})} for month, kept in each.months
        ],
    }


def _charted(each: Charted, machine: MachineWatch) -> dict[str, Any]:
    chart, found = each.chart, each.chart.set_up
    return {
        "quantity": each.quantity,
        "unit": _UNITS[each.quantity],
        "set_up_mean": each.mean,
        "set_up_values": found.count,
        "set_up_sigma_share": found.sigma,
        "skewness": found.skewness,
        "excess_kurtosis": found.excess_kurtosis,
        "is_normal": found.is_normal,
        "autocorrelation": chart.autocorrelation,
        "recent_share": chart.recent,
        "weighted_mean_share": float(chart.means[-1]),
        "score_limit": chart.limit,
        "upper_score": float(chart.upper[-1]),
        "lower_score": float(chart.lower[-1]),
        "steps": [
            _step(step, hints, each, machine)
            for step, hints in zip(chart.steps, each.hints, strict=True)
        ],
        "loads_left_out": each.left_out,
    }


def _step(
    step: LevelStep, hints: Sequence[Hint], each: Charted, machine: MachineWatch
) -> dict[str, Any]:
    loads = each.loads
    return {
        **_place(step, [int(loads[index]) for index in (step.index, step.low, step.high)], machine),
        "hints": [_hint(hint, None if hint.index is None else loads[hint.index]) for hint in hints],
    }


def _place(step: LevelStep, loads: Sequence[int], machine: MachineWatch) -> dict[str, Any]:
    return {
        "load": loads[0] + 1,
        "load_low": loads[1] + 1,
        "load_high": loads[2] + 1,
        "time": _text(machine.times[loads[0]].item()),
        "before": step.before,
        "after": step.after,
    }


def _hint(hint: Hint, load: int | None) -> dict[str, Any]:
    return {
        "column": hint.column,
        "text": hint.text,
        "chance": hint.chance,
        "load": None if load is None else int(load) + 1,
    }


def _event(event: Event, machine: MachineWatch) -> dict[str, Any]:
    return {
        "alarm_load": event.alarm + 1,
        "alarm_time": _text(machine.times[event.alarm].item()),
        "last_load": event.last + 1,
        "last_time": _text(machine.times[event.last].item()),
        "is_open": event.is_open,
        "alarms": [_alarm(each, machine) for each in event.alarms],
        "hints": [_hint(hint, hint.index) for hint in event.hints],
    }


def _alarm(alarm: Alarm, machine: MachineWatch) -> dict[str, Any]:
    step = alarm.step
    return {
        "quantity": alarm.quantity,
        "direction": alarm.direction,
        "alarm_load": alarm.alarm + 1,
        "last_load": alarm.last + 1,
        "is_open": alarm.is_open,
        **_place(step, (step.index, step.low, step.high), machine),
    }


def _breaks(chart: BreaksChart) -> dict[str, Any]:
    return {
        "breaks": int(chart.at.size),
        "per_1000_loads": 1000.0 * chart.rate,
        "set_up_breaks": chart.set_up_breaks,
        "set_up_loads": chart.set_up_loads,
        "limit_quicker": chart.limit_up,
        "limit_slower": chart.limit_down,
        "quicker": float(chart.upper[-1]),
        "slower": float(chart.lower[-1]),
    }


def _savings(kept: SavingsKept | None, settings: WatchSettings) -> dict[str, Any] | None:
    if kept is None:
        return None
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


def _fleet_row(row: FleetRow, settings: WatchSettings) -> dict[str, Any]:
    lost = row.lost_kg_per_year
    return {
        "machine": row.machine,
        "loads": row.loads,
        "days": row.days,
        "film_mass_per_load_kg": row.film_per_load_kg,
        "recent_share": row.recent,
        "changed": _text(row.changed),
        "first_alarm": _text(row.first_alarm),
        "last_alarm": _text(row.last_alarm),
        "alarms": row.alarms,
        "breaks_per_1000_loads": row.breaks_per_1000,
        "lost_mass_per_year_kg": lost,
        "lost_money_per_year": None
        if settings.film.price is None or lost is None
        else settings.film.price.amount * lost,
        "savings": _savings(row.savings, settings),
        "charted": row.charted,
    }


def _text(moment: datetime.datetime | datetime.date | np.datetime64 | None) -> str | None:
    return moment.isoformat() if isinstance(moment, datetime.date) else None
