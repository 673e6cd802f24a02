"""Made-up tables of loads, whose truth is known: for tests and benchmarks."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.trial.table import LoadTable

__all__ = ["Truth", "made_up"]


@dataclass(frozen=True)
class Truth:
    """What a made-up trial is drawn from.

    Args:
        pairs: pairs of a baseline and a candidate load, two pairs in a block.
        ratio: film mass, candidate over baseline.
        hold: pull readings, candidate over baseline, by zone.
        spread: of film mass from load to load.
        pull_spread: of a zone's pull readings from load to load.
        zone_correlation: of the zones of one load.
        skewness: of the film masses.
        missing: share of a load's zones that were not read.
        with_pulls: whether pulls were read at all.
        one_type: all loads of one type, in place of two types of 3 to 1.
    """

    pairs: int = 20
    ratio: float = 0.93
    hold: tuple[float, float, float] = (1.0, 1.0, 1.0)
    spread: float = 0.03
    pull_spread: float = 0.06
    zone_correlation: float = 0.0
    skewness: float = 0.0
    missing: float = 0.0
    with_pulls: bool = True
    one_type: bool = False


def made_up(rng: np.random.Generator, truth: Truth | None = None) -> LoadTable:
    """A trial of one or two load types in blocks of two loads of each treatment."""
    truth = truth or Truth()
    pairs, n = truth.pairs, 2 * truth.pairs
    treatment = np.tile([0, 1], pairs)
    kind = np.repeat((np.arange(pairs) % 4 == 3).astype(int), 2)
    if truth.one_type:
        kind = np.zeros(n, int)
    block = np.repeat(np.arange(pairs) // 2, 2)
    noise = rng.standard_normal(n)
    if truth.skewness:
        shape = 4 / truth.skewness**2
        noise = (rng.gamma(shape, size=n) - shape) / math.sqrt(shape)
    of_block = 1 + 0.02 * rng.standard_normal(pairs)[block]
    mass = np.where(kind == 1, 0.26, 0.18) * np.where(treatment == 1, truth.ratio, 1.0)
    nothing = np.full(n, np.nan)
    return LoadTable(
        numbers=tuple(str(1 + index) for index in range(n)),
        treatment=treatment,
        load_type=kind,
        block=block,
        block_names=tuple(str(1 + index) for index in range(block.max() + 1)),
        machine=np.zeros(n, int),
        roll=np.zeros(n, int),
        shift=np.zeros(n, int),
        roll_density=np.full(n, np.nan),
        film_mass=mass * of_block * (1 + truth.spread * noise),
        cycle_time=140 + 3 * rng.standard_normal(n),
        turns=nothing,
        breaks=np.zeros(n),
        marks_stretch=nothing,
        film_width=nothing,
        dancer_force=nothing,
        zones=_zones(rng, truth, treatment),
        pull_age=np.full(n, 1800.0),
        pulls=(),
        mix=np.array([4000.0]) if truth.one_type else np.array([3000.0, 1000.0]),
        type_names=("jars",) if truth.one_type else ("jars", "cans"),
        zone_names=("bottom", "middle", "top"),
        notes={},
    )


def _zones(rng: np.random.Generator, truth: Truth, treatment: np.ndarray) -> np.ndarray:
    """Lognormal pull readings; what the zones of a load share gives their correlation."""
    n = treatment.size
    if not truth.with_pulls:
        return np.full((n, 3), np.nan)
    sd = math.sqrt(math.log1p(truth.pull_spread**2))
    of_load = math.sqrt(truth.zone_correlation) * rng.standard_normal((n, 1))
    of_zone = math.sqrt(1 - truth.zone_correlation) * rng.standard_normal((n, 3))
    hold = np.where(treatment[:, None] == 1, np.array(truth.hold), 1.0)
    zones = 30 * hold * np.exp(sd * (of_load + of_zone))
    zones[rng.random((n, 3)) < truth.missing] = np.nan
    return zones
