"""Boxes of rises and falls at a range of forces, and what no program of a box scores below.

A box's film takes no fewer turns than its steepest helix makes and the fewest wraps that its
longest arcs leave to be laid (`woold.physics.helix_boxes`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.design.bound import whole_layers
from woold.design.candidate import Group, Measures, Objective
from woold.design.choices import FINEST, Choices
from woold.design.felt_need import felt_need
from woold.design.helices import edge_travel, rope_layers, roped_turns
from woold.design.search import Search
from woold.design.tier_kinds import is_within, most_tried
from woold.physics.felt_boxes import felt_layers_of_boxes, felt_wraps_of_boxes
from woold.physics.helix_boxes import (
    BoxFilm,
    fewest_tier_wraps,
    fewest_wraps_of_boxes,
    most_layers_of_boxes,
)
from woold.prediction.film_over_height import FINEST_STEP
from woold.prediction.predict import largest_corner_force
from woold.transport.film_over_interfaces import interface_zones

__all__ = ["NearSettings", "Slice"]

Floats = NDArray[np.float64]

_LOWEST = 0.3
"""Boxes in this part of the way from the lowest bound to what is enough are halved [-]."""

_MOST_HINTS = 8

_NARROW = 1.002
"""Forces are not cut any more where they lie nearer than this, as a multiple [-]."""

_EACH_ROW = 3
"""Of so many rows of patches one is looked at, beside those where the need changes."""


@dataclass(frozen=True, slots=True)
class NearSettings:
    """A box that could not be closed: film, pre-stretch, highest force, largest rise and fall."""

    place: int
    prestretch: float
    force: float
    rise: float
    fall: float | None


class Slice:
    """Boxes of one film, pre-stretch and range of forces.

    Args:
        search, choices, objective: as of :func:`prove`.
        group: film at the upper force, as wide and light as at any force of the slice.
        whole: the slice that this one is cut from.
    """

    def __init__(
        self,
        search: Search,
        choices: Choices,
        objective: Objective,
        group: Group,
        whole: Slice | None = None,
    ) -> None:
        self.search, self.choices, self.objective, self.group = search, choices, objective, group
        case, program = search.case, search.case.program
        low, _ = edge_travel(case, group.sheet.width)
        top = max(case.load.height + program.top_overlap, low + group.sheet.width)
        closing = float(math.floor(program.closing_wraps + 1e-9))
        part = max(program.closing_wraps - closing, 0.0)
        self.film = BoxFilm(low, top, group.narrowest, group.sheet.width, part)
        # Heights at which every program is judged, whatever its width.
        self.heights = _common_heights(low, case.load.height)
        self.need = np.zeros(self.heights.size)
        for zone in search.targets.layer_zones(group.case, group.sheet, is_felt=True):
            inside = (self.heights >= zone.low - 1e-9) & (self.heights <= zone.high + 1e-9)
            self.need[inside] = np.maximum(self.need[inside], whole_layers(zone.layers))
        self._place_patches()
        roped = roped_turns(case)
        bottom, top_wraps = max(choices.bottom[0], roped), choices.top[0]
        self.given = (
            bottom - roped + (closing if choices.falls else 0.0),
            top_wraps + (0.0 if choices.falls else closing),
            choices.bottom[1] - bottom,
            choices.top[1] - top_wraps,
        )
        self.roped = np.zeros(self.heights.size)
        for edge, end, layers in rope_layers(case, group.sheet.width):
            inside = (edge - 1e-9 <= self.heights) & (self.heights <= end + 1e-9)
            self.roped[inside] += math.ceil(layers)
        self.fixed_turns = (bottom + program.closing_wraps, top_wraps)
        self.tables = search.targets.tier_tables(group.case, group.sheet)
        self.tier_wraps: dict[bytes, float] = {}
        if self.tables is not None:
            self._place_tiers()
        self.open: Floats = self._first() if whole is None else whole.open
        self.open_scores = self.scores(self.open)
        self.closed: float = math.inf if whole is None else whole.closed

    def _place_patches(self) -> None:
        """Rows of patches by which it is judged, and what they need."""
        search, group, grid = self.search, self.group, self.search.grid
        felt = felt_need(search.targets, group.case, group.sheet, grid)
        some = felt.some_rows(_EACH_ROW)
        self.felt_layers = felt.layers[some]
        for edge, end, layers in rope_layers(search.case, group.sheet.width):
            inside = (edge - grid.patch <= grid.bottoms[some]) & (grid.bottoms[some] <= end)
            self.felt_layers[inside] -= math.ceil(layers)
        self.felt_rows = (grid.bottoms[some], grid.patch, float(grid.around))

    def _place_tiers(self) -> None:
        """Places in the interfaces' zones that no wrap tells apart, and what lies over them."""
        case, film, heights = self.search.case, self.film, self.heights
        assert case.transport is not None
        lows, highs = interface_zones(case, case.transport)
        inside = (heights >= lows[:, None] - 1e-9) & (heights <= highs[:, None] + 1e-9)
        # Film that ends above a zone's lower end leaves part of it bare.
        inside[lows + 1e-9 < heights[0]] = False
        if self.choices.bands_most:
            # With a stop anywhere only the zones' ends are looked at: fewer to tell apart.
            at_end = np.zeros_like(inside)
            for tier in np.flatnonzero(inside.any(axis=1)):
                at_end[tier, np.flatnonzero(inside[tier])[[0, -1]]] = True
            inside = at_end
        self.bare = np.flatnonzero(~inside.any(axis=1))
        tiers, self.at = np.nonzero(inside)
        over = heights[self.at]
        highest = max(film.top - film.narrowest, film.lowest_edge)
        ends = [
            tuple(over <= film.lowest_edge + film.widest + 1e-9),
            # The top reaches down as far as the widest film does.
            tuple(over >= film.top - film.widest - 1e-9),
        ]
        stops = set()
        if self.choices.bands_most:
            edges = np.minimum(over, highest)
            stops = {tuple((e <= over + 1e-9) & (over <= e + film.widest + 1e-9)) for e in edges}
            stops = {each for each in stops if not any(is_within(each, o) for o in (*stops, *ends))}
        sets = np.array([*ends, *stops])
        kinds = np.column_stack([tiers, sets.T])
        unique, self.kind_of = np.unique(kinds, axis=0, return_inverse=True)
        self.kind_of = self.kind_of.ravel()
        self.tier_of = np.concatenate([unique[:, 0], self.bare]).astype(np.int64)
        bare = np.zeros((2 + len(stops), self.bare.size))
        sets = np.ascontiguousarray(np.column_stack([unique[:, 1:].T, bare]), dtype=float)
        # Wraps at the bottom, the top and one stop; or at any number where there may be more.
        self.sets_of_stop = [np.vstack([sets[:2], stop]) for stop in sets[2:]] or [sets[:2]]
        if self.choices.bands_most > 1:
            self.sets_of_stop = [sets]
        self.over_bottom = over <= film.lowest_edge + film.widest + 1e-9
        self.over_top = over >= film.top - film.widest - 1e-9

    @property
    def bound(self) -> float:
        """No program of the slice scores less."""
        return min(self.closed, float(self.open_scores.min(initial=math.inf)))

    def look_closer(self, enough: float) -> int:
        """Halve the boxes of the lowest bounds; how many were looked at.

        Args:
            enough: score at which a box is closed.
        """
        self._close(self.open_scores >= enough)
        if not self.open.size:
            return 1
        lowest = float(self.open_scores.min())
        low = self._coarse() & (self.open_scores <= lowest + _LOWEST * (enough - lowest))
        halves = self._halved(self.open[low])
        scores = self.scores(halves)
        self.open = np.concatenate([self.open[~low], halves])
        self.open_scores = np.concatenate([self.open_scores[~low], scores])
        self._close(self.open_scores >= enough)
        return len(halves)

    def is_finest(self) -> bool:
        """Whether the boxes of the lowest bound are as fine as they get."""
        lowest = self.open_scores <= self.open_scores.min(initial=math.inf)
        return bool(self.open.size) and not self._coarse()[lowest].any()

    def is_wide_in_force(self) -> bool:
        """Whether its forces lie wider than its lowest box, where that leaves most open.

        What patches need is least at the largest force, what corners bear at the least force: over
        a range of forces both are reckoned as they are at its better end.
        """
        limit = self.search.case.hold.edge_load_limit
        if limit is None or not self.felt_layers.size or not self.open.size:
            return False
        box = self.open[int(self.open_scores.argmin())]
        rises = max(box[1] / box[0], box[3] / box[2] if box[2] > 0.0 else 1.0)
        return bool(self.group.strongest > self.group.weakest * max(rises, _NARROW))

    def _coarse(self) -> NDArray[np.bool_]:
        widths = np.maximum(self.open[:, 1] - self.open[:, 0], self.open[:, 3] - self.open[:, 2])
        return np.asarray(widths >= FINEST)

    def _close(self, which: NDArray[np.bool_]) -> None:
        self.closed = min(self.closed, float(self.open_scores[which].min(initial=math.inf)))
        self.open, self.open_scores = self.open[~which], self.open_scores[~which]

    def hints(self) -> Iterator[NearSettings]:
        """Where a better program may lie, the most hopeful first."""
        made = self.group.case
        settings = self.group.place, made.carriage.prestretch, self.group.strongest
        for each in np.argsort(self.open_scores)[:_MOST_HINTS]:
            rise, fall = float(self.open[each, 1]), float(self.open[each, 3])
            yield NearSettings(*settings, rise, fall or None)

    def _first(self) -> Floats:
        choices = self.choices
        rises = (min(choices.rises), max(choices.rises))
        falls = (min(choices.falls), max(choices.falls)) if choices.falls else (0.0, 0.0)
        return np.array([[*rises, *(rises if choices.one_rise and choices.falls else falls)]])

    def _halved(self, boxes: Floats) -> Floats:
        """Boxes cut in two across the way whose turns vary more."""
        up = 1.0 / boxes[:, 0] - 1.0 / boxes[:, 1]
        down = np.zeros(len(boxes))
        if self.choices.falls:
            down = 1.0 / boxes[:, 2] - 1.0 / boxes[:, 3]
        tied = self.choices.one_rise
        lower, upper = boxes.copy(), boxes.copy()
        for begin, which in ((0, tied | (up >= down)), (2, tied | (up < down))):
            if begin == 2 and not self.choices.falls:
                continue
            middle = 2.0 / (1.0 / boxes[:, begin : begin + 2]).sum(axis=1)
            lower[which, begin + 1] = middle[which]
            upper[which, begin] = middle[which]
        return np.concatenate([lower, upper])

    def scores(self, boxes: Floats) -> Floats:
        """Least score of any program of each box; infinite where none can hold."""
        search, group, film = self.search, self.group, self.film
        choices = self.choices
        layers = np.empty((len(boxes), self.heights.size))
        most_layers_of_boxes(boxes, film, self.heights, layers)
        layers += self.roped
        fewest = np.empty((len(boxes), 3))
        stops = choices.bands_most > 0
        fewest_wraps_of_boxes(self.need, self.heights, layers, film, self.given, stops, fewest)
        wraps = fewest[:, 0]
        self._add_felt(boxes, fewest)
        score = self._score_of(boxes, wraps)
        if self.tables is not None:
            near = np.isfinite(score)
            if near.any():
                wraps[near] = np.maximum(wraps[near], self._over_tiers(layers[near]))
            score = self._score_of(boxes, wraps)
        limit = search.case.hold.edge_load_limit
        if limit is not None:
            force = group.weakest
            per_layer = largest_corner_force(search.outline, force / film.widest)
            if per_layer is not None:
                mean = self._mean_layers(boxes, fewest[:, 1:]).max(axis=1)
                mean = np.maximum(mean, self.felt_layers.max(initial=0.0))
                score[per_layer * mean > limit * (1.0 + 1e-9)] = math.inf
        return score

    def _add_felt(self, boxes: Floats, fewest: Floats) -> None:
        """Wraps that patches need, where they need more."""
        if not self.felt_layers.size:
            return
        given, need = self.given, self.felt_layers
        if self.choices.bands_most:
            # A wrap anywhere counts for one layer of every patch that it touches.
            bottoms, patch, _ = self.felt_rows
            layers = np.empty((len(boxes), bottoms.size))
            felt_layers_of_boxes(boxes, self.film, self.felt_rows, layers)
            film = self.film._replace(
                lowest_edge=self.film.lowest_edge - patch, widest=self.film.widest + patch
            )
            wraps = np.empty((len(boxes), 3))
            fewest_wraps_of_boxes(need, bottoms, layers, film, given, True, wraps)
        else:
            wraps = np.empty((len(boxes), 3))
            felt_wraps_of_boxes(need, boxes, self.film, self.felt_rows, given, wraps)
        ends = np.maximum(fewest[:, 1:], wraps[:, 1:])
        fewest[:, 0] = np.maximum(np.maximum(fewest[:, 0], wraps[:, 0]), ends.sum(axis=1))
        fewest[:, 1:] = ends

    def _over_tiers(self, layers: Floats) -> Floats:
        """Fewest wraps with which the tiers may stand beside each box's helices."""
        laid = np.floor(layers[:, self.at] + 1e-7)
        laid += self.given[0] * self.over_bottom + self.given[1] * self.over_top
        base = np.zeros((len(layers), self.tier_of.size))
        for kind in range(self.tier_of.size - self.bare.size):
            base[:, kind] = laid[:, self.kind_of == kind].min(axis=1)
        different, which = np.unique(base, axis=0, return_inverse=True)
        found = [self._tier_wraps_beside(each) for each in different]
        return np.array(found)[which.ravel()]

    def _tier_wraps_beside(self, base: Floats) -> float:
        """The same beside what lies over each place."""
        key = base.tobytes()
        if key not in self.tier_wraps:
            most = most_tried(len(self.sets_of_stop[0]))
            for sets in self.sets_of_stop:
                most = fewest_tier_wraps(self.tables, base, self.tier_of, sets, most) - 1
                if most < 0:
                    break
            self.tier_wraps[key] = most + 1.0
        return self.tier_wraps[key]

    def _turns_of_travel(self, boxes: Floats) -> tuple[Floats, float]:
        """Turns in each metre of travel at the steepest, and the least travel [m]."""
        rates = 1.0 / boxes[:, 1]
        if self.choices.falls:
            rates = rates + 1.0 / boxes[:, 3]
        travel = max(self.film.top - self.film.widest - self.film.lowest_edge, 0.0)
        return rates, travel

    def _mean_layers(self, boxes: Floats, ends: Floats) -> Floats:
        """Least mean layers over each height of the load.

        No fewer than are needed there: at the barest place round the perimeter there are as many.

        Args:
            boxes: the boxes.
            ends: wraps that are added at the bottom and at the top at least, shape (boxes, 2).
        """
        film, heights = self.film, self.heights
        rates, _ = self._turns_of_travel(boxes)
        near = np.maximum(film.top - heights - film.narrowest, 0.0)
        far = np.minimum(film.top - heights, film.top - film.widest - film.lowest_edge)
        mean: Floats = rates[:, None] * np.maximum(far - near, 0.0)
        bottom, top = (self.given[at] + ends[:, at : at + 1] for at in (0, 1))
        mean += bottom * (heights <= film.lowest_edge + film.narrowest)
        mean += top * (heights >= film.top - film.narrowest)
        return np.where(heights >= 0.0, np.maximum(mean, self.need), 0.0)

    def _score_of(self, boxes: Floats, wraps: Floats) -> Floats:
        """Score of the steepest helices with so many wraps."""
        search, around = self.search, self.search.around
        rates, travel = self._turns_of_travel(boxes)
        ways = [boxes[:, 1], *([boxes[:, 3]] if self.choices.falls else [])]
        below = min(max(-self.film.lowest_edge, 0.0), travel)
        under = around.load if around.below_deck is None else around.below_deck
        length = np.zeros(len(boxes))
        for rise in ways:
            length += (travel - below) * np.hypot(around.load, rise) / rise
            length += below * np.hypot(under, rise) / rise
        ends = around.at(np.array([self.film.lowest_edge, 1.0]))
        with np.errstate(invalid="ignore"):
            turns = rates * travel + sum(self.fixed_turns) + wraps
            length += self.fixed_turns[0] * ends[0] + self.fixed_turns[1] * ends[1]
            length += wraps * around.load + search.tails
        mass = self.group.sheet.mass_per_metre * length
        with np.errstate(divide="ignore"):
            # With no speed at all the box has no program, and takes for ever.
            time = turns * 2.0 * math.pi / self._fastest(boxes) + search.fixed_time
        cost = search.costs.per_load(self.group.place, mass, time, turns)
        least = Measures(mass, time, 0.0, self.group.stress_share, 0.0, cost)
        score = np.array(np.broadcast_to(least.score(self.objective), turns.shape), dtype=float)
        longest = search.limits.cycle_time_limit
        if longest is not None:
            score[time > longest + 1e-9] = math.inf
        score[~np.isfinite(time)] = math.inf
        return score

    def _fastest(self, boxes: Floats) -> Floats:
        """Highest turning speed that the carriage keeps up with at the gentlest travel."""
        speeds = np.array(sorted(self.search.speeds(self.choices)))
        limit = self.search.case.machine.carriage_speed_limit
        gentlest = np.maximum(boxes[:, 0], boxes[:, 2])
        if limit is None:
            return np.full(len(boxes), speeds[-1])
        keeps_up = gentlest[:, None] * speeds / (2.0 * math.pi) <= limit * (1.0 + 1e-9)
        fastest = speeds[np.maximum(keeps_up.sum(axis=1) - 1, 0)]
        return np.where(keeps_up[:, 0], fastest, 0.0)


def _common_heights(lowest_edge: float, load_height: float) -> Floats:
    """Heights at which the film of every program is counted [m]."""
    steps = math.ceil(load_height / FINEST_STEP), math.ceil(max(-lowest_edge, 0.0) / FINEST_STEP)
    grid = np.linspace(0.0, load_height, steps[0] + 1)
    below: Floats = np.linspace(lowest_edge, 0.0, steps[1] + 1)[:-1]
    return np.concatenate([below, grid])
