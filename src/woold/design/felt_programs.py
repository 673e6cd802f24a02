"""Programs that hold what is asked over patches, where some point of their film does not.

Every helix's patches are counted only where its fewest wraps, looked at on a few rows of patches,
leave it a chance: those of the least film first, until what is left takes more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.design.candidate import Candidate, Group, Query
from woold.design.felt_need import felt_need
from woold.design.helices import Helices, add_wraps, roped_turns
from woold.design.measured import LaidPrograms
from woold.design.needs import felt_needs
from woold.physics.felt_boxes import felt_wraps_of_boxes
from woold.physics.helix_boxes import BoxFilm
from woold.prediction.predict import largest_corner_force

if TYPE_CHECKING:
    from woold.design.search import Search

__all__ = ["FeltPrograms"]

Floats = NDArray[np.float64]

_ADDED = 4.0
"""Wraps that a program seldom adds to the fewest; by them the age of its first film is told [-]."""

_ROWS = 24
"""Rows of patches at which wraps are looked at first."""

_AT_ONCE = 64


class FeltPrograms:
    """The best programs of one film and force that hold over patches.

    Args:
        search: the search, with its targets.
        query: what is looked for.
        group: film, pre-stretch and force.
        keep: how many are wanted.
    """

    def __init__(self, search: Search, query: Query, group: Group, keep: int) -> None:
        self.search, self.query, self.group, self.keep = search, query, group, keep
        self.felt = felt_need(search.targets, group.case, group.sheet, search.grid)

    def best(self, helices: Helices, speed: Floats, longest: float) -> Iterator[Candidate]:
        """Candidates, among them the best.

        Args:
            helices: that may be chosen.
            speed: of each [rad/s].
            longest: more film than this is of no interest [m].
        """
        search, query, group = self.search, self.query, self.group
        still = replace(query.choices, bands_most=0)
        some = self._spares_edges(helices, np.zeros((helices.lengths.size, 3)))
        if not some.any():
            return
        helices, speed = self._with_ropes(helices.some(some)), speed[some]
        fewest = self._fewest_wraps(helices)
        least = helices.lengths + fewest[:, 0] * search.around.load
        least[~self._spares_edges(helices, fewest)] = math.inf
        limit = search.limits.cycle_time_limit
        if limit is not None and "cycle time" not in query.relaxed:
            turns = helices.turns + fewest[:, 0]
            least[turns * 2.0 * math.pi / speed + search.fixed_time > limit + 1e-9] = math.inf
        order = np.argsort(least)
        turns = helices.turns + still.bottom[0] + still.top[0] + _ADDED
        ages = turns * 2.0 * math.pi / speed + search.fixed_time
        scores: list[float] = []
        for begin in range(0, order.size, _AT_ONCE):
            at_once = order[begin : begin + _AT_ONCE]
            at_once = at_once[(least[at_once] <= longest) & np.isfinite(least[at_once])]
            if not at_once.size:
                return
            part = helices.some(at_once)
            for need in felt_needs(search.targets, group, query, (part, self.felt), ages[at_once]):
                wraps = add_wraps(
                    search.case, still, part, replace(need, longest=longest), 0,
                    search.limits.height_step, "wraps" in query.relaxed,
                )  # fmt: skip
                if not wraps.possible.any():
                    continue
                laid = LaidPrograms(part, wraps, speed[at_once], wraps.possible)
                for candidate in search.scored(group, query, self.keep, laid):
                    scores.append(candidate.score)
                    yield candidate
            if len(scores) >= self.keep:
                enough = sorted(scores)[self.keep - 1]
                longest = min(longest, search.longest(group, query, enough))

    def _with_ropes(self, helices: Helices) -> Helices:
        """The helices with the turns at the bottom that are gathered into ropes."""
        case, width = self.search.case, helices.width
        ropes = sorted(case.program.ropes, key=lambda rope: rope.first_turn)
        if not ropes:
            return helices
        low, before = helices.lowest_edge, 0.0
        legs = []
        for rope in ropes:
            edge = low + (width - rope.width if rope.at_edge == "upper" else 0.0)
            legs.append((before, rope.first_turn, low, low, width, 1.0))
            legs.append((rope.first_turn, rope.last_turn, edge, edge, rope.width, 1.0))
            before = rope.last_turn
        legs.append((before, roped_turns(case), low, low, width, 1.0))
        gathered = np.broadcast_to(np.array(legs), (len(helices.legs), len(legs), 6))
        return replace(helices, legs=np.concatenate([gathered, helices.legs], axis=1))

    def _fewest_wraps(self, helices: Helices) -> Floats:
        """Wraps that each helix needs at least: in all, at the bottom and at the top."""
        search, choices = self.search, self.query.choices
        closing = search.case.program.closing_wraps
        given = math.floor(choices.bottom[0]) + math.floor(choices.top[0]) + math.floor(closing)
        fewest = np.zeros((helices.lengths.size, 3))
        is_odd = bool(choices.bottom[0] % 1.0 or choices.top[0] % 1.0 or search.case.program.ropes)
        if choices.bands or is_odd:
            return np.asarray(fewest + np.array([given, 0.0, 0.0]))
        rows = self.felt.some_rows(max(search.grid.rows // _ROWS, 1))
        falls = np.where(np.isnan(helices.falls), 0.0, helices.falls)
        boxes = np.column_stack([helices.rises, helices.rises, falls, falls])
        top = max(helices.highest_edge, helices.lowest_edge) + helices.width
        film = BoxFilm(helices.lowest_edge, top, helices.width, helices.width, closing % 1.0)
        grid, returns = search.grid, bool(choices.falls)
        ends_with = float(math.floor(closing))
        made = (choices.bottom[0] + ends_with * returns, choices.top[0] + ends_with * (not returns))
        room = (choices.bottom[1] - choices.bottom[0], choices.top[1] - choices.top[0])
        if "wraps" in self.query.relaxed:
            room = (math.inf, math.inf)
        felt_wraps_of_boxes(
            self.felt.layers[rows],
            boxes,
            film,
            (grid.bottoms[rows], grid.patch, float(grid.around)),
            (*made, *room),
            fewest,
        )
        return np.asarray(fewest + np.array([given, *made]))

    def _spares_edges(self, helices: Helices, fewest: Floats) -> NDArray[np.bool_]:
        """Whether corners may bear a helix with its fewest wraps, as far as these tell."""
        search, limit = self.search, self.search.case.hold.edge_load_limit
        force = self.group.case.program.force_to_load
        per_layer = largest_corner_force(search.outline, force / helices.width)
        if limit is None or per_layer is None or "edge load" in self.query.relaxed:
            return np.ones(helices.lengths.size, dtype=bool)
        heights = helices.heights
        # In the mean round the load no less than over its barest patch.
        if per_layer * self.felt.layers.max() > limit * (1.0 + 1e-6):
            return np.zeros(helices.lengths.size, dtype=bool)
        mean = helices.mean + fewest[:, 1:2] * (heights <= helices.lowest_edge + helices.width)
        mean += fewest[:, 2:3] * (heights >= helices.highest_edge)
        most = np.where(heights >= 0.0, mean, 0.0).max(axis=1)
        return np.asarray(per_layer * most <= limit * (1.0 + 1e-9))
