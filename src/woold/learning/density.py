"""How likely inputs and spreads are, given everything that was measured.

    y = F(u) + site + way + error

with y the logarithms of the averages and u the normal scores of all unknowns. `site` is what all
averages of one kind in one trial share beyond the model (scale, machine, weather); `way` is how far
the model is wrong for one treatment of one trial. The spread of each is learned as well, so that a
wrong model widens what is said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from woold.learning.density_kernel import LOGNORMAL, NORMAL, PERT, Drifts, density_and_slope
from woold.learning.drift import SPREAD_OF_DRIFT, Drift
from woold.learning.emulator import SLIP_ROUNDING, Emulated, Quadratic, evened, scaled_values
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.trial.averages import DANCER, KEPT, MARKS, MASS, PULL, ROLL, TIME, WIDTH
from woold.uncertainty.draws import Unknown
from woold.uncertainty.pert import pert_shares

__all__ = ["SITE_SPREADS", "SPREAD_OF_SPREADS", "WAY_SPREADS", "LogDensity"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SITE_SPREADS: Mapping[str, float] = MappingProxyType(
    {
        MASS: 0.012,
        MARKS: 0.012,
        WIDTH: 0.012,
        PULL: 0.08,
        KEPT: 0.03,
        TIME: 0.02,
        DANCER: 0.06,
        ROLL: 0.01,
    }
)
"""Spread between sites of the logarithm of one kind of reading, best guess beforehand [-].

Placeholders (engineering estimates): lognormal, nine in ten between a quarter and four times it.
"""

WAY_SPREADS: Mapping[str, float] = MappingProxyType(
    {
        MASS: 0.012,
        MARKS: 0.012,
        WIDTH: 0.012,
        PULL: 0.03,
        KEPT: 0.02,
        TIME: 0.015,
        DANCER: 0.02,
        ROLL: 0.005,
    }
)
"""The same of how far the model is wrong for one treatment of one trial."""

SPREAD_OF_SPREADS = 0.8
"""Standard deviation of the logarithm of either [-]."""


_WIDE_SPREADS = 1.5
"""Scores of spreads at which a sampler starts [-]."""

_LEAST_ERROR = 1e-6
"""No average is more certain [-]."""


class LogDensity:
    """Logarithm of the density of all that is unknown, with its slope.

    All numbers are independent normal scores beforehand: first of the unknowns (of those that drift
    what `SharedUnknowns.scores` makes scores of), then of the logarithms of spreads: of the drift,
    between sites by kind of reading, and likewise between ways. What sites and ways add is
    integrated over.

    Args:
        wrapped: what was wrapped and measured.
        emulations: averages of each as smooth functions of its own unknowns.
        unknowns: all unknowns, and which each has.

    Attributes:
        kinds: kinds of reading that were measured.
        count: numbers in all.
        order: averages in the order in which they stand here, as (load type, average).
        errors: of each its standard error, with what the smooth functions miss.
        usual_ways: of each how far the model is off for one treatment, best guess beforehand.
    """

    def __init__(
        self,
        wrapped: Sequence[Wrapped],
        emulations: Sequence[Emulated],
        unknowns: SharedUnknowns,
    ) -> None:
        self.order = _blocks_together(wrapped)
        self._unknowns = [each.unknown for each in unknowns.all]
        self._parts = list(zip(emulations, unknowns.places, strict=True))
        averages = [wrapped[load].averages[place] for load, place in self.order]
        self.kinds = tuple(dict.fromkeys(each.what for each in averages))
        self._start = unknowns.count
        self._drift_groups = unknowns.drifts
        self.count = self._start + 2 * len(self.kinds)
        ways = list(dict.fromkeys((each.trial, each.treatment) for each in wrapped))
        load = np.array([each for each, _ in self.order])
        self._kind = np.array([self.kinds.index(each.what) for each in averages])
        self._way = np.array([ways.index((each.trial, each.treatment)) for each in wrapped])[load]
        blocks = [(wrapped[at].trial, kind) for at, kind in zip(load, self._kind, strict=True)]
        starts = [index for index, each in enumerate(blocks) if blocks[index - 1] != each]
        self._blocks = np.array([0, *(each for each in starts if each), len(blocks)])
        self.measured = np.array([each.log_mean for each in averages])
        self._pick = [
            sum(len(each.averages) for each in wrapped[:one]) + place for one, place in self.order
        ]
        missed = np.concatenate([each.missed for each in emulations])[self._pick]
        errors = np.hypot(np.array([each.log_error for each in averages]), missed)
        self.errors = np.maximum(errors, _LEAST_ERROR)
        self.usual_ways = np.array([WAY_SPREADS[each.what] for each in averages])
        self._scales = (
            np.array([SITE_SPREADS[each] for each in self.kinds]),
            np.array([WAY_SPREADS[each] for each in self.kinds]),
            SPREAD_OF_SPREADS,
            SLIP_ROUNDING,
        )
        smooth = _side_by_side([each.smooth for each in emulations], unknowns.places)
        margins = _side_by_side([each.margin for each in emulations], unknowns.places)
        counts = np.array([places.size for places in unknowns.places])
        own = np.zeros((len(counts), int(counts.max())), dtype=np.int64)
        for index, places in enumerate(unknowns.places):
            own[index, : places.size] = places
        powers = np.concatenate([each.slip.powers for each in emulations])
        cross = _filled([each.slip.cross for each in emulations], own.shape[1])
        fits = [each[self._pick] for each in (*smooth, powers, cross)]
        self._given = (
            _ranges(self._unknowns),
            (own, counts, *margins, np.array([each.slip.most for each in emulations])),
            (load, self._kind, self._way, self._blocks),
            (self.measured, self.errors, *fits),
            self._scales,
            _drifts(unknowns.drifts),
        )

    def __call__(self, at: Array) -> tuple[float, Array]:
        """Logarithm of the density, but for a constant, and its slope.

        Args:
            at: all numbers, shape (count,).
        """
        level, slope = density_and_slope(at, *self._given)
        return float(level), slope

    @property
    def start(self) -> Array:
        """Where a sampler may start: best guesses, with wide spreads, which let it move on."""
        return np.where(np.arange(self.count) < self._start, 0.0, _WIDE_SPREADS)

    @property
    def apart(self) -> Array:
        """How far from there over the usual: the steady wear of many years would lead astray."""
        apart = np.ones(self.count)
        for each in self._drift_groups:
            long = np.linalg.norm(each.directions, axis=0) * each.sizes(np.ones(()))
            apart[each.own] = 1.0 / np.maximum(long, 1.0)
        return apart

    @property
    def emulations(self) -> tuple[Emulated, ...]:
        """Averages of each load type as smooth functions, in the order of what was wrapped."""
        return tuple(each for each, _ in self._parts)

    def predicted(self, scores: Array) -> Array:
        """ln of every average at scores of all unknowns, shape (..., unknowns)."""
        scaled = scaled_values(scores, self._unknowns)
        parts = [each.at(scaled[..., own]) for each, own in self._parts]
        whole: Array = np.concatenate(parts, axis=-1)[..., self._pick]
        return whole

    def spreads(self, at: Array) -> tuple[Array, Array]:
        """Spreads between sites and between ways, by kind, from sampled numbers (..., count)."""
        start, kinds = self._start, len(self.kinds)
        by_sites, by_ways, of_spreads, _ = self._scales
        sites = by_sites * np.exp(of_spreads * at[..., start : start + kinds])
        ways = by_ways * np.exp(of_spreads * at[..., start + kinds :])
        return sites, ways

    def true_averages(self, at: Array, random: np.random.Generator, is_seen: bool) -> Array:
        """Draws of ln of every average's true value, with what its site and way add.

        Args:
            at: scores and all other numbers, shape (draws, count).
            random: seeded source.
            is_seen: given what was measured; else of sites and ways nobody has seen.

        Returns:
            Shape (draws, averages).
        """
        level = self.predicted(at[:, : len(self._unknowns)])
        sites, ways = self.spreads(at)
        for first, last in zip(self._blocks[:-1], self._blocks[1:], strict=True):
            kind, way = self._kind[first], self._way[first:last]
            same = (way[:, None] == way).astype(float)
            spread = sites[:, kind, None, None] ** 2 + ways[:, kind, None, None] ** 2 * same
            added = np.zeros((len(at), last - first))
            if is_seen:
                whole = spread + np.diag(self.errors[first:last] ** 2)
                gain = np.linalg.solve(whole, spread).transpose(0, 2, 1)
                off = self.measured[first:last] - level[:, first:last]
                added = np.einsum("nij,nj->ni", gain, off)
                spread = spread - gain @ spread
            values, vectors = np.linalg.eigh(spread)
            roots = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
            chance = random.standard_normal(added.shape)
            level[:, first:last] += added + np.einsum("nij,nj->ni", roots, chance)
        return level


def _blocks_together(wrapped: Sequence[Wrapped]) -> list[tuple[int, int]]:
    """Every average as (load type, place), those of one trial and kind together."""
    rows = [
        (each.trial, average.what, load, place)
        for load, each in enumerate(wrapped)
        for place, average in enumerate(each.averages)
    ]
    return [(load, place) for _, _, load, place in sorted(rows)]


_SHAPES = {"pert": PERT, "normal": NORMAL, "lognormal": LOGNORMAL}
_TABLED = 321
"""Scores at which a PERT distribution is tabled for the sampler."""


def _ranges(unknowns: Sequence[Unknown]) -> tuple[Array, Array]:
    """Scaled low and high of each, its shape, and its best guess or which PERT; those, tabled."""
    rows, perts = [], dict[float, int]()
    for each in map(evened, unknowns):
        width = each.high - each.low
        low, high = (each.low - each.value) / width, (each.high - each.value) / width
        last = perts.setdefault(low, len(perts)) if each.shape == "pert" else each.value / width
        rows.append((low, high, _SHAPES[each.shape], last))
    tables = np.zeros((max(len(perts), 1), 2, _TABLED))
    for low, place in perts.items():
        scores, shares = pert_shares(-low)
        step = (len(scores) - 1) // (_TABLED - 1)
        tables[place, 0] = low + shares[::step]
        tables[place, 1] = np.gradient(shares, scores)[::step]
    return np.array(rows), tables


def _drifts(drifts: Sequence[Drift]) -> Drifts:
    """Places of what drifts and about what, where groups start, directions, what steady wear adds,
    units, own spreads.
    """
    starts = np.cumsum([0, *(each.own.size for each in drifts)])
    most = max((each.own.size for each in drifts), default=1)
    directions = np.zeros((len(drifts), most, most))
    for index, each in enumerate(drifts):
        directions[index, : each.own.size, : each.own.size] = each.directions
    own = [place for each in drifts for place in each.own]
    return (
        np.array(own, dtype=np.int64),
        np.array([each.about for each in drifts], dtype=np.int64),
        np.asarray(starts, dtype=np.int64),
        directions,
        np.array([each.steady for each in drifts], dtype=float),
        np.array([each.unit for each in drifts], dtype=float),
        np.array([SPREAD_OF_DRIFT * each.is_learnt for each in drifts], dtype=float),
    )


def _side_by_side(
    quadratics: Sequence[Quadratic], places: Sequence[Ints]
) -> tuple[Array, Array, Array]:
    """Levels, slopes and bends of all quantities, filled up to the most unknowns with zeros."""
    most = max(each.size for each in places)
    filled = [(0, most - each.size) for each in places]
    bends = [
        np.pad(each.bend, ((0, 0), pad, pad)) for each, pad in zip(quadratics, filled, strict=True)
    ]
    return (
        np.concatenate([each.level for each in quadratics]),
        _filled([each.slope for each in quadratics], most),
        np.concatenate(bends),
    )


def _filled(rows: Sequence[Array], most: int) -> Array:
    """Rows of all load types, filled up to the most unknowns with zeros."""
    return np.concatenate([np.pad(each, ((0, 0), (0, most - each.shape[1]))) for each in rows])
