"""The rule by which a reading is asked about: held against what is predicted and what is alike.

ln(reading / expected) is held against the median of the readings alike, nearest first; how far it
may be off follows from their own spread (median absolute deviation), between a least and a largest
factor. A whole group that is off, against the prediction or the other groups, is none to hold
against: its readings are held against those instead.
"""

from __future__ import annotations

import math
import statistics
from bisect import bisect_left
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import Enum

from woold.words import say, to_say

__all__ = ["LARGEST", "LOOSER", "Against", "Held", "Manner", "ReadingsAlike", "Usual"]

_FEWEST_ALIKE = 3
_FEWEST_KEPT = 5
_FEWEST_FOR_SPREAD = 8
_REACH = 4.5
"""Robust standard deviations beyond which a reading is asked about: one in 100 000 if normal."""
_MAD_TO_SD = 1.4826


class Against(Enum):
    """What a reading was held against, in words."""

    PREDICTED = to_say("what the case predicts")
    ALIKE = to_say("the others like it")
    SAME_LOAD = to_say("the load's other readings")
    RECORD = to_say("those on record")
    OTHER_GROUPS = to_say("those of the other loads")

    @property
    def words(self) -> str:
        """In the reader's language."""
        return say(str(self.value))


LARGEST = {
    "film_mass": 1.5,
    "turns": 1.5,
    "cycle_time": 2.0,
    "mark_after": 1.4,
    "roll_length": 1.3,
    "film_width": 1.4,
    "dancer_force": 1.8,
    "force": 2.2,
    "reading": 2.0,
}
"""Factor from its neighbours at which a reading is always asked about, by its field."""
LOOSER = {
    "film_mass": (2.0,),
    "turns": (2.0,),
    "cycle_time": (2.0,),
    "mark_after": (1.6,),
    "roll_length": (1.3,),
    "film_width": (1.6,),
    "dancer_force": (2.0,),
    "force": (2.2, 3.0),
    "reading": (3.0,),
}
"""Factors from neighbours that are less alike, for each further kind of group, by field."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How far readings of one quantity differ; factors, all above 1.

    Args:
        alike: least factor from its neighbours that is asked about.
        largest: factor from its neighbours that is always asked about, however they spread.
        predicted: factor from the prediction that is asked about, where there are no neighbours.
        spread: usual standard deviation of ln among neighbours, where they are too few to tell.
        looser: factors from neighbours that are less alike, for each further kind of group.
        between: factor by which a whole group may differ from the other groups.
    """

    alike: float
    largest: float
    predicted: float
    spread: float
    looser: tuple[float, ...] = ()
    between: float = 2.0


@dataclass(frozen=True, slots=True)
class Held:
    """A reading to hold against others.

    Args:
        value: above 0, SI.
        expected: what is predicted, SI; None where nothing is.
        groups: what it belongs to, those most alike first.
        is_new: written down now; others are on record.
    """

    value: float
    expected: float | None
    groups: tuple[Hashable, ...]
    is_new: bool = True

    @property
    def log(self) -> float:
        """ln of value over what is predicted, or of the value."""
        return math.log(self.value / (self.expected or 1.0))


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual for a reading.

    Args:
        middle, low, high: of such readings (SI); outside of low to high it is asked about.
        against: what it was held against.
    """

    middle: float
    low: float
    high: float
    against: Against

    def holds(self, value: float) -> bool:
        """Whether a value is one that nobody asks about."""
        return self.low <= value <= self.high


class _Group:
    """Readings that are alike, in order of size."""

    def __init__(self, logs: Sequence[float], kept: Sequence[float]) -> None:
        self.logs, self.kept = sorted(logs), len(kept)
        self.middle = statistics.median(self.logs)
        self.kept_middle = statistics.median(kept) if kept else 0.0

    def without(self, log: float | None) -> tuple[float, int]:
        """Middle of the others, and their number; of those on record where they are enough."""
        if self.kept >= _FEWEST_KEPT:
            return self.kept_middle, self.kept
        if log is None:
            return self.middle, len(self.logs)
        place, count = bisect_left(self.logs, log), len(self.logs) - 1
        if count == 0:
            return 0.0, 0

        def other(index: int) -> float:
            return self.logs[index + (index >= place)]

        return (other((count - 1) // 2) + other(count // 2)) / 2.0, count


class ReadingsAlike:
    """Readings of one quantity, each of which can be held against the others.

    Args:
        readings: new ones and those on record.
        manner: how far such readings differ.
        trusts_groups: somebody confirmed that groups that are off as a whole are right.
    """

    def __init__(
        self, readings: Sequence[Held], manner: Manner, *, trusts_groups: bool = False
    ) -> None:
        self.manner = manner
        members: dict[tuple[int, bool, Hashable], list[Held]] = {}
        for each in readings:
            for level, name in enumerate(each.groups):
                members.setdefault((level, each.expected is not None, name), []).append(each)
        self.groups = {
            key: _Group([one.log for one in some], [one.log for one in some if not one.is_new])
            for key, some in members.items()
        }
        self.spread = self._spread(members)
        self.off: dict[tuple[bool, Hashable], tuple[float, float, Against]] = {}
        if not trusts_groups:
            self._look_at_groups(members)

    def _spread(self, members: dict[tuple[int, bool, Hashable], list[Held]]) -> float:
        """Robust standard deviation of ln about the middle of the nearest group."""
        away = [
            abs(one.log - self.groups[key].middle)
            for key, some in members.items()
            if key[0] == 0 and len(some) > _FEWEST_ALIKE
            for one in some
        ]
        if len(away) < _FEWEST_FOR_SPREAD:
            return self.manner.spread
        return _MAD_TO_SD * statistics.median(away)

    def _look_at_groups(self, members: dict[tuple[int, bool, Hashable], list[Held]]) -> None:
        """Groups that are off as a whole, and what their readings are held against instead."""
        for (level, is_predicted, name), some in members.items():
            group = self.groups[level, is_predicted, name]
            if level or group.kept >= _FEWEST_KEPT or len(some) <= _FEWEST_ALIKE:
                continue
            if is_predicted:
                reach = math.log(self.manner.predicted)
                if abs(group.middle) > reach:
                    self.off[is_predicted, name] = (0.0, reach, Against.PREDICTED)
                continue
            if len(some[0].groups) < 2:
                continue
            others = [
                one.log
                for one in members.get((1, is_predicted, some[0].groups[1]), ())
                if one.groups[0] != name
            ]
            reach = math.log(self.manner.between)
            # Of groups that differ, those that are not the larger part are asked about.
            if len(others) >= len(some):
                other = statistics.median(others)
                if abs(group.middle - other) > reach:
                    self.off[is_predicted, name] = (other, reach, Against.OTHER_GROUPS)

    @property
    def reach(self) -> float:
        """How far ln of a reading may be from the middle of those most alike."""
        least, largest = math.log(self.manner.alike), math.log(self.manner.largest)
        return min(max(least, _REACH * self.spread), largest)

    def usual(self, reading: Held, *, is_among: bool = True) -> Usual | None:
        """What is usual for a reading; None where there is nothing to hold it against.

        Args:
            reading: the reading.
            is_among: it is one of those that this was made of.
        """
        is_predicted = reading.expected is not None
        base = reading.expected or 1.0
        off = self.off.get((is_predicted, reading.groups[0])) if reading.groups else None
        if off is not None:
            return _usual(base, *off)
        for level, name in enumerate(reading.groups):
            group = self.groups.get((level, is_predicted, name))
            if group is None:
                continue
            middle, count = group.without(reading.log if is_among and reading.is_new else None)
            if count < _FEWEST_ALIKE:
                continue
            if level == 0:
                is_kept = group.kept >= _FEWEST_KEPT
                return _usual(
                    base, middle, self.reach, Against.RECORD if is_kept else Against.ALIKE
                )
            if is_predicted and self.manner.predicted <= self.manner.looser[level - 1]:
                continue
            reach = max(math.log(self.manner.looser[level - 1]), self.reach)
            return _usual(
                base, middle, reach, Against.SAME_LOAD if level > 1 else Against.OTHER_GROUPS
            )
        if is_predicted:
            return _usual(base, 0.0, math.log(self.manner.predicted), Against.PREDICTED)
        return None


def _usual(base: float, middle: float, reach: float, against: Against) -> Usual:
    return Usual(
        base * math.exp(middle),
        base * math.exp(middle - reach),
        base * math.exp(middle + reach),
        against,
    )
