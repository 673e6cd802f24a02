"""Programs that stop where one stay of the film holds most of the tiers, with whole turns there.

Film is mostly wider than tiers are high, so that a turn at one height counts over several
interfaces at once. Only a few heights differ in which: just as high as film may begin under an
interface, and as low as it may end above one. Turns are shared out over those heights, whole ones,
until no turn can be left out, nor one added for two that are.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.design.bound import whole_layers
from woold.design.candidate import Candidate, Group, Objective
from woold.design.choices import Choices
from woold.design.helices import edge_travel, roped_turns
from woold.design.search import Search
from woold.design.settings import Settings, Stop
from woold.design.targets import LayerZone
from woold.design.verified import Verified, spares_edges, verify
from woold.physics.tier_wraps import TierTables, tiers_stand

__all__ = ["best_at_stops"]

Floats = NDArray[np.float64]

_HEIGHT_STEP = 0.001
"""Heights of stops are whole steps [m]."""

_MOST_GROUPS = 12
"""Films at a force that are looked at, those of the lowest bound first."""

_MOST_TURNS = 64
"""More turns at one height are never looked at."""

_MOST_SIDEWAYS = 300
"""Ways of sharing out equally many turns that are looked at from one to the next."""


@dataclass(frozen=True, eq=False)
class _Places:
    """Heights at which the film's lower edge may stop, and what a turn there lies over.

    Args:
        edges: the heights, the lowest and the highest of all first and last, shape (p,) [m].
        over: which of the interfaces, shape (p, m).
        zones: which of the zones of a target, shape (p, z).
        needs: whole layers over each of those zones, shape (z,).
        least: turns that are made at each height in any case, shape (p,).
    """

    edges: Floats
    over: Floats
    zones: Floats
    needs: Floats
    least: Floats

    def stands(self, tables: TierTables, turns: Floats) -> bool:
        """Whether tiers and targets are held with so many turns at each height."""
        if (turns @ self.zones < self.needs - 1e-9).any():
            return False
        return bool(tiers_stand(tables, turns @ self.over, False))


def best_at_stops(search: Search, choices: Choices, objective: Objective) -> Verified | None:
    """The best program of stops with whole turns under a transport; None where none was found.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
    """
    if search.targets.tiers is None or search.targets.beyond_film:
        return None
    best: Verified | None = None
    limit = math.inf
    groups, _ = search.groups(choices, objective)
    for group in groups[:_MOST_GROUPS]:
        if group.bound >= limit:
            break
        for made in _programs(search, choices, group, objective):
            if made.score < limit:
                found = verify(search, made)
                if found is not None and spares_edges(search, found):
                    best, limit = found, made.score
    return best


def _programs(
    search: Search, choices: Choices, group: Group, objective: Objective
) -> Iterator[Candidate]:
    """Programs of one film and force, at every speed."""
    targets, width = search.targets, group.sheet.width
    rise = min(max(choices.rises), width - _HEIGHT_STEP)
    for speed in search.speeds(choices):
        limit = search.case.machine.carriage_speed_limit
        most = rise if limit is None else min(rise, limit * 2.0 * math.pi / speed)
        turns = choices.bottom[1] + choices.top[1]
        age = turns * 2.0 * math.pi / speed + search.fixed_time
        tables = targets.tier_tables(group.case, group.sheet, age)
        if tables is None:
            return
        places = _places(search, choices, group, age)
        shared = _shared_out(places, tables)
        if shared is None:
            continue
        settings = _settings(search, choices, group, (most, speed), places, shared)
        made = search.measured(settings, group.place, objective)
        longest = search.limits.cycle_time_limit
        if made is not None and (longest is None or made.cycle_time <= longest + 1e-9):
            yield made


def _places(search: Search, choices: Choices, group: Group, age: float) -> _Places:
    """Where stops differ in what they hold."""
    targets, width = search.targets, group.sheet.width
    low, high = edge_travel(search.case, width)
    tiers = targets.tiers
    assert tiers is not None
    over = targets.tier_zones(group.case, np.ones(tiers.slips.size))
    zones = [each for each in targets.layer_zones(group.case, group.sheet, age) if each.layers > 1]
    downward = [math.floor(each.low / _HEIGHT_STEP + 1e-6) for each in (*over, *zones)]
    upward = [math.ceil((each.high - width) / _HEIGHT_STEP - 1e-6) for each in (*over, *zones)]
    between = {round(steps * _HEIGHT_STEP, 9) for steps in (*downward, *upward)}
    edges = [low, *sorted(each for each in between if low + 1e-6 < each < high - 1e-6), high]
    least = np.zeros(len(edges))
    closing = search.case.program.closing_wraps
    returns = bool(choices.falls)
    least[0] = math.floor(max(choices.bottom[0] - roped_turns(search.case), 0.0))
    least[0] += math.floor(closing) if returns else 0.0
    least[-1] += math.floor(choices.top[0] + (0.0 if returns else closing))
    return _Places(
        edges=np.array(edges),
        over=_lies_over(edges, width, over),
        zones=_lies_over(edges, width, zones),
        needs=np.array([whole_layers(each.layers) for each in zones]),
        least=least,
    )


def _lies_over(edges: list[float], width: float, zones: list[LayerZone]) -> Floats:
    """1 where film with its lower edge there lies over all of a zone, shape (edges, zones)."""
    lies = [
        [float(edge <= each.low + 1e-9 and edge + width >= each.high - 1e-9) for each in zones]
        for edge in edges
    ]
    return np.array(lies).reshape(len(edges), len(zones))


def _shared_out(places: _Places, tables: TierTables) -> Floats | None:
    """Whole turns at each place, as few as were found; None where no number of them will do."""
    count = places.edges.size
    turns = np.maximum(places.least, float(_MOST_TURNS))
    if not places.stands(tables, turns):
        return None
    for place in range(count):
        fewest, enough = int(places.least[place]) - 1, int(turns[place])
        while enough - fewest > 1:
            turns[place] = middle = (fewest + enough) // 2
            fewest, enough = (fewest, middle) if places.stands(tables, turns) else (middle, enough)
        turns[place] = enough
    seen, at_hand = {tuple(turns)}, [turns]
    while at_hand and len(seen) < _MOST_SIDEWAYS:
        turns = at_hand.pop()
        fewer = _fewer(places, tables, turns)
        if fewer is not None:
            seen, at_hand = {tuple(fewer)}, [fewer]
            continue
        for away, to in itertools.permutations(range(count), 2):
            other = turns.copy()
            other[away] -= 1.0
            other[to] += 1.0
            if tuple(other) in seen or other[away] < places.least[away]:
                continue
            if places.stands(tables, other):
                seen.add(tuple(other))
                at_hand.append(other)
    return turns


def _fewer(places: _Places, tables: TierTables, turns: Floats) -> Floats | None:
    """A turn less: one left out, or two for one that is added elsewhere."""
    some = range(turns.size)
    for away in some:
        one = turns.copy()
        one[away] -= 1.0
        if one[away] < places.least[away]:
            continue
        if places.stands(tables, one):
            return one
        for also, to in itertools.product(range(away, turns.size), some):
            other = one.copy()
            other[also] -= 1.0
            if other[also] < places.least[also] or to in (away, also):
                continue
            other[to] += 1.0
            if places.stands(tables, other):
                return other
    return None


def _settings(
    search: Search,
    choices: Choices,
    group: Group,
    travel: tuple[float, float],
    places: _Places,
    turns: Floats,
) -> Settings:
    """The program that makes those turns on the way up, and travels as fast as it may."""
    rise, speed = travel
    more = turns - places.least
    stops = tuple(
        Stop(float(edge), float(wraps), "up")
        for edge, wraps in zip(places.edges[1:-1], more[1:-1], strict=True)
        if wraps > 0.0
    )
    return Settings(
        film=search.films.names[group.place],
        prestretch=group.case.carriage.prestretch,
        force_to_load_n=group.case.program.force_to_load,
        bottom_wraps=choices.bottom[0] + float(more[0]),
        rise_per_turn_m=rise,
        top_wraps=choices.top[0] + float(more[-1]),
        fall_per_turn_m=rise if choices.falls else None,
        bands=stops,
        speed_rad_per_s=speed,
    )
