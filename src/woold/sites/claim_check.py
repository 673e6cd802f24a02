"""Whether the sites carry a claim, and the strongest claims that they do carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from woold.sites.best_by_chance import (
    LargestByChance,
    chance_that_largest_reaches,
    largest_by_chance,
)
from woold.sites.between_sites import Array
from woold.sites.claim_parts import ClaimPart
from woold.sites.effect import effect_of, saving_of
from woold.sites.next_site import ShareOfSites, plausible_sites, share_of
from woold.sites.pooling import Pooled, pool

__all__ = [
    "FEW_SHORT",
    "FEW_UP_TO",
    "ClaimStrength",
    "PartVerdict",
    "StrongestClaims",
    "check_claim",
    "claim_strength",
    "strongest_claims",
]

ClaimStrength = Literal["none", "average", "next site"]
ClaimVerdict = Literal["supported", "not shown", "contradicted"]

# Conventions of this program: "up to x %" is fair when one site in twenty or more truly saves it,
# "every site" when no more than one in twenty falls short; no number of trials shows every site.
FEW_UP_TO = 0.05
FEW_SHORT = 0.05

_ROUNDING = 0.0005  # a claim is typed to a tenth of a per cent: 5.0 % stands for up to 5.05 %


@dataclass(frozen=True, slots=True)
class PartVerdict:
    """What the sites say about one part of a claim.

    Args:
        part: what was claimed.
        verdict: ``"not shown"`` is not ruled out either.
        pooled: the average, at the confidence that was claimed.
        share: of sites that truly save this much or more; None for averages.
        shown_otherwise: sites whose own result rules out that they do as claimed.
        largest_seen: effect of the best site; for "up to".
        largest_by_chance: what the best site would show if all sites saved the average.
        chance_if_equal: that a result reaches the claim although all sites are equal.
    """

    part: ClaimPart
    verdict: ClaimVerdict
    pooled: Pooled
    share: ShareOfSites | None = None
    shown_otherwise: int = 0
    largest_seen: float | None = None
    largest_by_chance: LargestByChance | None = None
    chance_if_equal: float | None = None


@dataclass(frozen=True, slots=True)
class StrongestClaims:
    """The most that the sites carry, as savings.

    Args:
        average: the estimate, with the ends of its interval.
        average_low, average_high: these ends.
        every_site: that no more than one site in twenty falls short of.
        up_to: that one site in twenty or more truly saves.
    """

    average: float
    average_low: float
    average_high: float
    every_site: float
    up_to: float


def claim_strength(pooled: Pooled) -> ClaimStrength:
    """How far the numbers carry: nothing, an average, or the next site too."""
    if pooled.low <= 0.0:
        return "none"
    return "next site" if pooled.prediction_low > 0.0 else "average"


def check_claim(
    parts: Sequence[ClaimPart], effects: Array, standard_errors: Array, pooled: Pooled
) -> tuple[PartVerdict, ...]:
    """What the sites say about each part of a claim.

    Args:
        parts: of the claim.
        effects, standard_errors: of the sites, shape (sites,).
        pooled: their average; it is made anew where a part claims another confidence.
    """
    effects = np.asarray(effects, float)
    errors = np.asarray(standard_errors, float)
    verdicts = []
    for part in parts:
        whole = pooled
        if part.confidence is not None and part.confidence != pooled.confidence:
            whole = pool(effects, errors, pooled.estimator, pooled.convention, part.confidence)
        if part.subject in ("average", "typical"):
            verdicts.append(PartVerdict(part, _of_average(part, whole), whole))
        elif part.subject == "best site":
            verdicts.append(_of_best(part, effects, errors, whole))
        elif part.subject == "share of sites":
            verdicts.append(_of_share(part, effects, errors, whole))
        else:
            verdicts.append(_of_every(part, effects, errors, whole))
    return tuple(verdicts)


def _of_average(part: ClaimPart, pooled: Pooled) -> ClaimVerdict:
    """The median site is judged like the average: effects spread evenly about their mean."""
    low, mean, high = (saving_of(each) for each in (pooled.low, pooled.mean, pooled.high))
    if part.relation in ("at most", "less than"):
        if high <= part.saving:
            return "supported"
        return "contradicted" if low > part.saving else "not shown"
    is_estimate = part.saving <= mean + _ROUNDING and low > 0.0
    if part.low is not None and part.high is not None:
        if part.low > high or part.high < low:
            return "contradicted"
        is_wide = part.low <= low + _ROUNDING and part.high >= high - _ROUNDING
        return "supported" if is_wide and is_estimate else "not shown"
    if part.saving <= low:
        return "supported"
    if part.saving > high:
        return "contradicted"
    return "supported" if part.relation == "about" and is_estimate else "not shown"


def _of_best(part: ClaimPart, effects: Array, errors: Array, pooled: Pooled) -> PartVerdict:
    claimed = effect_of(part.saving)
    share = share_of(plausible_sites(effects, errors), claimed, pooled.confidence)
    # One site on its own has shown it, allowing for its having been picked as the best of all.
    shown = bool(np.any(effects - _picked_reach(effects.size, pooled) * errors >= claimed))
    # Sites that may all be equal carry no more than their average: simulated tables of equal sites
    # else gave a false "up to" in 8 to 15 % of cases.
    differ = pooled.tau2_low > 0.0 and share.low >= FEW_UP_TO
    verdict: ClaimVerdict = "not shown" if share.high >= FEW_UP_TO else "contradicted"
    if shown or differ or claimed <= pooled.low:
        verdict = "supported"
    return PartVerdict(
        part,
        verdict,
        pooled,
        share,
        largest_seen=float(effects.max()),
        largest_by_chance=largest_by_chance(pooled.mean, errors),
        chance_if_equal=chance_that_largest_reaches(claimed, pooled.mean, errors),
    )


def _of_share(part: ClaimPart, effects: Array, errors: Array, pooled: Pooled) -> PartVerdict:
    assert part.share is not None
    share = share_of(plausible_sites(effects, errors), effect_of(part.saving), pooled.confidence)
    verdict: ClaimVerdict = "not shown"
    if share.low >= part.share:
        verdict = "supported"
    elif share.high < part.share:
        verdict = "contradicted"
    return PartVerdict(part, verdict, pooled, share)


def _of_every(part: ClaimPart, effects: Array, errors: Array, pooled: Pooled) -> PartVerdict:
    claimed = effect_of(part.saving)
    share = share_of(plausible_sites(effects, errors), claimed, pooled.confidence)
    reach = _picked_reach(effects.size, pooled) * errors
    if part.relation in ("at least", "more than"):
        others = int((effects + reach < claimed).sum())
        is_few = share.low >= 1.0 - FEW_SHORT
        is_ruled_out = pooled.prediction_high < claimed or share.high < 1.0 - FEW_SHORT
    else:
        others = int((effects - reach > claimed).sum())
        is_few = share.high <= FEW_SHORT
        is_ruled_out = pooled.prediction_low > claimed or share.low > FEW_SHORT
    verdict: ClaimVerdict = "supported" if is_few else "not shown"
    if others or is_ruled_out:
        verdict = "contradicted"
    return PartVerdict(part, verdict, pooled, share, others)


def _picked_reach(sites: int, pooled: Pooled) -> float:
    """Standard errors on either side of the one that was picked out of so many."""
    from scipy.special import ndtri

    return float(ndtri(1.0 - (1.0 - pooled.confidence) / 2.0 / sites))


def strongest_claims(effects: Array, standard_errors: Array, pooled: Pooled) -> StrongestClaims:
    """The most that :func:`check_claim` supports of each kind.

    Args:
        effects, standard_errors: of the sites, shape (sites,).
        pooled: their average.
    """
    from scipy.special import ndtri

    effects = np.asarray(effects, float)
    errors = np.asarray(standard_errors, float)
    means, spreads = plausible_sites(effects, errors)
    reach = _picked_reach(effects.size, pooled) * errors
    tail = (1.0 - pooled.confidence) / 2.0

    def largest(least_share: float) -> float:
        """Largest effect that at least this share of sites truly has: Phi((mean - x)/tau) turned
        round, so that its low limit is the share."""
        return float(np.quantile(means - float(ndtri(least_share)) * spreads, tail))

    every = min(largest(1.0 - FEW_SHORT), float((effects + reach).min()))
    up_to = max(pooled.low, float((effects - reach).max()))
    if pooled.tau2_low > 0.0:
        up_to = max(up_to, largest(FEW_UP_TO))
    return StrongestClaims(
        average=saving_of(pooled.mean),
        average_low=saving_of(pooled.low),
        average_high=saving_of(pooled.high),
        every_site=saving_of(every),
        up_to=saving_of(up_to),
    )
