"""Programs as they are measured: film, time, cost, edge load, and which of them keep the limits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.case.program import MOST_AT_A_STOP
from woold.design.candidate import (
    Candidate,
    Group,
    Measures,
    Objective,
    Query,
    Relaxed,
)
from woold.design.choices import Choices
from woold.design.costs import Costs
from woold.design.films import Films
from woold.design.helices import (
    Around,
    Helices,
    Wraps,
)
from woold.design.program_path import ProgramPath
from woold.design.settings import Settings, Stop, with_settings
from woold.design.targets import Targets
from woold.errors import PhysicsError
from woold.physics import demand, pattern
from woold.prediction.clock import time_beside_turning
from woold.prediction.predict import largest_corner_force, load_outline, predict

__all__ = ["LaidPrograms", "MeasuredPrograms"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LaidPrograms:
    """Programs of one film: helices with their wraps, the fastest turning, and which may be."""

    helices: Helices
    wraps: Wraps
    speed: Floats
    good: NDArray[np.bool_]


class MeasuredPrograms:
    """What a program of a case takes and weighs.

    Args:
        case: the case.
        shelf: films to choose from, today's first.
        targets: what must be held.
        limits: constraints and steps.
    """

    def __init__(
        self, case: Case, shelf: tuple[Film, ...], targets: Targets, limits: Design
    ) -> None:
        self.case, self.shelf, self.targets, self.limits = case, shelf, targets, limits
        self.films = Films(case, shelf, limits)
        self.outline = load_outline(case)
        self.around, self.path = Around.of(case), ProgramPath(case)
        self.film_per_radian = demand.demand_range(self.outline, 1.0).fastest
        # Ramps, pauses and ends are the same for every program.
        self.fixed_time = time_beside_turning(case)
        self.tails = case.program.start_tail + case.program.end_tail
        self.costs = Costs(case, shelf, predict(case).turns)

    def case_of(self, candidate: Candidate) -> Case:
        """The case with a candidate's settings."""
        return with_settings(self.case, self.shelf[candidate.place], candidate.settings)

    def measured(self, settings: Settings, place: int, objective: Objective) -> Candidate | None:
        """A candidate of any settings; its edge load is not known before it is predicted.

        Returns:
            The candidate; None where the carriage cannot run its film, or the program cannot be.
        """
        force = settings.force_to_load_n
        laid = self.films.at_forces(place, settings.prestretch, (force,))
        if not laid or laid[0][1].breaks:
            return None
        if any(not 0.0 < each.wraps <= MOST_AT_A_STOP for each in settings.bands):
            return None
        case, sheet = laid[0]
        made = with_settings(case, case.film, settings)
        try:
            length, time, turns = self.path.at(sheet.width, made)
        except PhysicsError:
            # More turns than a program has, a rope longer than the wraps, a stop out of the way.
            return None
        mass, share = length * sheet.mass_per_metre, self.films.stress_share(case, sheet)
        cost = self.costs.per_load(place, mass, time, turns)
        wraps = max(settings.bottom_wraps, settings.top_wraps)
        return Candidate(
            score=float(np.asarray(Measures(mass, time, 0.0, share, wraps, cost).score(objective))),
            settings=settings,
            place=place,
            film_mass=mass,
            cycle_time=time,
            cost=None if cost is None else float(cost),
            edge_load=None,
            stress_share=share,
        )

    def speeds(self, choices: Choices, relaxed: Relaxed = frozenset()) -> tuple[float, ...]:
        """Turning speeds at which the film is not asked for too fast."""
        limit = self.limits.film_speed_limit
        if limit is None or "film speed" in relaxed:
            return choices.speeds
        return tuple(each for each in choices.speeds if each * self.film_per_radian <= limit + 1e-9)

    def fastest(
        self, choices: Choices, helices: Helices, relaxed: Relaxed
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """Highest turning speed that the carriage keeps up with, and whether there is one."""
        speeds = np.array(sorted(self.speeds(choices, relaxed)))
        limit = self.case.machine.carriage_speed_limit
        steepest = np.fmax(helices.rises, helices.falls)
        if limit is None or "carriage speed" in relaxed:
            return np.full(steepest.size, speeds[-1]), np.ones(steepest.size, dtype=bool)
        keeps_up = steepest[:, None] * speeds / (2.0 * math.pi) <= limit * (1.0 + 1e-9)
        return speeds[np.maximum(keeps_up.sum(axis=1) - 1, 0)], keeps_up[:, 0]

    def most_travel(self, choices: Choices) -> float:
        """Most that a carriage travels in a turn, however it moves [m].

        As far as its speed lets it at the slowest turning; without one, the largest rise.
        """
        limit, speeds = self.case.machine.carriage_speed_limit, self.speeds(choices)
        steepest = max((*choices.rises, *choices.falls))
        if limit is None or not speeds:
            return steepest
        return max(limit * 2.0 * math.pi / min(speeds), 1e-3)

    def measures(self, group: Group, laid: LaidPrograms) -> Measures:
        """What laid programs take."""
        wraps, lengths = laid.wraps, laid.helices.lengths + laid.wraps.lengths + self.tails
        mass = group.sheet.mass_per_metre * lengths
        turns = laid.helices.turns + wraps.turns
        time = turns * 2.0 * math.pi / laid.speed + self.fixed_time
        return Measures(
            mass=mass,
            time=time,
            edge_load=self.edge_load(group, wraps),
            stress_share=group.stress_share,
            wraps=np.maximum(wraps.bottom, wraps.top),
            cost=self.costs.per_load(group.place, mass, time, turns),
        )

    def scored(
        self, group: Group, query: Query, keep: int, laid: LaidPrograms
    ) -> Iterator[Candidate]:
        """The best of laid programs that keep the constraints."""
        helices, wraps, relaxed = laid.helices, laid.wraps, query.relaxed
        measures = self.measures(group, laid)
        mass, time, edge = (
            np.asarray(each) for each in (measures.mass, measures.time, measures.edge_load)
        )
        good = laid.good & (helices.turns + wraps.turns <= pattern.MOST_TURNS)
        good &= (wraps.band_wraps <= MOST_AT_A_STOP).all(axis=1)
        if "edge load" not in relaxed and self.case.hold.edge_load_limit is not None:
            good &= edge <= self.case.hold.edge_load_limit * (1.0 + 1e-9)
        if "cycle time" not in relaxed and self.limits.cycle_time_limit is not None:
            good &= time <= self.limits.cycle_time_limit + 1e-9
        score = np.where(good, measures.score(query.objective), math.inf)
        # Of equal scores the lighter one, then the quicker one.
        some = np.flatnonzero(np.isfinite(score))
        for index in some[np.lexsort((time[some], mass[some], score[some]))[:keep]]:
            bands = tuple(
                Stop(float(at), float(many), "up")
                for at, many in zip(wraps.band_edges[index], wraps.band_wraps[index], strict=True)
                if many > 0.0
            )
            fall = float(helices.falls[index])
            yield Candidate(
                score=float(score[index]),
                settings=Settings(
                    film=self.films.names[group.place],
                    prestretch=group.case.carriage.prestretch,
                    force_to_load_n=group.case.program.force_to_load,
                    bottom_wraps=float(wraps.bottom[index]),
                    rise_per_turn_m=float(helices.rises[index]),
                    top_wraps=float(wraps.top[index]),
                    fall_per_turn_m=None if math.isnan(fall) else fall,
                    bands=(*query.choices.bands, *bands),
                    speed_rad_per_s=float(laid.speed[index]),
                ),
                place=group.place,
                film_mass=float(mass[index]),
                cycle_time=float(time[index]),
                cost=None if measures.cost is None else float(np.asarray(measures.cost)[index]),
                edge_load=None if self.outline.corner_radius else float(edge[index]),
                stress_share=group.stress_share,
            )

    def edge_load(self, group: Group, wraps: Wraps) -> Floats:
        """Largest force on a corner; 0 for a round load [N/m]."""
        force, width = group.case.program.force_to_load, group.sheet.width
        per_layer = largest_corner_force(self.outline, force / width)
        if per_layer is None:
            return np.zeros(wraps.most_mean.size)
        return per_layer * wraps.most_mean
