"""An average beside its fit: what is predicted of the mean, and what of a single load."""

from __future__ import annotations

import math
from dataclasses import dataclass

from woold.trial.averages import Average
from woold.trial.ratio import student_quantile
from woold.trial.table import LoadTable

__all__ = ["FittedReading", "fitted_reading"]


@dataclass(frozen=True, slots=True)
class FittedReading:
    """One average (SI).

    Args:
        what: what it is, in words.
        kind: what it is, for programs.
        load_type: of which loads.
        readings: loads behind it.
        measured: the average.
        relative_error: its standard error.
        before, after: predicted with the case's and with the fitted values; of the mean.
        load_low, load_high: 90 % range of a single load.
        unit: SI unit.
    """

    what: str
    kind: str
    load_type: str
    readings: int
    measured: float
    relative_error: float
    before: float
    after: float
    load_low: float
    load_high: float
    unit: str


def fitted_reading(
    each: Average, table: LoadTable, log_fits: tuple[float, float], misfit: float
) -> FittedReading:
    """An average with its fit and the range of a single load.

    A load differs from the mean by its own spread and by what the mean may be off:
    ln load = ln fit +- t sqrt(spread^2 + error^2).

    Args:
        each: the average.
        table: the loads.
        log_fits: ln of what is predicted before and after.
        misfit: of the fit, in standard errors.
    """
    before, after = log_fits
    mean_error = each.log_error * max(misfit, 1.0)
    reach = student_quantile(0.95, max(each.spread_freedom, 3))
    reach *= math.hypot(each.load_spread, mean_error)
    return FittedReading(
        what=each.described,
        kind=each.what,
        load_type=table.type_names[each.load_type],
        readings=each.values,
        measured=math.exp(each.log_mean),
        relative_error=each.log_error,
        before=math.exp(before),
        after=math.exp(after),
        load_low=math.exp(after - reach),
        load_high=math.exp(after + reach),
        unit=each.unit,
    )
