"""How far a trial has come: loads of the plan, looks reached, and how its chance stands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.trial.looks import LookLimits, PlannedLook, look_limits
from woold.trial.setup import Looks, Trial
from woold.trial.sight import Size, what_loads_show
from woold.trial.table import LoadTable
from woold.trial.treatment_means import TreatmentMeans

__all__ = ["PlanState", "Seen", "TrialProgress", "chance_at_the_end", "progress_of"]

_LEAST_ACCOUNTED = 0.75
"""A look is reached when its last load was weighed, and of all its loads at least this share."""


@dataclass(frozen=True, slots=True)
class PlanState:
    """What was planned, as far as judging needs it.

    Args:
        loads: planned number of loads, both treatments together.
        void: numbers of loads that were taken out.
    """

    loads: int
    void: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class TrialProgress:
    """How far the trial has come.

    Args:
        loads_weighed: loads with a film mass.
        loads_planned: in all; null where no plan is kept.
        looks: planned ones.
        look: the last one that was reached; 0 where none was.
        next_look_loads: number of the load that the next look waits for; null after the last.
        is_filled: whether the last look was reached.
        pulls_missing: share of weighed loads that lack a pull reading in a zone; null where
            nothing was read.
        chance: chance of showing the saving at equal hold and every zone within the margin by the
            end of the plan, with the spreads and the missing readings seen so far; null where they
            are not known, and at the end.
    """

    loads_weighed: int
    loads_planned: int | None
    looks: tuple[PlannedLook, ...]
    look: int
    next_look_loads: int | None
    is_filled: bool
    pulls_missing: float | None
    chance: float | None


def progress_of(
    table: LoadTable, looks: Looks, state: PlanState | None
) -> tuple[TrialProgress, LookLimits, tuple[NDArray[np.bool_], ...]]:
    """How far the trial has come, the limits of its looks, and the loads of each look reached.

    Without a plan that is kept, all loads are judged once.

    Args:
        table: the loads.
        looks: of the trial file.
        state: the plan; None where none is kept.
    """
    weighed = np.isfinite(table.film_mass)
    missing = _missing_pulls(table)
    if state is None or state.loads <= 0:
        found = TrialProgress(int(weighed.sum()), None, (), 1, None, True, missing, None)
        return found, look_limits((1.0,)), (np.ones(weighed.size, bool),)
    limits = look_limits(looks.times, spending=looks.spending)
    places = np.array([_place(number) for number in table.numbers])
    void = np.array([_place(number) for number in state.void])
    planned, masks = [], []
    reached = True
    for index, share in enumerate(limits.times):
        loads = max(round(share * state.loads), 1)
        accounted = int((weighed & (places <= loads)).sum()) + int((void <= loads).sum())
        reached = reached and _has_come_to(loads, places[weighed], void)
        reached = reached and accounted >= _LEAST_ACCOUNTED * loads
        planned.append(
            PlannedLook(index + 1, loads, share, limits.limits[index], limits.nominal(index))
        )
        if reached:
            # The last look takes in what was wrapped beyond the plan as well.
            masks.append(places <= (loads if index + 1 < len(limits.times) else math.inf))
    waiting = [each.loads for each in planned[len(masks) :]]
    found = TrialProgress(
        loads_weighed=int(weighed.sum()),
        loads_planned=state.loads,
        looks=tuple(planned),
        look=len(masks),
        next_look_loads=waiting[0] if waiting else None,
        is_filled=not waiting,
        pulls_missing=missing,
        chance=None,
    )
    return found, limits, tuple(masks)


def _has_come_to(loads: int, *places: NDArray[np.float64]) -> bool:
    return any(bool((np.isfinite(each) & (each >= loads)).any()) for each in places)


def _place(number: str) -> float:
    """Number of a load; one that is no number comes after all of the plan."""
    try:
        return float(number)
    except ValueError:
        return math.inf


def _missing_pulls(table: LoadTable) -> float | None:
    """Share of weighed loads without a reading, mean over the zones that anything was read in."""
    zones = table.zones[np.isfinite(table.film_mass)]
    read = np.isfinite(zones)
    used: Sequence[int] = np.flatnonzero(read.any(axis=0)).tolist()
    return float(1.0 - read[:, used].mean()) if used else None


@dataclass(frozen=True, slots=True)
class Seen:
    """What the records show of the spreads so far.

    Args:
        film: film mass.
        zones: pull readings of each zone.
        zone_correlation: of the zones among themselves; null with one zone.
        blocks: number of blocks so far.
    """

    film: TreatmentMeans
    zones: tuple[TreatmentMeans, ...]
    zone_correlation: float | None
    blocks: int


def chance_at_the_end(
    trial: Trial, state: PlanState | None, progress: TrialProgress, seen: Seen
) -> float | None:
    """Chance of showing the saving at equal hold and every zone by the end of the plan.

    As the plan's, with the spreads and the missing readings seen so far in place of those planned
    on, and the saving that was asked for.

    Args:
        trial: the trial.
        state: its plan.
        progress: how far it has come.
        seen: spreads so far.
    """
    asked = len(trial.zones.names)
    if state is None or progress.is_filled or len(seen.zones) < asked or trial.is_fitted_once:
        return None
    aim = trial.aim.model_copy(
        update={
            "film_spread": _spread([seen.film]),
            "containment_spread": _spread(seen.zones),
            "zone_correlation": min(max(seen.zone_correlation or 0.0, 0.0), 0.95),
            "pulls_missing": min(progress.pulls_missing or 0.0, 0.8),
        }
    )
    annual = np.array([each.loads_per_year for each in trial.load_types])
    shares = annual / annual.sum()
    counts = np.maximum(np.round(shares * state.loads / 2.0), 1.0).astype(int)
    whole = max(round(seen.blocks * state.loads / max(progress.loads_weighed, 1)), seen.blocks)
    size = Size(tuple(counts.tolist()), tuple(shares.tolist()), whole, asked)
    limits = look_limits(trial.looks.times, spending=trial.looks.spending)
    return what_loads_show(aim, size, limits).both_power


def _spread(means: Sequence[TreatmentMeans]) -> float:
    squares = [spread**2 for each in means for spread in each.spreads]
    return min(max(math.sqrt(float(np.mean(squares))), 1e-6), 1.0)
