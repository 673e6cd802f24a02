"""What a watch says in words, once for the terminal and the page."""

from __future__ import annotations

from collections.abc import Sequence

from woold.units import show
from woold.watch.machine import Charted, MachineWatch
from woold.watch.settings import WatchSettings

__all__ = [
    "alarm_cells",
    "film_now",
    "headline",
    "kept_of_promise",
    "method_lines",
    "most_urgent",
    "saved_to_date",
    "step_cells",
    "summary_lines",
]

_NAMES = {
    "film": "film per load",
    "prestretch": "pre-stretch",
    "cycle_time": "cycle time",
    "breaks": "film breaks",
}
_CHARTS = {
    "individuals": "single loads",
    "ewma": "weighted mean",
    "cusum": "cumulative sums",
    "counts": "counts",
}
_SOURCES = {
    "weighed": "weighed",
    "length": "film length measured",
    "counter": "film length counter",
    "turns": "reckoned from turns",
}
_KINDS = {"film": "small_mass", "prestretch": "elongation", "cycle_time": "time"}
_SURE = 0.05  # a coincidence less likely than this is worth a look; common practice


def most_urgent(machines: Sequence[MachineWatch]) -> list[MachineWatch]:
    """Machines with a broken promise first, then those with most alarms."""

    def urgency(each: MachineWatch) -> tuple[bool, int, str]:
        kept = each.savings is None or not each.savings.falls_short
        return kept, -len(each.alarms), each.machine

    return sorted(machines, key=urgency)


def headline(machines: Sequence[MachineWatch]) -> str:
    """One line: how many machines give an alarm."""
    count = sum(bool(each.alarms) for each in machines)
    of = f"{len(machines)} machine{'s' if len(machines) != 1 else ''}"
    if count == 0:
        return f"No alarm on {of}"
    return f"Alarms on {count} of {of}"


def _film(machine: MachineWatch) -> Charted | None:
    return next((each for each in machine.charted if each.quantity == "film"), None)


def film_now(machine: MachineWatch) -> str:
    """Film per load since the last step, against the set-up phase: "+2.1 %"."""
    charted = _film(machine)
    return "not charted" if charted is None else _change(charted.panel.recent)


def _change(share: float) -> str:
    percent = round(100.0 * (share - 1.0), 1) + 0.0  # no minus before a zero
    return f"{percent:+.1f} %".replace("-", "−")


def saved_to_date(machine: MachineWatch, settings: WatchSettings) -> str:
    """Film and money saved to date, or why not."""
    kept = machine.savings
    if kept is None:
        return "no promise"
    money = (
        ""
        if settings.price is None
        else (f", {settings.price * kept.saved_kg:,.0f} {settings.currency}")
    )
    return f"{kept.saved_kg:,.1f} kg ({100 * kept.saving:.1f} %){money}"


def kept_of_promise(machine: MachineWatch) -> str:
    """Saved film as a share of what was promised."""
    kept = machine.savings
    return "" if kept is None or kept.kept is None else f"{100 * kept.kept:.0f} %"


def summary_lines(machine: MachineWatch, settings: WatchSettings) -> list[str]:
    """Sentences on one machine: film, other quantities, breaks, savings."""
    lines = []
    source = _SOURCES[machine.film_source] if machine.film_source else ""
    for charted in machine.charted:
        kind = _KINDS[charted.quantity]
        if (
            charted.quantity == "film"
            and settings.mass_per_metre is None
            and (machine.film_source in ("length", "counter", "turns"))
        ):
            kind = "film_length"
        origin = f" ({source})" if charted.quantity == "film" else ""
        values = charted.panel.set_up.count
        step = " the last step" if charted.panel.changes else ""
        lines.append(
            f"{_NAMES[charted.quantity].capitalize()}{origin}: "
            f"{show(charted.mean, kind)} on average over the {values} "
            f"{'values' if settings.group > 1 else 'loads'} of the set-up phase, and "
            f"{_change(charted.panel.recent)} since{step}."
        )
    if machine.breaks is not None:
        chart = machine.breaks
        overall = 1000.0 * float(chart.counts.sum()) / float(chart.loads.sum())
        lines.append(
            f"Film breaks: {overall:.1f} in 1000 loads, {1000.0 * chart.rate:.1f} in the set-up "
            "phase."
        )
    kept = machine.savings
    if kept is not None:
        text = (
            f"Saved to date: {saved_to_date(machine, settings)} over {kept.loads:,} loads "
            f"(95 %: {kept.saved_low_kg:,.1f} to {kept.saved_high_kg:,.1f} kg); promised: "
            f"{kept.promised_kg:,.1f} kg ({kept.promised_low_kg:,.1f} to "
            f"{kept.promised_high_kg:,.1f} kg)."
        )
        if kept.falls_short:
            text += " This falls short of the promise."
        lines.append(text)
    return lines


def alarm_cells(machine: MachineWatch) -> list[tuple[str, ...]]:
    """Quantity and direction, chart, loads, from, to, signals of each alarm."""
    return [
        (
            f"{_NAMES[alarm.quantity]} {alarm.direction}",
            _CHARTS[alarm.chart],
            f"{alarm.first + 1} to {alarm.last + 1}",
            f"{alarm.time:%Y-%m-%d %H:%M}",
            f"{alarm.last_time:%Y-%m-%d %H:%M}",
            str(alarm.signals),
        )
        for alarm in machine.alarms
    ]


def step_cells(machine: MachineWatch) -> list[tuple[str, ...]]:
    """Quantity, step, loads that it may have come at, when, and likely causes."""
    rows: list[tuple[str, ...]] = []
    for charted in machine.charted:
        for change, hints in zip(charted.panel.changes, charted.hints, strict=True):
            first, low, high = (
                int(charted.loads[index]) for index in (change.index, change.low, change.high)
            )
            causes = [
                f"{hint.text} (by chance this near in {_percent(hint.chance)} of cases)"
                for hint in hints
                if hint.chance < _SURE
            ]
            rows.append(
                (
                    _NAMES[charted.quantity],
                    _change(change.after / change.before),
                    f"{first + 1} ({low + 1} to {high + 1})",
                    f"{machine.times[first].item():%Y-%m-%d %H:%M}",
                    "; ".join(causes) or "nothing in the records beyond coincidence",
                )
            )
    return rows


def _percent(chance: float) -> str:
    return "under 0.1 %" if chance < 0.001 else f"{100.0 * chance:.1f} %"


def method_lines(settings: WatchSettings) -> list[str]:
    """How the charts are drawn, in plain words."""
    values = "each load" if settings.group == 1 else f"means of {settings.group} loads"
    return [
        f"Charts of {values}, each divided by the mean of its load type in the set-up phase "
        f"({settings.setup_loads} loads; a placeholder unless set, 50 to 3000).",
        "Limits are set so that the charts of a quantity give a false alarm every "
        f"{settings.false_alarm_every:,g} loads (a placeholder unless set, 370 to 200,000), with "
        "allowance for the error of the set-up phase. They assume values that spread normally and "
        "do not hang together.",
        "Steps of the level are found by least squares with a penalty; what changed with a step is "
        "a hint, not a proof.",
    ]
