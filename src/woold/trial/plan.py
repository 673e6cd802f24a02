"""How many loads a trial needs, what fewer could see, and in which order they are wrapped."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.load_order import PlannedLoad, order_of
from woold.trial.looks import LookLimits, PlannedLook, look_limits
from woold.trial.setup import Aim, Trial
from woold.trial.sight import Sight, Size, what_loads_show, what_rolls_show
from woold.words import say

__all__ = ["TrialPlan", "plan_trial"]

_SHOWN_LOADS = (3, 5, 8, 12, 20, 30, 50, 100)
_MOST_LOADS = 20_000
_FEWEST_ROLLS = 6
"""Before and after, where the change is made once."""


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A plan.

    Args:
        aim: what it is for.
        zones: number of zones that must all hold.
        loads_per_treatment: in all.
        loads_by_type: of each load type of each treatment.
        looks: when the running trial is judged, and how far a result must stand out.
        sight: what those loads can see.
        table: the same for smaller and larger trials.
        order: the loads in the order in which they are wrapped.
    """

    aim: Aim
    zones: int
    loads_per_treatment: int
    loads_by_type: dict[str, int]
    looks: tuple[PlannedLook, ...]
    sight: Sight
    table: tuple[Sight, ...]
    order: tuple[PlannedLoad, ...]


def plan_trial(
    trial: Trial, aim: Aim | None = None, loads_per_treatment: int | None = None
) -> TrialPlan:
    """Loads of each treatment that show the saving and the containment with the power asked for.

    Args:
        trial: the trial.
        aim: another aim than the trial's (with a pilot's spread, say).
        loads_per_treatment: use so many instead, and say what they show.

    Raises:
        InputError: more loads than a trial can wrap, or too few for its load types.
    """
    aim = aim or trial.aim
    zones, size = len(trial.zones.names), trial.order.loads_per_block
    annual = np.array([each.loads_per_year for each in trial.load_types])
    shares = annual / annual.sum()

    limits = look_limits(trial.looks.times, spending=trial.looks.spending)

    def sight(loads: int) -> Sight:
        if trial.is_fitted_once:
            rolls = max(math.ceil(loads / size), _FEWEST_ROLLS)
            return what_rolls_show(aim, trial.fitted_once, rolls, size, zones)
        counts = tuple(_by_type(loads, shares))
        blocks = math.ceil(loads / size)
        return what_loads_show(aim, Size(counts, tuple(shares.tolist()), blocks, zones), limits)

    fewest = 2 * len(trial.load_types)
    if trial.is_fitted_once:
        fewest = max(fewest, _FEWEST_ROLLS * size)
    if loads_per_treatment is None:
        needed = _fewest_loads(lambda loads: sight(loads).both_power >= aim.power, fewest, aim)
    else:
        needed = loads_per_treatment
        if needed < fewest or needed > _MOST_LOADS:
            raise InputError.one(
                "loads of each treatment",
                str(needed),
                say(
                    "{fewest} to {most_loads} (two of each load type at least)",
                    fewest=fewest,
                    most_loads=_MOST_LOADS,
                ),
                say("Choose another number."),
            )
    whole = size * math.ceil(needed / size)
    shown = sorted({*(n for n in _SHOWN_LOADS if n >= fewest), whole})
    counts = _by_type(whole, shares)
    names = [each.name for each in trial.load_types]
    return TrialPlan(
        aim=aim,
        zones=zones,
        loads_per_treatment=whole,
        loads_by_type=dict(zip(names, counts, strict=True)),
        looks=_looks(limits, 2 * whole),
        sight=sight(whole),
        table=tuple(sight(loads) for loads in shown),
        order=order_of(trial, counts, names),
    )


def _looks(limits: LookLimits, loads: int) -> tuple[PlannedLook, ...]:
    return tuple(
        PlannedLook(
            index + 1, round(time * loads), time, limits.limits[index], limits.nominal(index)
        )
        for index, time in enumerate(limits.times)
    )


def _fewest_loads(enough: Callable[[int], bool], fewest: int, aim: Aim) -> int:
    low, high = fewest - 1, fewest
    while not enough(high):
        low, high = high, 2 * high
        if high > _MOST_LOADS:
            raise InputError.one(
                "aim",
                say(
                    "a saving of {saving:.3g} and a margin of {margin:.3g} against spreads of"
                    " {film_spread:.3g} and {containment_spread:.3g}",
                    saving=aim.saving,
                    margin=aim.margin,
                    film_spread=aim.film_spread,
                    containment_spread=aim.containment_spread,
                ),
                say(
                    "an aim that {most_loads} loads of each treatment can reach",
                    most_loads=_MOST_LOADS,
                ),
                say("Ask for a larger saving or margin, or lessen the spread."),
            )
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _by_type(loads: int, shares: NDArray[np.float64]) -> list[int]:
    """Loads of each type, close to the annual mix and never fewer than two."""
    counts = np.maximum(np.floor(shares * loads).astype(int), 2)
    while counts.sum() < loads:
        counts[np.argmax(shares * loads - counts)] += 1
    while counts.sum() > loads:
        excess = np.where(counts > 2, counts - shares * loads, -np.inf)
        counts[np.argmax(excess)] -= 1
    return [int(count) for count in counts]
