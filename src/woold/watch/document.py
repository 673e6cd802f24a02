"""What a watch says, as JSON; text and page read the same results."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from woold.prediction.result import Finding
from woold.watch.alarms import Alarm
from woold.watch.breaks import BreaksChart
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
        "alarm_count": sum(len(each.alarms) for each in machines),
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
        "alarms": [_alarm(alarm) for alarm in each.alarms],
        "savings": _savings(each.savings, settings),
        "months": [
            {"month": month, **(_savings(kept, settings) or {})} for month, kept in each.months
        ],
    }


def _charted(each: Charted, machine: MachineWatch) -> dict[str, Any]:
    charts = each.charts
    return {
        "quantity": each.quantity,
        "unit": _UNITS[each.quantity],
        "set_up_mean": each.mean,
        "set_up_values": charts.set_up.count,
        "set_up_sigma_share": charts.set_up.sigma,
        "autocorrelation": charts.set_up.autocorrelation,
        "recent_share": charts.recent,
        "individuals_low_share": charts.individuals.low,
        "individuals_high_share": charts.individuals.high,
        "ewma_last_share": float(charts.ewma.values[-1]),
        "ewma_low_share": float(charts.ewma.low[-1]),
        "ewma_high_share": float(charts.ewma.high[-1]),
        "steps": [
            _step(step, hints, each, machine)
            for step, hints in zip(charts.steps, each.hints, strict=True)
        ],
        "loads_left_out": each.left_out,
    }


def _step(
    step: LevelStep, hints: Sequence[Hint], each: Charted, machine: MachineWatch
) -> dict[str, Any]:
    loads = each.loads
    return {
        "load": int(loads[step.index]) + 1,
        "load_low": int(loads[step.low]) + 1,
        "load_high": int(loads[step.high]) + 1,
        "time": _text(machine.times[loads[step.index]].item()),
        "before_share": step.before,
        "after_share": step.after,
        "hints": [
            {
                "column": hint.column,
                "text": hint.text,
                "chance": hint.chance,
                "load": None if hint.index is None else int(loads[hint.index]) + 1,
            }
            for hint in hints
        ],
    }


def _breaks(chart: BreaksChart) -> dict[str, Any]:
    return {
        "set_up_per_1000_loads": 1000.0 * chart.rate,
        "all_per_1000_loads": 1000.0 * float(chart.counts.sum()) / float(chart.loads.sum()),
        "groups": [
            {
                "first_load": int(start) + 1,
                "loads": int(loads),
                "breaks": int(count),
                "low": float(low),
                "high": float(high),
            }
            for start, loads, count, low, high in zip(
                chart.starts, chart.loads, chart.counts, chart.low, chart.high, strict=True
            )
        ],
    }


def _alarm(alarm: Alarm) -> dict[str, Any]:
    return {
        "quantity": alarm.quantity,
        "chart": alarm.chart,
        "direction": alarm.direction,
        "first_load": alarm.first + 1,
        "last_load": alarm.last + 1,
        "first_time": _text(alarm.time),
        "last_time": _text(alarm.last_time),
        "signals": alarm.signals,
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
