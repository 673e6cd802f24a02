"""What a verdict rests on, and how it was found, in words that stand below its sentence."""

from __future__ import annotations

from dataclasses import dataclass

from woold.trial.before_after import BeforeAfter
from woold.trial.compare import TrialComparison
from woold.trial.fitted_once import OWN_SLOW_SHARE, SLOW_SHARE
from woold.trial.judged import JudgedTrial
from woold.trial.percent import percent
from woold.trial.progress import TrialProgress
from woold.words import say

__all__ = ["VerdictFacts", "verdict_method"]


@dataclass(frozen=True, slots=True)
class VerdictFacts:
    """What a verdict rests on.

    Args:
        film: comparison of film mass of the records judged.
        judged: what the looks have shown.
        progress: how far the trial has come.
        aim: saving that the trial was made to see.
        margin: largest share of a zone's hold that may be lost.
        zones_asked: number of zones that the trial looks at.
        confounded: what the treatments cannot be told from; "" where they can.
        before_after: of a trial that is fitted once; None of an interleaved one.
    """

    film: TrialComparison
    judged: JudgedTrial
    progress: TrialProgress
    aim: float
    margin: float
    zones_asked: int
    confounded: str
    before_after: BeforeAfter | None = None


def verdict_method(facts: VerdictFacts) -> list[str]:
    """How the verdict was found, each a sentence."""
    judged, progress = facts.judged, facts.progress
    found = [] if facts.before_after is None else _before_after_words(facts.before_after)
    if facts.film.rolls_compared is not None and facts.before_after is None:
        found.append(
            say(
                "Each treatment had film rolls of its own, so a roll counts as one reading, not"
                " its loads: {rolls} rolls are compared. Wrap both treatments from the same rolls"
                " to see more.",
                rolls=facts.film.rolls_compared,
            )
        )
    if judged.equal_hold is not None:
        found.append(
            say(
                "Film at equal hold is the ratio of film over the ratio of pull readings (geometric"
                " mean of the zones, their correlation used), taking hold as proportional to film."
            )
        )
    if progress.loads_planned is None:
        found.append(
            say(
                "No plan is kept, so nobody knows at how many loads this was to be judged; the"
                " intervals hold for records that were looked at once."
            )
        )
    elif len(progress.looks) > 1 and progress.look:
        headline = judged.equal_hold or judged.film
        decided = headline.look if headline is not None else None
        at = progress.looks[(decided or progress.look) - 1]
        found.append(
            say(
                "Judged at look {look} of {looks}, with {loads} of {planned} planned loads: a"
                " result counts beyond {limit} standard errors (one-sided p {p}), so that the error"
                " over all looks stays at 2.5 %. Intervals allow for the looks.",
                look=at.number,
                looks=len(progress.looks),
                loads=at.loads,
                planned=progress.loads_planned,
                limit=f"{at.limit:.2f}",
                p=f"{at.p:.4f}",
            )
        )
    return found


def _before_after_words(found: BeforeAfter) -> list[str]:
    """How before was compared with after, and what that leaves open."""
    said = [
        say(
            "Fitted once: {before} rolls before are compared with {after} after; the error is"
            " taken from slow changes over the trial (waves: {waves}), so that neighbours that are"
            " alike do not pass for certainty.",
            before=found.blocks_before,
            after=found.blocks_after,
            waves=found.waves,
        ),
        say(
            "It allows for changes that come slowly and make up to {share} of a roll's scatter.",
            share=percent(OWN_SLOW_SHARE if found.has_control else SLOW_SHARE, 0),
        ),
    ]
    if not found.rolls_weighed:
        said.append(
            say(
                "Rolls were not weighed, so their differences count as scatter; a lighter delivery"
                " after the change passes for a saving."
            )
        )
    if found.has_control:
        said.append(say("What an unchanged machine did in the same blocks is taken off."))
    else:
        said.append(
            say(
                "A steady drift is taken out, but no unchanged machine was weighed beside it:"
                " whatever else changed on that day passes for the carriage."
            )
        )
    return said
