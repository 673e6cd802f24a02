"""The density's loops over loads, averages and unknowns, compiled."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from woold.physics.compiled import compiled

__all__ = ["density_and_slope"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_ROOT_TWO_PI = math.sqrt(2.0 * math.pi)
_ROOT_TWO = math.sqrt(2.0)
_SCORE_AT_END = 1.6448536269514722
_LEAST = 1e-300
_WILDEST = 6.0


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
        return side * score / _SCORE_AT_END, side / _SCORE_AT_END
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
def density_and_slope(
    at: Array,
    ranges: Array,
    loads: tuple[Ints, Ints, Array, Array, Array],
    rows: tuple[Ints, Ints, Ints, Ints],
    fits: tuple[Array, Array, Array, Array, Array, Array],
    scales: tuple[Array, Array, float, float],
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
    """
    own, counts, margin_level, margin_slope, margin_bend = loads
    load, kind, way, blocks = rows
    logs, errors, levels, slopes, bends, slips = fits
    by_sites, by_ways, of_spreads, rounding = scales
    kinds, unknowns = len(by_sites), len(ranges)
    start = len(at) - 2 * kinds
    slope = np.empty_like(at)
    level = 0.0
    for index in range(len(at)):
        slope[index] = -at[index]
        level -= 0.5 * at[index] * at[index]
    scaled, by_score = np.empty(unknowns), np.empty(unknowns)
    for index in range(unknowns):
        scaled[index], by_score[index] = _scaled(
            at[index], ranges[index, 0], ranges[index, 1], ranges[index, 2]
        )
    # Slip of each load type, and its slope by each of its unknowns.
    slip = np.empty(len(counts))
    slip_by = np.zeros(own.shape)
    for which in range(len(counts)):
        margin = margin_level[which]
        for one in range(counts[which]):
            bent = 0.0
            for other in range(counts[which]):
                bent += margin_bend[which, one, other] * scaled[own[which, other]]
            margin += scaled[own[which, one]] * (margin_slope[which, one] + bent)
            slip_by[which, one] = margin_slope[which, one] + 2.0 * bent
        short = -margin / rounding
        if short > 30.0:
            slip[which], turned = -margin, 1.0
        else:
            slip[which], turned = (
                rounding * math.log1p(math.exp(short)),
                1.0 / (1.0 + math.exp(-short)),
            )
        for one in range(counts[which]):
            slip_by[which, one] *= -turned
    off, towards = np.empty(len(logs)), np.zeros((len(logs), own.shape[1]))
    off, towards = np.empty(len(logs)), np.zeros((len(logs), own.shape[1]))
    for row in range(len(logs)):
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
        off[row] = logs[row] - here
    for block in range(len(blocks) - 1):
        first, last = blocks[block], blocks[block + 1]
        of_kind = kind[first]
        site = (by_sites[of_kind] * _lognormal(at[start + of_kind], of_spreads)) ** 2
        ways = (by_ways[of_kind] * _lognormal(at[start + kinds + of_kind], of_spreads)) ** 2
        spread = np.empty((last - first, last - first))
        for one in range(first, last):
            for other in range(first, last):
                both = site + ways if way[one] == way[other] else site
                spread[one - first, other - first] = both
            spread[one - first, one - first] += errors[one] * errors[one]
        inverse = np.linalg.inv(spread)
        pull = inverse @ off[first:last]
        lower = np.linalg.cholesky(spread)
        by_site = by_way = 0.0
        for one in range(first, last):
            level -= 0.5 * off[one] * pull[one - first]
            level -= math.log(lower[one - first, one - first])
            which = load[one]
            for index in range(counts[which]):
                place = own[which, index]
                slope[place] += pull[one - first] * towards[one, index] * by_score[place]
            for other in range(first, last):
                moved = pull[one - first] * pull[other - first]
                moved -= inverse[one - first, other - first]
                by_site += moved
                if way[one] == way[other]:
                    by_way += moved
        slope[start + of_kind] += of_spreads * site * by_site
        slope[start + kinds + of_kind] += of_spreads * ways * by_way
    return level, slope
