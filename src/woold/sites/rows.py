"""What is said about sites, as rows and blocks that every surface shows alike."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.rows.blocks import Block, Cautions, Facts, Heading, Note, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.sites.analysis import SitesAnalysis
from woold.sites.between_sites import Estimator
from woold.sites.claim_parts import interval_texts, saving_text
from woold.sites.claim_words import (
    HOLD_CAUTION,
    honest_claim,
    interval_level,
    verdict_text,
)
from woold.sites.effect import saving_of
from woold.sites.next_site import Convention
from woold.sites.read_sites import COVARIATE_KINDS
from woold.words import to_say

__all__ = ["CONVENTIONS", "ESTIMATORS", "sites_blocks"]

ESTIMATORS: dict[Estimator, str] = {
    "REML": to_say("restricted maximum likelihood (REML)"),
    "DL": to_say("DerSimonian and Laird (DL)"),
}
CONVENTIONS: dict[Convention, str] = {
    "spread-uncertain": to_say("(allows for the spread being uncertain)"),
    "hartung-knapp-t(k-1)": to_say("(Hartung-Knapp, one degree of freedom less than sites)"),
    "higgins-thompson-spiegelhalter-t(k-2)": to_say(
        "(Higgins-Thompson-Spiegelhalter, two degrees of freedom less than sites)"
    ),
}
_COVARIATES = {
    "contact_angle": to_say("contact angle"),
    "force_to_load": to_say("force to load"),
    "gap": to_say("gap"),
    "load_height": to_say("load height"),
    "load_mass": to_say("load mass"),
    "load_perimeter": to_say("load perimeter"),
    "prestretch": to_say("pre-stretch"),
    "thickness": to_say("film thickness"),
    "turning_speed": to_say("turning speed"),
}


def _span(low: float, high: float, say: Wording) -> str:
    """An interval of effects, as savings."""
    ends = interval_texts(saving_of(low), saving_of(high), say)
    return say("{low} to {high}", low=ends[0], high=ends[1])


def sites_blocks(analysis: SitesAnalysis, say: Wording) -> tuple[Block, ...]:
    """The claim judged, the sites, their average, why they may differ, and what may be said."""
    blocks: list[Block] = [Paragraph(verdict_text(each, say)) for each in analysis.verdicts]
    if analysis.findings:
        blocks.append(Heading(say("Findings"), 3))
        blocks += [Note(each.field, say.sentence(each.message)) for each in analysis.findings]
    blocks += [
        _site_table(analysis, say),
        Facts(say("All sites"), tuple(_pooled_rows(analysis, say))),
    ]
    if analysis.explanations:
        blocks.append(_covariate_table(analysis, say))
    honest = honest_claim(analysis.pooled, analysis.strongest, say)
    rows = (
        Row(say("as a label"), honest.label),
        Row(say("as a sentence"), honest.sentence),
        Row(say("as a paragraph"), honest.paragraph),
    )
    blocks.append(Facts(say("What may be said"), rows))
    blocks.append(Cautions(say("Take care"), (say(HOLD_CAUTION),)))
    return tuple(blocks)


def _site_table(analysis: SitesAnalysis, say: Wording) -> Table:
    influence = analysis.influence
    columns = (
        say("site"),
        say("saving"),
        say("standard error"),
        say("weight"),
        say("average without it"),
    )
    rows = tuple(
        (
            site.name,
            saving_text(site.saving, say),
            saving_text(site.standard_error * (1.0 - site.saving), say),
            say.percent(influence[index].weight, 0) if influence else "",
            saving_text(saving_of(influence[index].mean_without), say) if influence else "",
        )
        for index, site in enumerate(analysis.table.sites)
    )
    return Table(say("Film saved at {count} sites", count=len(rows)), columns, rows)


def _pooled_rows(analysis: SitesAnalysis, say: Wording) -> Iterator[Row]:
    pooled = analysis.pooled
    level = interval_level(pooled, say)
    yield Row(
        say("average saving"),
        saving_text(saving_of(pooled.mean), say),
        say("{level} interval {span}", level=level, span=_span(pooled.low, pooled.high, say)),
        f"(Hartung-Knapp, {pooled.estimator})",
    )
    points = [
        say.fixed(100.0 * math.sqrt(each), 1)
        for each in (pooled.tau2, pooled.tau2_low, pooled.tau2_high)
    ]
    yield Row(
        say("spread between sites"),
        say("standard deviation {points} points", points=points[0]),
        say("{level} interval {low} to {high}", level=level, low=points[1], high=points[2]),
        say("(Q-profile)"),
    )
    yield Row(
        say("are all sites equal?"),
        say(
            "Q {q}, chance of so much spread if they were {chance}",
            q=say.fixed(pooled.q, 1),
            chance=say.fixed(pooled.q_p_value, 3),
        ),
    )
    yield Row(
        say("next site"),
        say(
            "{level} prediction {span}",
            level=level,
            span=_span(pooled.prediction_low, pooled.prediction_high, say),
        ),
        note=say(CONVENTIONS[pooled.convention]),
    )
    for least, share in analysis.shares:
        yield Row(
            say("sites that save {least} or more", least=saving_text(least, say)),
            say.percent(share.expected),
            say(
                "{level} interval {low} to {high}",
                level=level,
                low=say.percent(share.low),
                high=say.percent(share.high),
            ),
        )
    look = analysis.small_trials
    if look is not None and look.enough_sites:
        yield Row(
            say("a very large trial would show"),
            saving_text(saving_of(look.limit), say),
            say(
                "{level} interval {span}",
                level=level,
                span=_span(look.limit_low, look.limit_high, say),
            ),
            say(
                "chance that small trials do not differ {chance}",
                chance=say.fixed(look.p_value, 3),
            ),
        )


def _covariate_table(analysis: SitesAnalysis, say: Wording) -> Table:
    columns = (
        say("covariate"),
        say("over"),
        say("saving"),
        say("p-value"),
        say("p-value, all looks"),
    )
    rows = tuple(
        (
            _covariate_name(slope.covariate, say),
            _covariate_span(slope.covariate, slope.at, say),
            say(
                "{low} to {high}",
                low=saving_text(saving_of(slope.effect_at[0]), say),
                high=saving_text(saving_of(slope.effect_at[1]), say),
            ),
            say.fixed(slope.p_value, 3),
            say.fixed(slope.adjusted_p_value, 3),
        )
        for each in analysis.explanations
        for slope in each.slopes
    )
    return Table(say("What may explain that sites differ"), columns, rows)


def _covariate_name(covariate: str, say: Wording) -> str:
    """Words of a covariate that is known; a column of the user's own keeps its name."""
    return say(_COVARIATES[covariate]) if covariate in _COVARIATES else covariate


def _covariate_span(covariate: str, ends: tuple[float, float], say: Wording) -> str:
    kind = COVARIATE_KINDS.get(covariate)
    if kind:
        return say.span(*ends, kind)
    return say("{low} to {high}", low=say.number(ends[0]), high=say.number(ends[1]))
