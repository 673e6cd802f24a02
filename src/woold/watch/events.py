"""Alarms, each with the place where the level changed, grouped into events."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from woold.watch.breaks import BreaksChart
from woold.watch.charts import Excursion
from woold.watch.level_chart import LevelChart
from woold.watch.level_steps import Hint, LevelStep, hints_for, place_of_step
from woold.watch.quantity_charts import Charted
from woold.watch.text_labels import Labels

__all__ = ["Alarm", "Event", "events_of"]

MOST_BETWEEN = 50  # loads from one alarm's last to the next one's first, for both to be one
SELDOM = 0.05  # a coincidence less likely than this is taken for one thing; common practice
_ROUND = 200  # values on either side of an alarm in which its place is looked for, at least


@dataclass(frozen=True, slots=True)
class Alarm:
    """A stretch of loads that the chart of one quantity signals.

    Args:
        quantity: film, prestretch, cycle_time or breaks.
        direction: ``"up"`` or ``"down"``.
        step: most likely first load of the new level, the range that it lies in, and the levels on
            either side: shares of the set-up phase, or breaks per load; indices of loads.
        alarm: load that raised it.
        last: last load before the level was back; the last of all where it is not.
        is_open: it has not come back.
        hints: what changed within the range, the least likely coincidence first.
    """

    quantity: str
    direction: Literal["up", "down"]
    step: LevelStep
    alarm: int
    last: int
    is_open: bool
    hints: tuple[Hint, ...]

    @property
    def change(self) -> float:
        """Level after the step over the level before it; infinity after a level of 0."""
        return self.step.after / self.step.before if self.step.before > 0.0 else float("inf")


@dataclass(frozen=True, slots=True)
class Event:
    """Alarms that belong together: one thing that happened to a machine.

    Args:
        alarms: of one or several quantities, the surest place first.
    """

    alarms: tuple[Alarm, ...]

    @property
    def since(self) -> LevelStep:
        """Where it began, by the alarm whose place is known best."""
        return self.alarms[0].step

    @property
    def alarm(self) -> int:
        """Load that raised the first alarm."""
        return min(each.alarm for each in self.alarms)

    @property
    def last(self) -> int:
        """Last load of it."""
        return max(each.last for each in self.alarms)

    @property
    def is_open(self) -> bool:
        """It goes on."""
        return any(each.is_open for each in self.alarms)

    @property
    def hints(self) -> tuple[Hint, ...]:
        """What may have caused it, the least likely coincidence first, each once."""
        found: dict[tuple[str, str], Hint] = {}
        for hint in sorted((hint for each in self.alarms for hint in each.hints), key=_chance):
            found.setdefault((hint.column, hint.text), hint)
        return tuple(found.values())


def _chance(hint: Hint) -> float:
    return hint.chance


def events_of(
    charted: Sequence[Charted],
    breaks: BreaksChart | None,
    labels: Mapping[str, Labels],
    loads: int,
) -> list[Event]:
    """Events of a machine in the order of their loads.

    Args:
        charted: its quantities.
        breaks: chart of its film breaks.
        labels: roll, shift, setting of each load.
        loads: in all.
    """
    alarms = [alarm for each in charted for alarm in _alarms(each)]
    if breaks is not None:
        alarms += _break_alarms(breaks, labels)
    groups: list[list[Alarm]] = []
    for alarm in sorted(_joined(alarms), key=lambda each: each.step.low):
        mine = next((group for group in groups if _belongs(alarm, group, loads)), None)
        if mine is None:
            groups.append([alarm])
        else:
            mine.append(alarm)
    events = [
        Event(tuple(sorted(group, key=lambda each: each.step.high - each.step.low)))
        for group in groups
    ]
    return sorted(events, key=lambda each: (each.since.index, each.alarm))


def _joined(alarms: Sequence[Alarm]) -> list[Alarm]:
    """Alarms of one quantity and direction that go on where the one before left off, as one."""
    found: list[Alarm] = []
    for alarm in sorted(alarms, key=lambda each: (each.quantity, each.direction, each.alarm)):
        other = found[-1] if found else None
        same = other is not None and (alarm.quantity, alarm.direction) == (
            other.quantity,
            other.direction,
        )
        if other is None or not same or alarm.step.index - other.last > MOST_BETWEEN:
            found.append(alarm)
            continue
        loads = (other.step.after_count, alarm.step.after_count)
        after = (loads[0] * other.step.after + loads[1] * alarm.step.after) / sum(loads)
        step = replace(other.step, after=after, after_count=sum(loads))
        found[-1] = replace(other, step=step, last=alarm.last, is_open=alarm.is_open)
    return found


def _belongs(alarm: Alarm, group: Sequence[Alarm], loads: int) -> bool:
    """Its change came so near to another's that it would seldom by chance."""
    for other in group:
        near = alarm.step.low <= other.step.high and other.step.low <= alarm.step.high
        width = alarm.step.high - alarm.step.low + other.step.high - other.step.low + 2
        if near and width <= SELDOM * loads:
            return True
    return False


def _alarms(charted: Charted) -> list[Alarm]:
    """Alarms of a quantity; a stretch whose level is displaced to its end makes only one."""
    chart = charted.chart
    found = []
    before, told = 0, {"up": -1, "down": -1}
    for each in chart.excursions:
        if each.alarm <= told[each.direction]:
            continue
        displaced = _displaced(each, chart)
        if displaced is None:
            step = _step(each, chart.scores, chart.values, before)
            last, is_open = each.last, each.is_open
        else:
            step, end = displaced
            last = max(each.last, end - 1)
            is_open = last == chart.values.size - 1
        hints = hints_for(step, chart.values, charted.labels)
        found.append(
            Alarm(
                quantity=charted.quantity,
                direction=each.direction,
                step=_in_loads(step, charted.loads),
                alarm=int(charted.loads[each.alarm]),
                last=int(charted.loads[last]),
                is_open=is_open,
                hints=tuple(_hint_in_loads(hint, charted.loads) for hint in hints),
            )
        )
        before, told[each.direction] = each.last + 1, last
    return found


def _displaced(each: Excursion, chart: LevelChart) -> tuple[LevelStep, int] | None:
    """The step that the level took before the alarm, and the end of its stretch, where the whole
    stretch lies to the alarm's side of the set-up phase; a small shift that lasts would else come
    and go on the chart."""
    edges = [step.index for step in chart.steps]
    place = int(np.searchsorted(edges, each.alarm, "right")) - 1
    if place < 0:
        return None
    step = chart.steps[place]
    end = edges[place + 1] if place + 1 < len(edges) else chart.values.size
    found = chart.set_up
    alike = (1.0 + chart.autocorrelation) / (1.0 - chart.autocorrelation)
    error = found.sigma * math.sqrt(
        max(alike, 1.0) * (1.0 / (end - step.index) + 1.0 / found.count)
    )
    moved = step.after - found.centre
    if abs(moved) < 3.0 * error or (moved > 0.0) != (each.direction == "up"):
        return None
    return step, end


def _step(
    each: Excursion, scores: NDArray[np.float64], values: NDArray[np.float64], before: int
) -> LevelStep:
    """Place of the step that an excursion tells of, between the one before it and its own end."""
    reach = max(_ROUND, 10 * (each.alarm - each.first + 1))
    start = min(max(before, each.first - reach), each.alarm - 1)
    start = max(start, 0)
    end = min(each.last + 1, each.alarm + reach)
    index, low, high = (start + place for place in place_of_step(scores[start:end]))
    stretch = values[index : each.last + 1]
    # The start of a stretch is told no earlier than what came before it, and has a level before.
    return LevelStep(
        index=index,
        low=low,
        high=high,
        before=float(values[start:index].mean()),
        after=float(stretch.mean()),
        before_count=index - start,
        after_count=stretch.size,
    )


def _in_loads(step: LevelStep, loads: NDArray[np.int64]) -> LevelStep:
    index, low, high = (int(loads[each]) for each in (step.index, step.low, step.high))
    return replace(step, index=index, low=low, high=high)


def _hint_in_loads(hint: Hint, loads: NDArray[np.int64]) -> Hint:
    return hint if hint.index is None else replace(hint, index=int(loads[hint.index]))


def _break_alarms(chart: BreaksChart, labels: Mapping[str, Labels]) -> list[Alarm]:
    breaks = np.bincount(chart.at, minlength=chart.loads).astype(float)
    return [
        Alarm(
            quantity="breaks",
            direction=each.direction,
            step=step,
            alarm=each.alarm,
            last=each.last,
            is_open=each.is_open,
            hints=tuple(hints_for(step, breaks, labels)),
        )
        for each, step in zip(chart.excursions, chart.steps, strict=True)
    ]
