"""The three charts of one series, set up on its first values, with the steps of its level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from woold.watch.charts import (
    Array,
    CusumChart,
    EwmaChart,
    IndividualsChart,
    Mask,
    SetUp,
    cusum_chart,
    ewma_chart,
    individuals_chart,
    set_up,
)
from woold.watch.level_steps import LevelStep, level_steps
from woold.watch.run_length import cusum_limit_for, ewma_width_for, individuals_width_for
from woold.watch.settings import ChartSettings

__all__ = ["ChartSet", "chart_set_of"]


@dataclass(frozen=True, slots=True)
class ChartSet:
    """One series on its charts.

    Args:
        set_up: of its first values.
        individuals, ewma, cusum: the charts of all values.
        steps: of the level.
        recent: mean since the last step, or since the set-up phase where none came after it.
    """

    set_up: SetUp
    individuals: IndividualsChart
    ewma: EwmaChart
    cusum: CusumChart
    steps: tuple[LevelStep, ...]
    recent: float

    @property
    def signals(self) -> Mask:
        """Values after the set-up phase that any chart signals."""
        found = self.individuals.signals | self.ewma.signals | self.cusum.signals
        found[: self.set_up.count] = False
        return found


def chart_set_of(values: Array, setup: int, every: float, settings: ChartSettings) -> ChartSet:
    """Charts of a series.

    Args:
        values: in order, shape (n,).
        setup: values of the set-up phase.
        every: values between two false alarms, all three charts together at worst.
        settings: weight of the newest value and shift to find.

    Raises:
        InputError: too few values in the set-up phase, or values that never change.
    """
    found = set_up(values[:setup])
    every = 3.0 * every  # of each chart
    centre, sigma = found.centre, found.sigma
    slack = 0.5 * settings.shift_to_find
    steps = level_steps(values)
    start = max(steps[-1].index if steps else 0, min(setup, values.size - 1))
    return ChartSet(
        set_up=found,
        individuals=individuals_chart(values, centre, sigma, individuals_width_for(every, setup)),
        ewma=ewma_chart(
            values,
            centre,
            sigma,
            settings.ewma_weight,
            ewma_width_for(every, settings.ewma_weight, setup),
        ),
        cusum=cusum_chart(
            values, centre, slack * sigma, cusum_limit_for(every, slack, setup) * sigma
        ),
        steps=tuple(steps),
        recent=float(np.mean(values[start:])),
    )
