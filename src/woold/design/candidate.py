"""Programs that a search proposes, what they are scored by, and the limits that they keep."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from woold.case.model import Case
from woold.design.choices import Choices
from woold.design.settings import Settings
from woold.physics.numeric import FloatOrArray
from woold.prediction.result import FilmOnLoad
from woold.words import to_say

__all__ = [
    "CONSTRAINTS",
    "Candidate",
    "Count",
    "Group",
    "Measures",
    "Objective",
    "Query",
    "Relaxed",
]

Objective = Literal["film", "cost", "time", "edge load", "film stress", "wraps"]

CONSTRAINTS = (
    to_say("rated pre-stretch"),
    to_say("elongation at break"),
    to_say("grip"),
    to_say("film stress"),
    to_say("dancer travel"),
    to_say("film speed"),
    to_say("carriage speed"),
    to_say("edge load"),
    to_say("cycle time"),
    to_say("wraps"),
)
"""Constraints that can be left out, to find which of them stands in the way.

The English name is the code as well; it is said where it is shown.
"""

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
        cost: film, machine time, roll changes and breaks, in the case's currency; None where a
            price is missing.
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
        least_mass: lower bound of the film [kg].
        weakest, narrowest: least force and film width, where the group stands for a range of
            forces; its case and its sheet else stand for the best of the range [N, m].
    """

    place: int
    case: Case
    sheet: FilmOnLoad
    stress_share: float
    least_turns: float
    bound: float
    least_mass: float
    weakest: float = 0.0
    narrowest: float = 0.0

    @property
    def strongest(self) -> float:
        """Largest force [N]."""
        return self.case.program.force_to_load

    def cuts(self, forces: tuple[float, ...]) -> tuple[float, ...]:
        """Ends and middle of the group's forces, where some of those given lie between; else none.

        Args:
            forces: at which it may be cut, rising [N].
        """
        within = [force for force in forces if self.weakest < force < self.strongest]
        return (self.weakest, within[len(within) // 2], self.strongest) if within else ()

    def halves(self, finest: float) -> tuple[float, ...]:
        """Ends and middle of the group's forces, whatever lies between; none within a finest step.

        Args:
            finest: step that is not cut any more [N].
        """
        if self.strongest - self.weakest <= finest:
            return ()
        return (self.weakest, 0.5 * (self.weakest + self.strongest), self.strongest)

    def alone(self, choices: Choices) -> Choices:
        """The choices with the group's film and pre-stretch alone."""
        prestretch = self.case.carriage.prestretch
        return replace(choices, films=(self.place,), prestretches=(prestretch,))


@dataclass(frozen=True, slots=True)
class Query:
    """What is looked for.

    Args:
        choices: what may be chosen.
        objective: what shall be small.
        relaxed: constraints to leave out.
        safe: reckon with the oldest film alone.
        below: score that must be beaten.
    """

    choices: Choices
    objective: Objective
    relaxed: Relaxed = frozenset()
    safe: bool = False
    below: float = math.inf


@dataclass(frozen=True, eq=False)
class Measures:
    """What programs of one film are scored by, each a number or one for every program.

    Args:
        mass: [kg].
        time: of the cycle [s].
        edge_load: largest force on a corner [N/m].
        stress_share: peak tension over the film's drawing force [-].
        wraps: the larger of bottom and top wraps [-].
        cost: film, machine time, roll changes and breaks; None where a price is missing.
    """

    mass: FloatOrArray
    time: FloatOrArray
    edge_load: FloatOrArray
    stress_share: float
    wraps: FloatOrArray
    cost: FloatOrArray | None

    def score(self, objective: Objective) -> FloatOrArray:
        """What is made small."""
        return {
            "film": self.mass,
            "cost": math.inf if self.cost is None else self.cost,
            "time": self.time,
            "edge load": self.edge_load,
            "film stress": self.stress_share,
            "wraps": self.wraps,
        }[objective]
