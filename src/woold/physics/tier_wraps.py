"""Whole wraps to add to a helix so that the tiers of a stack stand a start.

The screen of `woold.physics.transport`, as tables over whole layers at each interface: what an
interface slips under a start that comes slowly and at once, how soft the film makes it, and what
stays. With them thousands of programs are screened at once, each with its own share of the top's
travel at every interface. That film may also be too much is in them: more film makes a start
harsher for the pallet on the vehicle, and may keep tiers from being pulled back.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.physics.compiled import compiled
from woold.physics.wraps import covers, laid_at_stops, largest_mean

__all__ = ["TierTables", "add_tier_wraps", "least_layers_each", "tiers_stand"]

_ROUNDING = 1e-9

_MOST_ADDED = 40.0
"""More wraps than this are never added at one end."""


class TierTables(NamedTuple):
    """What film does at every interface (m), in every way (w), by its layers from 0 up (n).

    Args:
        static, sudden: slip if the start came slowly, and at once, shape (w, m, n) [m].
        softness: mass above over the film's stiffness, shape (w, m, n) [s^2].
        stays: slip to which film can pull a tier back, shape (w, m, n) [m].
        pull: most force of the film, shape (w, m, n) [N].
        slips: friction does not hold the interface, shape (w, m).
        sway: travel that the swing of a start adds, shape (w, m) [m].
        drop: part of the need that is friction's drop, shape (w, m) [-].
        stuck: static friction after the start, shape (w, m) [N].
        returns: film may pull a tier back with so many layers or fewer, shape (w, m, n).
        scale: slip d0 at which film begins to wrinkle [m].
        ramp: time of the start, shape (w,) [s].
        slip_limit: most slip of an interface [m].
        top_limit: most travel of the top, shape (w,) [m].
        kept_limit: most of it that stays [m].
        push_room: force of the film that the pallet stands at the lowest interface that slips,
            shape (w,) [N].
    """

    static: NDArray[np.float64]
    sudden: NDArray[np.float64]
    softness: NDArray[np.float64]
    stays: NDArray[np.float64]
    pull: NDArray[np.float64]
    slips: NDArray[np.bool_]
    sway: NDArray[np.float64]
    drop: NDArray[np.float64]
    stuck: NDArray[np.float64]
    returns: NDArray[np.bool_]
    scale: float
    ramp: NDArray[np.float64]
    slip_limit: float
    top_limit: NDArray[np.float64]
    kept_limit: float
    push_room: NDArray[np.float64]


@compiled()
def tiers_stand(tables, layers, relaxed):  # type: ignore[no-untyped-def]
    """Whether a stack with so many layers over each interface stands every start.

    Args:
        tables: a `TierTables`.
        layers: whole layers over each interface, shape (m,) [-].
        relaxed: leave out what more film makes worse, so that more layers never stand less.
    """
    ways, tiers, most = tables.static.shape
    for way in range(ways):
        soft = 0.0
        for tier in range(tiers):
            if tables.slips[way, tier]:
                count = min(int(layers[tier]), most - 1)
                if tables.sudden[way, tier, count] == np.inf:
                    return False
                soft += tables.softness[way, tier, count]
        half = 0.5 * tables.ramp[way] / math.sqrt(soft) if soft > 0.0 else np.inf
        residual = 1.0
        if half >= 0.5 * math.pi:
            residual = 1.0 / half
        elif half > 0.0:
            residual = math.sin(half) / half
        top, kept, first = 0.0, 0.0, True
        for tier in range(tiers):
            sway = tables.sway[way, tier]
            if not tables.slips[way, tier] and sway == 0.0:
                continue
            count = min(int(layers[tier]), most - 1)
            drop = tables.drop[way, tier]
            slow = tables.static[way, tier, count]
            slip = slow + (drop + residual * (1.0 - drop)) * (
                tables.sudden[way, tier, count] - slow
            )
            slip += sway
            if slip > tables.slip_limit * (1.0 + _ROUNDING):
                return False
            reach = slip / tables.scale
            pull = tables.pull[way, tier, count] * reach / math.sqrt(1.0 + reach * reach)
            comes_back = pull > tables.stuck[way, tier]
            if relaxed:
                comes_back = tables.returns[way, tier, count]
            top += slip
            kept += min(tables.stays[way, tier, count], slip) if comes_back else slip
            if not tables.slips[way, tier]:
                continue
            if first and not relaxed and pull > tables.push_room[way] * (1.0 + _ROUNDING):
                return False
            first = False
        if top > tables.top_limit[way] * (1.0 + _ROUNDING):
            return False
        if kept > tables.kept_limit * (1.0 + _ROUNDING):
            return False
    return True


@compiled()
def least_layers_each(tables, slips, most):  # type: ignore[no-untyped-def]
    """Layers below which an interface cannot stand, with most layers over all others, shape (m,).

    Args:
        tables: a `TierTables`.
        slips: interfaces that slip in some way; 0 layers for the others, shape (m,).
        most: layers over the others; all are infinite where these do not stand [-].
    """
    tiers = slips.shape[0]
    least, trial = np.zeros(tiers), np.full(tiers, float(most))
    if not tiers_stand(tables, trial, True):
        return np.full(tiers, np.inf)
    for tier in range(tiers):
        if not slips[tier]:
            continue
        low, high = -1, most
        while high - low > 1:
            middle = (low + high) // 2
            trial[tier] = float(middle)
            if tiers_stand(tables, trial, True):
                high = middle
            else:
                low = middle
        least[tier], trial[tier] = float(high), float(most)
    return least


@compiled(inline="always")
def _layers_over(least, low, high, layers):  # type: ignore[no-untyped-def]
    """Whole layers over each interface with so many wraps at the bottom and the top."""
    for tier in range(layers.shape[0]):
        laid = min(least[tier, 0], least[tier, 1] + low)
        laid = min(laid, least[tier, 2] + high)
        laid = min(laid, least[tier, 3] + low + high)
        layers[tier] = 0.0 if laid == np.inf else math.floor(laid + 1e-7)


@compiled()
def add_tier_wraps(tables, zones, helices, limits, film, added):  # type: ignore[no-untyped-def]
    """Add whole wraps at bottom and top, as little film as will do, until the tiers stand.

    Args:
        tables: a `TierTables`.
        zones: index of the first height of each interface's zone and of the first beyond it,
            shape (m, 2).
        helices: what each helix lays by itself, a `HelixLayers`.
        limits: where wraps can be laid, a `WrapLimits`.
        film: film of a wrap at the bottom and at the top, and most that may be added to each
            helix [m], [m], shape (programs,) [m].
        added: wraps that are there already, an `AddedWraps`; it is changed.
    """
    heights = helices.heights
    width, lowest, highest = limits.film_width, limits.lowest_edge, limits.highest_edge
    tiers = zones.shape[0]
    by_low, by_high, room = film
    # Least layers in a zone where wraps lie at neither end, the bottom, the top and both.
    least = np.empty((tiers, 4))
    layers = np.zeros(tiers)
    for program in range(helices.least.shape[0]):
        if not added.possible[program] or room[program] < 0.0:
            added.possible[program] = False
            continue
        edges, wraps = added.band_edges[program], added.band_wraps[program]
        least[:, :] = np.inf
        for tier in range(tiers):
            for index in range(zones[tier, 0], zones[tier, 1]):
                height = heights[index]
                laid = float(helices.least[program, index])
                laid += laid_at_stops(height, width, edges.shape[0], edges, wraps)
                place = 1 if covers(lowest, width, height) else 0
                if covers(highest, width, height):
                    place += 2
                least[tier, place] = min(least[tier, place], laid)
        low = limits.bottom_wraps + added.bottom_added[program]
        high = limits.top_wraps + added.top_added[program]
        best, best_low, best_high = np.inf, 0.0, 0.0
        most = room[program] + 1e-9
        room_low = min(limits.bottom_room - added.bottom_added[program], _MOST_ADDED)
        room_high = min(limits.top_room - added.top_added[program], _MOST_ADDED)
        _layers_over(least, low + room_low, high + room_high, layers)
        if not tiers_stand(tables, layers, True):
            added.possible[program] = False
            continue
        for more_low in range(int(room_low) + 1):
            if more_low * by_low >= min(best, most):
                break
            for more_high in range(int(room_high) + 1):
                cost = more_low * by_low + more_high * by_high
                if cost >= min(best, most):
                    break
                _layers_over(least, low + more_low, high + more_high, layers)
                if tiers_stand(tables, layers, False):
                    best, best_low, best_high = cost, float(more_low), float(more_high)
                    break
        if best == np.inf:
            added.possible[program] = False
            continue
        added.bottom_added[program] += best_low
        added.top_added[program] += best_high
        if best > 0.0:
            bottom, top = added.bottom_added[program], added.top_added[program]
            mean = helices.mean[program]
            added.most_mean[program] = largest_mean(
                heights, mean, limits, bottom, top, edges, wraps
            )
