"""A change fitted once: before is compared with after, in an interrupted series of rolls.

A carriage is often fitted once and stays. Then the treatments cannot be mixed, and a roll, a week
or a season can pass for the carriage. What is compared are therefore rolls (blocks), not loads:

    y = level + step at the change + drift + error,  one y for each block, in the order of time

y is the mean of ln(film mass) of the block's loads, load types taken out, and less ln(roll mass /
roll length) where every roll was weighed. Beside an unchanged machine, y is the difference to that
machine in the same block, and the drift, which both share, is left out.

Neighbouring blocks are alike, so their scatter says too little about slow changes. The error of the
step is therefore taken from the slowest waves that step and drift do not explain: a few cosines of
the time, made orthogonal to the model. With errors that know nothing of one another Student's t is
exact; slow errors reach the waves as they reach the step. Where they would reach the step more
(before and after unlike in number, or no drift in the model), the error is widened until it is
right for the slow errors that are reckoned with.

Source: the design is the retrofit comparison of measurement-and-verification practice
    (before and after, adjusted; IPMVP core concepts, from memory) and the interrupted time
    series; waves: U. K. Mueller, J. Econometrics 141 (2007) 1331, and E. Lazarus, D. J. Lewis,
    J. H. Stock, M. W. Watson, J. Bus. Econ. Stat. 36 (2018) 541.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.equal_hold import LogRatio
from woold.trial.table import LoadTable
from woold.words import say

__all__ = [
    "OWN_SLOW_SHARE",
    "SLOW_SHARE",
    "Series",
    "block_series",
    "equal_hold_series",
    "film_by_roll",
    "step_at_change",
    "step_factor",
    "waves",
]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_FEWEST_BLOCKS = 4
"""Of each treatment."""

_MOST_WAVES = 4
"""More know the scatter better, but let slow changes pass for a step: with 8, in up to 9 % of
simulated plants with drift, season and wander; with 4, in at most 5 %."""
_NEW = 0.3
"""Share of a wave that the model must leave, or the wave is passed over."""
SLOW_SHARE, OWN_SLOW_SHARE = 0.3, 0.15
"""Part of a block's variance that may change slowly, alone and beside an unchanged machine, which
shares the rest: estimates of ours, as is the memory below."""
_SAFE = 1.05
"""Keeps a change shown where there is none below the 5 % that Student's t alone would just meet."""
_SLOW_MEMORIES = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95)
"""Correlation of neighbouring blocks' slow part."""


@dataclass(frozen=True, slots=True)
class Series:
    """One value for each block, in the order of time.

    Args:
        values: logarithms.
        after: whether the block was wrapped after the change.
        has_control: the values are differences to an unchanged machine.
    """

    values: Floats
    after: Bools
    has_control: bool


def waves(after: Bools, with_drift: bool) -> tuple[Floats, Floats]:
    """Weights that give the step, and the slowest waves that the model leaves.

    Args:
        after: by block, in the order of time.
        with_drift: whether the model has a drift.

    Returns:
        Weights, shape (blocks,), and orthonormal waves, shape (waves, blocks).
    """
    count = after.size
    time = np.arange(count) - (count - 1) / 2.0
    columns = [np.ones(count), after.astype(float)]
    if with_drift:
        columns.append(time / count)
    model = np.array(columns).T
    weights = np.linalg.pinv(model)[1]
    basis, _ = np.linalg.qr(model)
    found: list[Floats] = []
    wanted = max(min(_MOST_WAVES, count // 3), 1)
    for speed in range(1, count):
        wave = math.sqrt(2.0 / count) * np.cos(np.pi * speed * (np.arange(count) + 0.5) / count)
        left = wave - basis @ (basis.T @ wave)
        size = float(np.linalg.norm(left))
        if size < _NEW:
            continue
        found.append(left / size)
        basis = np.column_stack([basis, left / size])
        if len(found) == wanted:
            break
    return weights, np.array(found).reshape(-1, count)


def _error_factor(weights: Floats, slow: Floats, share: float) -> float:
    """Error of the step over the root mean square of the waves, for the worst of slow errors.

    Args:
        weights: that give the step, shape (blocks,).
        slow: waves, shape (waves, blocks).
        share: of a block's variance that may change slowly.
    """
    apart = np.abs(np.subtract.outer(np.arange(weights.size), np.arange(weights.size)))
    worst = 0.0
    for memory in _SLOW_MEMORIES:
        errors = (1.0 - share) * np.eye(weights.size) + share * memory**apart
        of_waves = float(np.mean(np.sum((slow @ errors) * slow, axis=1)))
        worst = max(worst, float(weights @ errors @ weights) / of_waves)
    return _SAFE * math.sqrt(worst)


def step_factor(before: int, after: int, with_drift: bool) -> tuple[float, float]:
    """Error of the step for blocks that scatter by 1, and its degrees of freedom.

    Args:
        before, after: number of blocks.
        with_drift: whether the model has a drift.
    """
    weights, slow = waves(np.arange(before + after) >= before, with_drift)
    share = SLOW_SHARE if with_drift else OWN_SLOW_SHARE
    return _error_factor(weights, slow, share), float(slow.shape[0])


def step_at_change(series: Series) -> LogRatio:
    """The step at the change, its error and that error's freedom.

    Raises:
        InputError: too few blocks before or after.
    """
    counts = [int((~series.after).sum()), int(series.after.sum())]
    if min(counts) < _FEWEST_BLOCKS:
        raise InputError.one(
            "block",
            say(
                "blocks before the change: {before}, after it: {after}",
                before=counts[0],
                after=counts[1],
            ),
            say("at least {count} of each, each on a roll of its own", count=_FEWEST_BLOCKS),
            say("Weigh loads of more rolls; `woold trial plan` says how many."),
        )
    weights, slow = waves(series.after, with_drift=not series.has_control)
    share = OWN_SLOW_SHARE if series.has_control else SLOW_SHARE
    scale = math.sqrt(float(np.mean((slow @ series.values) ** 2)))
    return LogRatio(
        estimate=float(weights @ series.values),
        error=scale * _error_factor(weights, slow, share),
        df=float(slow.shape[0]),
    )


def block_series(table: LoadTable, values: Floats) -> Series:
    """Means of blocks of one quantity, logarithms, load types taken out, in the order of time.

    A block that holds both treatments, such as the roll on which the change was made, is left out.

    Args:
        table: the loads, in the order of time.
        values: one positive value a load, NaN where it was not read.
    """
    changed = table.machine == 0
    own, of_own = _block_means(table, values, changed)
    has_control = bool((~changed & np.isfinite(values)).any())
    means = own
    if has_control:
        beside, _ = _block_means(table, values, ~changed)
        means = own - beside
    kept = np.flatnonzero(np.isfinite(means) & np.isfinite(of_own) & (of_own % 1.0 == 0.0))
    order = sorted(kept.tolist(), key=lambda code: int(np.flatnonzero(table.block == code)[0]))
    return Series(means[order], of_own[order] == 1.0, has_control)


def _block_means(table: LoadTable, values: Floats, which: Bools) -> tuple[Floats, Floats]:
    """Means by block, load types taken out, and each block's treatment (a fraction if mixed)."""
    blocks = len(table.block_names)
    used = which & np.isfinite(values)
    means, treatments = np.full(blocks, np.nan), np.full(blocks, np.nan)
    if not used.any():
        return means, treatments
    codes, block = np.unique(table.block[used], return_inverse=True)
    kinds, kind = np.unique(table.load_type[used], return_inverse=True)
    model = np.zeros((block.size, codes.size + kinds.size - 1))
    model[np.arange(block.size), block] = 1.0
    other = kind > 0
    model[np.flatnonzero(other), codes.size + kind[other] - 1] = 1.0
    fitted = np.linalg.lstsq(model, np.log(values[used]), rcond=None)[0]
    means[codes] = fitted[: codes.size]
    counts = np.bincount(block)
    treatments[codes] = np.bincount(block, table.treatment[used]) / counts
    return means, treatments


def film_by_roll(table: LoadTable) -> tuple[Floats, bool]:
    """Film masses, over the mass of a metre of their roll where every roll was weighed.

    Args:
        table: the loads.

    Returns:
        Values, and whether the rolls' weights were used.
    """
    weighed = np.isfinite(table.film_mass)
    if weighed.any() and np.isfinite(table.roll_density[weighed]).all():
        return table.film_mass / table.roll_density, True
    return table.film_mass, False


def equal_hold_series(film: Series, zones: Sequence[Series]) -> Series | None:
    """Film less the mean hold of all zones, on the blocks where all were read; None otherwise.

    Args:
        film: film mass.
        zones: pull readings of each zone.
    """
    if not zones or any(each.values.size != film.values.size for each in zones):
        return None
    hold = np.mean([each.values for each in zones], axis=0)
    return Series(film.values - hold, film.after, film.has_control)
