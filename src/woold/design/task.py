"""What a design is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.case.model import Case
from woold.design.candidate import Objective

__all__ = ["DesignTask", "Goal"]

Goal = Literal["film", "cost", "time", "containment"]


@dataclass(frozen=True, slots=True)
class DesignTask:
    """What a design is asked for.

    Args:
        goal: least film, cost or time; or most containment at the film of the baseline.
        baseline: case whose film may be used for most containment; the case itself if none.
        profiled: look also for a rise that varies with height.
        front: look for the front of film, hold and time.
        probability: hold as often as this while the inputs vary over their ranges [-].
    """

    goal: Goal = "film"
    baseline: Case | None = None
    profiled: bool = False
    front: bool = False
    probability: float | None = None

    @property
    def objective(self) -> Objective:
        """What is made small."""
        return "film" if self.goal == "containment" else self.goal
