"""Programs whose rise varies with height: quick travel, and waits just where layers are lacking.

The carriage travels at most one film width per turn, so that no pass leaves a bare strip. On the
way up it waits where a wait is worth most: no other rise that varies with height takes less film
(`woold.physics.bands`). What the way down lays is taken off the need beforehand.

A window of one film width around a height is passed twice, on the way up and on the way down. At
one place round the load the two passes add up only in whole turns, but at the top they are one
stay without a break, and at the bottom too, if the program makes a whole number of turns.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.design.bound import tier_turns, travel_of, whole_layers
from woold.design.candidate import Candidate, Group, Objective, Query
from woold.design.choices import Choices
from woold.design.helices import edge_travel, roped_turns
from woold.design.search import Search
from woold.design.settings import Settings, Stop
from woold.design.verified import Verified, spares_edges
from woold.physics import layer_count
from woold.physics.bands import BandCover, NeedSteps, fewest_bands, need_steps
from woold.physics.pattern import Leg

__all__ = ["ProfiledDesign", "best_profiled"]

Floats = NDArray[np.float64]

_HEIGHT_STEP = 0.001
"""Heights of stops are whole steps above the start height [m]."""

_TURN_STEP = 0.01
"""Waits are whole steps [turns]."""

_GRID = 0.005
"""Step at which the need that is left is looked at [m]."""

_MOST_STOPS = 20

_MOST_GROUPS = 40
"""Films at a force that are looked at, those of the lowest bound first."""

_MOST_LAYERS_DOWN = 4


@dataclass(frozen=True, slots=True)
class ProfiledDesign:
    """The best program whose rise varies with height.

    Args:
        made: the program, as it is predicted; its rise is that of the travel between stops.
        bound: least of any program, whatever its carriage does.
    """

    made: Verified
    bound: float


@dataclass(frozen=True, slots=True)
class _Ends:
    """Wraps that every program makes, whatever is needed."""

    bottom: float
    top: float
    closing: float


def best_profiled(
    search: Search,
    choices: Choices,
    verified: Callable[[Candidate], Verified | None],
    objective: Objective = "film",
    below: float = math.inf,
) -> ProfiledDesign | None:
    """The best program whose rise varies with height.

    Args:
        search: the search, with its targets.
        choices: films, pre-stretches, forces, speeds, the largest rise and the fewest wraps.
        verified: a program as it is predicted; None where it does not hold.
        objective: what shall be small.
        below: score that must be beaten.

    Returns:
        The design; None where none holds.
    """
    profiler = _Profiler(search, choices)
    best: Verified | None = None
    limit = below
    between = set(choices.finer_forces()) - set(choices.forces)
    for forces in (choices.forces, tuple(sorted(between))):
        groups, _ = search.groups(replace(choices, forces=forces), objective)
        for group in groups[:_MOST_GROUPS]:
            if group.bound >= limit:
                break
            made = profiler.programs(group, objective, limit)
            for program in sorted(made, key=lambda each: each.score):
                if program.score >= limit - 1e-12:
                    break
                found = verified(program)
                if found is not None and spares_edges(search, found):
                    best, limit = found, program.score
    bound = search.bound(choices, objective)
    return None if best is None or bound is None else ProfiledDesign(best, bound.bound)


@dataclass(frozen=True, slots=True)
class _Path:
    """How a program travels; a loop makes a whole number of turns."""

    speed: float
    rise: float
    fall: float | None
    is_loop: bool


class _Profiler:
    def __init__(self, search: Search, choices: Choices) -> None:
        self.search, self.choices = search, choices
        program = search.case.program
        self.returns = bool(choices.falls)
        self.roped = roped_turns(search.case)
        closing = program.closing_wraps
        self.ends = _Ends(
            max(choices.bottom[0] - self.roped, 0.0),
            choices.top[0] + (0.0 if self.returns else closing),
            closing if self.returns else 0.0,
        )

    def rise(self, width: float, speed: float) -> float:
        """Largest travel in a turn [m]."""
        limit = self.search.case.machine.carriage_speed_limit
        most = min(max(self.choices.rises), width - _HEIGHT_STEP)
        return most if limit is None else min(most, limit * 2.0 * math.pi / speed)

    def programs(self, group: Group, objective: Objective, limit: float) -> Iterator[Candidate]:
        """Programs of one film and force: every speed, way down, way to close and shared travel.

        Those that the travel alone keeps from a score below the limit are left out.
        """
        width = group.sheet.width
        low, high = edge_travel(self.search.case, width)
        query = Query(self.choices, objective)
        for speed in self.search.speeds(self.choices):
            rise = self.rise(width, speed)
            falls: list[float | None] = [None]
            if self.returns:
                whole = [(width - _HEIGHT_STEP) / count for count in range(1, _MOST_LAYERS_DOWN)]
                falls = [rise, *(fall for fall in whole if fall < rise - 1e-9)]
            ends = self.roped + self.ends.bottom + self.ends.top + self.ends.closing
            turns = {
                fall: ends + (high - low) * (1.0 / rise + (0.0 if fall is None else 1.0 / fall))
                for fall in falls
            }
            bounds = {fall: self.search.bounded(group, turns[fall], query).bound for fall in falls}
            falls = [fall for fall in falls if bounds[fall] < limit]
            if not falls:
                continue
            needs = self._needs(group, speed, rise, falls)
            for fall, need in itertools.product(falls, needs):
                for is_loop in (False, True) if self.returns else (False,):
                    settings = self._settings(group, _Path(speed, rise, fall, is_loop), need)
                    if settings is not None:
                        yield from self._kept(group, settings, objective)

    def _needs(
        self, group: Group, speed: float, rise: float, falls: list[float | None]
    ) -> list[NeedSteps]:
        """What must lie over the height, the tiers' travel shared in several ways."""
        search, choices = self.search, self.choices
        targets, case, sheet = search.targets, group.case, group.sheet
        low, high = edge_travel(search.case, sheet.width)
        slowest = min([rise, *(fall for fall in falls if fall is not None)])
        turns = (high - low) * (1.0 / rise + (1.0 / slowest if self.returns else 0.0))
        turns += choices.bottom[1] + choices.top[1] + search.case.program.closing_wraps
        age = turns * 2.0 * math.pi / speed + search.fixed_time
        zones = list(targets.layer_zones(case, sheet, age))
        if not all(math.isfinite(each.layers) for each in zones):
            return []
        shared: list[Floats] = []
        tables, tiers = targets.tier_tables(case, sheet, age), targets.tiers
        if tables is not None and tiers is not None and tiers.slips.any():
            _, layers = tier_turns(targets, group, travel_of(case, choices, sheet.width), age)
            even = tiers.even_layers(tables)
            shared = [layers, *tiers.shared_layers(tables), *([] if even is None else [even])]
        sets = [zones + targets.tier_zones(case, layers) for layers in shared] or [zones]
        return [
            need_steps((zone.low, zone.high, whole_layers(zone.layers)) for zone in each)
            for each in sets
        ]

    def _settings(self, group: Group, path: _Path, need: NeedSteps) -> Settings | None:
        """Stops and wraps that meet a need; None where there are too many."""
        search, choices, width = self.search, self.choices, group.sheet.width
        low, high = edge_travel(search.case, width)
        rise, fall = path.rise, path.fall
        travel = (high - low) / rise + (0.0 if fall is None else (high - low) / fall)
        # Film a height step narrower, so that stops may be set down to whole steps.
        narrow = width - _HEIGHT_STEP
        left = self._left(need, low, high, path, narrow)
        cover = fewest_bands(left, narrow, low, high, 1.0 / rise)
        bottom, top, stops = _stops(cover, low, high)
        bottom, top = bottom + self.ends.bottom, top + choices.top[0]
        if path.is_loop:
            made = travel + bottom + top + self.ends.closing + sum(each.wraps for each in stops)
            top += math.ceil(made - 1e-9) - made
        bottom += self.roped
        if len(stops) > _MOST_STOPS or bottom > choices.bottom[1] or top > choices.top[1]:
            return None
        return Settings(
            film=search.films.names[group.place],
            prestretch=group.case.carriage.prestretch,
            force_to_load_n=group.case.program.force_to_load,
            bottom_wraps=bottom,
            rise_per_turn_m=rise,
            top_wraps=top,
            fall_per_turn_m=fall,
            bands=stops,
            speed_rad_per_s=path.speed,
        )

    def _kept(self, group: Group, settings: Settings, objective: Objective) -> Iterator[Candidate]:
        """The program as it is measured, where it takes no longer than it may."""
        candidate = self.search.measured(settings, group.place, objective)
        longest = self.search.limits.cycle_time_limit
        if candidate is not None and (longest is None or candidate.cycle_time <= longest + 1e-9):
            yield candidate

    def _left(
        self, need: NeedSteps, low: float, high: float, path: _Path, width: float
    ) -> NeedSteps:
        """The need, less what the ends and the way down lay."""
        legs, fall = [], path.fall
        if fall is not None:
            turns = (high - low) / fall
            legs = [
                Leg("fall", 0.0, turns, high, low, width),
                Leg("closing wraps", turns, turns + self.ends.closing, low, low, width),
            ]
        given = [(low, low + width, self.ends.bottom), (high, high + width, self.ends.top)]
        ends = np.concatenate([need.low, need.high])
        grid = np.arange(ends.min(), ends.max(), _GRID)
        cuts = np.concatenate([ends, [z for zone in given for z in zone[:2]], grid])
        cuts = np.unique(np.round(cuts[(cuts >= ends.min()) & (cuts <= ends.max())], 9))
        least, mean = np.zeros((1, cuts.size)), np.zeros((1, cuts.size))
        legs = [leg for leg in legs if leg.turns > 0.0]
        if legs:
            least, mean = layer_count.weighted_layers(legs, [[1.0] * len(legs)], cuts)
        middles = 0.5 * (cuts[:-1] + cuts[1:])
        whole = np.minimum(least[0, :-1], least[0, 1:])
        time = np.minimum(mean[0, :-1], mean[0, 1:])
        unbroken = middles > high
        if path.is_loop:
            unbroken |= middles < low + width
        lacking = _needed(need, middles) - np.where(unbroken, time, whole)
        for start, end, wraps in given:
            lacking -= wraps * ((start <= middles) & (middles <= end))
        some = np.flatnonzero(lacking > 0.0)
        rows = zip(
            cuts[some].tolist(), cuts[some + 1].tolist(), lacking[some].tolist(), strict=True
        )
        return need_steps(rows)


def _needed(need: NeedSteps, heights: Floats) -> Floats:
    """Layers needed at heights [-]."""
    at = np.searchsorted(need.low, heights, side="right") - 1
    inside = (at >= 0) & (heights <= need.high[at])
    return np.where(inside, need.layers[at], 0.0)


def _stops(cover: BandCover, low: float, high: float) -> tuple[float, float, tuple[Stop, ...]]:
    """Bottom wraps, top wraps, and stops between; heights set down and waits up to whole steps."""
    bottom, top = 0.0, 0.0
    between: dict[float, float] = {}
    for edge, wraps in zip(cover.edges.tolist(), cover.wraps.tolist(), strict=True):
        if edge >= high - 1e-9:
            top += wraps
            continue
        steps = math.floor((edge - low) / _HEIGHT_STEP + 1e-6)
        if steps <= 0:
            bottom += wraps
        else:
            height = round(low + steps * _HEIGHT_STEP, 9)
            between[height] = between.get(height, 0.0) + wraps
    stops = tuple(
        Stop(height, _up(wraps), "up")
        for height, wraps in sorted(between.items())
        if _up(wraps) > 0.0
    )
    return _up(bottom), _up(top), stops


def _up(turns: float) -> float:
    return round(math.ceil(turns / _TURN_STEP - 1e-6) * _TURN_STEP, 9)
