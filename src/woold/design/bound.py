"""Least turns and film of a program of any kind: a bound below which nothing holds.

Over any height the least layers round the perimeter are no more than the mean, which is how long
the film stands over it, in turns. So whatever a carriage does, its film covers the need as bands of
one film width do that lie wherever it stands, beside what it must lay while it travels from the
start height to the top and back. The tiers' travel may be shared in any way that the transport
screen lets pass.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.candidate import Group
from woold.design.choices import Choices
from woold.design.felt_need import bounding_zones
from woold.design.helices import edge_travel, roped_turns
from woold.design.linear_program import Covering
from woold.design.targets import LayerZone, Targets
from woold.physics.bands import BandCover, NeedSteps, fewest_bands, need_steps
from woold.physics.felt_patch import PatchGrid
from woold.physics.tier_wraps import TierTables, tiers_stand

__all__ = ["Travel", "least_turns", "tier_turns", "travel_of", "whole_layers"]

Floats = NDArray[np.float64]

_MOST_NODES, _NEAR = 200, 5e-3

_LOOK_STEP = 0.05
"""Step of the heights at which a cover is looked at, beside its ends [m]."""


@dataclass(frozen=True, slots=True)
class Travel:
    """What every program does, whatever it is.

    Args:
        low, high: lower edge of the film at the bottom and at the top [m].
        turns_per_metre: turns that all passes make at least in each metre of travel [1/m].
        given: turns made at a height in any case: lower and upper edge, turns [m, m, -].
        layers: layers that a rope lays: the same, counted as what it is gathered of.
        roped: turns that are gathered into ropes [-].
    """

    low: float
    high: float
    turns_per_metre: float
    given: tuple[tuple[float, float, float], ...]
    layers: tuple[tuple[float, float, float], ...]
    roped: float

    @property
    def turns_at_the_bottom(self) -> float:
        """Turns that are made at the bottom in any case [-]."""
        return self.given[0][2] + self.roped

    def widened(self, above: float, below: float = 0.0) -> Travel:
        """The same where what is laid in any case reaches so much farther up and down [m]."""
        given, layers = (
            tuple((low - below, high + above, turns) for low, high, turns in each)
            for each in (self.given, self.layers)
        )
        return replace(self, given=given, layers=layers)


def travel_of(case: Case, choices: Choices, width: float) -> Travel:
    """What every program of the choices does, with film of a width.

    Args:
        case: the case.
        choices: largest rise and fall, fewest wraps.
        width: film width on the load [m].
    """
    program = case.program
    low, high = edge_travel(case, width)
    roped = roped_turns(case)
    gathered = sum(rope.last_turn - rope.first_turn for rope in program.ropes)
    closing = program.closing_wraps
    bottom = max(choices.bottom[0], roped) - gathered + (closing if choices.falls else 0.0)
    rates = [1.0 / max(choices.rises), *([1.0 / max(choices.falls)] if choices.falls else [])]
    layers = []
    for rope in program.ropes:
        edge = low + (width - rope.width if rope.at_edge == "upper" else 0.0)
        turns = (rope.last_turn - rope.first_turn) * width / rope.width
        layers.append((edge, edge + rope.width, turns))
    given = (
        (low, low + width, bottom),
        (high, high + width, choices.top[0] + (0.0 if choices.falls else closing)),
    )
    return Travel(low, high, sum(rates), given, tuple(layers), gathered)


def least_turns(
    need: NeedSteps, width: float, travel: Travel, slack: float = 0.0
) -> tuple[float, BandCover]:
    """Fewest turns of any program, and the bands that make them beside what is given.

    Args:
        need: layers needed.
        width: film width on the load [m].
        travel: what every program does.
        slack: so much higher up, what it lays while it travels may be counted as well [m].

    Raises:
        PhysicsError: a need out of the film's reach.
    """
    laid = (*travel.given, *travel.layers)
    cuts = np.unique(np.concatenate([need.low, need.high, [z for zone in laid for z in zone[:2]]]))
    left = need_steps(
        (a, b, _at(need, 0.5 * (a + b)) - _sum_at(laid, 0.5 * (a + b)))
        for a, b in itertools.pairwise(cuts.tolist())
    )
    laid_on_the_way = (travel.low, travel.high, travel.turns_per_metre)
    cover = fewest_bands(left, width, *laid_on_the_way, slack)
    return cover.turns + sum(zone[2] for zone in travel.given) + travel.roped, cover


def _at(need: NeedSteps, height: float) -> float:
    index = int(np.searchsorted(need.low, height, side="right")) - 1
    if index < 0 or height > need.high[index]:
        return 0.0
    return float(need.layers[index])


def _sum_at(zones: Sequence[tuple[float, float, float]], height: float) -> float:
    return sum(layers for low, high, layers in zones if low <= height <= high)


def whole_layers(layers: float) -> float:
    """Whole layers that are needed; a part below a rounding error is none [-]."""
    if not math.isfinite(layers):
        return layers
    return float(math.ceil(layers * (1.0 - 1e-9)))


def tier_turns(
    targets: Targets,
    group: Group,
    travel: Travel,
    safe_age: float | None = None,
    patches: tuple[PatchGrid, float] | None = None,
) -> tuple[float, Floats]:
    """Fewest turns of any program that passes the transport screen with one film and force.

    Equation: least sum of x(e) over bands, with whole layers n_i over each interface, at every
    height looked at laid(x) >= need and, in an interface's zone, >= n_i; and in every way
    sum of slip_i(n_i) <= what the top may travel. Slips are those of each interface with the
    stiffest film over the others, as chords between whole layers: all of it is left out or made
    easier, never harder.

    Args:
        targets: what must be held.
        group: film, pre-stretch and force.
        travel: what every program does.
        safe_age: age of the oldest film at the end of the cycle; slips are then those of an
            acceleration that comes at once, so that the layers hold; None for a bound [s].
        patches: where the load's patches stand, and by how much wider film touches what film
            touches a patch [m], for a bound of what is asked over patches; None without.

    Returns:
        A lower bound of the turns; and the layers over each interface with which they are reached
        [-].

    Source: branch and bound of `woold.design.linear_program`; its proven bound is returned.
    """
    case, width, age = group.case, group.sheet.width, safe_age or 0.0
    tables, tiers = targets.tier_tables(case, group.sheet, age), targets.tiers
    assert tables is not None
    assert tiers is not None
    grid, wider = (None, 0.0) if patches is None else patches
    if grid is None:
        zones = list(targets.layer_zones(case, group.sheet, age))
    else:
        zones = bounding_zones(targets, case, group.sheet, grid)
    least = tiers.least_layers(tables)
    if not (np.isfinite(least).all() and all(math.isfinite(each.layers) for each in zones)):
        # Film of that age holds it with no number of layers.
        return math.inf, least
    moving = np.flatnonzero(tiers.slips)
    if moving.size == 0:
        return group.least_turns, least
    over = targets.tier_zones(case, np.ones(least.size))
    if safe_age is None:
        already = _layers_of_cover(zones, over, group, travel)
        if bool(tiers_stand(tables, np.where(tiers.slips, already, 0.0), True)):
            return group.least_turns, np.where(tiers.slips, already, least)
    heights = _looked_at(zones, over)
    edges = np.unique(np.minimum(heights, travel.high))
    covers, laid = _covering(heights, edges, width), _laid_anyhow(heights, width, travel)
    touch = _covering(heights, edges, width + wider)
    touched = _laid_anyhow(heights, width + wider, travel.widened(wider))
    rows = _Rows(edges.size, moving.size, tables.static.shape[0])
    for zone in zones:
        for at in np.flatnonzero((heights >= zone.low - 1e-9) & (heights <= zone.high + 1e-9)):
            rows.add(whole_layers(zone.layers) - touched[at], touch[at])
    for place, tier in enumerate(moving):
        zone = over[tier]
        for at in np.flatnonzero((heights >= zone.low - 1e-9) & (heights <= zone.high + 1e-9)):
            rows.add(-laid[at], covers[at], (place, -1.0))
    _add_slips(rows, tables, moving, safe_age is not None)
    turns, layers = rows.solve(least[moving])
    found = least.copy()
    found[moving] = np.round(layers)
    given = sum(zone[2] for zone in travel.given) + travel.roped
    given += travel.turns_per_metre * (travel.high - travel.low)
    return max(group.least_turns, turns + given), found


def _covering(heights: Floats, edges: Floats, width: float) -> NDArray[np.bool_]:
    """Where film with its lower edge there lies over a height, shape (heights, edges)."""
    above = heights[:, None] <= edges + width + 1e-9
    return np.asarray((edges <= heights[:, None] + 1e-9) & above)


def _looked_at(zones: Sequence[LayerZone], over: Sequence[LayerZone]) -> Floats:
    """Heights at which a cover is looked at: ends of what is needed, and some between [m]."""
    ends = {end for zone in (*zones, *over) for end in (zone.low, zone.high)}
    grid = np.arange(min(ends), max(ends), _LOOK_STEP).tolist()
    return np.unique(np.round([*ends, *grid], 9))


def _laid_anyhow(heights: Floats, width: float, travel: Travel) -> Floats:
    """Layers that every program lays over each height, as far as they are sure [-]."""
    passed = np.minimum(heights, travel.high) - np.maximum(heights - width, travel.low)
    laid: Floats = travel.turns_per_metre * np.maximum(passed, 0.0)
    for low, high, layers in (*travel.given, *travel.layers):
        laid += layers * ((heights >= low - 1e-9) & (heights <= high + 1e-9))
    return laid


def _layers_of_cover(
    zones: Sequence[LayerZone], over: Sequence[LayerZone], group: Group, travel: Travel
) -> Floats:
    """Whole layers over each interface where the bands lie that zones need by themselves [-].

    If the tiers stand with them, no more turns are needed than for the zones.
    """
    width = group.sheet.width
    need = need_steps((zone.low, zone.high, whole_layers(zone.layers)) for zone in zones)
    _, cover = least_turns(need, width, travel)
    heights = _looked_at(zones, over)
    lies = (cover.edges <= heights[:, None] + 1e-9) & (
        heights[:, None] <= cover.edges + width + 1e-9
    )
    laid = _laid_anyhow(heights, width, travel) + lies @ cover.wraps
    inside = [(heights >= zone.low - 1e-9) & (heights <= zone.high + 1e-9) for zone in over]
    return np.array([math.floor(laid[each].min(initial=64.0) + 1e-7) for each in inside])


class _Rows:
    """Rows of a program in turns at each edge, layers over each tier, and its slips and stays.

    Args:
        edges, tiers, ways: how many there are.
    """

    def __init__(self, edges: int, tiers: int, ways: int) -> None:
        self.edges, self.tiers, self.ways = edges, tiers, ways
        self.rows: list[Floats] = []
        self.least: list[float] = []

    def add(self, least: float, bands: Floats | None, *others: tuple[int, float]) -> None:
        """Sum of bands, layers and slips, at least so much.

        Args:
            least: of the sum.
            bands: 1 where a band counts.
            others: place among layers, then slips, then what stays of them, and its factor.
        """
        row = np.zeros(self.edges + self.tiers * (1 + 2 * self.ways))
        if bands is not None:
            row[: self.edges] = bands
        for place, factor in others:
            row[self.edges + place] = factor
        self.rows.append(row)
        self.least.append(least)

    def solve(self, least_layers: Floats) -> tuple[float, Floats]:
        """Least sum of all bands that is proven, and the layers found with it."""
        cost = np.zeros(self.edges + self.tiers * (1 + 2 * self.ways))
        cost[: self.edges] = 1.0
        layers = slice(self.edges, self.edges + self.tiers)
        whole = np.zeros(cost.size, dtype=bool)
        whole[layers] = True
        low = np.zeros(cost.size)
        low[layers] = least_layers
        options = {"mip_rel_gap": _NEAR, "mip_max_nodes": _MOST_NODES}
        rows, needed = np.array(self.rows), np.array(self.least) - 1e-9
        found = Covering(rows, needed, cost, low, whole, options).solved()
        turns = max(found.bound - 1e-6, 0.0)
        if found.values is None:
            return turns, least_layers
        return turns, found.values[layers]


def _add_slips(rows: _Rows, tables: TierTables, moving: NDArray[np.int64], safe: bool) -> None:
    """Slips by layers, and what they may add up to, in every way."""
    for way in _different_ways(tables):
        here = [place for place, tier in enumerate(moving) if tables.slips[way, tier]]
        stay = []
        for place in here:
            tier = int(moving[place])
            sway = tables.sway[way, tier]
            slips = tables.sudden[way, tier] if safe else _least_slips(tables, way, tier)
            slips = slips + sway
            slot = rows.tiers * (1 + way) + place
            _add_chords(rows, slips, slot, place)
            stay.append(slot)
            returns = tables.returns[way, tier]
            if not safe and returns.any():
                # Film may pull the tier back, as far as friction lets it.
                stay[-1] = slot + rows.tiers * rows.ways
                left = np.where(returns, np.fmin(slips, tables.stays[way, tier]), slips)
                _add_chords(rows, left, stay[-1], place)
        slots = [rows.tiers * (1 + way) + place for place in here]
        # In the limits' own measure, so that rounding in the solver is small beside them.
        # What sways without slipping travels whatever the film; some of it may be pulled back.
        sways = float(tables.sway[way][~tables.slips[way]].sum())
        top, kept = tables.top_limit[way] - sways, tables.kept_limit - (sways if safe else 0.0)
        for limit, counted in ((top, slots), (kept, stay)):
            if counted:
                rows.add(-limit, None, *((slot, -1.0) for slot in counted))


def _add_chords(rows: _Rows, slips: Floats, slot: int, place: int) -> None:
    """A slip that is no less than the lower hull of slips over whole layers."""
    for count, slope, at in _chords(slips):
        # slip >= at + slope (n - count)
        rows.add(at - slope * count, None, (slot, 1.0), (place, -slope))


def _different_ways(tables: TierTables) -> list[int]:
    """Ways of which no two are the same: a load looks alike from both sides."""
    kept: list[int] = []
    for way in range(tables.static.shape[0]):
        alike = any(
            np.allclose(tables.sudden[way], tables.sudden[other], rtol=1e-7, atol=0.0)
            and np.allclose(tables.sway[way], tables.sway[other], rtol=1e-7, atol=0.0)
            and math.isclose(tables.top_limit[way], tables.top_limit[other], rel_tol=1e-7)
            and math.isclose(tables.ramp[way], tables.ramp[other])
            for other in kept
        )
        if not alike:
            kept.append(way)
    return kept


def _least_slips(tables: TierTables, way: int, tier: int) -> Floats:
    """Least slip of an interface by its layers, with the stiffest film over all others [m]."""
    soft = float(tables.softness[way, :, -1].sum())
    half = 0.5 * tables.ramp[way] / math.sqrt(soft)
    residual = math.sin(half) / half if 0.0 < half < 0.5 * math.pi else 1.0 / max(half, 1.0)
    drop = tables.drop[way, tier]
    share = drop + residual * (1.0 - drop)
    static, sudden = tables.static[way, tier], tables.sudden[way, tier]
    with np.errstate(invalid="ignore"):
        return np.where(np.isfinite(sudden), static + share * (sudden - static), np.inf)


def _chords(slips: Floats) -> list[tuple[float, float, float]]:
    """Lower hull of slips over whole layers: where each chord begins, its slope, and its height."""
    counts = np.flatnonzero(np.isfinite(slips))
    hull: list[int] = []
    for count in counts.tolist():
        while len(hull) > 1 and (slips[hull[-1]] - slips[hull[-2]]) * (count - hull[-2]) >= (
            slips[count] - slips[hull[-2]]
        ) * (hull[-1] - hull[-2]):
            hull.pop()
        hull.append(count)
    return [
        (float(a), float((slips[b] - slips[a]) / (b - a)), float(slips[a]))
        for a, b in itertools.pairwise(hull)
    ]
