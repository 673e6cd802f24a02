"""What every helix that may be chosen lays by itself, and the fewest wraps that make it hold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.choices import Choices
from woold.design.felt_need import FeltNeed
from woold.errors import PhysicsError
from woold.physics import layer_kernel, outlines, pattern
from woold.physics.felt_wraps import add_felt_wraps
from woold.physics.pattern import Leg
from woold.physics.tier_wraps import TierTables, add_tier_wraps
from woold.physics.wraps import VARIANTS, AddedWraps, HelixLayers, WrapLimits, fewest_wraps
from woold.prediction.film_over_height import count_heights
from woold.prediction.predict import load_outline, perimeter_below_deck
from woold.transport.film_over_interfaces import interface_zones

__all__ = [
    "Around",
    "Helices",
    "LaidHelices",
    "Need",
    "Wraps",
    "add_wraps",
    "edge_travel",
    "rope_layers",
    "roped_turns",
    "variants",
]

Floats = NDArray[np.float64]

_MOST_LAID = 2e7
"""Numbers that kept helices may have in all: a few hundred megabytes."""

_NO_LIMIT = 1000.0
"""Room for wraps where their number is not limited."""


@dataclass(frozen=True, slots=True)
class Around:
    """Film that one level turn takes.

    Args:
        load: perimeter of the load [m].
        below_deck: of load and pallet together; as the load's where the pallet is not known [m].
    """

    load: float
    below_deck: float | None

    @classmethod
    def of(cls, case: Case) -> Around:
        """Perimeters of a case's load."""
        outline = load_outline(case)
        return cls(outlines.perimeter(outline), perimeter_below_deck(case, outline))

    def at(self, edges: Floats) -> Floats:
        """Film of a level turn with its lower edge there [m]."""
        below = self.load if self.below_deck is None else self.below_deck
        return np.where(np.asarray(edges) < 0.0, below, self.load)


@dataclass(frozen=True, eq=False)
class Helices:
    """Every rise and fall that may be chosen, with one film width, without whole wraps.

    Args:
        around: film of a turn.
        width: film width on the load [m].
        lowest_edge, highest_edge: lower edge of bottom and of top wraps [m].
        heights: over the deck, shape (heights,) [m].
        rises, falls: carriage travel in a turn; NaN for no fall, shape (programs,) [m].
        turns, lengths: turns and film, likewise [-, m].
        least, mean: layers round the perimeter, shape (programs, heights) [-].
        legs: of each, as `woold.physics.layer_kernel.leg_table` makes them.
    """

    around: Around
    width: float
    lowest_edge: float
    highest_edge: float
    heights: Floats
    rises: Floats
    falls: Floats
    turns: Floats
    lengths: Floats
    least: NDArray[np.int16]
    mean: Floats
    legs: Floats

    def some(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Helices:
        """Those of the helices that are chosen, by a mask or by their places."""
        if which.dtype == np.bool_ and which.all():
            return self
        names = ("rises", "falls", "turns", "lengths", "least", "mean", "legs")
        return replace(self, **{name: getattr(self, name)[which] for name in names})


class LaidHelices:
    """Helices of a case by film width, laid once and kept.

    Args:
        case: the case.
        around: film of a turn.
    """

    def __init__(self, case: Case, around: Around) -> None:
        self.case, self.around = case, around
        self._kept: dict[tuple[float, Choices], Helices | None] = {}

    def of(self, width: float, choices: Choices) -> Helices | None:
        """Every rise and fall with one film width; None where that film never covers the top."""
        key = (
            round(width, 10),
            replace(choices, films=(), prestretches=(), forces=(), speeds=(), bands_most=0),
        )
        if key not in self._kept:
            while self._kept and sum(map(_size, self._kept.values())) > _MOST_LAID:
                self._kept.pop(next(iter(self._kept)))
            try:
                self._kept[key] = _lay_helices(self.case, width, choices, self.around)
            except PhysicsError:
                self._kept[key] = None
        return self._kept[key]


def _size(helices: Helices | None) -> int:
    return 0 if helices is None else helices.mean.size


@dataclass(frozen=True, eq=False)
class Need:
    """What must lie over the heights of helices.

    Args:
        layers: at each height, shape (heights,) [-].
        tiers: the transport screen over layers; None without transport.
        longest: more film than this is of no interest [m].
        felt: what every patch must hold besides; None where nothing is asked over patches.
    """

    layers: Floats
    tiers: TierTables | None = None
    longest: float = math.inf
    felt: FeltNeed | None = None


@dataclass(frozen=True, eq=False)
class Wraps:
    """Wraps of each helix; lengths and turns are those of the whole wraps alone.

    Args:
        bottom, top: wraps to set, shape (programs,) [-].
        band_edges, band_wraps: stops on the way, 0 wraps where there is none, (programs, stops).
        most_mean: largest mean layers on the load, shape (programs,) [-].
        possible: whether the need can be met, shape (programs,).
        lengths, turns: film and turns of these wraps, shape (programs,) [m, -].
    """

    bottom: Floats
    top: Floats
    band_edges: Floats
    band_wraps: Floats
    most_mean: Floats
    possible: NDArray[np.bool_]
    lengths: Floats
    turns: Floats


def edge_travel(case: Case, width: float) -> tuple[float, float]:
    """Lower edge of the film at the bottom and at the top [m]."""
    low = case.program.start_height
    return low, max(case.load.height + case.program.top_overlap - width, low)


def roped_turns(case: Case) -> float:
    """Whole bottom wraps that are gathered into a rope, in part or in whole [-]."""
    last = max((rope.last_turn for rope in case.program.ropes), default=0.0)
    return float(math.ceil(last - 1e-9))


def rope_layers(case: Case, width: float) -> Iterator[tuple[float, float, float]]:
    """Lower and upper edge of each rope, and the layers that it counts as [m, m, -].

    A part of a turn of it lies over a part of the perimeter alone and does not count.
    """
    low, _ = edge_travel(case, width)
    for rope in case.program.ropes:
        edge = low + (width - rope.width if rope.at_edge == "upper" else 0.0)
        turns = math.floor(rope.last_turn - rope.first_turn + 1e-9)
        yield edge, edge + rope.width, turns * width / rope.width


def _lay_helices(case: Case, width: float, choices: Choices, around: Around) -> Helices:
    """Layers, turns and film of every rise and fall that may be chosen.

    Whole turns at the bottom and the top change neither a helix nor where on the perimeter it
    runs, so they are left out here; fractions of a turn are kept.

    Raises:
        PhysicsError: film of this width never covers the top.
    """
    pairs = choices.pairs()
    rises = sorted({rise for rise, _ in pairs})
    falls = sorted({rise if fall is None else fall for rise, fall in pairs})
    # The way up does not depend on the fall, nor the way down on the rise but for its turns.
    ups = [_up_and_down(case, width, choices, rise, falls[0])[0] for rise in rises]
    downs = [_up_and_down(case, width, choices, rises[0], fall)[1] for fall in falls]
    up = np.array([rises.index(rise) for rise, _ in pairs])
    down = np.array([falls.index(rise if fall is None else fall) for rise, fall in pairs])
    up_table, down_table = _tables(ups), _tables(downs)
    up_turns, down_turns = (np.array([_turns(legs) for legs in way]) for way in (ups, downs))
    lengths = [
        np.array([pattern.film_length(legs, around.load, around.below_deck).sum() for legs in way])
        for way in (ups, downs)
    ]
    later = down_table[down].copy()
    later[:, :, :2] += (up_turns[up] - _starts(downs)[down])[:, None, None]
    tables = np.concatenate([up_table[up], later], axis=1)
    low, high = edge_travel(case, width)
    stops = [low, high, *(each.height_m for each in choices.bands)]
    resting = [Leg("", 0.0, 1.0, edge, edge, width) for edge in stops]
    ropes = list(rope_layers(case, width))
    gathered = [Leg("", 0.0, 1.0, edge, end, end - edge) for edge, end, _ in ropes]
    gathered = [replace(leg, last_edge=leg.first_edge) for leg in gathered]
    heights = count_heights([*resting, *gathered], case.load.height)
    least, mean = np.empty((len(pairs), heights.size)), np.empty((len(pairs), heights.size))
    layer_kernel.path_cover(tables, heights, least, mean)
    for edge, end, layers in ropes:
        inside = (edge - 1e-9 <= heights) & (heights <= end + 1e-9)
        least[:, inside] += math.floor(layers * (1.0 + 1e-9))
        mean[:, inside] += layers
    return Helices(
        around=around,
        width=width,
        lowest_edge=low,
        highest_edge=high,
        heights=heights,
        rises=np.array([rise for rise, _ in pairs]),
        falls=np.array([math.nan if fall is None else fall for _, fall in pairs]),
        turns=up_turns[up] + down_turns[down],
        lengths=lengths[0][up] + lengths[1][down],
        least=least.astype(np.int16),
        mean=mean,
        legs=tables,
    )


def _up_and_down(
    case: Case, width: float, choices: Choices, rise: float, fall: float
) -> tuple[tuple[Leg, ...], tuple[Leg, ...]]:
    """Legs before the first fall, and from there on; without whole wraps at the ends."""
    program = case.program
    low, high = edge_travel(case, width)
    parts = (choices.bottom[0] % 1.0, choices.top[0] % 1.0, program.closing_wraps % 1.0)
    if high <= low and not any(parts) and not choices.bands:
        return (), ()
    legs = pattern.wrap_path(
        pattern.WrapProgram(
            load_height=case.load.height,
            film_width=width,
            start_height=program.start_height,
            bottom_wraps=parts[0],
            rise_per_turn=rise,
            top_overlap=program.top_overlap,
            top_wraps=parts[1],
            fall_per_turn=fall,
            closing_wraps=parts[2],
            ends_at_top=program.ends_at == "top",
            bands=[
                pattern.Band(each.height_m, each.wraps, each.on_the_way) for each in choices.bands
            ],
        )
    )
    split = next((i for i, leg in enumerate(legs) if leg.part == pattern.FALL), len(legs))
    return legs[:split], legs[split:]


def _tables(paths: Sequence[Sequence[Leg]]) -> Floats:
    """Leg tables of paths, filled up with legs of no turns to one length."""
    tables = np.zeros((len(paths), max(map(len, paths)), 6))
    for index, legs in enumerate(paths):
        if legs:
            tables[index, : len(legs)] = layer_kernel.leg_table(legs, [1.0] * len(legs))
    return tables


def _starts(paths: Sequence[Sequence[Leg]]) -> Floats:
    return np.array([legs[0].first_turn if legs else 0.0 for legs in paths])


def _turns(legs: Sequence[Leg]) -> float:
    return legs[-1].last_turn - legs[0].first_turn if legs else 0.0


def variants(helices: Helices, choices: Choices) -> tuple[int, ...]:
    """Ways of laying a layer that several could lay, as far as they differ here."""
    overlap = helices.lowest_edge + helices.width >= helices.highest_edge
    wanted = (True, overlap, choices.bands_most > 0)
    return tuple(number for number in range(VARIANTS) if wanted[number])


def add_wraps(
    case: Case,
    choices: Choices,
    helices: Helices,
    need: Need,
    variant: int,
    height_step: float,
    unlimited: bool = False,
) -> Wraps:
    """Fewest whole wraps for every helix under one need.

    Turns gathered into a rope lay their rope alone, which lies among the helices' layers.

    Args:
        case: the case.
        choices: fewest and most wraps, and stops.
        helices: what the helices lay.
        need: what must lie at each height.
        variant: see `woold.physics.wraps.VARIANTS`.
        height_step: step of the heights of stops [m].
        unlimited: leave the most wraps out.
    """
    program = case.program
    closing = float(math.floor(program.closing_wraps))
    closing_low, closing_high = (0.0, closing) if program.ends_at == "top" else (closing, 0.0)
    roped = roped_turns(case)
    bottom_least = max(float(math.floor(choices.bottom[0])), roped)
    top_least = float(math.floor(choices.top[0]))
    added = AddedWraps.of_size(helices.lengths.size, choices.bands_most)
    limits = WrapLimits(
        film_width=helices.width,
        lowest_edge=helices.lowest_edge,
        highest_edge=helices.highest_edge,
        bottom_wraps=bottom_least - roped + closing_low,
        top_wraps=top_least + closing_high,
        bottom_room=_NO_LIMIT if unlimited else float(math.floor(choices.bottom[1]) - bottom_least),
        top_room=_NO_LIMIT if unlimited else float(math.floor(choices.top[1]) - top_least),
        height_step=height_step,
    )
    around = helices.around
    ends = around.at(np.array([helices.lowest_edge, helices.highest_edge]))
    room = need.longest - helices.lengths
    room = room - (limits.bottom_wraps + roped) * ends[0] - limits.top_wraps * ends[1]
    most = np.floor(room / around.load + 1e-6)
    layers = HelixLayers(helices.heights, helices.least, helices.mean, most)
    fewest_wraps(need.layers, layers, limits, variant, added)
    room -= (added.band_wraps * around.at(added.band_edges)).sum(axis=1)
    if need.tiers is not None and added.possible.any():
        zones = _zone_indices(case, helices.heights)
        left = room - added.bottom_added * ends[0] - added.top_added * ends[1]
        film = (float(ends[0]), float(ends[1]), left)
        add_tier_wraps(need.tiers, zones, layers, limits, film, added)
    if need.felt is not None and added.possible.any():
        grid, factor = need.felt.grid, np.broadcast_to(need.felt.factor, helices.lengths.shape)
        left = room - added.bottom_added * ends[0] - added.top_added * ends[1]
        add_felt_wraps(
            (need.felt.layers, np.array(factor)),
            (case.load.height, grid.high, grid.around),
            helices.legs,
            layers,
            limits,
            (float(ends[0]), float(ends[1]), left),
            added,
        )
    band_edges, band_wraps = added.band_edges, added.band_wraps
    bottom, top = added.bottom_added + bottom_least, added.top_added + top_least
    low, high = bottom + closing_low, top + closing_high
    return Wraps(
        bottom=bottom + choices.bottom[0] % 1.0,
        top=top + choices.top[0] % 1.0,
        band_edges=band_edges,
        band_wraps=band_wraps,
        most_mean=added.most_mean,
        possible=added.possible,
        lengths=low * ends[0] + high * ends[1] + (band_wraps * around.at(band_edges)).sum(axis=1),
        turns=low + high + band_wraps.sum(axis=1),
    )


def _zone_indices(case: Case, heights: Floats) -> NDArray[np.int64]:
    """First height of each interface's zone, and the first beyond it; none where film is bare."""
    assert case.transport is not None
    lows, highs = interface_zones(case, case.transport)
    first = np.searchsorted(heights, lows - 1e-9)
    last = np.searchsorted(heights, highs + 1e-9)
    return np.column_stack([first, np.where(lows + 1e-9 < heights[0], first, last)])
