"""What no program of one film and force gets below, whatever it is: turns, film, time and cost."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property

import numpy as np

from woold.case.model import Case
from woold.design.bound import Travel, least_turns, travel_of, whole_layers
from woold.design.candidate import Group, Measures, Query
from woold.design.choices import Choices
from woold.design.felt_need import bounding_zones, mean_zones
from woold.design.measured import MeasuredPrograms
from woold.errors import PhysicsError
from woold.physics.bands import NeedSteps, need_steps
from woold.physics.felt_patch import PatchGrid, patch_grid
from woold.prediction.result import FilmOnLoad

__all__ = ["BROKEN", "BoundedPrograms"]

BROKEN = 2.0
"""Patches of a row at which the film begins or ends, where a part of a pass may count [-]."""


class BoundedPrograms(MeasuredPrograms):
    """Bounds of the programs of a film at a force.

    Args:
        case: the case.
        shelf: films to choose from, today's first.
        targets: what must be held.
        limits: constraints and steps.
    """

    @cached_property
    def grid(self) -> PatchGrid:
        """Where the load's patches stand."""
        return patch_grid(self.around.load, self.case.load.height)

    @cached_property
    def _needs(self) -> dict[tuple[int, float, FilmOnLoad], NeedSteps | None]:
        return {}

    def group_of(
        self, place: int, case: Case, sheet: FilmOnLoad, query: Query, is_judged: bool = True
    ) -> Group | None:
        """A film at a force with its bound; None where it may not or cannot be used."""
        if is_judged and not self.films.may_be_used(case, sheet, query.relaxed):
            return None
        need = self._need(place, case, sheet)
        if need is None:
            return None
        travel, wider, broken = travel_of(case, query.choices, sheet.width), 0.0, 0.0
        if self.targets.is_felt:
            wider, broken = self.wider(query.choices), BROKEN / self.grid.around
        try:
            turns, _ = least_turns(need, sheet.width + wider, travel.widened(wider))
        except PhysicsError:
            return None
        turns = max(turns - broken, self._mean_turns(case, sheet, travel, query.choices))
        stress_share = self.films.stress_share(case, sheet)
        return self.bounded(Group(place, case, sheet, stress_share, turns, 0.0, 0.0), turns, query)

    def _mean_turns(self, case: Case, sheet: FilmOnLoad, travel: Travel, choices: Choices) -> float:
        """Turns below which no patch's mean layers are enough, be they whole or not."""
        if not self.targets.is_felt:
            return 0.0
        need = mean_zones(self.targets, case, sheet, self.grid)
        slack = self.wider(choices)
        try:
            return least_turns(need, sheet.width, travel.widened(0.0, slack), slack)[0]
        except PhysicsError:
            return 0.0

    def wider(self, choices: Choices) -> float:
        """Film that is so much wider touches whatever film touches a patch [m]."""
        steepest = max((*choices.rises, *choices.falls))
        return self.grid.patch + self.grid.step + steepest / self.grid.around

    def _need(self, place: int, case: Case, sheet: FilmOnLoad) -> NeedSteps | None:
        """Layers that a film at a force needs; None where it never holds."""
        key = (place, case.program.force_to_load, sheet)
        if key not in self._needs:
            zones, found = bounding_zones(self.targets, case, sheet, self.grid), None
            if all(math.isfinite(zone.layers) for zone in zones):
                steps = ((zone.low, zone.high, whole_layers(zone.layers)) for zone in zones)
                found = need_steps(steps)
            self._needs[key] = found
        return self._needs[key]

    def bounded(self, group: Group, turns: float, query: Query) -> Group:
        """The group with the bound that follows from its fewest turns."""
        sheet = group.sheet
        speed = max(self.speeds(query.choices, query.relaxed))
        travel = travel_of(group.case, query.choices, sheet.width)
        at_bottom = float(self.around.at(np.array([travel.low]))[0])
        lengths = turns * self.around.load + self.tails
        lengths += travel.turns_at_the_bottom * (at_bottom - self.around.load)
        mass = sheet.mass_per_metre * lengths
        time = turns * 2.0 * math.pi / speed + self.fixed_time
        cost = self.costs.per_load(group.place, mass, time, turns)
        least = Measures(mass, time, 0.0, group.stress_share, 0.0, cost)
        bound = float(np.asarray(least.score(query.objective)))
        return replace(group, least_turns=turns, bound=bound, least_mass=mass)

    def longest(self, group: Group, query: Query, limit: float) -> float:
        """Film with which no program can stay below a limit of the score, without tails [m]."""
        if not math.isfinite(limit) or query.objective not in ("film", "cost", "time"):
            return math.inf
        choices = query.choices
        steepest = max((*choices.rises, *choices.falls))
        around = math.hypot(float(self.around.at(np.array([-1.0, 0.0])).max()), steepest)
        speed = max(self.speeds(choices, query.relaxed))
        # The score is a straight line over the film, each turn taking as much as one may.
        ends = []
        for length in (0.0, 1.0):
            mass = group.sheet.mass_per_metre * (length + self.tails)
            time = length / around * 2.0 * math.pi / speed + self.fixed_time
            cost = self.costs.per_load(group.place, mass, time, length / around)
            score = Measures(mass, time, 0.0, 0.0, 0.0, cost).score(query.objective)
            ends.append(float(np.asarray(score)))
        return (limit - ends[0]) / (ends[1] - ends[0]) * (1.0 + 1e-9)
