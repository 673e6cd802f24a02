"""Film at equal hold: what the candidate would take, wrapped until it holds what the baseline does.

Hold grows in proportion to film (more turns of the same film at the same force), so

    film at equal hold = film ratio / hold ratio

The hold ratio is the geometric mean of the zones' pull-reading ratios. All zones count alike and
their correlation is used; none is picked for being the worst. What a single zone holds is judged
beside it, against the margin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.trial.compare import ALPHA_ONE_SIDED, LEVEL, TrialInterval
from woold.trial.ratio import student_quantile
from woold.trial.treatment_means import TreatmentMeans, joint_covariance
from woold.words import say

__all__ = ["EqualHold", "LogRatio", "equal_hold", "film_at_equal_hold", "log_ratio_of"]


@dataclass(frozen=True, slots=True)
class LogRatio:
    """ln(candidate/baseline) of something, its standard error and that error's freedom."""

    estimate: float
    error: float
    df: float

    def interval(self, level: float = LEVEL) -> TrialInterval:
        """Interval of the ratio by Student's t."""
        reach = student_quantile(0.5 + level / 2.0, self.df) * self.error
        return TrialInterval(
            math.exp(self.estimate - reach),
            math.exp(self.estimate + reach),
            level,
            say("log ratio"),
        )


@dataclass(frozen=True, slots=True)
class EqualHold:
    """Film and hold together, all zones that were read.

    Args:
        zones: which zones.
        film_ratio: film mass, candidate over baseline.
        hold_ratio: pull readings, candidate over baseline, geometric mean over the zones.
        hold_interval: its 95 % interval.
        film_at_equal_hold: film ratio were the candidate wrapped to the baseline's hold.
        interval: its 95 % interval.
        hold_at_equal_film: hold ratio were the film that is saved spent on turns.
        hold_at_equal_film_interval: its 95 % interval.
        film_in_every_zone_limit: film ratio that would hold at least as much in every single zone,
            97.5 % upper limit.
        correlation: of film and hold (their log ratios).
        zone_correlation: of the zones among themselves, mean; null with one zone.
        covariance: of (ln film ratio, ln hold ratio).
        degrees_of_freedom: of that covariance.
    """

    zones: tuple[str, ...]
    film_ratio: float
    hold_ratio: float
    hold_interval: TrialInterval
    film_at_equal_hold: float
    interval: TrialInterval
    hold_at_equal_film: float
    hold_at_equal_film_interval: TrialInterval
    film_in_every_zone_limit: float
    correlation: float
    zone_correlation: float | None
    covariance: tuple[tuple[float, float], tuple[float, float]]
    degrees_of_freedom: float


def log_ratio_of(means: TreatmentMeans) -> LogRatio:
    """ln(candidate/baseline) of one quantity."""
    return LogRatio(math.log(means.ratio), means.log_ratio_error, means.degrees_of_freedom())


def film_at_equal_hold(film: TreatmentMeans, zones: Sequence[TreatmentMeans]) -> LogRatio:
    """ln(film ratio / hold ratio), with the covariance of film and all zones.

    Args:
        film: film mass.
        zones: pull readings of each zone, at least one.
    """
    covariance = joint_covariance([film, *zones])
    contrast = np.array([1.0, *(-1.0 / len(zones) for _ in zones)])
    logs = np.array([math.log(film.ratio), *(math.log(each.ratio) for each in zones)])
    return LogRatio(
        float(contrast @ logs),
        math.sqrt(max(float(contrast @ covariance @ contrast), 0.0)),
        _freedom([film, *zones]),
    )


def _freedom(means: Sequence[TreatmentMeans]) -> float:
    """The least of the quantities' degrees of freedom: to the safe side."""
    return min(each.degrees_of_freedom() for each in means)


def equal_hold(
    film: TreatmentMeans, names: Sequence[str], zones: Sequence[TreatmentMeans]
) -> EqualHold | None:
    """Film and hold together; None where no zone was read.

    Args:
        film: film mass.
        names: of the zones.
        zones: pull readings of each zone.
    """
    if not zones:
        return None
    covariance = joint_covariance([film, *zones])
    count = len(zones)
    to_pair = np.zeros((2, count + 1))
    to_pair[0, 0] = 1.0
    to_pair[1, 1:] = 1.0 / count
    pair = to_pair @ covariance @ to_pair.T
    df = _freedom([film, *zones])
    hold = LogRatio(
        float(np.mean([math.log(each.ratio) for each in zones])), math.sqrt(max(pair[1, 1], 0)), df
    )
    equal = film_at_equal_hold(film, zones)
    spent = LogRatio(-equal.estimate, equal.error, df)
    product = math.sqrt(max(float(pair[0, 0] * pair[1, 1]), 0.0))
    return EqualHold(
        zones=tuple(names),
        film_ratio=film.ratio,
        hold_ratio=math.exp(hold.estimate),
        hold_interval=hold.interval(),
        film_at_equal_hold=math.exp(equal.estimate),
        interval=equal.interval(),
        hold_at_equal_film=math.exp(spent.estimate),
        hold_at_equal_film_interval=spent.interval(),
        film_in_every_zone_limit=max(_upper_limit(film, each) for each in zones),
        correlation=float(pair[0, 1]) / product if product > 0.0 else 0.0,
        zone_correlation=_mean_correlation(covariance[1:, 1:]),
        covariance=(
            (float(pair[0, 0]), float(pair[0, 1])),
            (float(pair[1, 0]), float(pair[1, 1])),
        ),
        degrees_of_freedom=df,
    )


def _upper_limit(film: TreatmentMeans, zone: TreatmentMeans) -> float:
    """Upper limit of the film at equal hold in one zone.

    The largest of these over all zones is a limit for every zone together: whichever zone needs
    most film, its own limit covers it in 97.5 % of trials.
    """
    found = film_at_equal_hold(film, [zone])
    return math.exp(found.estimate + student_quantile(1 - ALPHA_ONE_SIDED, found.df) * found.error)


def _mean_correlation(covariance: NDArray[np.float64]) -> float | None:
    count = covariance.shape[0]
    errors = np.sqrt(np.clip(np.diag(covariance), 0.0, None))
    if count < 2 or not (errors > 0.0).all():
        return None
    correlation = covariance / np.outer(errors, errors)
    return float((correlation.sum() - count) / (count * (count - 1)))
