"""Everything that is said about a table of sites, computed once for text, JSON and reports."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from woold.prediction.result import Finding
from woold.sites.claim import (
    CAUTION,
    PartVerdict,
    check_claim,
    claim_sentence,
    claim_strength,
    read_claim,
)
from woold.sites.explain import Explanation, explain_one_by_one, explain_together
from woold.sites.influence import Influence, SmallTrialLook, influence_of_each, small_trial_look
from woold.sites.pooling import (
    Convention,
    Estimator,
    Pooled,
    effect_of,
    pool,
    saving_of,
    share_saving_at_least,
)
from woold.sites.table import SiteTable

__all__ = ["SitesAnalysis", "analyse_sites"]

FEW_SITES = 5  # common practice: below this the spread between sites is hardly known


@dataclass(frozen=True, slots=True)
class SitesAnalysis:
    """A table of sites with all that was found in it.

    Args:
        table, pooled: the sites and their average.
        influence: one per site; empty with two sites.
        small_trials: None where standard errors do not differ.
        explanations: one per covariate, or one with all that were asked for together.
        shares: least saving -> share of sites that truly save it, low, high.
        claim: text that was typed, with what the sites say about each part.
        as_read: findings about how the sites were read.
    """

    table: SiteTable
    pooled: Pooled
    influence: tuple[Influence, ...]
    small_trials: SmallTrialLook | None
    explanations: tuple[Explanation, ...]
    shares: tuple[tuple[float, tuple[float, float, float]], ...]
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
        found: list[Finding] = list(self.as_read)

        def warn(code: str, field: str, message: str) -> None:
            found.append(Finding(code, field, message))

        count = len(self.table.sites)
        if count < FEW_SITES:
            warn(
                "few_sites",
                "sites",
                f"With {count} sites the spread between sites is hardly known: all intervals hang "
                "on the assumption that savings spread normally.",
            )
        if self.pooled.widened:
            warn(
                "interval_kept_wide",
                "average",
                "The plain Hartung-Knapp interval would be narrower than the one with a known "
                "spread between sites; the wider is shown.",
            )
        turned = [
            site.name
            for site, each in zip(self.table.sites, self.influence, strict=False)
            if each.changes_verdict
        ]
        if turned:
            warn(
                "one_site_decides",
                "sites",
                f"Whether a saving is shown hangs on one site: {', '.join(turned)}.",
            )
        if self.small_trials is not None:
            if not self.small_trials.enough_sites:
                warn(
                    "small_trials_unseen",
                    "sites",
                    f"{count} sites cannot show whether small trials with poor results are missing;"
                    " ten are asked for.",
                )
            elif self.small_trials.p_value < 0.1:
                warn(
                    "small_trials_differ",
                    "sites",
                    "Small trials show another saving than large ones: poor ones may be missing.",
                )
        if any(each.too_few for each in self.explanations):
            warn(
                "few_sites_for_covariates",
                "covariates",
                f"{count} sites are too few for what was looked at (ten for each covariate): a "
                "slope may be chance.",
            )
        for name, reason in self.table.left_out.items():
            warn("covariate_left_out", name, f"{name} is not used: {reason}.")
        return tuple(found)

    def to_json(self) -> dict[str, Any]:
        """The document of ``woold sites pool --json``; savings are shares, not per cent."""
        pooled = self.pooled
        return {
            "sites": [
                {
                    "site": site.name,
                    "saving": site.saving,
                    "effect": site.effect,
                    "effect_standard_error": site.standard_error,
                    **(_influence_json(self.influence[index]) if self.influence else {}),
                }
                for index, site in enumerate(self.table.sites)
            ],
            "average": {
                "saving": saving_of(pooled.mean),
                "saving_low": saving_of(pooled.low),
                "saving_high": saving_of(pooled.high),
                "effect": pooled.mean,
                "effect_standard_error": pooled.standard_error,
                "confidence": pooled.confidence,
                "estimator": pooled.estimator,
                "interval": "Hartung-Knapp t(k-1)"
                + (", not narrower than a common effect" if pooled.widened else ""),
            },
            "between_sites": {
                "tau": math.sqrt(pooled.tau2),
                "tau_low": math.sqrt(pooled.tau2_low),
                "tau_high": math.sqrt(pooled.tau2_high),
                "interval": "Q-profile",
                "q": pooled.q,
                "q_p_value": pooled.q_p_value,
                "i2": pooled.i2,
            },
            "next_site": {
                "saving_low": saving_of(pooled.prediction_low),
                "saving_high": saving_of(pooled.prediction_high),
                "convention": pooled.convention,
            },
            "shares_of_sites": [
                {"saving_at_least": least, "share": share, "share_low": low, "share_high": high}
                for least, (share, low, high) in self.shares
            ],
            "small_trials": None
            if self.small_trials is None
            else {
                "slope": self.small_trials.slope,
                "p_value": self.small_trials.p_value,
                "limit_saving": saving_of(self.small_trials.limit),
                "limit_saving_low": saving_of(self.small_trials.limit_low),
                "limit_saving_high": saving_of(self.small_trials.limit_high),
                "enough_sites": self.small_trials.enough_sites,
            },
            "explanations": [_explanation_json(each) for each in self.explanations],
            "claim": {
                "strength": claim_strength(pooled),
                "sentence": claim_sentence(pooled),
                "caution": CAUTION,
            },
            "checked_claim": None
            if not self.claim
            else {
                "text": self.claim,
                "holds": self.claim_holds,
                "parts": [_verdict_json(each) for each in self.verdicts],
            },
            "findings": [asdict(finding) for finding in self.findings],
        }


def _influence_json(each: Influence) -> dict[str, Any]:
    return {
        "weight": each.weight,
        "average_saving_without": saving_of(each.mean_without),
        "average_saving_without_low": saving_of(each.low_without),
        "average_saving_without_high": saving_of(each.high_without),
        "deleted_residual": each.deleted_residual,
        "changes_verdict": each.changes_verdict,
    }


def _explanation_json(each: Explanation) -> dict[str, Any]:
    return {
        "tau_left": math.sqrt(each.tau2),
        "explained": each.explained,
        "too_few_sites": each.too_few,
        "slopes": [
            {
                "covariate": slope.covariate,
                "effect_per_si_unit": slope.slope,
                "effect_per_si_unit_low": slope.low,
                "effect_per_si_unit_high": slope.high,
                "p_value": slope.p_value,
                "adjusted_p_value": slope.adjusted_p_value,
                "at_si": list(slope.at),
                "saving_at": [saving_of(value) for value in slope.effect_at],
            }
            for slope in each.slopes
        ],
    }


def _verdict_json(each: PartVerdict) -> dict[str, Any]:
    chance = each.largest_by_chance
    return {
        "kind": each.part.kind,
        "saving": each.part.saving,
        "verdict": each.verdict,
        "reason": each.reason,
        "share": each.share,
        "share_low": each.share_low,
        "share_high": each.share_high,
        "largest_seen": None if each.largest_seen is None else saving_of(each.largest_seen),
        "largest_if_equal": None if chance is None else saving_of(chance.mean),
        "largest_if_equal_low": None if chance is None else saving_of(chance.low),
        "largest_if_equal_high": None if chance is None else saving_of(chance.high),
        "chance_if_equal": each.chance_if_equal,
    }


def analyse_sites(
    table: SiteTable,
    *,
    estimator: Estimator = "REML",
    convention: Convention = "spread-uncertain",
    confidence: float = 0.95,
    at_least: tuple[float, ...] = (),
    explain: tuple[str, ...] = (),
    claim: str = "",
    as_read: tuple[Finding, ...] = (),
) -> SitesAnalysis:
    """All that is said about a table of sites.

    Args:
        table: the sites.
        estimator: of the variance between sites.
        convention: of the prediction interval.
        confidence: of all intervals.
        at_least: savings [-] for which the share of sites is asked.
        explain: covariates to fit together; empty looks at each one alone.
        claim: typed claim to check.
        findings: about how the sites were read, to be passed on.

    Raises:
        InputError: a covariate that is not there, a claim without a saving.
    """
    effects, errors = table.effects, table.standard_errors
    pooled = pool(effects, errors, estimator, convention, confidence)
    explanations: tuple[Explanation, ...] = ()
    if explain:
        explanations = (
            explain_together(effects, errors, table.values_of(explain), estimator, confidence),
        )
    elif len(table.sites) >= 3:
        explanations = tuple(
            explain_one_by_one(
                effects, errors, table.values_of(table.covariates), estimator, confidence
            )
        )
    return SitesAnalysis(
        table=table,
        pooled=pooled,
        influence=tuple(influence_of_each(effects, errors, estimator, confidence)),
        small_trials=small_trial_look(effects, errors, estimator, confidence),
        explanations=explanations,
        shares=tuple(
            (least, share_saving_at_least(effects, errors, effect_of(least), confidence))
            for least in at_least
        ),
        claim=claim,
        verdicts=check_claim(read_claim(claim), effects, errors, pooled) if claim else (),
        as_read=as_read,
    )
