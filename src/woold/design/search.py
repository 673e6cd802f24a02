"""Search of wrap programs: every film, pre-stretch, force, rise and fall, with the fewest wraps.

Wraps are not tried one number after the other: for a given helix the fewest that meet the need
follow directly, fewer never hold and more never cost less. So one evaluation settles every number
of bottom and top wraps and every turning speed. Films and forces are taken in the order of their
lower bound (`woold.physics.bands`) and left out once that is above what was found.
"""

from __future__ import annotations

import copy
import heapq
import itertools
import math
from bisect import bisect
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.design.bound import tier_turns, travel_of
from woold.design.bounded import BROKEN, BoundedPrograms
from woold.design.candidate import (
    Candidate,
    Count,
    Group,
    Objective,
    Query,
    Relaxed,
)
from woold.design.choices import Choices
from woold.design.felt_programs import FeltPrograms
from woold.design.helices import (
    LaidHelices,
    add_wraps,
    variants,
)
from woold.design.measured import LaidPrograms
from woold.design.needs import helix_needs
from woold.design.patch_columns import column_of, fewest_passes
from woold.design.targets import Targets
from woold.prediction.result import FilmOnLoad

__all__ = ["Search"]

_Film = tuple[Case, FilmOnLoad]


def _shown(score: float) -> float:
    """A score without its rounding, so that of equal films today's comes first."""
    return float(f"{score:.12g}")


def _bounding(choices: Choices, speeds: tuple[float, ...]) -> Choices:
    """The choices as far as bounds know them."""
    return replace(
        choices,
        rises=(max(choices.rises),),
        falls=(max(choices.falls),) if choices.falls else (),
        one_rise=False,
        bottom=(choices.bottom[0], choices.bottom[0]),
        top=(choices.top[0], choices.top[0]),
        speeds=(max(speeds),),
        bands_most=0,
        bands=(),
        whole_rises=False,
    )


def _ends(forces: tuple[float, ...]) -> tuple[float, ...]:
    return forces if len(forces) < 2 else (forces[0], forces[-1])


_LOOKED_AT = (0, *range(4, 9))
"""Fine steps within a range of forces at which columns of patches are looked at: it takes long."""

_CUTS, _PIECES = 2, 33
"""How often a force step in which a film's limit lies is cut, and at how many forces."""


class Search(BoundedPrograms):
    """Finds the best programs that may be chosen under a case's targets and constraints.

    Args:
        case: the case.
        shelf: films to choose from, today's first.
        targets: what must be held.
        limits: constraints and steps.
    """

    def __init__(
        self, case: Case, shelf: tuple[Film, ...], targets: Targets, limits: Design
    ) -> None:
        super().__init__(case, shelf, targets, limits)
        self._seen_as: Callable[[Case, FilmOnLoad], FilmOnLoad] = lambda _, sheet: sheet
        self._grouped: dict[tuple[object, ...], list[Group]] = {}
        self._tight_turns: dict[tuple[object, ...], float] = {}
        self._floors: list[Group] = []
        self._floors_of: Choices | None = None
        self._at_points = False
        self.helices = LaidHelices(case, self.around)

    def best(
        self,
        choices: Choices,
        objective: Objective,
        relaxed: Relaxed = frozenset(),
        keep: int = 8,
        safe: bool = False,
        below: float = math.inf,
    ) -> tuple[list[Candidate], Count]:
        """The best candidates, the best first.

        Args:
            choices: what may be chosen.
            objective: what shall be small.
            relaxed: constraints to leave out.
            keep: how many to return.
            safe: reckon with the oldest film alone: what is found holds, better may be missed.
            below: score that must be beaten.

        Returns:
            Candidates, none where nothing holds, and the count of programs dealt with.
        """
        query = Query(choices, objective, relaxed, safe, below)
        groups, left_out = self.groups(choices, objective, relaxed)
        per_group = len(choices.pairs()) * choices.programs_per_pair
        count = Count(0, left_out * per_group)
        best: list[tuple[float, int, Candidate]] = []
        order = itertools.count()
        for group in groups:
            limit = -best[0][0] if len(best) == keep else math.inf
            if group.bound >= min(limit, below):
                count += Count(0, per_group)
                continue
            for candidate in self._candidates(group, query, keep, min(limit, query.below)):
                if candidate.score >= below:
                    continue
                entry = (-_shown(candidate.score), -next(order), candidate)
                if len(best) < keep:
                    heapq.heappush(best, entry)
                elif entry[0] > best[0][0]:
                    heapq.heapreplace(best, entry)
            count += Count(per_group, 0)
        return [entry[2] for entry in sorted(best, reverse=True)], count

    def groups(
        self,
        choices: Choices,
        objective: Objective,
        relaxed: Relaxed = frozenset(),
    ) -> tuple[list[Group], int]:
        """Films with pre-stretch and force that may be used, the lowest bound first.

        Args:
            choices, objective, relaxed: as for `best`.

        Returns:
            The groups, and how many more were left out.
        """
        speeds = self.speeds(choices, relaxed)
        in_all = len(choices.films) * len(choices.prestretches) * len(choices.forces)
        if not speeds:
            return [], in_all
        key = (_bounding(choices, speeds), objective, relaxed)
        if key in self._grouped:
            groups = self._grouped[key]
            return groups, in_all - len(groups)
        query = Query(choices, objective, relaxed)
        found = [
            self.group_of(place, case, self._seen_as(case, sheet), query)
            for place, prestretch in itertools.product(choices.films, choices.prestretches)
            for case, sheet in self.films.at_forces(place, prestretch, choices.forces)
        ]
        found = [self._above_floor(each, query) if each else None for each in found]
        kept = [each for each in found if each]
        groups = sorted(kept, key=lambda each: (_shown(each.bound), each.place))
        self._grouped[key] = groups
        return groups, in_all - len(groups)

    def count_all(self, choices: Choices) -> Count:
        """All programs that may be chosen, as left out."""
        groups = len(choices.films) * len(choices.prestretches) * len(choices.forces)
        return Count(0, groups * len(choices.pairs()) * choices.programs_per_pair)

    def with_targets(self, targets: Targets) -> Search:
        """The same search under other targets; what is laid already is kept."""
        other = self._anew()
        other.targets = targets
        return other

    def with_sheets(self, seen_as: Callable[[Case, FilmOnLoad], FilmOnLoad]) -> Search:
        """The same search with films that lie on the load otherwise than they are predicted to."""
        other = self._anew()
        other._seen_as = seen_as
        return other

    def at_points(self) -> Search:
        """The same search for programs that hold at every point: quicker, and some are missed."""
        other = self._anew()
        other._at_points = True
        return other

    def _anew(self) -> Search:
        """A copy that shares what is laid, and nothing that rests on targets or sheets."""
        other = copy.copy(self)
        other._grouped, other._tight_turns, other._needs, other._floors = {}, {}, {}, []
        return other

    def bound(self, choices: Choices, objective: Objective) -> Group | None:
        """The least that any program of any kind could do; None where none can hold.

        Such a program stands and travels as it likes, but no faster than its carriage can, and
        makes the fewest wraps at its ends and the closing wraps.
        """
        speeds = self.speeds(choices)
        if len(speeds) > 1 and self.case.machine.carriage_speed_limit is not None:
            # Slow turning lets the carriage travel far in a turn, quick turning takes less time.
            each = [self.bound(replace(choices, speeds=(one,)), objective) for one in speeds]
            found = [bounded for bounded in each if bounded is not None]
            return min(found, key=lambda bounded: bounded.bound, default=None)
        most = self.most_travel(choices)
        anyhow = replace(choices, rises=(most,), falls=(most,) if choices.falls else ())
        query = Query(anyhow, objective)
        # Ranges of forces, the lowest bound first: each is bounded, then cut, down to a fine step.
        fine, order = anyhow.finer_forces(), itertools.count()
        heap = [(each.bound, next(order), each, False) for each in self.slices(query, _ends(fine))]
        heapq.heapify(heap)
        while heap:
            lowest, _, group, is_bounded = heapq.heappop(heap)
            if not is_bounded:
                between = sum(group.weakest < force < group.strongest for force in fine)
                group = self._tightened(group, query, between in _LOOKED_AT)
                group = replace(group, bound=max(group.bound, lowest))
                heapq.heappush(heap, (group.bound, next(order), group, True))
                continue
            cuts = group.cuts(fine)
            if not cuts:
                if self.targets.tiers is not None:
                    # Whatever is cut, each force lies in one of these ranges.
                    self._floors = [group, *(each[2] for each in heap)]
                    self._floors_of, self._grouped = anyhow, {}
                return group
            alone = group.alone(anyhow)
            for part in self.slices(replace(query, choices=alone), cuts):
                # What a range needs at its strongest, each of its parts needs as well.
                part = self.bounded(part, max(part.least_turns, group.least_turns), query)
                heapq.heappush(heap, (max(part.bound, lowest), next(order), part, False))
        return None

    def _above_floor(self, group: Group, query: Query) -> Group:
        """The group with the turns that are known to be needed at its force, if any are."""
        floors, of, choices = self._floors, self._floors_of, query.choices
        if not floors or of is None or bool(of.falls) != bool(choices.falls):
            return group
        is_within = max(choices.rises) <= max(of.rises) * (1.0 + 1e-12)
        is_within &= max((*choices.falls, 0.0)) <= max((*of.falls, 0.0)) * (1.0 + 1e-12)
        is_within &= choices.bottom[0] >= of.bottom[0] and choices.top[0] >= of.top[0]
        prestretch, turns = group.case.carriage.prestretch, group.least_turns
        # A force at which two ranges meet lies in both.
        known = [
            each.least_turns
            for each in (floors if is_within else ())
            if each.place == group.place
            and each.case.carriage.prestretch == prestretch
            and each.weakest <= group.strongest <= each.strongest
        ]
        turns = max([turns, *known])
        return group if turns == group.least_turns else self.bounded(group, turns, query)

    def _tightened(self, group: Group, query: Query, at_columns: bool) -> Group:
        """The group with the turns that its tiers need, and columns of patches if they shall."""
        if self.targets.tiers is None and not (self.targets.is_felt and at_columns):
            return group
        prestretch, choices = group.case.carriage.prestretch, query.choices
        anyhow = replace(choices, films=(), prestretches=(), forces=())
        key = (group.place, prestretch, group.strongest, group.sheet, anyhow)
        if key not in self._tight_turns:
            self._tight_turns[key] = max(
                group.least_turns, *self._turns_beside(group, choices, at_columns)
            )
        return self.bounded(group, max(group.least_turns, self._tight_turns[key]), query)

    def _turns_beside(self, group: Group, choices: Choices, at_columns: bool) -> Iterator[float]:
        """Turns that no program is below, because of its tiers and because turns are whole."""
        case, width, targets = group.case, group.sheet.width, self.targets
        if targets.tiers is not None:
            wider = self.wider(choices) if targets.is_felt else 0.0
            travel = travel_of(case, choices, width)
            yield tier_turns(targets, group, travel, patches=(self.grid, wider))[0]
        if targets.is_felt and at_columns:
            column = column_of(case, choices, width, self.grid)
            yield fewest_passes(targets, group, column) - BROKEN / self.grid.around

    def slices(self, query: Query, cuts: tuple[float, ...] = ()) -> list[Group]:
        """Groups that are better than any force from one cut to the next, best first.

        Each has the force of the upper end, and the lightest and widest film of both ends.

        Args:
            query: what is looked for.
            cuts: forces, rising; the fine steps if none are given [N].
        """
        choices, found = query.choices, []
        if not self.speeds(choices, query.relaxed):
            return []
        forces = cuts or choices.finer_forces()
        for place, prestretch in itertools.product(choices.films, choices.prestretches):
            laid = self.films.at_forces(place, prestretch, forces)
            for lower, upper in itertools.pairwise((laid[0], *laid)) if laid else ():
                usable = [self.films.may_be_used(*each, query.relaxed) for each in (lower, upper)]
                if not any(usable):
                    continue
                if not usable[1]:
                    upper = self._just_beyond(place, prestretch, (lower, upper), query.relaxed)
                case, sheet = upper
                widths = [sheet.width, lower[1].width]
                sheet = replace(
                    sheet,
                    width=max(widths),
                    thickness=max(sheet.thickness, lower[1].thickness),
                    mass_per_metre=min(sheet.mass_per_metre, lower[1].mass_per_metre),
                )
                made = self.group_of(place, case, self._seen_as(case, sheet), query, False)
                if made is not None:
                    weakest, narrowest = lower[0].program.force_to_load, min(widths)
                    found.append(replace(made, weakest=weakest, narrowest=narrowest))
        return sorted(found, key=lambda each: each.bound)

    def _just_beyond(
        self, place: int, prestretch: float, ends: tuple[_Film, _Film], relaxed: Relaxed
    ) -> _Film:
        """The film at a force just beyond the last one at which it may be used."""
        low, beyond = ends[0][0].program.force_to_load, ends[1]
        for _ in range(_CUTS):
            steps = np.linspace(low, beyond[0].program.force_to_load, _PIECES)[1:-1]
            laid = self.films.at_forces(place, prestretch, tuple(steps.tolist()))
            used = self.films.may_be_used
            first = bisect(laid, False, key=lambda each: not used(each[0], each[1], relaxed))
            low = laid[first - 1][0].program.force_to_load if first else low
            beyond = laid[first] if first < len(laid) else beyond
        return beyond

    def _candidates(
        self, group: Group, query: Query, keep: int, limit: float
    ) -> Iterator[Candidate]:
        """Candidates of one group that keep the constraints, some of them the best `keep`."""
        choices, relaxed = query.choices.with_whole_rises(group.sheet.width), query.relaxed
        helices = self.helices.of(group.sheet.width, choices)
        if helices is None:
            return
        longest = self.longest(group, query, limit)
        least_wraps = math.floor(choices.bottom[0]) + math.floor(choices.top[0])
        helices = helices.some(helices.lengths + least_wraps * self.around.load <= longest)
        if helices.rises.size == 0:
            return
        speed, keeps_up = self.fastest(choices, helices, relaxed)
        step, unlimited = self.limits.height_step, "wraps" in relaxed
        turns = helices.turns.max() + choices.bottom[1] + choices.top[1]
        turns += self.case.program.closing_wraps
        oldest = turns * 2.0 * math.pi / float(speed.min()) + self.fixed_time
        scores: list[float] = []
        for need in helix_needs(self.targets, group, query, helices.heights, oldest):
            for variant in variants(helices, choices):
                need = replace(need, longest=longest)
                wraps = add_wraps(self.case, choices, helices, need, variant, step, unlimited)
                good = wraps.possible & keeps_up
                if good.any():
                    laid = LaidPrograms(helices, wraps, speed, good)
                    for candidate in self.scored(group, query, keep, laid):
                        scores.append(candidate.score)
                        yield candidate
        if self.targets.is_felt and not self._at_points:
            # What holds at every point holds over patches: there it may take less film.
            longest = min(longest, self.longest(group, query, min(scores, default=math.inf)))
            lengths = helices.lengths + least_wraps * self.around.load
            some = (lengths <= longest) & keeps_up
            if some.any():
                found = FeltPrograms(self, replace(query, choices=choices), group, keep)
                yield from found.best(helices.some(some), speed[some], longest)
