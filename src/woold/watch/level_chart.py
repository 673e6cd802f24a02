"""One series on its chart, set up on its first values, with the steps of its level."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.watch.charts import (
    Array,
    Excursion,
    SetUp,
    cumulative_sums,
    set_up,
    sum_excursions,
    weighted_excursions,
    weighted_means,
)
from woold.watch.level_steps import LevelStep, level_steps
from woold.watch.run_length import cusum_limit_for, ewma_width_for
from woold.watch.scores import freed_scores, normal_scores, shift_left
from woold.watch.settings import ChartSettings

__all__ = ["LevelChart", "level_chart"]

_BRIDGE_99 = 1.628  # 99 % quantile of the largest distance of a Brownian bridge from 0


@dataclass(frozen=True, slots=True)
class LevelChart:
    """One series on its chart.

    Args:
        set_up: of its first values.
        values: all of them.
        scores: the same as freed normal scores, which are held against the limit.
        means: weighted means of the values, for the eye.
        upper, lower: what is held against the limit, of scores, upward and downward.
        limit: of both.
        excursions: stretches that signal, after the set-up phase.
        steps: of the level.
        recent: mean since the last step, or since the set-up phase where none came after it.
        autocorrelation: of neighbouring scores; the chart is of what it leaves.
        left_over: correlation of what it leaves; far from 0 where loads hang together otherwise.
        set_up_wanders: the set-up phase changes its level itself.
    """

    set_up: SetUp
    values: Array
    scores: Array
    means: Array
    upper: Array
    lower: Array
    limit: float
    excursions: tuple[Excursion, ...]
    steps: tuple[LevelStep, ...]
    recent: float
    autocorrelation: float
    left_over: float
    set_up_wanders: bool


def level_chart(
    values: Array, setup: int, every: float, settings: ChartSettings, of_means: bool = False
) -> LevelChart:
    """The chart of a series: normal scores by rank in the set-up phase, freed from the one before.

    Args:
        values: in order, shape (n,).
        setup: values of the set-up phase.
        every: values between two false alarms.
        settings: which chart, weight of the newest value, shift to find.
        of_means: the values are means of many loads.

    Raises:
        InputError: too few values in the set-up phase, or values that never change.
    """
    found = set_up(values[:setup])
    setup = found.count
    scores, alike = freed_scores(normal_scores(values, setup, of_means), setup)
    own, after = scores[:setup], scores[setup:]
    if settings.chart == "cusum":
        # Rounded, so that limits are reckoned once for many machines.
        slack = max(0.05, round(0.5 * settings.shift_to_find * shift_left(alike), 2))
        limit = cusum_limit_for(every, slack, setup)
        upper, lower = cumulative_sums(after, 0.0, slack)
        excursions = sum_excursions(after, slack, limit)
    else:
        weight = settings.ewma_weight
        limit = ewma_width_for(every, weight, setup) * math.sqrt(weight / (2.0 - weight))
        upper = weighted_means(after, 0.0, weight)
        lower = -upper
        excursions = weighted_excursions(upper, limit)
    steps = level_steps(values, (1.0 + alike) / (1.0 - alike))
    # Where nothing came after the set-up phase yet, its own level is all that is known.
    start = max(steps[-1].index if steps else 0, setup if setup < values.size else 0)
    nothing = np.zeros(setup)
    bridge = np.abs(np.cumsum(own - own.mean())).max() / (own.std() * math.sqrt(setup))
    left = own - own.mean()
    return LevelChart(
        set_up=found,
        values=values,
        scores=scores,
        means=weighted_means(values, found.centre, settings.ewma_weight),
        upper=np.concatenate([nothing, upper]),
        lower=np.concatenate([nothing, lower]),
        limit=limit,
        excursions=tuple(_moved(each, setup) for each in excursions),
        steps=tuple(steps),
        recent=float(np.mean(values[start:])),
        autocorrelation=alike,
        left_over=float((left[2:] * left[:-2]).sum() / (left**2).sum()),
        set_up_wanders=bool(bridge > _BRIDGE_99) or any(each.index < setup for each in steps),
    )


def _moved(each: Excursion, by: int) -> Excursion:
    return Excursion(each.direction, each.first + by, each.alarm + by, each.last + by, each.is_open)
