"""A trial's readings of one treatment, averaged by load type, as a fit needs them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.trial.table import LoadTable, PullReading
from woold.words import say, to_say

__all__ = [
    "DANCER",
    "KEPT",
    "MARKS",
    "MASS",
    "PULL",
    "ROLL",
    "TIME",
    "WIDTH",
    "Average",
    "machine_averages",
    "roll_averages",
    "rolls_averaged",
    "treatment_averages",
]

MASS, MARKS, WIDTH = to_say("film mass"), to_say("stretch by marks"), to_say("film width")
PULL, KEPT, TIME = to_say("pull reading"), to_say("force kept"), to_say("cycle time")
DANCER, ROLL = to_say("film force by the dancer"), to_say("film of a roll, mass by length")

Floats = NDArray[np.float64]

_FLOOR = 0.003
"""No average is trusted further than this, however well its loads agree."""

_UNKNOWN_SPREAD = 0.05
"""Spread of single values, which show none of their own."""


@dataclass(frozen=True, slots=True)
class Average:
    """An average of one kind of reading over one load type.

    Args:
        what: one of `MASS`, `MARKS`, `WIDTH`, `PULL`, `KEPT`, `TIME`, `DANCER` and `ROLL`.
        load_type: its code.
        values: loads behind it; rolls of a `ROLL`.
        log_mean: mean of the logarithms (SI).
        log_error: standard error of that mean.
        load_spread: standard deviation of the logarithm from load to load, of all such averages.
        spread_freedom: its degrees of freedom; 0 where no load shows any.
        height: of pull readings [m].
        age: of pull readings, or of the later ones of a force kept [s].
        first_age: of the first readings of a force kept [s].
        turns: mean of the turns counted, where a film mass.
    """

    what: str
    load_type: int
    values: int
    log_mean: float
    log_error: float
    load_spread: float = _UNKNOWN_SPREAD
    spread_freedom: int = 0
    height: float = math.nan
    age: float = math.nan
    first_age: float = math.nan
    turns: float = math.nan

    @property
    def is_pull(self) -> bool:
        """Whether it is a pull reading, whose common scale is left free."""
        return self.what == PULL

    @property
    def unit(self) -> str:
        """SI unit."""
        units = {MASS: "kg", WIDTH: "m", PULL: "N", TIME: "s", DANCER: "N", ROLL: "kg/m"}
        return units.get(self.what, "")

    @property
    def described(self) -> str:
        """What it is, with its place and age."""
        if self.is_pull:
            return say(
                "pull reading at {height} m, {age} min",
                height=f"{self.height:.2f}",
                age=f"{self.age / 60:.0f}",
            )
        if self.what == KEPT:
            return say(
                "force kept from {first} to {last} min",
                first=f"{self.first_age / 60:.0f}",
                last=f"{self.age / 60:.0f}",
            )
        return say(self.what)


def treatment_averages(table: LoadTable, side: int, load_types: Sequence[int]) -> list[Average]:
    """Every average of a treatment that a prediction can be held against.

    Args:
        table: the loads.
        side: 0 baseline, 1 candidate.
        load_types: codes of the load types to look at.
    """
    found: list[Average] = []
    for code in load_types:
        own = table.of_treatment(side) & (table.load_type == code)
        turns = table.turns[own & np.isfinite(table.film_mass) & np.isfinite(table.turns)]
        counted = float(turns.mean()) if turns.size else math.nan
        found += _averaged(MASS, code, table.film_mass[own], turns=counted)
        for what, values in (
            (MARKS, table.marks_stretch),
            (WIDTH, table.film_width),
        ):
            found += _averaged(what, code, values[own])
        pulls = [each for each in table.pulls if own[each.load] and math.isfinite(each.age)]
        found += _first_pulls(code, pulls)
        found += _kept_force(code, pulls)
    return _with_pooled_errors(found)


def machine_averages(table: LoadTable, side: int, load_types: Sequence[int]) -> list[Average]:
    """Averages of what film does not tell: cycle times, and film forces by the dancer.

    Args:
        table, side, load_types: as for :func:`treatment_averages`.
    """
    found: list[Average] = []
    for code in load_types:
        own = table.of_treatment(side) & (table.load_type == code)
        found += _averaged(TIME, code, table.cycle_time[own])
        found += _averaged(DANCER, code, table.dancer_force[own])
    return _with_pooled_errors(found)


def roll_averages(table: LoadTable, side: int, load_types: Sequence[int]) -> list[Average]:
    """Averages of film mass over film length of rolls, off their labels or scale and counter.

    A roll counts once: with the treatment and load type that it began with. Rolls that have no
    name are one where their numbers are.

    Args:
        table, side, load_types: as for :func:`treatment_averages`.
    """
    known = np.flatnonzero(np.isfinite(table.roll_density) & (table.roll_density > 0.0))
    named = table.roll[known] > 0
    names = np.where(named, table.roll[known].astype(float), -table.roll_density[known])
    first = known[np.sort(np.unique(names, return_index=True)[1])]
    found: list[Average] = []
    for code in load_types:
        own = first[(table.treatment[first] == side) & (table.load_type[first] == code)]
        found += rolls_averaged(code, table.roll_density[own])
    return found


def rolls_averaged(code: int, per_metre: Floats) -> list[Average]:
    """The average of rolls' film mass over length; none where no roll tells it.

    Args:
        code: of the load type that it goes with.
        per_metre: of each roll [kg/m]; NaN where it is not told.
    """
    return _with_pooled_errors(_averaged(ROLL, code, per_metre))


def _first_pulls(code: int, pulls: Sequence[PullReading]) -> list[Average]:
    """Pull readings at each load's youngest age, averaged by height."""
    found: list[Average] = []
    by_load = _by_load_and_age(pulls)
    for height in sorted({round(each.height, 2) for each in pulls}):
        means, ages = [], []
        for ages_of_load in by_load.values():
            first = [
                each for each in ages_of_load[min(ages_of_load)] if round(each.height, 2) == height
            ]
            if first:
                means.append(float(np.mean([each.force for each in first])))
                ages.append(math.log(max(float(np.mean([each.age for each in first])), 1.0)))
        if means:
            age = math.exp(float(np.mean(ages)))
            found += _averaged(PULL, code, np.array(means), height=height, age=age)
    return found


def _kept_force(code: int, pulls: Sequence[PullReading]) -> list[Average]:
    """Last pull readings over the first ones of the same load, at the same places.

    One ratio a load: ratios at several ages would share their first readings' errors.
    """
    ratios: dict[int, list[tuple[float, float, float]]] = {}
    for ages_of_load in _by_load_and_age(pulls).values():
        first, last = min(ages_of_load), max(ages_of_load)
        if first == last:
            continue
        before = {(each.height, each.side): each for each in ages_of_load[first]}
        pairs = [
            (before[each.height, each.side], each)
            for each in ages_of_load[last]
            if (each.height, each.side) in before
        ]
        if pairs:
            ratio = math.exp(float(np.mean([math.log(b.force / a.force) for a, b in pairs])))
            ages = [
                math.log(max(float(np.mean([pair[place].age for pair in pairs])), 1.0))
                for place in (0, 1)
            ]
            ratios.setdefault(last, []).append((ratio, ages[0], ages[1]))
    found: list[Average] = []
    for _, rows in sorted(ratios.items()):
        first_age, age = (math.exp(float(np.mean([row[n] for row in rows]))) for n in (1, 2))
        values = np.array([row[0] for row in rows])
        found += _averaged(KEPT, code, values, age=age, first_age=first_age)
    return found


def _by_load_and_age(
    pulls: Sequence[PullReading],
) -> dict[int, dict[int, list[PullReading]]]:
    """Readings by load and age; ages that differ by less than a fifth of a decade are one."""
    grouped: dict[int, dict[int, list[PullReading]]] = {}
    for each in pulls:
        age_class = round(5 * math.log10(max(each.age, 1.0)))
        grouped.setdefault(each.load, {}).setdefault(age_class, []).append(each)
    return grouped


def _averaged(what: str, code: int, values: Floats, **place: Any) -> list[Average]:
    logs = np.log(values[np.isfinite(values) & (values > 0)])
    if logs.size == 0:
        return []
    spread = float(logs.std(ddof=1)) if logs.size > 1 else math.nan
    return [Average(what, code, int(logs.size), float(logs.mean()), log_error=spread, **place)]


def _with_pooled_errors(readings: list[Average]) -> list[Average]:
    """Readings with standard errors from the spread pooled over all averages of one kind.

    Averages of three or four loads know their own spread too badly to weigh themselves.
    """
    pooled: dict[str, tuple[float, int]] = {}
    for what in {each.what for each in readings}:
        known = [each for each in readings if each.what == what and each.values > 1]
        freedom = sum(each.values - 1 for each in known)
        square = sum((each.values - 1) * each.log_error**2 for each in known)
        spread = math.sqrt(square / freedom) if freedom else _UNKNOWN_SPREAD
        pooled[what] = (spread, freedom)
    return [
        replace(
            each,
            log_error=max(pooled[each.what][0] / math.sqrt(each.values), _FLOOR),
            load_spread=pooled[each.what][0],
            spread_freedom=pooled[each.what][1],
        )
        for each in readings
    ]
