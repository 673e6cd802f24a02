"""What a change is believed to save, and what one more trial of it would be worth.

Before a trial a combination is expected to save what a further site would; its own trials are
weighed against that. A trial is worth what the better decision brings: of each machine whether it
gets the carriage or not (expected value of sample information, normal beliefs, linear money).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from woold.sites.effect import saving_of
from woold.sites.next_site import plausible_sites
from woold.sites.pooling import pool
from woold.sites.site_table import Site, SiteTable

__all__ = ["Belief", "chance_above", "first_belief", "moved_by_trial", "trial_value", "weighed"]

_ONE_SIGMA = (0.1587, 0.8413)


@dataclass(frozen=True, slots=True)
class Belief:
    """A normal belief of an effect -ln(1 - saving).

    Args:
        mean, error: of the effect [-].
    """

    mean: float
    error: float

    @property
    def saving(self) -> float:
        """Saving at its mean [-]."""
        return saving_of(self.mean)

    @property
    def saving_error(self) -> float:
        """Standard error of the saving, carried over at the slope of 1 - exp(-effect) [-]."""
        return self.error * math.exp(-self.mean)

    def saving_at(self, share: float) -> float:
        """Saving below which it lies with this chance [-]."""
        from scipy.stats import norm

        return saving_of(self.mean + float(norm.ppf(share)) * self.error)


def first_belief(table: SiteTable) -> Belief:
    """What a combination is believed to save before a trial of its own: what a further site does.

    Args:
        table: of the trials so far.
    """
    pooled = pool(table.effects, table.standard_errors)
    means, spreads = plausible_sites(table.effects, table.standard_errors)
    # A spread with few sites has a heavy tail: quantiles stand in for the variance.
    following = means + spreads * np.random.default_rng(2).standard_normal(means.size)
    low, high = np.quantile(following, _ONE_SIGMA)
    return Belief(pooled.mean, float(high - low) / 2.0)


def weighed(first: Belief, own: Sequence[Site]) -> Belief:
    """A belief with a combination's own trials weighed in.

    As if what differs between sites were the combination and not the load or the crew.

    Args:
        first: before them.
        own: its trials.
    """
    precision = 1.0 / first.error**2
    moment = first.mean * precision
    for site in own:
        precision += 1.0 / site.standard_error**2
        moment += site.effect / site.standard_error**2
    return Belief(moment / precision, math.sqrt(1.0 / precision))


def moved_by_trial(error: float, trial_error: float) -> float:
    """Standard deviation of what is believed after a trial, as seen before it.

    s² = error⁴/(error² + trial_error²)

    Args:
        error: standard deviation of the belief now.
        trial_error: standard error of the trial.

    Source: Raiffa & Schlaifer, Applied Statistical Decision Theory (1961) ch. 5.
    """
    return 0.0 if error <= 0.0 else error**2 / math.hypot(error, trial_error)


def trial_value(
    spend: float, expected: float, error: float, trial_error: float, needed: float
) -> float:
    """Money that one more trial brings by a better decision.

    EVSI = spend s L(|expected - needed|/s), L(z) = phi(z) - z (1 - Phi(z)),
    s as of :func:`moved_by_trial`.

    Args:
        spend: money that the saving is a share of [currency].
        expected: saving expected now [-].
        error: standard deviation of that belief [-].
        trial_error: standard error of the trial [-].
        needed: saving that pays for the change [-].

    Source: Raiffa & Schlaifer, Applied Statistical Decision Theory (1961) ch. 5.
    """
    from scipy.stats import norm

    moved = moved_by_trial(error, trial_error)
    if moved <= 0.0:
        return 0.0
    distance = abs(expected - needed) / moved
    return float(spend * moved * (norm.pdf(distance) - distance * norm.sf(distance)))


def chance_above(belief: Belief, saving: float) -> float:
    """Chance that the true saving is more than this.

    Phi((mean + ln(1 - saving))/error)

    Args:
        belief: of the effect.
        saving: [-]; nothing saves 100 % or more.
    """
    from scipy.stats import norm

    if saving >= 1.0:
        return 0.0
    return float(norm.cdf((belief.mean + math.log1p(-saving)) / belief.error))
