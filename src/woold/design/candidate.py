"""Programs that a search proposes, what they are scored by, and the limits that they keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.case.model import Case
from woold.design.settings import Settings
from woold.prediction.result import FilmOnLoad

__all__ = ["CONSTRAINTS", "Candidate", "Count", "Group", "Objective", "Relaxed"]

Objective = Literal["film", "cost", "time", "edge load", "film stress", "wraps"]

CONSTRAINTS = (
    "rated pre-stretch",
    "elongation at break",
    "grip",
    "film stress",
    "dancer travel",
    "film speed",
    "carriage speed",
    "edge load",
    "cycle time",
    "wraps",
)
"""Constraints that can be left out, to find which of them stands in the way."""

Relaxed = frozenset[str]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A program that holds, as far as the search knows.

    Args:
        score: the objective, the smaller the better.
        settings: its settings.
        place: place of its film on the shelf.
        film_mass: [kg].
        cycle_time: [s].
        cost: film and machine time, in the case's currency; None where a price is missing.
        edge_load: largest force on a corner; None for a round load [N/m].
        stress_share: peak tension over the film's drawing force [-].
    """

    score: float
    settings: Settings
    place: int
    film_mass: float
    cycle_time: float
    cost: float | None
    edge_load: float | None
    stress_share: float


@dataclass(frozen=True, slots=True)
class Count:
    """Programs that a search dealt with.

    Args:
        evaluated: programs settled by an evaluation.
        pruned: programs left out by a bound, or by a constraint on their film and force.
    """

    evaluated: int = 0
    pruned: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(self.evaluated + other.evaluated, self.pruned + other.pruned)


@dataclass(frozen=True, eq=False)
class Group:
    """One film at one pre-stretch and force, with a lower bound for every program of it.

    Args:
        place: place of the film on the shelf.
        case: the case with this film, pre-stretch and force.
        sheet: the film on the load.
        stress_share: peak tension over the film's drawing force [-].
        least_turns: fewest turns of any program [-].
        bound: lower bound of the objective.
    """

    place: int
    case: Case
    sheet: FilmOnLoad
    stress_share: float
    least_turns: float
    bound: float
