"""A table of sites with all that was found in it: average, spread, next site, claim."""

from __future__ import annotations

from dataclasses import dataclass

from woold.prediction.result import Finding
from woold.sites.between_sites import Estimator
from woold.sites.claim_check import (
    PartVerdict,
    StrongestClaims,
    check_claim,
    strongest_claims,
)
from woold.sites.claim_reader import read_claim
from woold.sites.covariates import Explanation, explain_one_by_one, explain_together
from woold.sites.effect import effect_of
from woold.sites.influence import Influence, SmallTrialLook, influence_of_each, small_trial_look
from woold.sites.next_site import Convention, ShareOfSites, plausible_sites, share_of
from woold.sites.pooling import Pooled, pool
from woold.sites.site_table import SiteTable
from woold.words import say

__all__ = ["SitesAnalysis", "SitesQuestions", "analyse_sites"]

FEW_SITES = 5  # common practice: below this the spread between sites is hardly known


@dataclass(frozen=True, slots=True)
class SitesQuestions:
    """What is asked of a table of sites, and how it is reckoned.

    Args:
        claim: typed claim to check.
        at_least: savings [-] for which the share of sites is asked.
        explain: covariates to fit together; empty looks at each one alone.
        estimator: of the variance between sites.
        convention: of the prediction interval.
        confidence: of all intervals.
    """

    claim: str = ""
    at_least: tuple[float, ...] = ()
    explain: tuple[str, ...] = ()
    estimator: Estimator = "REML"
    convention: Convention = "spread-uncertain"
    confidence: float = 0.95


@dataclass(frozen=True, slots=True)
class SitesAnalysis:
    """A table of sites with all that was found in it.

    Args:
        table, pooled: the sites and their average.
        influence: one per site; empty with two sites.
        small_trials: None where standard errors do not differ.
        explanations: one per covariate, or one with all that were asked for together.
        shares: least saving, and the share of sites that truly save it.
        strongest: claims that the sites carry.
        claim: text that was typed.
        verdicts: what the sites say about each part of it.
        as_read: findings about how the sites were read.
    """

    table: SiteTable
    pooled: Pooled
    influence: tuple[Influence, ...]
    small_trials: SmallTrialLook | None
    explanations: tuple[Explanation, ...]
    shares: tuple[tuple[float, ShareOfSites], ...]
    strongest: StrongestClaims
    claim: str
    verdicts: tuple[PartVerdict, ...]
    as_read: tuple[Finding, ...] = ()

    @property
    def claim_holds(self) -> bool:
        """Every part of the typed claim is supported; true when nothing was typed."""
        return all(each.verdict == "supported" for each in self.verdicts)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What a reader must know before using the numbers."""
        return (*self.as_read, *_findings(self))


def _findings(analysis: SitesAnalysis) -> list[Finding]:
    count = len(analysis.table.sites)
    found = []
    if count < FEW_SITES:
        text = say(
            "With {count} sites the spread between sites is hardly known: all intervals hang on"
            " the assumption that savings spread normally.",
            count=count,
        )
        found.append(Finding("few_sites", "sites", text))
    if analysis.pooled.widened:
        text = say(
            "The plain Hartung-Knapp interval would be narrower than the one with a known spread"
            " between sites; the wider is shown."
        )
        found.append(Finding("interval_kept_wide", "sites.average", text))
    turned = [
        site.name
        for site, each in zip(analysis.table.sites, analysis.influence, strict=False)
        if each.changes_verdict
    ]
    if turned:
        text = say("Whether a saving is shown hangs on one site: {names}.", names=", ".join(turned))
        found.append(Finding("one_site_decides", "sites", text))
    if analysis.small_trials is not None and not analysis.small_trials.enough_sites:
        text = say(
            "{count} sites cannot show whether small trials with poor results are missing; ten"
            " are asked for.",
            count=count,
        )
        found.append(Finding("small_trials_unseen", "sites", text))
    elif analysis.small_trials is not None and analysis.small_trials.p_value < 0.1:
        text = say("Small trials show another saving than large ones: poor ones may be missing.")
        found.append(Finding("small_trials_differ", "sites", text))
    if any(each.too_few for each in analysis.explanations):
        text = say(
            "{count} sites are too few for what was looked at (ten for each covariate): a slope"
            " may be chance.",
            count=count,
        )
        found.append(Finding("few_sites_for_covariates", "sites.covariates", text))
    for name, reason in analysis.table.left_out.items():
        text = say("{name} is not used: {reason}.", name=name, reason=reason)
        found.append(Finding("covariate_left_out", name, text))
    return found


def analyse_sites(
    table: SiteTable,
    asked: SitesQuestions | None = None,
    as_read: tuple[Finding, ...] = (),
) -> SitesAnalysis:
    """All that is said about a table of sites.

    Args:
        table: the sites.
        asked: of them; only the usual numbers where nothing is.
        as_read: findings about how the sites were read, to be passed on.

    Raises:
        InputError: a covariate that is not there, a claim that cannot be read.
    """
    asked = asked or SitesQuestions()
    effects, errors = table.effects, table.standard_errors
    estimator, confidence = asked.estimator, asked.confidence
    pooled = pool(effects, errors, estimator, asked.convention, confidence)
    explanations: tuple[Explanation, ...] = ()
    if asked.explain:
        chosen = table.values_of(asked.explain)
        explanations = (explain_together(effects, errors, chosen, estimator, confidence),)
    elif len(table.sites) >= 3:
        each_alone = table.values_of(table.covariates)
        explanations = tuple(explain_one_by_one(effects, errors, each_alone, estimator, confidence))
    return SitesAnalysis(
        table=table,
        pooled=pooled,
        influence=tuple(influence_of_each(effects, errors, estimator, confidence)),
        small_trials=small_trial_look(effects, errors, estimator, confidence),
        explanations=explanations,
        shares=tuple(
            (least, share_of(plausible_sites(effects, errors), effect_of(least), confidence))
            for least in asked.at_least
        ),
        strongest=strongest_claims(effects, errors, pooled),
        claim=asked.claim,
        verdicts=check_claim(read_claim(asked.claim), effects, errors, pooled)
        if asked.claim
        else (),
        as_read=as_read,
    )
