"""A trial that was not learnt from, beside what the others say of it; and their plain average."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.learning.forecast import saving_draws
from woold.learning.learned import Learned, estimate
from woold.learning.wrapped import time_of
from woold.prediction.yearly import Estimate
from woold.sites.from_store import site_of_trial
from woold.sites.pooling import pool
from woold.sites.site_table import Site
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS
from woold.uncertainty.draws import SCORE_AT_END
from woold.words import say

__all__ = ["HeldBack", "PlainAverage", "held_back", "plain_average"]

Array = npt.NDArray[np.float64]

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
    setup = records.setup
    site = site_of_trial(records)
    pairs = []
    for each in setup.trial.load_types:
        baseline, candidate = (setup.case(each.name, way) for way in TREATMENTS)
        if baseline is not None and candidate is not None:
            pairs.append((baseline, candidate, float(each.loads_per_year)))
    if not pairs:
        raise InputError.one(
            setup.trial.key,
            say("no load type with a case of both treatments"),
            say("case files of baseline and candidate"),
            say("Name the case files in the trial file."),
        )
    true = -np.log1p(-saving_draws(learned, pairs, time_of(records)))
    chance = np.random.default_rng(4).standard_normal(len(true))
    expected = estimate(1.0 - np.exp(-(true + site.standard_error * chance)))
    reach = SCORE_AT_END * site.standard_error
    ends = [1.0 - math.exp(-(site.effect + side)) for side in (-reach, reach)]
    plain = plain_average(others)
    return HeldBack(
        setup.trial.key,
        expected,
        Estimate(site.saving, *ends),
        expected.low <= site.saving <= expected.high,
        plain,
        None if plain is None else plain.further_site.low <= site.saving <= plain.further_site.high,
    )
