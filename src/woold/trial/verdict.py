"""The verdict of a trial: a sentence for the technician that never claims more than was shown.

Film at equal hold is what counts: less film that holds less is no saving. Method words stand
below the sentence, in `method`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from woold.trial.compare import ZoneComparison
from woold.trial.judged import JudgedRatio
from woold.trial.percent import percent
from woold.trial.progress import TrialProgress
from woold.trial.verdict_method import VerdictFacts, verdict_method
from woold.words import say

__all__ = ["Claim", "TrialVerdict", "trial_verdict"]

Claim = Literal[
    "saves film at equal hold",
    "saves film at equal hold, a zone not shown",
    "less film, saving at equal hold not shown",
    "less film, holds less",
    "less film, hold not measured",
    "no difference shown",
    "uses more film",
    "no verdict yet",
    "no claim",
]


@dataclass(frozen=True, slots=True)
class TrialVerdict:
    """What the trial allows to be said.

    Args:
        claim: in a few words, for programs.
        sentence: the same for people, with its numbers.
        method: how it was found, each a sentence.
        saving: share of the baseline's film that the candidate saves, at equal hold where hold
            was measured; null where nothing can be said.
        saving_low, saving_high: its 95 % interval, allowing for the looks.
        at_equal_hold: whether that saving is at equal hold, or of film alone.
        aim_reached: the interval lies at or above the saving that was asked for.
        aim_missed: the interval lies below it.
        reservations: what limits it, each a sentence.
    """

    claim: Claim
    sentence: str
    method: tuple[str, ...]
    saving: float | None
    saving_low: float | None
    saving_high: float | None
    at_equal_hold: bool
    aim_reached: bool
    aim_missed: bool
    reservations: tuple[str, ...]


def trial_verdict(facts: VerdictFacts, reservations: Sequence[str] = ()) -> TrialVerdict:
    """The strongest sentence that the looks allow.

    Args:
        facts: what it rests on.
        reservations: what limits the claim, each a sentence.
    """
    judged = facts.judged
    headline = judged.equal_hold or judged.film
    claim, sentences = _claim(facts)
    low = high = saving = None
    reached = missed = False
    if headline is not None:
        saving = 1.0 - headline.ratio
        low = None if headline.interval.high is None else 1.0 - headline.interval.high
        high = None if headline.interval.low is None else 1.0 - headline.interval.low
        decided = claim not in ("no verdict yet", "no claim")
        reached = decided and low is not None and low >= facts.aim
        missed = decided and high is not None and high < facts.aim
        if decided and headline.is_less:
            sentences.append(_aim_sentence(facts.aim, low, high))
        elif missed and claim != "uses more film":
            sentences.append(say("A saving of {aim} or more is ruled out.", aim=percent(facts.aim)))
    if claim not in ("no claim", "no verdict yet") and facts.film.mix_covered < 0.9995:
        sentences.append(
            say(
                "This is about load types that make up {share} of a year's loads.",
                share=percent(facts.film.mix_covered, 0),
            )
        )
    return TrialVerdict(
        claim=claim,
        sentence=" ".join(sentences),
        method=tuple(verdict_method(facts)) if claim != "no claim" else (),
        saving=saving,
        saving_low=low,
        saving_high=high,
        at_equal_hold=judged.equal_hold is not None,
        aim_reached=reached,
        aim_missed=missed,
        reservations=tuple(reservations),
    )


def _claim(facts: VerdictFacts) -> tuple[Claim, list[str]]:
    film, equal = facts.judged.film, facts.judged.equal_hold
    if facts.confounded:
        return "no claim", [
            say(
                "No claim: the candidate took {less} film, but the treatments cannot be told from"
                " these: {what}. That can have made the difference.",
                less=_less(1.0 - facts.film.ratio),
                what=facts.confounded,
            ),
            say("Mix the treatments, or plan the trial as one that is fitted once."),
        ]
    if facts.film.fieller.low is None or facts.film.fieller.high is None:
        return "no claim", [
            say(
                "No claim: the loads differ so much that no bounded interval of the film ratio"
                " exists."
            )
        ]
    if film is None:
        return "no verdict yet", [_no_verdict(facts.progress)]
    if equal is not None and equal.is_less:
        return _saving_at_equal_hold(facts, equal)
    if (equal is not None and equal.is_more) or film.is_more:
        if film.is_less:
            return "less film, holds less", _no_saving(facts, film, equal)
        return "uses more film", [_uses_more(film, equal)]
    if not facts.progress.is_filled:
        return "no verdict yet", [_no_verdict(facts.progress)]
    if film.is_less:
        return _less_film(facts, film, equal)
    if equal is None:
        return "no difference shown", [
            say(
                "No difference in film was shown: the loads fit anything from {low} to {high} film"
                " with the candidate.",
                **_ends(film),
            ),
            say("Containment was not measured."),
        ]
    return "no difference shown", [
        say(
            "No saving was shown: at equal hold the loads fit anything from {low} to {high} film"
            " with the candidate.",
            **_ends(equal),
        )
    ]


def _no_verdict(progress: TrialProgress) -> str:
    counts = {"weighed": progress.loads_weighed, "planned": progress.loads_planned or 0}
    if len(progress.looks) <= 1:
        return say(
            "No verdict yet: {weighed} of {planned} planned loads are weighed, and no look was"
            " planned before the trial is full.",
            **counts,
        )
    if progress.look == 0:
        return say(
            "No verdict yet: {weighed} of {planned} planned loads are weighed; the first look is at"
            " load {next}.",
            next=progress.next_look_loads,
            **counts,
        )
    return say(
        "No verdict yet: {weighed} of {planned} planned loads are weighed, and look {look} did not"
        " decide; the next look is at load {next}.",
        look=progress.look,
        next=progress.next_look_loads,
        **counts,
    )


def _saving_at_equal_hold(facts: VerdictFacts, equal: JudgedRatio) -> tuple[Claim, list[str]]:
    zones = facts.judged.zones
    found = [
        say(
            "The candidate saves film: at the same hold it takes {saving} less per load"
            " ({low} to {high}).",
            saving=percent(1.0 - equal.ratio),
            **_savings(equal),
        )
    ]
    missing = [each for each in zones if not each.is_not_lower]
    lower = [each for each in zones if each.is_lower]
    margin = percent(facts.margin)
    if lower:
        found.append(
            say("Wrapped as it was, it held less in these zones: {zones}.", zones=_ratios(lower))
        )
    if missing:
        found.append(
            say(
                "In these zones it was not shown that hold stays within {margin} of the"
                " baseline's: {zones}.",
                margin=margin,
                zones=_ratios(missing),
            )
        )
    if len(zones) < facts.zones_asked:
        found.append(say("Hold was compared in these zones only: {zones}.", zones=_names(zones)))
    if missing or len(zones) < facts.zones_asked:
        return "saves film at equal hold, a zone not shown", found
    found.append(say("No zone holds less by {margin} or more.", margin=margin))
    return "saves film at equal hold", found


def _uses_more(film: JudgedRatio, equal: JudgedRatio | None) -> str:
    if equal is not None and equal.is_more:
        return say(
            "The candidate uses more film: at the same hold it takes {more} more per load"
            " ({low} to {high}).",
            more=percent(equal.ratio - 1.0),
            **_extra(equal),
        )
    return say(
        "The candidate used {more} more film per load than the baseline ({low} to {high}).",
        more=percent(film.ratio - 1.0),
        **_extra(film),
    )


def _no_saving(facts: VerdictFacts, film: JudgedRatio, equal: JudgedRatio | None) -> list[str]:
    used = say(
        "The candidate used {saving} less film per load than the baseline ({low} to {high}), but"
        " less film with less hold is no saving.",
        saving=percent(1.0 - film.ratio),
        **_savings(film),
    )
    lower = [each for each in facts.judged.zones if each.is_lower]
    held = [say("It held less in these zones: {zones}.", zones=_ratios(lower))] if lower else []
    return [used, *held, _uses_more(film, equal)]


def _less_film(
    facts: VerdictFacts, film: JudgedRatio, equal: JudgedRatio | None
) -> tuple[Claim, list[str]]:
    used = say(
        "The candidate used {saving} less film per load than the baseline ({low} to {high}).",
        saving=percent(1.0 - film.ratio),
        **_savings(film),
    )
    if equal is None:
        return "less film, hold not measured", [
            used,
            say("Containment was not measured, so nothing is said of how well it holds."),
        ]
    fits = say(
        "At the same hold no saving was shown: the loads fit anything from {low} to {high} film.",
        **_ends(equal),
    )
    lower = [each for each in facts.judged.zones if each.is_lower]
    if lower:
        return "less film, holds less", [
            used,
            say(
                "It held less in these zones: {zones}. Less film with less hold is no saving.",
                zones=_ratios(lower),
            ),
            fits,
        ]
    return "less film, saving at equal hold not shown", [
        used,
        fits,
        say("The saving may have been taken from the hold."),
    ]


def _aim_sentence(aim: float, low: float | None, high: float | None) -> str:
    if low is not None and low >= aim:
        return say("The saving of {aim} that was asked for is reached.", aim=percent(aim))
    if high is not None and high < aim:
        return say(
            "That misses the saving of {aim} that was asked for: more than {high} is ruled out.",
            aim=percent(aim),
            high=percent(high),
        )
    return say(
        "Whether the saving of {aim} that was asked for is reached stays open.", aim=percent(aim)
    )


def _less(share: float) -> str:
    if share >= 0:
        return say("{share} less", share=percent(share))
    return say("{share} more", share=percent(-share))


def _ends(found: JudgedRatio) -> dict[str, str]:
    """The interval's ends as less or more film, the greater saving first."""
    low, high = found.interval.low or 0.0, found.interval.high
    return {
        "low": _less(1.0 - low),
        "high": say("any amount more") if high is None else _less(1.0 - high),
    }


def _savings(found: JudgedRatio) -> dict[str, str]:
    low, high = found.interval.low or 0.0, found.interval.high
    return {"low": percent(1.0 - (high or 1.0)), "high": percent(1.0 - low)}


def _extra(found: JudgedRatio) -> dict[str, str]:
    low, high = found.interval.low or 0.0, found.interval.high
    return {
        "low": percent(low - 1.0),
        "high": say("any amount") if high is None else percent(high - 1.0),
    }


def _names(zones: Sequence[ZoneComparison]) -> str:
    return ", ".join(each.zone for each in zones)


def _ratios(zones: Sequence[ZoneComparison]) -> str:
    return "; ".join(
        say(
            "{zone}, {ratio} of the baseline's pull reading ({low} to {high})",
            zone=each.zone,
            ratio=percent(each.ratio),
            low=percent(each.interval.low or 0.0),
            high=say("no bound") if each.interval.high is None else percent(each.interval.high),
        )
        for each in zones
    )
