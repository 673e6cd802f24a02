"""Claims in words: what the sites say about one that was typed, and the strongest honest one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from woold.rows.wording import Wording
from woold.sites.claim_check import (
    FEW_SHORT,
    FEW_UP_TO,
    PartVerdict,
    StrongestClaims,
    claim_strength,
)
from woold.sites.claim_parts import interval_texts, part_text, rounded_down, saving_text
from woold.sites.effect import saving_of
from woold.sites.next_site import ShareOfSites
from woold.sites.pooling import Pooled
from woold.words import to_say

__all__ = [
    "HOLD_CAUTION",
    "HonestClaim",
    "honest_claim",
    "interval_level",
    "verdict_reason",
    "verdict_text",
]

HOLD_CAUTION = to_say(
    "A saving of film is worth nothing if the load is held less: containment must have been equal"
    " in these trials. The sites are those that were tried; others may differ."
)

_VERDICTS = {
    "supported": to_say('Claimed, read as "{part}": supported. {reason}.'),
    "not shown": to_say('Claimed, read as "{part}": not shown. {reason}.'),
    "contradicted": to_say('Claimed, read as "{part}": contradicted. {reason}.'),
}


def interval_level(pooled: Pooled, say: Wording) -> str:
    """Confidence of the intervals: "95 %"."""
    return f"{say.number(100.0 * pooled.confidence, 4)} %"


def _effects(low: float, high: float, say: Wording) -> dict[str, str]:
    ends = interval_texts(saving_of(low), saving_of(high), say)
    return {"low": ends[0], "high": ends[1]}


def verdict_text(verdict: PartVerdict, say: Wording) -> str:
    """How a part was read, its verdict, and the numbers behind it, in sentences."""
    return say(
        _VERDICTS[verdict.verdict],
        part=part_text(verdict.part, say),
        reason=verdict_reason(verdict, say),
    )


def verdict_reason(verdict: PartVerdict, say: Wording) -> str:
    """The numbers behind a verdict."""
    if verdict.part.subject == "best site":
        return _best_reason(verdict, say)
    if verdict.share is None:
        return _average_reason(verdict, say)
    share = _share_values(verdict, verdict.share, say)
    if verdict.part.subject == "share of sites":
        return say(
            "{share} of all sites are expected to save {saving} or more ({level} interval {low} to"
            " {high})",
            **share,
        )
    pooled = verdict.pooled
    ends = _effects(pooled.prediction_low, pooled.prediction_high, say)
    reason = say(
        "A further site is expected between {next_low} and {next_high}; {share} of all sites are"
        " expected to save {saving} or more ({level} interval {low} to {high}); no number of trials"
        " shows every site, and at most {few} may do otherwise here",
        next_low=ends["low"],
        next_high=ends["high"],
        few=say.percent(FEW_SHORT, 0),
        **share,
    )
    if not verdict.shown_otherwise:
        return reason
    return say(
        "{reason}; sites that have shown otherwise: {count}",
        reason=reason,
        count=verdict.shown_otherwise,
    )


def _share_values(verdict: PartVerdict, share: ShareOfSites, say: Wording) -> dict[str, str]:
    return {
        "share": say.percent(share.expected),
        "low": say.percent(share.low),
        "high": say.percent(share.high),
        "saving": saving_text(verdict.part.saving, say),
        "level": interval_level(verdict.pooled, say),
    }


def _average_reason(verdict: PartVerdict, say: Wording) -> str:
    pooled = verdict.pooled
    values = {
        "mean": saving_text(saving_of(pooled.mean), say),
        "level": interval_level(pooled, say),
        **_effects(pooled.low, pooled.high, say),
    }
    saving, low = verdict.part.saving, saving_of(pooled.low)
    if verdict.verdict == "supported" and verdict.part.relation == "about" and saving > low:
        return say(
            "As an estimate, said with its interval: the average is {mean}, {level} interval {low}"
            " to {high}",
            **values,
        )
    return say("The average is {mean}, {level} interval {low} to {high}", **values)


def _best_reason(verdict: PartVerdict, say: Wording) -> str:
    chance, share, pooled = verdict.largest_by_chance, verdict.share, verdict.pooled
    assert chance is not None
    assert share is not None
    assert verdict.largest_seen is not None
    assert verdict.chance_if_equal is not None
    by_chance = _effects(chance.low, chance.high, say)
    return say(
        "The best of {sites} sites showed {seen}; if all sites truly saved {mean}, the best would"
        " still show {luck} on average (90 % of times {luck_low} to {luck_high}) from measurement"
        " error alone, and reach {saving} in {cases} of cases; {share} of all sites are expected"
        " to save that much ({level} interval {low} to {high}; {few} are asked for)",
        sites=pooled.sites,
        seen=saving_text(saving_of(verdict.largest_seen), say),
        mean=saving_text(saving_of(pooled.mean), say),
        luck=saving_text(saving_of(chance.mean), say),
        luck_low=by_chance["low"],
        luck_high=by_chance["high"],
        cases=say.percent(verdict.chance_if_equal),
        few=say.percent(FEW_UP_TO),
        **_share_values(verdict, share, say),
    )


@dataclass(frozen=True, slots=True)
class HonestClaim:
    """The strongest claim that the sites carry, in three lengths.

    Args:
        label: for a sheet or a slide; it says all that it needs on its own.
        sentence: for a letter.
        paragraph: for a report, with what may not be said.
    """

    label: str
    sentence: str
    paragraph: str


def honest_claim(pooled: Pooled, strongest: StrongestClaims, say: Wording) -> HonestClaim:
    """The strongest wording that the numbers allow; ends of intervals are rounded outward."""
    return HonestClaim(
        label=_label(pooled, strongest, say),
        sentence=_sentence(pooled, strongest, say),
        paragraph=" ".join(_paragraph(pooled, strongest, say)),
    )


def _averages(pooled: Pooled, strongest: StrongestClaims, say: Wording) -> dict[str, str | int]:
    ends = interval_texts(strongest.average_low, strongest.average_high, say)
    return {
        "sites": pooled.sites,
        "average": saving_text(strongest.average, say),
        "level": interval_level(pooled, say),
        "low": ends[0],
        "high": ends[1],
    }


def _label(pooled: Pooled, strongest: StrongestClaims, say: Wording) -> str:
    values = _averages(pooled, strongest, say)
    if claim_strength(pooled) != "none":
        return say(
            "{average} less film on average ({level} confidence interval {low} to {high})", **values
        )
    if pooled.high < 0.0:
        return say("No saving: more film was used at {sites} sites", **values)
    return say("No saving shown at {sites} sites", **values)


def _sentence(pooled: Pooled, strongest: StrongestClaims, say: Wording) -> str:
    values = _averages(pooled, strongest, say)
    strength = claim_strength(pooled)
    if strength == "none" and pooled.high < 0.0:
        return say(
            "In trials at {sites} sites more film was used, not less: the average saving was"
            " {average} ({level} interval {low} to {high}).",
            **values,
        )
    if strength == "none":
        return say(
            "Trials at {sites} sites do not show that film is saved on average: the estimate is"
            " {average} ({level} interval {low} to {high}), and zero lies within it.",
            **values,
        )
    following = _next(pooled, say)
    if strength == "average":
        return say(
            "In trials at {sites} sites film use fell by {average} on average ({level} interval"
            " {low} to {high}); a further site like these is expected to save between {next_low}"
            " and {next_high}, so it may save nothing.",
            **values,
            **following,
        )
    return say(
        "In trials at {sites} sites film use fell by {average} on average ({level} interval {low}"
        " to {high}); a further site like these is expected to save between {next_low} and"
        " {next_high}.",
        **values,
        **following,
    )


def _next(pooled: Pooled, say: Wording) -> dict[str, str]:
    ends = _effects(pooled.prediction_low, pooled.prediction_high, say)
    return {"next_low": ends["low"], "next_high": ends["high"]}


def _paragraph(pooled: Pooled, strongest: StrongestClaims, say: Wording) -> Iterator[str]:
    yield _sentence(pooled, strongest, say)
    if claim_strength(pooled) == "none":
        yield say(
            "A further site is expected between {next_low} and {next_high}.", **_next(pooled, say)
        )
    elif pooled.tau2_low > 0.0:
        yield say("The sites truly differ.")
    else:
        yield say(
            "The sites' results differ no more than their measurement error explains, so the best"
            " of them proves no larger saving."
        )
    if rounded_down(strongest.every_site) > 0.0:
        yield say(
            "At every site at least {saving} may be said, as no more than one site in twenty falls"
            " short of it.",
            saving=saving_text(rounded_down(strongest.every_site), say),
        )
    else:
        yield say("No saving may be promised to every site.")
    if rounded_down(strongest.up_to) > max(strongest.average, 0.0):
        yield say(
            "Up to {saving} may be said, as one site in twenty or more saves that much.",
            saving=saving_text(rounded_down(strongest.up_to), say),
        )
    else:
        yield say('No "up to" beyond the average may be said.')
    yield say(HOLD_CAUTION)
