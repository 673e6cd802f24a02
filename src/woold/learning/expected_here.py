"""What other trials let expect of one trial, version by version of what was learnt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.errors import InputError
from woold.learning.forecast import Forecast, forecast, saving_draws
from woold.learning.forecast_draws import ForecastDraws
from woold.learning.learned import estimate
from woold.learning.versions import LearningVersion
from woold.learning.wrapped import time_of
from woold.prediction.yearly import Estimate
from woold.sites.from_store import site_of_trial
from woold.sites.site_table import Site
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.uncertainty.draws import SCORE_AT_END
from woold.words import say

__all__ = [
    "BesideExpected",
    "ExpectedHere",
    "ExpectedStep",
    "beside_expected",
    "case_pairs",
    "expected_here",
]

Array = npt.NDArray[np.float64]

Pair = tuple[Case, Case, float]  # baseline, candidate, loads a year


@dataclass(frozen=True, slots=True)
class ExpectedStep:
    """The saving that was expected with one version of what was learnt.

    Args:
        version: which; None for ranges alone, before any trial.
        saving: of film at a further site with this trial's cases, median and middle 90 %.
        has_own: whether this trial's own loads were learnt from.
    """

    version: LearningVersion | None
    saving: Estimate
    has_own: bool


@dataclass(frozen=True, slots=True)
class BesideExpected:
    """A saving that was measured, beside what was expected.

    Args:
        expected: saving that the trial was expected to measure, with its own error; median and
            middle 90 %.
        measured: what it measured, with its 90 % interval.
        is_inside: whether that lies within what was expected.
    """

    expected: Estimate
    measured: Estimate
    is_inside: bool


@dataclass(frozen=True, slots=True)
class ExpectedHere:
    """What other trials let expect of one trial.

    Args:
        steps: how it came to be, from ranges alone to the latest version.
        beside: what the trial measured so far, beside the latest version without its own loads;
            None where there is no such version, or too little was measured.
        next: forecast of the load type that is wrapped most, by the latest version: what to
            measure next.
    """

    steps: tuple[ExpectedStep, ...]
    beside: BesideExpected | None
    next: Forecast


def case_pairs(setup: TrialSetup) -> list[Pair]:
    """Baseline, candidate and loads a year of each load type that has both cases.

    Raises:
        InputError: none has.
    """
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
    return pairs


def beside_expected(savings: Array, site: Site) -> BesideExpected:
    """What a site measured, beside draws of its true saving.

    Args:
        savings: shape (draws,) [-].
        site: with its effect and standard error.
    """
    true = -np.log1p(-savings)
    chance = np.random.default_rng(4).standard_normal(len(true))
    expected = estimate(1.0 - np.exp(-(true + site.standard_error * chance)))
    reach = SCORE_AT_END * site.standard_error
    ends = [1.0 - math.exp(-(site.effect + side)) for side in (-reach, reach)]
    is_inside = expected.low <= site.saving <= expected.high
    return BesideExpected(expected, Estimate(site.saving, *ends), is_inside)


def expected_here(
    kept: Sequence[tuple[ForecastDraws, LearningVersion]], records: TrialRecords
) -> ExpectedHere:
    """What versions of what was learnt let expect of a trial.

    Args:
        kept: versions, the oldest first; at least one.
        records: of the trial.

    Raises:
        InputError: no load type with both cases.
    """
    setup = records.setup
    pairs = case_pairs(setup)
    when = time_of(records) if records.loads else None
    first = kept[0][0]
    steps = [ExpectedStep(None, estimate(saving_draws(first, pairs, when, is_prior=True)), False)]
    without: Array | None = None
    for learned, version in kept:
        savings = saving_draws(learned, pairs, when)
        has_own = setup.trial.key in version.trials
        steps.append(ExpectedStep(version, estimate(savings), has_own))
        without = without if has_own else savings
    baseline, candidate, _ = max(pairs, key=lambda each: each[2])
    asked = setup.trial.aim.saving
    return ExpectedHere(
        tuple(steps),
        None if without is None else _beside(without, records),
        forecast(kept[-1][0], candidate, baseline, asked, when),
    )


def _beside(savings: Array, records: TrialRecords) -> BesideExpected | None:
    try:
        return beside_expected(savings, site_of_trial(records))
    except InputError:
        # Too few loads to compare so far; the trial's own page tells what it lacks.
        return None
