"""What is said about sites and about combinations not tried yet, as JSON."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

from woold.rows.wording import Wording
from woold.sites.analysis import SitesAnalysis
from woold.sites.claim_check import PartVerdict, claim_strength
from woold.sites.claim_words import HOLD_CAUTION, honest_claim, verdict_reason
from woold.sites.covariates import Explanation
from woold.sites.effect import saving_of
from woold.sites.influence import Influence
from woold.sites.next_site import ShareOfSites
from woold.sites.untried import UntriedView
from woold.words import say

__all__ = ["sites_document", "untried_document"]


def sites_document(analysis: SitesAnalysis) -> dict[str, Any]:
    """The document of ``woold sites pool --json``; savings are shares, not per cent."""
    pooled = analysis.pooled
    return {
        "sites": [
            {
                "site": site.name,
                "saving": site.saving,
                "effect": site.effect,
                "effect_standard_error": site.standard_error,
                **(_influence_json(analysis.influence[index]) if analysis.influence else {}),
            }
            for index, site in enumerate(analysis.table.sites)
        ],
        "average": {
            "saving": saving_of(pooled.mean),
            "saving_low": saving_of(pooled.low),
            "saving_high": saving_of(pooled.high),
            "effect": pooled.mean,
            "effect_standard_error": pooled.standard_error,
            "confidence": pooled.confidence,
            "estimator": pooled.estimator,
            "interval": "Hartung-Knapp t(k-1)",
            "widened": pooled.widened,
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
            {"saving_at_least": least, **_share_json(share)} for least, share in analysis.shares
        ],
        "small_trials": None
        if analysis.small_trials is None
        else {
            "slope": analysis.small_trials.slope,
            "p_value": analysis.small_trials.p_value,
            "limit_saving": saving_of(analysis.small_trials.limit),
            "limit_saving_low": saving_of(analysis.small_trials.limit_low),
            "limit_saving_high": saving_of(analysis.small_trials.limit_high),
            "enough_sites": analysis.small_trials.enough_sites,
        },
        "explanations": [_explanation_json(each) for each in analysis.explanations],
        "claim": {
            "strength": claim_strength(pooled),
            **asdict(honest_claim(pooled, analysis.strongest, Wording())),
            "average_at_least": analysis.strongest.average_low,
            "every_site_at_least": analysis.strongest.every_site,
            "up_to": analysis.strongest.up_to,
            "caution": say(HOLD_CAUTION),
        },
        "checked_claim": None
        if not analysis.claim
        else {
            "text": analysis.claim,
            "holds": analysis.claim_holds,
            "parts": [_verdict_json(each) for each in analysis.verdicts],
        },
        "findings": [asdict(finding) for finding in analysis.findings],
    }


def untried_document(view: UntriedView) -> dict[str, Any]:
    """The document of ``woold.sites.untried --json``; savings are shares."""
    return {
        "combinations": [
            {
                "carriage": row.combination.carriage,
                "machine": row.combination.machine,
                "film": row.combination.film,
                "match": row.combination.match,
                "loads_per_year": row.combination.loads_per_year,
                "film_cost_per_year": row.combination.film_cost_per_year,
                "trials": row.trials,
                "expected_saving": row.saving,
                "expected_saving_error": row.saving_error,
                "own_claim": row.claim,
                "trial_value_per_year": row.trial_value,
                "next_step": row.next_step,
            }
            for row in view.rows
        ],
        "break_even_saving": view.break_even,
        "trial_effect_error": view.trial_error,
        "currency": view.currency,
        "caution": say(HOLD_CAUTION),
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


def _share_json(share: ShareOfSites | None) -> dict[str, Any]:
    return {
        "share": None if share is None else share.expected,
        "share_low": None if share is None else share.low,
        "share_high": None if share is None else share.high,
    }


def _verdict_json(each: PartVerdict) -> dict[str, Any]:
    chance, part = each.largest_by_chance, each.part
    return {
        "subject": part.subject,
        "relation": part.relation,
        "saving": part.saving,
        "share_of_sites": part.share,
        "interval_low": part.low,
        "interval_high": part.high,
        "confidence": part.confidence,
        "verdict": each.verdict,
        "reason": verdict_reason(each, Wording()),
        **_share_json(each.share),
        "sites_shown_otherwise": each.shown_otherwise,
        "largest_seen": None if each.largest_seen is None else saving_of(each.largest_seen),
        "largest_if_equal": None if chance is None else saving_of(chance.mean),
        "largest_if_equal_low": None if chance is None else saving_of(chance.low),
        "largest_if_equal_high": None if chance is None else saving_of(chance.high),
        "chance_if_equal": each.chance_if_equal,
    }
