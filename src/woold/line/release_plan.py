"""The best set of machines under a budget of money and days, stage by stage: solved exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.line.whole_numbers import WholeChoices

__all__ = ["PlanMachine", "PlanStage", "PlanTrial", "ReleasePlan", "best_plan"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlanMachine:
    """A machine that may be changed.

    Args:
        gains: expected net gain if changed in each stage [currency].
        cost: of the change [currency].
        days: of technicians for it.
        group: number of the trial that would be one of it; None for none.
    """

    gains: tuple[float, ...]
    cost: float
    days: float
    group: int | None = None


@dataclass(frozen=True, slots=True)
class PlanTrial:
    """A trial in the first stage.

    Args:
        worth: what it brings less its cost [currency].
        cost: [currency].
        days: of technicians.
    """

    worth: float
    cost: float
    days: float


@dataclass(frozen=True, slots=True)
class PlanStage:
    """What a stage may take.

    Args:
        budget: [currency].
        days: of technicians.
    """

    budget: float = np.inf
    days: float = np.inf


@dataclass(frozen=True, eq=False, slots=True)
class ReleasePlan:
    """What is done in which stage.

    Args:
        stage_of: of each machine; -1 where it is left as it is.
        trials: whether each trial is made.
        worth: of all of it [currency].
        bound: no plan is worth more [currency].
    """

    stage_of: NDArray[np.int64]
    trials: NDArray[np.bool_]
    worth: float
    bound: float


def best_plan(
    machines: tuple[PlanMachine, ...],
    trials: tuple[PlanTrial, ...],
    stages: tuple[PlanStage, ...],
    seconds: float = 20.0,
) -> ReleasePlan:
    """The plan with the largest worth: gains of machines changed, and of trials made.

    max Σ g_is x_is + Σ w_t y_t; each machine once; money and days of each stage not above what
    there is; a machine of which a trial is made only after the first stage, where there are
    several.

    Args:
        machines: that may be changed.
        trials: that may be made.
        stages: the first one first.
        seconds: after which the best so far is returned, with its bound.
    """
    shape = (len(machines), len(stages))
    places = np.arange(len(machines) * len(stages)).reshape(shape)
    trial_places = places.size + np.arange(len(trials))
    gains = np.array([each.gains for each in machines]).reshape(shape)
    costs = np.array([each.cost for each in machines])
    days = np.array([each.days for each in machines])
    choices = WholeChoices(places.size + len(trials))
    if len(stages) > 1:
        for row in places:
            choices.limit(row, high=1.0)
        for row, machine in zip(places, machines, strict=True):
            if machine.group is not None:
                choices.limit([row[0], trial_places[machine.group]], high=1.0)
    for number, stage in enumerate(stages):
        first = number == 0
        also = trial_places if first else trial_places[:0]
        made = trials if first else ()
        for most, each, of_trials in (
            (stage.budget, costs, [one.cost for one in made]),
            (stage.days, days, [one.days for one in made]),
        ):
            if np.isfinite(most):
                column = np.concatenate([places[:, number], also])
                choices.limit(column, _scaled([*each, *of_trials], most), high=1.0)
    worth = np.concatenate([gains.ravel(), [each.worth for each in trials]])
    solved = choices.least(-worth, seconds)
    if solved is None:
        nothing = np.full(len(machines), -1)
        return ReleasePlan(
            nothing, np.zeros(len(trials), bool), 0.0, float(np.maximum(worth, 0.0).sum())
        )
    chosen = solved.chosen()
    taken = chosen[: places.size].reshape(shape)
    return ReleasePlan(
        stage_of=np.where(taken.any(axis=1), taken.argmax(axis=1), -1),
        trials=chosen[places.size :],
        worth=-solved.value,
        bound=-solved.bound,
    )


def _scaled(amounts: list[float], most: float) -> Floats:
    """Amounts as shares of what there is; what cannot be had at all is more than all of it."""
    each = np.asarray(amounts, float)
    return each / most if most > 0.0 else np.where(each > 0.0, 2.0, 0.0)
