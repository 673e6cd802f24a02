"""What a number of loads can show: the chances, and the smallest saving and margin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from woold.trial.fitted_once import step_factor
from woold.trial.looks import LookLimits, exit_probabilities, look_limits
from woold.trial.power import log_sd, noninferiority_power, t_power
from woold.trial.ratio import student_quantile
from woold.trial.setup import Aim, FittedOnce

__all__ = ["ALPHA", "Sight", "Size", "what_loads_show", "what_rolls_show"]

ALPHA = 0.025
"""One-sided error of every part of a claim."""


@dataclass(frozen=True, slots=True)
class Size:
    """How large a trial is.

    Args:
        by_type: loads of each load type of each treatment, each at least 1.
        shares: weight of each type, sum 1.
        blocks: number of blocks.
        zones: number of zones, each of which must hold.
    """

    by_type: tuple[int, ...]
    shares: tuple[float, ...]
    blocks: int
    zones: int


@dataclass(frozen=True, slots=True)
class Sight:
    """What a number of loads of each treatment can see.

    Args:
        loads: of each treatment.
        half_width: half of the expected 95 % interval of film at equal hold, as a share.
        film_power: chance of showing that film is less, by the saving asked for.
        equal_hold_power: chance of showing the saving at equal hold, if it is there.
        containment_power: chance of showing one zone's containment not lower, if it is equal.
        both_power: least chance of showing the saving at equal hold and all zones.
        smallest_saving: saving at equal hold that would be seen with the power asked for.
        smallest_margin: margin that one zone would keep with that power, if equal.
        expected_loads: of each treatment, wrapped on average where the trial ends at the first
            look that shows everything, if the saving is there (parts taken as independent).
    """

    loads: int
    half_width: float
    film_power: float
    equal_hold_power: float
    containment_power: float
    both_power: float
    smallest_saving: float
    smallest_margin: float
    expected_loads: float


def what_loads_show(aim: Aim, size: Size, limits: LookLimits | None = None) -> Sight:
    """What so many loads can show, by the noncentral t; looks by their drift.

    The error of ln(candidate/baseline) is s sqrt(2 sum of share^2/n); blocks, types and treatments
    take degrees of freedom. Hold is the mean of the zones: its error is a zone's times
    sqrt((1 + (zones - 1) correlation)/zones), on the loads whose pulls are not missing. Film and
    hold of one load are taken as independent, to the safe side. The chance of showing everything
    is at least one less the sum of the chances of missing each part, whatever their dependence
    (Bonferroni).

    Args:
        aim: what must be shown, with the spreads.
        size: loads, types, blocks and zones.
        limits: of the looks; one look at the end if not given.
    """
    limits = limits or look_limits((1.0,))
    loads, types = sum(size.by_type), len(size.by_type)
    read = [max(count * (1.0 - aim.pulls_missing), 1.0) for count in size.by_type]
    df = _freedom(loads, types, size.blocks)
    hold_df = _freedom(sum(read), types, size.blocks)
    film_error = log_sd(aim.film_spread) * _factor(size.by_type, size.shares)
    zone_error = log_sd(aim.containment_spread) * _factor(read, size.shares)
    shared = (1.0 + (size.zones - 1) * aim.zone_correlation) / size.zones
    equal_error = math.hypot(film_error, zone_error * math.sqrt(shared))
    saving = -math.log1p(-aim.saving)

    film = _with_looks(t_power(saving / film_error, df, ALPHA), limits)
    equal = _with_looks(t_power(saving / equal_error, hold_df, ALPHA), limits)
    zone = _with_looks(noninferiority_power(1.0, aim.margin, zone_error, hold_df, ALPHA), limits)
    both = np.maximum(1.0 - (1.0 - equal) - size.zones * (1.0 - zone), 0.0)
    quantile = student_quantile(1 - ALPHA, hold_df)
    return Sight(
        loads=loads,
        half_width=math.sinh(quantile * equal_error),
        film_power=float(film[-1]),
        equal_hold_power=float(equal[-1]),
        containment_power=float(zone[-1]),
        both_power=float(both[-1]),
        smallest_saving=-math.expm1(-_seen_shift(hold_df, aim.power) * equal_error),
        smallest_margin=-math.expm1(-_seen_shift(hold_df, aim.power) * zone_error),
        expected_loads=loads * _expected_share(equal * zone**size.zones, limits),
    )


def what_rolls_show(aim: Aim, fitted: FittedOnce, rolls: int, loads: int, zones: int) -> Sight:
    """What so many rolls before and after can show, where the change is made once.

    A roll's mean scatters by its own spread, the wander, and the loads' spread over the root of
    its weighed loads; beside an unchanged machine by the root of two more, but without a drift.

    Args:
        aim: what must be shown, with the spreads from load to load.
        fitted: spreads from roll to roll and week to week.
        rolls: before, and as many after.
        loads: weighed of each roll.
        zones: number of zones.
    """
    factor, df = step_factor(rolls, rolls, with_drift=not fitted.control)
    factor *= math.sqrt(2.0) if fitted.control else 1.0
    slow = fitted.roll_spread**2 + fitted.wander**2
    read = max(loads * (1.0 - aim.pulls_missing), 0.5)
    shared = (1.0 + (zones - 1) * aim.zone_correlation) / zones
    zone = aim.containment_spread**2 / read
    film_error = factor * math.sqrt(slow + aim.film_spread**2 / loads)
    zone_error = factor * math.sqrt(fitted.wander**2 + zone)
    equal_error = factor * math.sqrt(slow + aim.film_spread**2 / loads + zone * shared)
    saving = -math.log1p(-aim.saving)
    equal_power = t_power(saving / equal_error, df, ALPHA)
    zone_power = noninferiority_power(1.0, aim.margin, zone_error, df, ALPHA)
    return Sight(
        loads=rolls * loads,
        half_width=math.sinh(student_quantile(1 - ALPHA, df) * equal_error),
        film_power=t_power(saving / film_error, df, ALPHA),
        equal_hold_power=equal_power,
        containment_power=zone_power,
        both_power=max(1.0 - (1.0 - equal_power) - zones * (1.0 - zone_power), 0.0),
        smallest_saving=-math.expm1(-_seen_shift(df, aim.power) * equal_error),
        smallest_margin=-math.expm1(-_seen_shift(df, aim.power) * zone_error),
        expected_loads=float(rolls * loads),
    )


def _factor(counts: Sequence[float], shares: Sequence[float]) -> float:
    return math.sqrt(2 * sum(share**2 / n for share, n in zip(shares, counts, strict=True)))


def _freedom(loads: float, types: int, blocks: int) -> float:
    return max(2 * loads - 2 * types - (blocks - 1), 1.0)


def _with_looks(power: float, limits: LookLimits) -> np.ndarray:
    """Chance of having shown it by each look, where a single look at the end has this power.

    The drift is the one at which a single look has this power.
    """
    from scipy import special

    inside = min(max(power, 1e-12), 1.0 - 1e-12)
    drift = float(special.ndtri(inside) - special.ndtri(limits.alpha))
    if len(limits.times) == 1:
        return np.array([power])
    above, _ = exit_probabilities(limits.times, limits.limits, drift)
    return np.asarray(np.cumsum(above))


def _expected_share(shown: np.ndarray, limits: LookLimits) -> float:
    """Share of the plan wrapped on average where everything was shown by each look so often."""
    going_on = np.concatenate(([1.0], 1.0 - shown[:-1]))
    steps = np.diff(np.concatenate(([0.0], limits.times)))
    return float(going_on @ steps)


def _seen_shift(df: float, power: float) -> float:
    """Centre of a t statistic that is seen with the power."""
    from scipy.optimize import brentq

    high = 4.0
    while t_power(high, df, ALPHA) < power:
        high *= 2
    return float(brentq(lambda shift: t_power(shift, df, ALPHA) - power, 0.0, high))
