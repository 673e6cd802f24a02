"""A trial that was not learnt from, beside what the others say of it; and their plain average."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from woold.learning.expected_here import beside_expected, case_pairs
from woold.learning.forecast import saving_draws
from woold.learning.learned import Learned
from woold.learning.wrapped import time_of
from woold.prediction.yearly import Estimate
from woold.sites.from_store import site_of_trial
from woold.sites.pooling import pool
from woold.sites.site_table import Site
from woold.trial.records import TrialRecords

__all__ = ["HeldBack", "PlainAverage", "held_back", "plain_average"]

_COVERAGE = 0.90


@dataclass(frozen=True, slots=True)
class PlainAverage:
    """The average over sites, with nothing known of films, carriages and machines.

    Args:
        sites: how many.
        further_site: the average, with the range in which nine of ten further sites lie.
    """

    sites: int
    further_site: Estimate


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A trial that was not learnt from.

    Args:
        trial: its key.
        expected: saving that the trial was expected to measure, median and middle 90 %.
        measured: saving that it measured, with its 90 % interval.
        is_inside: whether the measured saving lies within what was expected.
        plain: the other trials' plain average; null where there are not two.
        is_inside_plain: whether it lies within that one's range; likewise.
    """

    trial: str
    expected: Estimate
    measured: Estimate
    is_inside: bool
    plain: PlainAverage | None
    is_inside_plain: bool | None


def plain_average(sites: Sequence[Site]) -> PlainAverage | None:
    """The plain average over sites; None where there are not two.

    Args:
        sites: trials that can be compared.
    """
    if len(sites) < 2:
        return None
    effects = np.array([each.effect for each in sites])
    errors = np.array([each.standard_error for each in sites])
    found = pool(effects, errors, confidence=_COVERAGE)
    low, middle, high = (
        1.0 - math.exp(-each) for each in (found.prediction_low, found.mean, found.prediction_high)
    )
    return PlainAverage(len(sites), Estimate(middle, low, high))


def held_back(learned: Learned, records: TrialRecords, others: Sequence[Site]) -> HeldBack:
    """A trial beside what the others say of it.

    Args:
        learned: what the other trials teach; it must be trusted.
        records: of the trial.
        others: the other trials that can be compared.

    Raises:
        InputError: too few loads to compare, or no two cases of one load type.
    """
    site = site_of_trial(records)
    savings = saving_draws(learned, case_pairs(records.setup), time_of(records))
    found = beside_expected(savings, site)
    plain = plain_average(others)
    return HeldBack(
        records.setup.trial.key,
        found.expected,
        found.measured,
        found.is_inside,
        plain,
        None if plain is None else plain.further_site.low <= site.saving <= plain.further_site.high,
    )
