"""What is said about sites and about combinations not tried yet, as JSON documents.

Savings are shares, not per cent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from woold.prediction.result import Finding
from woold.rows.document import JsonDocument
from woold.rows.wording import Wording
from woold.sites.analysis import SitesAnalysis
from woold.sites.between_sites import Estimator
from woold.sites.claim_check import ClaimStrength, ClaimVerdict, PartVerdict, claim_strength
from woold.sites.claim_parts import Relation, Subject
from woold.sites.claim_words import HOLD_CAUTION, honest_claim, verdict_reason
from woold.sites.covariates import Explanation
from woold.sites.effect import saving_of
from woold.sites.influence import Influence
from woold.sites.next_site import Convention
from woold.sites.site_table import Site
from woold.words import say

__all__ = ["SitesDocument", "sites_document"]


@dataclass(frozen=True, slots=True)
class SiteSaving:
    """One site, and what it does to the average; nothing is said of that with two sites."""

    site: str
    saving: float
    effect: float
    effect_standard_error: float
    weight: float | None
    average_saving_without: float | None
    average_saving_without_low: float | None
    average_saving_without_high: float | None
    deleted_residual: float | None
    changes_verdict: bool | None


@dataclass(frozen=True, slots=True)
class AverageSaving:
    """The average of all sites."""

    saving: float
    saving_low: float
    saving_high: float
    effect: float
    effect_standard_error: float
    confidence: float
    estimator: Estimator
    interval: str
    widened: bool


@dataclass(frozen=True, slots=True)
class SpreadOfSites:
    """The spread between sites."""

    tau: float
    tau_low: float
    tau_high: float
    interval: str
    q: float
    q_p_value: float
    i2: float


@dataclass(frozen=True, slots=True)
class NextSiteSaving:
    """Where the saving of one further site is expected."""

    saving_low: float
    saving_high: float
    convention: Convention


@dataclass(frozen=True, slots=True)
class SitesThatSave:
    """Share of sites that save so much or more."""

    saving_at_least: float
    share: float
    share_low: float
    share_high: float


@dataclass(frozen=True, slots=True)
class SmallTrials:
    """Whether small trials with poor results are missing."""

    slope: float
    p_value: float
    limit_saving: float
    limit_saving_low: float
    limit_saving_high: float
    enough_sites: bool


@dataclass(frozen=True, slots=True)
class CovariateSlope:
    """How the effect changes with a covariate, and the saving at its lowest and highest."""

    covariate: str
    effect_per_si_unit: float
    effect_per_si_unit_low: float
    effect_per_si_unit_high: float
    p_value: float
    adjusted_p_value: float
    at_si: tuple[float, float]
    saving_at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SpreadExplained:
    """What covariates explain of the spread between sites."""

    tau_left: float
    explained: float | None
    too_few_sites: bool
    slopes: tuple[CovariateSlope, ...]


@dataclass(frozen=True, slots=True)
class ClaimAllowed:
    """The strongest claim that the sites carry."""

    strength: ClaimStrength
    label: str
    sentence: str
    paragraph: str
    average_at_least: float
    every_site_at_least: float
    up_to: float
    caution: str


@dataclass(frozen=True, slots=True)
class PartChecked:
    """What the sites say about one part of a typed claim."""

    subject: Subject
    relation: Relation
    saving: float
    share_of_sites: float | None
    interval_low: float | None
    interval_high: float | None
    confidence: float | None
    verdict: ClaimVerdict
    reason: str
    share: float | None
    share_low: float | None
    share_high: float | None
    sites_shown_otherwise: int
    largest_seen: float | None
    largest_if_equal: float | None
    largest_if_equal_low: float | None
    largest_if_equal_high: float | None
    chance_if_equal: float | None


@dataclass(frozen=True, slots=True)
class ClaimChecked:
    """What the sites say about a typed claim."""

    text: str
    holds: bool
    parts: tuple[PartChecked, ...]


@dataclass(frozen=True, slots=True)
class SitesDocument(JsonDocument):
    """The document of ``woold sites pool --json``."""

    told_as = "sites"

    sites: tuple[SiteSaving, ...]
    average: AverageSaving
    between_sites: SpreadOfSites
    next_site: NextSiteSaving
    shares_of_sites: tuple[SitesThatSave, ...]
    small_trials: SmallTrials | None
    explanations: tuple[SpreadExplained, ...]
    claim: ClaimAllowed
    checked_claim: ClaimChecked | None
    findings: tuple[Finding, ...]


def sites_document(analysis: SitesAnalysis) -> SitesDocument:
    """All that was found in a table of sites.

    Args:
        analysis: the sites, their average and what may be claimed.
    """
    pooled, look = analysis.pooled, analysis.small_trials
    told = honest_claim(pooled, analysis.strongest, Wording())
    return SitesDocument(
        sites=_sites(analysis.table.sites, analysis.influence),
        average=AverageSaving(
            saving=saving_of(pooled.mean),
            saving_low=saving_of(pooled.low),
            saving_high=saving_of(pooled.high),
            effect=pooled.mean,
            effect_standard_error=pooled.standard_error,
            confidence=pooled.confidence,
            estimator=pooled.estimator,
            interval="Hartung-Knapp t(k-1)",
            widened=pooled.widened,
        ),
        between_sites=SpreadOfSites(
            tau=math.sqrt(pooled.tau2),
            tau_low=math.sqrt(pooled.tau2_low),
            tau_high=math.sqrt(pooled.tau2_high),
            interval="Q-profile",
            q=pooled.q,
            q_p_value=pooled.q_p_value,
            i2=pooled.i2,
        ),
        next_site=NextSiteSaving(
            saving_low=saving_of(pooled.prediction_low),
            saving_high=saving_of(pooled.prediction_high),
            convention=pooled.convention,
        ),
        shares_of_sites=tuple(
            SitesThatSave(least, share.expected, share.low, share.high)
            for least, share in analysis.shares
        ),
        small_trials=None
        if look is None
        else SmallTrials(
            slope=look.slope,
            p_value=look.p_value,
            limit_saving=saving_of(look.limit),
            limit_saving_low=saving_of(look.limit_low),
            limit_saving_high=saving_of(look.limit_high),
            enough_sites=look.enough_sites,
        ),
        explanations=tuple(_explained(each) for each in analysis.explanations),
        claim=ClaimAllowed(
            strength=claim_strength(pooled),
            label=told.label,
            sentence=told.sentence,
            paragraph=told.paragraph,
            average_at_least=analysis.strongest.average_low,
            every_site_at_least=analysis.strongest.every_site,
            up_to=analysis.strongest.up_to,
            caution=say(HOLD_CAUTION),
        ),
        checked_claim=None
        if not analysis.claim
        else ClaimChecked(
            analysis.claim, analysis.claim_holds, tuple(map(_checked, analysis.verdicts))
        ),
        findings=analysis.findings,
    )


def _sites(sites: Sequence[Site], influence: Sequence[Influence]) -> tuple[SiteSaving, ...]:
    does: Sequence[Influence | None] = influence or [None] * len(sites)
    return tuple(
        SiteSaving(
            site=site.name,
            saving=site.saving,
            effect=site.effect,
            effect_standard_error=site.standard_error,
            weight=None if each is None else each.weight,
            average_saving_without=None if each is None else saving_of(each.mean_without),
            average_saving_without_low=None if each is None else saving_of(each.low_without),
            average_saving_without_high=None if each is None else saving_of(each.high_without),
            deleted_residual=None if each is None else each.deleted_residual,
            changes_verdict=None if each is None else each.changes_verdict,
        )
        for site, each in zip(sites, does, strict=True)
    )


def _explained(each: Explanation) -> SpreadExplained:
    return SpreadExplained(
        tau_left=math.sqrt(each.tau2),
        explained=each.explained,
        too_few_sites=each.too_few,
        slopes=tuple(
            CovariateSlope(
                covariate=slope.covariate,
                effect_per_si_unit=slope.slope,
                effect_per_si_unit_low=slope.low,
                effect_per_si_unit_high=slope.high,
                p_value=slope.p_value,
                adjusted_p_value=slope.adjusted_p_value,
                at_si=slope.at,
                saving_at=(saving_of(slope.effect_at[0]), saving_of(slope.effect_at[1])),
            )
            for slope in each.slopes
        ),
    )


def _checked(each: PartVerdict) -> PartChecked:
    chance, part = each.largest_by_chance, each.part
    share = each.share
    return PartChecked(
        subject=part.subject,
        relation=part.relation,
        saving=part.saving,
        share_of_sites=part.share,
        interval_low=part.low,
        interval_high=part.high,
        confidence=part.confidence,
        verdict=each.verdict,
        reason=verdict_reason(each, Wording()),
        share=None if share is None else share.expected,
        share_low=None if share is None else share.low,
        share_high=None if share is None else share.high,
        sites_shown_otherwise=each.shown_otherwise,
        largest_seen=None if each.largest_seen is None else saving_of(each.largest_seen),
        largest_if_equal=None if chance is None else saving_of(chance.mean),
        largest_if_equal_low=None if chance is None else saving_of(chance.low),
        largest_if_equal_high=None if chance is None else saving_of(chance.high),
        chance_if_equal=each.chance_if_equal,
    )
