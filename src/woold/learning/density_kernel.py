"""The density's loops over loads, averages and unknowns, compiled."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from woold.physics.compiled import compiled
from woold.uncertainty.draws import SCORE_AT_END

__all__ = ["density_and_slope"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Loads = tuple[Ints, Ints, Array, Array, Array]
Rows = tuple[Ints, Ints, Ints, Ints]
Fits = tuple[Array, Array, Array, Array, Array, Array]
Scales = tuple[Array, Array, float, float]
Drifts = tuple[Ints, Ints, float, float]

_ROOT_TWO_PI = math.sqrt(2.0 * math.pi)
_ROOT_TWO = math.sqrt(2.0)
_LEAST = 1e-300
_WILDEST = 6.0
_CERTAIN = 30.0


@compiled()
def _scaled(score: float, low: float, high: float, is_normal: float) -> tuple[float, float]:
    """(value - best guess)/(high - low) at a normal score, and its slope.

    Args:
        score: the score.
        low, high: ends of the range, scaled likewise; one apart.
        is_normal: 1 where they hold the middle 90 % of a normal distribution, else triangular.
    """
    if is_normal > 0.5:
        side = -low if score < 0.0 else high
        return side * score / SCORE_AT_END, side / SCORE_AT_END
    density = math.exp(-0.5 * score * score) / _ROOT_TWO_PI
    share = max(0.5 * math.erfc(-score / _ROOT_TWO), _LEAST)
    if share < -low:
        return low + math.sqrt(-share * low), 0.5 * density * math.sqrt(-low / share)
    rest = max(0.5 * math.erfc(score / _ROOT_TWO), _LEAST)
    return high - math.sqrt(rest * high), 0.5 * density * math.sqrt(high / rest)


@compiled()
def _lognormal(score: float, of_logarithm: float) -> float:
    """A spread over its best guess, however wild a step the sampler tries."""
    return math.exp(of_logarithm * min(max(score, -_WILDEST), _WILDEST))


@compiled()
def _slips(scaled: Array, loads: Loads, rounding: float) -> tuple[Array, Array]:
    """How far the film of each load type slips, and its slope by each of its unknowns."""
    own, counts, level, slope, bend = loads
    slip, by = np.empty(len(counts)), np.zeros(own.shape)
    for load in range(len(counts)):
        margin = level[load]
        for one in range(counts[load]):
            bent = 0.0
            for other in range(counts[load]):
                bent += bend[load, one, other] * scaled[own[load, other]]
            margin += scaled[own[load, one]] * (slope[load, one] + bent)
            by[load, one] = slope[load, one] + 2.0 * bent
        short = -margin / rounding
        turned = 1.0
        if short > _CERTAIN:
            slip[load] = -margin
        else:
            slip[load] = rounding * math.log1p(math.exp(short))
            turned = 1.0 / (1.0 + math.exp(-short))
        for one in range(counts[load]):
            by[load, one] *= -turned
    return slip, by


@compiled()
def _averages(
    scaled: Array, loads: Loads, load: Ints, fits: Fits, rounding: float
) -> tuple[Array, Array]:
    """ln of every average, and its slope by each unknown of its load type."""
    own, counts = loads[0], loads[1]
    _, _, levels, slopes, bends, slips = fits
    slip, slip_by = _slips(scaled, loads, rounding)
    told, towards = np.empty(len(load)), np.zeros((len(load), own.shape[1]))
    for row in range(len(load)):
        which = load[row]
        count, slid = counts[which], slip[which]
        here = levels[row] + slid * (slips[row, 0] + slid * (slips[row, 1] + slid * slips[row, 2]))
        by_slip = slips[row, 0] + slid * (2.0 * slips[row, 1] + 3.0 * slid * slips[row, 2])
        for one in range(count):
            bent = 0.0
            for other in range(count):
                bent += bends[row, one, other] * scaled[own[which, other]]
            here += scaled[own[which, one]] * (slopes[row, one] + bent)
            towards[row, one] = slopes[row, one] + 2.0 * bent + by_slip * slip_by[which, one]
        told[row] = here
    return told, towards


@compiled()
def _block(
    off: Array, errors: Array, way: Ints, site: float, ways: float
) -> tuple[float, Array, float, float]:
    """Logarithm of the normal density of averages that share a site, and its slopes.

    Args:
        off: measured less predicted.
        errors: standard errors.
        way: which treatment each is of.
        site, ways: variances of what all share, and of what those of one treatment share.

    Returns:
        The logarithm, its slope by each predicted average, and by the logarithms of both variances.
    """
    count = len(off)
    spread = np.empty((count, count))
    for one in range(count):
        for other in range(count):
            spread[one, other] = site + ways if way[one] == way[other] else site
        spread[one, one] += errors[one] * errors[one]
    inverse = np.linalg.inv(spread)
    lower = np.linalg.cholesky(spread)
    pull = inverse @ off
    level = by_site = by_way = 0.0
    for one in range(count):
        level -= 0.5 * off[one] * pull[one] + math.log(lower[one, one])
        for other in range(count):
            moved = pull[one] * pull[other] - inverse[one, other]
            by_site += 0.5 * moved
            if way[one] == way[other]:
                by_way += 0.5 * moved
    return level, pull, site * by_site, ways * by_way


@compiled()
def density_and_slope(
    at: Array, ranges: Array, loads: Loads, rows: Rows, fits: Fits, scales: Scales, drifts: Drifts
) -> tuple[float, Array]:
    """Logarithm of the density, but for a constant, and its slope.

    Args:
        at: scores of unknowns, then of the logarithms of spreads between sites and between ways.
        ranges: scaled low and high of each unknown, and whether it is normal, shape (unknowns, 3).
        loads: by load type: places of its unknowns (loads, most) and how many; ln grip margin:
            level, slope and bend.
        rows: by average, those of one kind and site together: load type, kind and way; and where
            each such block begins, the last end included.
        fits: by average: ln measured, its error; ln predicted: level, slope, bend, slip factors.
        scales: best guesses of the spreads between sites and between ways, by kind; standard
            deviation of their logarithms; grip margin over which slipping sets in.
        drifts: places of scores that drift, and of what they drift about; factors of the latter
            and of their own.
    """
    own, counts = loads[0], loads[1]
    load, kind, way, blocks = rows
    logs, errors = fits[0], fits[1]
    by_sites, by_ways, of_spreads, rounding = scales
    kinds, unknowns = len(by_sites), len(ranges)
    level = -0.5 * np.sum(at * at)
    slope = -at
    scaled, by_score = np.empty(unknowns), np.empty(unknowns)
    drifting, about, shared, alone = drifts
    scores, by_unknown = at[:unknowns].copy(), np.zeros(unknowns)
    for index in range(len(drifting)):
        scores[drifting[index]] = shared * at[about[index]] + alone * at[drifting[index]]
    for index in range(unknowns):
        scaled[index], by_score[index] = _scaled(
            scores[index], ranges[index, 0], ranges[index, 1], ranges[index, 2]
        )
    told, towards = _averages(scaled, loads, load, fits, rounding)
    for block in range(len(blocks) - 1):
        first, last = blocks[block], blocks[block + 1]
        place = unknowns + kind[first]
        site = (by_sites[kind[first]] * _lognormal(at[place], of_spreads)) ** 2
        ways = (by_ways[kind[first]] * _lognormal(at[place + kinds], of_spreads)) ** 2
        added, pull, by_site, by_way = _block(
            logs[first:last] - told[first:last], errors[first:last], way[first:last], site, ways
        )
        level += added
        slope[place] += 2.0 * of_spreads * by_site
        slope[place + kinds] += 2.0 * of_spreads * by_way
        for row in range(first, last):
            which = load[row]
            for index in range(counts[which]):
                one = own[which, index]
                by_unknown[one] += pull[row - first] * towards[row, index] * by_score[one]
    for index in range(len(drifting)):
        here = by_unknown[drifting[index]]
        by_unknown[about[index]] += shared * here
        by_unknown[drifting[index]] = alone * here
    slope[:unknowns] += by_unknown
    return level, slope
