"""What a design is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.case.model import Case
from woold.design.candidate import Objective

__all__ = ["DesignTask", "Goal", "objective_of"]

Goal = Literal["film", "cost", "time", "containment"]


@dataclass(frozen=True, slots=True)
class DesignTask:
    """What a design is asked for.

    Args:
        goal: least cost, film or time; or most containment at the film of the baseline. None is
            the least cost where prices are given, and the least film where they are not.
        baseline: case whose film may be used for most containment; the case itself if none.
        profiled: look also for a rise that varies with height.
        front: look for the front of film, hold and time.
        probability: hold as often as this while the inputs vary over their ranges [-].
    """

    goal: Goal | None = None
    baseline: Case | None = None
    profiled: bool = False
    front: bool = False
    probability: float | None = None

    def goal_for(self, has_prices: bool) -> Goal:
        """What is asked for, where prices are given or not."""
        return self.goal or ("cost" if has_prices else "film")


def objective_of(goal: Goal) -> Objective:
    """What is made small."""
    return "film" if goal == "containment" else goal
