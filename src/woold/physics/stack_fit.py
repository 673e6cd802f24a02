"""Film's calibration, friction and kinetic share from slips that were measured in a real test.

Stick-slip makes the motion jump where an interface just sticks or just does not, so that no
gradient leads to the answer. Inputs are drawn over their ranges instead and weighed by how near
the simulated slips come to the measured ones; later draws go where earlier ones weighed most.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.physics.numeric import refuse_unless
from woold.physics.stack_motion import BaseMotion, MovingStack, stack_motion
from woold.words import say, to_say

__all__ = ["CalibratedRange", "MeasuredSlips", "StackFit", "stack_fit"]

Floats = NDArray[np.float64]

MODEL_SHARE = 0.15
"""Part of a slip by which the simulation itself may be off, one standard deviation; a judgement."""

_ROUNDS = 6
_LEVELS = (0.05, 0.5, 0.95)
_DECIDED = 0.7  # of the range before, that the range after may span and still count as decided
_HEAVY_TAILS = 4.0  # degrees of freedom: one odd reading must not decide alone


@dataclass(frozen=True, eq=False)
class MeasuredSlips:
    """What one real test did to a stack.

    Args:
        base: accelerations of the test.
        largest: most slip of each interface, from the pallet on the vehicle up, as size; NaN
            where it was not measured, shape (b,) [m].
        kept: slip that stayed, the same way, shape (b,) [m].
    """

    base: BaseMotion
    largest: Floats
    kept: Floats


@dataclass(frozen=True, slots=True)
class CalibratedRange:
    """One input after the test.

    Args:
        name: of the input.
        low: 5 % of what the test allows lies below.
        value: half of it lies below.
        high: 5 % of it lies above.
        before_low, before_high: range before the test.
        is_decided: the test narrowed the range; otherwise it says nothing of this input.
    """

    name: str
    low: float
    value: float
    high: float
    before_low: float
    before_high: float
    is_decided: bool


@dataclass(frozen=True, eq=False)
class StackFit:
    """Inputs that a test allows.

    Args:
        ranges: one for each input.
        effective_draws: draws that count, by their weights [-].
        misfit: root mean square of measured less simulated slip over what either may be off, at
            the best draw; much above 1 the model does not describe this test [-].
        draws: inputs that were tried, shape (n, inputs).
        weights: of each, summing to 1, shape (n,).
    """

    ranges: tuple[CalibratedRange, ...]
    effective_draws: float
    misfit: float
    draws: Floats
    weights: Floats


def stack_fit(
    stack_of: Callable[[Mapping[str, float]], MovingStack],
    ranges: Mapping[str, tuple[float, float]],
    tests: Sequence[MeasuredSlips],
    reading_error: float = 0.002,
    draws: int = 900,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> StackFit:
    """Ranges of a stack's inputs that fit with what was measured.

    Equation: weight = product of Student densities of (measured - simulated)/sigma, with
    sigma^2 = reading error^2 + (0.15 slip)^2, over the density with which the input was drawn.

    Args:
        stack_of: the stack for given inputs.
        ranges: lowest and highest value of each input that is not known; even between them.
        tests: what was measured.
        reading_error: standard deviation of a reading [m].
        draws: inputs that are tried, all rounds together.
        seed: of the draws.
        progress: called with draws done and draws in all.

    Raises:
        InputError: nothing was measured, or a range that is none.

    Source: importance sampling in rounds, O. Cappe et al., J. Comput. Graph. Stat. 13 (2004) 907,
        from memory.
    """
    from scipy.stats import qmc

    low, high = (np.array([each[end] for each in ranges.values()]) for end in (0, 1))
    refuse_unless(high > low, "ranges", high - low, to_say("a highest value above the lowest"))
    refuse_unless(reading_error > 0.0, "reading_error", reading_error, to_say("more than 0"))
    if not any(np.isfinite([*each.largest, *each.kept]).any() for each in tests):
        raise InputError.one(
            "test", say("no slip at all"), say("one measured slip or more"), say("Add a row.")
        )
    rng = np.random.default_rng(seed)
    size = max(draws // _ROUNDS, 8)
    shares = qmc.Sobol(len(ranges), seed=rng).random_base2(int(np.ceil(np.log2(size))))[:size]
    tried, fits, misfits, centres = [], [], [], list[tuple[Floats, Floats]]()
    for number in range(_ROUNDS):
        for place in low + shares * (high - low):
            misfit, fit = _fit(
                stack_of(dict(zip(ranges, map(float, place), strict=True))), tests, reading_error
            )
            fits.append(fit)
            misfits.append(misfit)
            if progress is not None:
                progress(len(fits), size * _ROUNDS)
        tried.append(shares)
        weights = _weights(np.concatenate(tried), np.array(fits), centres)
        if number < _ROUNDS - 1:
            shares, spread = _next_round(np.concatenate(tried), weights, size, rng)
            centres.append(spread)
    every = np.concatenate(tried)
    return StackFit(
        ranges=tuple(
            _range(name, every[:, index], weights, *ranges[name])
            for index, name in enumerate(ranges)
        ),
        effective_draws=float(1.0 / (weights**2).sum()),
        misfit=float(misfits[int(np.argmax(fits))]),
        draws=low + every * (high - low),
        weights=weights,
    )


def _fit(
    stack: MovingStack, tests: Sequence[MeasuredSlips], reading_error: float
) -> tuple[float, float]:
    """Root mean square misfit, and the logarithm of the likelihood."""
    off = []
    for test in tests:
        ends = np.array([test.base.times[0], test.base.times[-1]])
        done = stack_motion(stack, test.base, ends)
        for measured, found in (
            (test.largest, done.largest_slips),
            (test.kept, abs(done.slips[-1])),
        ):
            sigma = np.hypot(reading_error, MODEL_SHARE * found)
            z = (measured - found) / sigma
            off.append(np.column_stack([z, np.log(sigma)])[np.isfinite(measured)])
    z, log_sigma = np.concatenate(off).T
    half = 0.5 * (_HEAVY_TAILS + 1.0)
    log_fit = -(half * np.log1p(z**2 / _HEAVY_TAILS) + log_sigma).sum()
    return float(np.sqrt((z**2).mean())), float(log_fit)


def _weights(shares: Floats, fits: Floats, rounds: Sequence[tuple[Floats, Floats]]) -> Floats:
    """Weights of all draws, each over the mean density of all rounds at its place."""
    density = np.ones(len(shares))  # the first round is even over the ranges
    for centres, root in rounds:
        density += _spread_density(shares, centres, root)
    logs = fits - np.log(density)
    weights: Floats = np.exp(logs - logs.max())
    weights /= weights.sum()
    return weights


def _next_round(
    shares: Floats, weights: Floats, size: int, rng: np.random.Generator
) -> tuple[Floats, tuple[Floats, Floats]]:
    """Draws round those that weigh most, and what their density is made of."""
    chosen = shares[rng.choice(len(shares), size, p=weights)]
    middle = weights @ shares
    covariance = (weights * (shares - middle).T) @ (shares - middle)
    inputs = shares.shape[1]
    root = np.asarray(
        np.linalg.cholesky(0.5 * covariance + 1e-4 * np.eye(inputs)), dtype=np.float64
    )
    moved = chosen + rng.standard_normal(chosen.shape) @ root.T
    for _ in range(100):  # those outside of the ranges are drawn again
        outside = ((moved < 0.0) | (moved > 1.0)).any(axis=1)
        if not outside.any():
            break
        chosen[outside] = shares[rng.choice(len(shares), outside.sum(), p=weights)]
        moved[outside] = chosen[outside] + rng.standard_normal((outside.sum(), inputs)) @ root.T
    return np.clip(moved, 0.0, 1.0), (chosen, root)


def _spread_density(shares: Floats, centres: Floats, root: Floats) -> Floats:
    """Density of normal spreads about centres, shape (n,)."""
    inputs = shares.shape[1]
    steps = np.linalg.solve(root, (shares[:, None, :] - centres[None, :, :]).reshape(-1, inputs).T)
    squares = (steps**2).sum(axis=0).reshape(len(shares), len(centres))
    size = np.prod(np.diag(root)) * (2.0 * np.pi) ** (0.5 * inputs)
    density: Floats = np.exp(-0.5 * squares).mean(axis=1) / size
    return density


def _range(name: str, shares: Floats, weights: Floats, low: float, high: float) -> CalibratedRange:
    order = np.argsort(shares)
    below = np.cumsum(weights[order]) - 0.5 * weights[order]
    ends = low + np.interp(_LEVELS, below, shares[order]) * (high - low)
    narrow = (ends[2] - ends[0]) / (high - low) < _DECIDED * (_LEVELS[2] - _LEVELS[0])
    return CalibratedRange(
        name, float(ends[0]), float(ends[1]), float(ends[2]), low, high, bool(narrow)
    )
