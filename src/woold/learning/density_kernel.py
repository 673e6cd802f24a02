"""The density's loops over loads, averages and unknowns, compiled."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from woold.physics.compiled import compiled
from woold.uncertainty.draws import SCORE_AT_END

__all__ = ["Drifts", "density_and_slope"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Ranges = tuple[Array, Array]
Loads = tuple[Ints, Ints, Array, Array, Array, Array]
Rows = tuple[Ints, Ints, Ints, Ints]
Fits = tuple[Array, Array, Array, Array, Array, Array, Array]
Scales = tuple[Array, Array, float, float]
Drifts = tuple[Ints, Ints, Ints, Array, Array, Array, Array]

_WILDEST = 6.0
_FARTHEST = 30.0
"""The sampler tries steps far outside of anything that can be, and takes them back."""

_CERTAIN = 30.0
PERT, NORMAL, LOGNORMAL = 0.0, 1.0, 2.0
PERT_END = 8.0
"""Score up to which PERT distributions are tabled, on either side [-]."""


@compiled(nogil=True)
def _scaled(score: float, range_of: Array, perts: Array) -> tuple[float, float]:
    """(value - best guess)/(high - low) at a normal score, and its slope.

    Args:
        score: the score.
        range_of: low and high end, scaled likewise; `NORMAL` or `LOGNORMAL` where they hold its
            middle 90 %, `PERT` where nothing lies beyond; best guess over high - low, or which
            PERT.
        perts: values of each PERT distribution at evenly set scores, and their slopes.
    """
    low, high, shape, which = range_of
    if shape == NORMAL:
        side = -low if score < 0.0 else high
        return side * score / SCORE_AT_END, side / SCORE_AT_END
    if shape == LOGNORMAL:
        end = which / (which + low) if score < 0.0 else (which + high) / which
        of_logarithm = math.log(end) / SCORE_AT_END
        value = which * math.exp(min(of_logarithm * score, _CERTAIN))
        return value - which, of_logarithm * value
    values, slopes = perts[int(which), 0], perts[int(which), 1]
    last = len(values) - 1
    place = (score / PERT_END + 1.0) * 0.5 * last
    if place <= 0.0:
        return values[0], 0.0
    if place >= last:
        return values[last], 0.0
    # A cubic between two scores that has their values and slopes.
    left = int(place)
    step, part = 2.0 * PERT_END / last, place - left
    rest = 1.0 - part
    rise = values[left + 1] - values[left]
    off = step * slopes[left] - rise
    end = rise - step * slopes[left + 1]
    value = rest * values[left] + part * values[left + 1] + part * rest * (rest * off + part * end)
    slope = rise + (rest - part) * (rest * off + part * end) + part * rest * (end - off)
    return value, slope / step


@compiled(nogil=True)
def _lognormal(score: float, of_logarithm: float) -> float:
    """A spread over its best guess, however wild a step the sampler tries."""
    return math.exp(of_logarithm * min(max(score, -_WILDEST), _WILDEST))


@compiled(nogil=True)
def _sizes(at: float, group: int, drifts: Drifts) -> tuple[float, float]:
    """Size of a group's first direction, which steady wear adds to, and of all others."""
    steady, of_logarithms = drifts[4], drifts[6]
    spread = _lognormal(at, of_logarithms[group])
    return math.sqrt(spread * spread + steady[group]), spread


@compiled(nogil=True)
def _drifted(at: Array, unknowns: int, drifts: Drifts) -> tuple[Array, Array]:
    """Scores of all unknowns, and slopes of those that drift by the spread's logarithm."""
    own, about, starts, directions, steady, units, _ = drifts
    scores, by_spread = at[:unknowns].copy(), np.zeros(len(own))
    for group in range(len(about)):
        first, end = starts[group], starts[group + 1]
        size, spread = _sizes(at[unknowns], group, drifts)
        for row in range(first, end):
            along = directions[group, row - first]
            worn = along[0] * size * at[own[first]]
            off = worn
            for other in range(first + 1, end):
                off += along[other - first] * spread * at[own[other]]
            scores[own[row]] = scores[about[group]] + units[group] * off
            by_spread[row] = units[group] * (off - worn * steady[group] / (size * size))
    return scores, by_spread


@compiled(nogil=True)
def _drift_slopes(at: Array, by_unknown: Array, by_spread: Array, drifts: Drifts) -> float:
    """Slopes by scores made slopes by independent numbers; returns that by the spread's number."""
    own, about, starts, directions, _, units, of_logarithms = drifts
    whole = 0.0
    # What drifts about something that drifts itself comes last among the groups.
    for back in range(len(about)):
        group = len(about) - 1 - back
        first, end = starts[group], starts[group + 1]
        size, spread = _sizes(at[len(by_unknown)], group, drifts)
        moved = by_unknown[own[first:end]]
        for row in range(first, end):
            by_unknown[own[row]] = 0.0
        for row in range(first, end):
            here = moved[row - first]
            by_unknown[about[group]] += here
            whole += of_logarithms[group] * by_spread[row] * here
            along = units[group] * here * directions[group, row - first]
            by_unknown[own[first]] += size * along[0]
            for other in range(first + 1, end):
                by_unknown[own[other]] += spread * along[other - first]
    return whole


@compiled(nogil=True)
def _own_values(scaled: Array, loads: Loads) -> Array:
    """Values of each load type's own unknowns, side by side, shape (loads, most)."""
    own, counts = loads[0], loads[1]
    values = np.zeros(own.shape)
    for load in range(len(counts)):
        for one in range(counts[load]):
            values[load, one] = scaled[own[load, one]]
    return values


@compiled(nogil=True, fastmath=True)
def _bent(bend: Array, values: Array, count: int, bent: Array) -> None:
    """The matrix on the values, into an array that is there."""
    for one in range(count):
        total = 0.0
        for other in range(count):
            total += bend[one, other] * values[other]
        bent[one] = total


@compiled(nogil=True)
def _slips(values: Array, loads: Loads, rounding: float) -> tuple[Array, Array]:
    """How far the film of each load type slips, and its slope by each of its unknowns."""
    _, counts, level, slope, bend, _ = loads
    slip, by, bent = np.empty(len(counts)), np.zeros(values.shape), np.empty(values.shape[1])
    for load in range(len(counts)):
        _bent(bend[load], values[load], counts[load], bent)
        margin = level[load]
        for one in range(counts[load]):
            margin += values[load, one] * (slope[load, one] + bent[one])
            by[load, one] = slope[load, one] + 2.0 * bent[one]
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


@compiled(nogil=True)
def _averages(
    scaled: Array, loads: Loads, load: Ints, fits: Fits, rounding: float
) -> tuple[Array, Array]:
    """ln of every average, and its slope by each unknown of its load type."""
    counts, most = loads[1], loads[5]
    _, _, levels, slopes, bends, slips, crosses = fits
    values = _own_values(scaled, loads)
    slip, slip_by = _slips(values, loads, rounding)
    told, towards = np.empty(len(load)), np.zeros((len(load), values.shape[1]))
    bent = np.empty(values.shape[1])
    for row in range(len(load)):
        which = load[row]
        count, slid = counts[which], min(slip[which], most[which])
        here = levels[row] + slid * (slips[row, 0] + slid * (slips[row, 1] + slid * slips[row, 2]))
        by_slip = slips[row, 0] + slid * (2.0 * slips[row, 1] + 3.0 * slid * slips[row, 2])
        here += by_slip * (slip[which] - slid)
        crossed = 0.0
        for one in range(count):
            crossed += crosses[row, one] * values[which, one]
        by_slip += crossed
        here += slip[which] * crossed
        _bent(bends[row], values[which], count, bent)
        for one in range(count):
            here += values[which, one] * (slopes[row, one] + bent[one])
            towards[row, one] = slopes[row, one] + 2.0 * bent[one] + by_slip * slip_by[which, one]
            towards[row, one] += slip[which] * crosses[row, one]
        told[row] = here
    return told, towards


@compiled(nogil=True)
def _block(
    off: Array, errors: Array, way: Ints, site: float, ways: float
) -> tuple[float, Array, float, float]:
    """Logarithm of the normal density of averages that share a site, and its slopes.

    Their covariance is that of errors, with one number more within a way and one within the site:
    its inverse and determinant follow from sums (Sherman and Morrison 1950, once for each).

    Args:
        off: measured less predicted.
        errors: standard errors.
        way: which treatment each is of.
        site, ways: variances of what all share, and of what those of one treatment share.

    Returns:
        The logarithm, its slope by each predicted average, and by the logarithms of both variances.
    """
    count = len(off)
    pull, shares = np.empty(count), np.empty(count)
    level = whole = told = 0.0
    for one in range(count):
        weight = pulled = 0.0
        for other in range(count):
            if way[other] == way[one]:
                precision = 1.0 / (errors[other] * errors[other])
                weight += precision
                pulled += precision * off[other]
        precision = 1.0 / (errors[one] * errors[one])
        shares[one] = precision / (1.0 + ways * weight)
        pull[one] = precision * (off[one] - ways * pulled / (1.0 + ways * weight))
        whole += shares[one]
        told += pull[one]
        level -= math.log(errors[one]) + 0.5 * math.log1p(ways * weight) * precision / weight
    left = site / (1.0 + site * whole)
    for one in range(count):
        pull[one] -= shares[one] * left * told
        level -= 0.5 * off[one] * pull[one]
    level -= 0.5 * math.log1p(site * whole)
    pulled = told / (1.0 + site * whole)
    by_site = 0.5 * (pulled * pulled - whole / (1.0 + site * whole))
    by_way = 0.0
    for one in range(count):
        shared = alike = 0.0
        for other in range(count):
            if way[other] == way[one]:
                shared += shares[other]
                alike += pull[other]
        by_way += 0.5 * (pull[one] * alike - shares[one] * (1.0 - left * shared))
    return level, pull, site * by_site, ways * by_way


@compiled(nogil=True)
def density_and_slope(
    at: Array, given: Ranges, loads: Loads, rows: Rows, fits: Fits, scales: Scales, drifts: Drifts
) -> tuple[float, Array]:
    """Logarithm of the density, but for a constant, and its slope.

    Args:
        at: scores of unknowns, then of the logarithms of spreads between sites and between ways.
        given: ranges of each unknown, shape (unknowns, 4), and PERT distributions, as for
            `_scaled`.
        loads: by load type: places of its unknowns (loads, most) and how many; ln grip margin:
            level, slope and bend.
        rows: by average, those of one kind and site together: load type, kind and way; and where
            each such block begins, the last end included.
        fits: by average: ln measured, its error; ln predicted: level, slope, bend, factors of
            slip's powers and of slip with each unknown.
        scales: best guesses of the spreads between sites and between ways, by kind; standard
            deviation of their logarithms; grip margin over which slipping sets in.
        drifts: places of scores that drift, and of what each group drifts about; where groups
            start; directions of their drift, and the square that steady wear adds to that of the
            first; units, standard deviations of spreads' logarithms.
    """
    own, counts = loads[0], loads[1]
    at = np.minimum(np.maximum(at, -_FARTHEST), _FARTHEST)
    load, kind, way, blocks = rows
    logs, errors = fits[0], fits[1]
    by_sites, by_ways, of_spreads, rounding = scales
    ranges, perts = given
    kinds, unknowns = len(by_sites), len(ranges)
    level = -0.5 * np.sum(at * at)
    slope = -at
    scaled, by_score = np.empty(unknowns), np.empty(unknowns)
    scores, by_spread = _drifted(at, unknowns, drifts)
    by_unknown = np.zeros(unknowns)
    for index in range(unknowns):
        scaled[index], by_score[index] = _scaled(scores[index], ranges[index], perts)
    told, towards = _averages(scaled, loads, load, fits, rounding)
    for block in range(len(blocks) - 1):
        first, last = blocks[block], blocks[block + 1]
        place = unknowns + 1 + kind[first]
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
    slope[unknowns] += _drift_slopes(at, by_unknown, by_spread, drifts)
    slope[:unknowns] += by_unknown
    return level, slope
