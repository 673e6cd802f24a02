"""The comparison: film of both treatments, of each load type, and containment by zone.

Everything here works on arrays; every result is a frozen object whose names are JSON keys.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.bootstrap import bootstrap_interval
from woold.trial.ratio import RatioInterval, noninferiority_p, student_quantile
from woold.trial.roll_means import roll_units
from woold.trial.table import LoadTable
from woold.trial.treatment_means import (
    BASELINE,
    CANDIDATE,
    TreatmentMeans,
    treatment_means,
)
from woold.words import say

__all__ = [
    "BreakRates",
    "TrialComparison",
    "TrialInterval",
    "TypeComparison",
    "ZoneComparison",
    "break_rates",
    "compare_types",
    "compare_zones",
    "comparison",
    "means_of",
]

LEVEL = 0.95
ALPHA_ONE_SIDED = (1 - LEVEL) / 2

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TrialInterval:
    """An interval and how it was found; null ends where no bounded one exists."""

    low: float | None
    high: float | None
    level: float
    method: str

    def holds(self, value: float) -> bool:
        """Whether a value lies inside."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def _interval(found: RatioInterval) -> TrialInterval:
    low, high = (end if math.isfinite(end) else None for end in (found.low, found.high))
    return TrialInterval(low, high, found.level, found.method)


@dataclass(frozen=True, slots=True)
class TrialComparison:
    """One quantity with both treatments, per load and weighted by the annual mix.

    Args:
        baseline, candidate: means, in the quantity's SI unit.
        baseline_loads, candidate_loads: loads behind them.
        ratio: candidate over baseline.
        fieller, log_ratio: intervals of the ratio.
        bootstrap: a third one; null where it was not asked for.
        degrees_of_freedom: of the first two.
        mix_covered: share of the annual mix that the compared load types make up.
        blocks_taken_out: whether differences between blocks were taken out.
        rolls_compared: number of rolls, each one reading, where each treatment had rolls of its
            own; null where loads are compared.
    """

    baseline: float
    candidate: float
    baseline_loads: int
    candidate_loads: int
    ratio: float
    fieller: TrialInterval
    log_ratio: TrialInterval
    bootstrap: TrialInterval | None
    degrees_of_freedom: float
    mix_covered: float
    blocks_taken_out: bool
    rolls_compared: int | None


@dataclass(frozen=True, slots=True)
class TypeComparison:
    """Film of one load type; no interval where a treatment has a single load of it."""

    load_type: str
    mix_share: float
    baseline_loads: int
    candidate_loads: int
    baseline_kg: float
    candidate_kg: float
    ratio: float
    interval: TrialInterval | None


@dataclass(frozen=True, slots=True)
class ZoneComparison:
    """Containment of one zone, as non-inferiority.

    Args:
        zone: name.
        baseline_n, candidate_n: mean pull readings.
        baseline_loads, candidate_loads: loads behind them.
        ratio: candidate over baseline.
        interval: 95 % interval of the ratio.
        margin: largest share that may be lost.
        p_not_lower: one-sided p against "the candidate loses the margin or more".
        is_not_lower: shown not to lose as much as the margin.
        is_lower: shown to hold less than the baseline, with an allowance for looking at so many
            zones (Bonferroni).
    """

    zone: str
    baseline_n: float
    candidate_n: float
    baseline_loads: int
    candidate_loads: int
    ratio: float
    interval: TrialInterval
    margin: float
    p_not_lower: float
    is_not_lower: bool
    is_lower: bool


@dataclass(frozen=True, slots=True)
class BreakRates:
    """Film breaks per 100 loads, with exact 95 % Poisson intervals, and whether they differ."""

    baseline_breaks: int
    candidate_breaks: int
    baseline_loads: int
    candidate_loads: int
    baseline_per_100: float
    candidate_per_100: float
    baseline_interval: TrialInterval
    candidate_interval: TrialInterval
    p_differ: float


def means_of(table: LoadTable, values: Floats, field: str, by_roll: bool = True) -> TreatmentMeans:
    """Both treatments' means of a quantity over the annual mix, blocks taken out.

    Args:
        table: the loads.
        values: one a load.
        field: what to call the values in messages.
        by_roll: compare the means of rolls where each treatment had rolls of its own, and enough.
    """
    units = roll_units(table) if by_roll else None
    every = treatment_means(values, table.treatment, table.load_type, table.block, table.mix, field)
    if units is None:
        return every
    of_both = np.isin(table.load_type, every.types)
    first, means = units.means(np.where(of_both, values, np.nan), table.load_type)
    try:
        found = treatment_means(
            means, table.treatment[first], block=units.block[first], field=field
        )
    except InputError:  # too few rolls: the verdict refuses to tell the treatments from them
        return every
    return replace(
        found, load=first[found.load], types=every.types, covered=every.covered, loads=every.loads
    )


def comparison(means: TreatmentMeans, resamples: int = 0, seed: int = 1) -> TrialComparison:
    """A quantity's comparison; with resamples also its bootstrap interval."""
    return TrialComparison(
        baseline=means.baseline,
        candidate=means.candidate,
        baseline_loads=means.loads[0],
        candidate_loads=means.loads[1],
        ratio=means.ratio,
        fieller=_interval(means.fieller(LEVEL)),
        log_ratio=_interval(means.log_interval(LEVEL)),
        bootstrap=(
            _interval(bootstrap_interval(means, LEVEL, resamples, seed)) if resamples else None
        ),
        degrees_of_freedom=means.degrees_of_freedom(),
        mix_covered=means.covered,
        blocks_taken_out=means.blocks_used,
        rolls_compared=means.load.size if means.load.size < sum(means.loads) else None,
    )


def compare_types(table: LoadTable) -> tuple[TypeComparison, ...]:
    """Film mass of each load type by itself."""
    rows = []
    for code, name in enumerate(table.type_names):
        of_type = (table.load_type == code) & np.isfinite(table.film_mass)
        counts = [int((of_type & table.of_treatment(side)).sum()) for side in (BASELINE, CANDIDATE)]
        if not all(counts):
            continue
        raw = [
            float(table.film_mass[of_type & table.of_treatment(side)].mean())
            for side in (BASELINE, CANDIDATE)
        ]
        ratio, interval = raw[1] / raw[0], None
        if min(counts) > 1:
            try:
                means = treatment_means(
                    table.film_mass[of_type], table.treatment[of_type], block=table.block[of_type]
                )
            except InputError:  # each block holds one load of this type
                means = treatment_means(table.film_mass[of_type], table.treatment[of_type])
            raw, ratio = [means.baseline, means.candidate], means.ratio
            interval = _interval(means.fieller(LEVEL))
        share = float(table.mix[code] / table.mix.sum())
        rows.append(
            TypeComparison(name, share, counts[0], counts[1], raw[0], raw[1], ratio, interval)
        )
    return tuple(rows)


def compare_zones(
    table: LoadTable, margin: float, alpha: float = ALPHA_ONE_SIDED
) -> tuple[tuple[ZoneComparison, ...], tuple[TreatmentMeans, ...]]:
    """Containment of each zone with readings enough to compare, from the bottom up.

    Args:
        table: the loads.
        margin: largest share that may be lost.
        alpha: one-sided error of "not lower" in each zone, and of "lower" in all zones together.
    """
    rows, kept = [], []
    read = int(np.isfinite(table.zones).any(axis=0).sum())
    for index, name in enumerate(table.zone_names):
        values = table.zones[:, index]
        if not np.isfinite(values).any():
            continue
        try:
            means = means_of(table, values, say("pull readings, {zone} zone", zone=name))
        except InputError:  # too few to compare; the verdict says which zones it speaks of
            continue
        df, error = means.degrees_of_freedom(), means.log_ratio_error
        log_ratio = math.log(means.ratio)
        if error > 0:
            p = noninferiority_p(log_ratio, error, df, margin)
        else:
            p = 0.0 if log_ratio > math.log1p(-margin) else 1.0
        interval = _interval(means.log_interval(LEVEL))
        rows.append(
            ZoneComparison(
                zone=name,
                baseline_n=means.baseline,
                candidate_n=means.candidate,
                baseline_loads=means.loads[0],
                candidate_loads=means.loads[1],
                ratio=means.ratio,
                interval=interval,
                margin=margin,
                p_not_lower=p,
                is_not_lower=p < alpha,
                is_lower=_is_lower(log_ratio, error, df, alpha / read),
            )
        )
        kept.append(means)
    return tuple(rows), tuple(kept)


def _is_lower(log_ratio: float, error: float, df: float, alpha: float) -> bool:
    return log_ratio + student_quantile(1 - alpha, df) * error < 0.0


def break_rates(table: LoadTable) -> BreakRates | None:
    """Film breaks of both treatments; None where none were written down in one of them.

    Wraps that were repeated or abandoned count here as well.

    Intervals: exact Poisson; difference: exact conditional binomial test.
    """
    from scipy import special, stats

    known = np.isfinite(table.breaks)
    loads = [int((known & table.of_treatment(side)).sum()) for side in (BASELINE, CANDIDATE)]
    if not all(loads):
        return None
    counts = [
        int(table.breaks[known & table.of_treatment(side)].sum()) for side in (BASELINE, CANDIDATE)
    ]
    # A load is often given up because its film broke: its breaks count, though its film does not.
    for side, breaks in table.aside:
        loads[side] += 1
        counts[side] += int(breaks)

    def interval(count: int, units: int) -> TrialInterval:
        low = special.gammaincinv(count, ALPHA_ONE_SIDED) if count else 0.0
        high = special.gammaincinv(count + 1, 1 - ALPHA_ONE_SIDED)
        return TrialInterval(100 * float(low) / units, 100 * float(high) / units, LEVEL, "Poisson")

    total = sum(counts)
    p = 1.0
    if total:
        p = float(stats.binomtest(counts[1], total, loads[1] / sum(loads)).pvalue)
    return BreakRates(
        baseline_breaks=counts[0],
        candidate_breaks=counts[1],
        baseline_loads=loads[0],
        candidate_loads=loads[1],
        baseline_per_100=100 * counts[0] / loads[0],
        candidate_per_100=100 * counts[1] / loads[1],
        baseline_interval=interval(counts[0], loads[0]),
        candidate_interval=interval(counts[1], loads[1]),
        p_differ=p,
    )
