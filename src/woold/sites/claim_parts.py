"""What a claim says: of which sites, in which direction, how much."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from woold.rows.wording import Wording
from woold.words import to_say

__all__ = [
    "ClaimPart",
    "Relation",
    "Subject",
    "interval_texts",
    "outward",
    "part_text",
    "rounded_down",
    "saving_text",
]

Subject = Literal["average", "typical", "every site", "best site", "share of sites"]
Relation = Literal["about", "at least", "more than", "at most", "less than"]


@dataclass(frozen=True, slots=True)
class ClaimPart:
    """One thing that a claim says.

    Args:
        subject: of which sites it is said; "typical" is the median site; "best site" is "up to".
        relation: to the saving; of the best site "about" means that it is reached.
        saving: share of the baseline's film [-].
        share: of sites, where the subject is one [-].
        low, high: interval that is claimed with it [-].
        confidence: that is claimed with it [-].
    """

    subject: Subject
    relation: Relation
    saving: float
    share: float | None = None
    low: float | None = None
    high: float | None = None
    confidence: float | None = None


_TEXTS = {
    ("average", "about"): to_say("{saving} on average"),
    ("average", "at least"): to_say("at least {saving} on average"),
    ("average", "more than"): to_say("more than {saving} on average"),
    ("average", "at most"): to_say("at most {saving} on average"),
    ("average", "less than"): to_say("less than {saving} on average"),
    ("typical", "about"): to_say("{saving} at a typical site"),
    ("typical", "at least"): to_say("at least {saving} at a typical site"),
    ("typical", "more than"): to_say("more than {saving} at a typical site"),
    ("typical", "at most"): to_say("at most {saving} at a typical site"),
    ("typical", "less than"): to_say("less than {saving} at a typical site"),
    ("every site", "at least"): to_say("at least {saving} at every site"),
    ("every site", "more than"): to_say("more than {saving} at every site"),
    ("every site", "at most"): to_say("at most {saving} at every site"),
    ("every site", "less than"): to_say("less than {saving} at every site"),
    ("best site", "about"): to_say("up to {saving}"),
    ("share of sites", "at least"): to_say("at least {saving} at {share} of sites"),
    ("share of sites", "more than"): to_say("more than {saving} at {share} of sites"),
}


def saving_text(saving: float, say: Wording) -> str:
    """A saving to one decimal: "5.1 %"; no zero carries a minus."""
    if saving < -10.0:
        return say("less than {least}", least=say.percent(-10.0, 0))
    return say.percent(0.0 if abs(saving) < 0.0005 else saving)


def rounded_down(saving: float) -> float:
    """The saving rounded down to a tenth of a per cent."""
    return math.floor(1000.0 * saving + 1e-9) / 1000.0


def outward(low: float, high: float) -> tuple[float, float]:
    """Ends of an interval of savings to a tenth of a per cent, no narrower than it is."""
    return rounded_down(low), -rounded_down(-high)


def interval_texts(low: float, high: float, say: Wording) -> tuple[str, str]:
    """The same as text."""
    ends = outward(low, high)
    return saving_text(ends[0], say), saving_text(ends[1], say)


def part_text(part: ClaimPart, say: Wording) -> str:
    """How the part was read: "at least 3.0 % on average"."""
    share = "" if part.share is None else _level(part.share, say)
    text = say(
        _TEXTS[part.subject, part.relation], saving=saving_text(part.saving, say), share=share
    )
    if part.low is not None and part.high is not None:
        text = say(
            "{text}, between {low} and {high}",
            text=text,
            low=saving_text(part.low, say),
            high=saving_text(part.high, say),
        )
    if part.confidence is not None:
        level = _level(part.confidence, say)
        text = say("{text}, with {level} confidence", text=text, level=level)
    return text


def _level(share: float, say: Wording) -> str:
    """95 % without decimals, 97.5 % with as many as it needs."""
    return f"{say.number(100.0 * share, 4)} %"
