"""The strongest sentence that the sites allow, and the test of a sentence that somebody typed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np

from woold.errors import InputError
from woold.sites.best_by_chance import (
    LargestByChance,
    chance_that_largest_reaches,
    largest_by_chance,
)
from woold.sites.between_sites import Array
from woold.sites.effect import effect_of, saving_of
from woold.sites.next_site import share_saving_at_least
from woold.sites.pooling import Pooled
from woold.words import say

__all__ = [
    "ClaimPart",
    "ClaimStrength",
    "PartVerdict",
    "check_claim",
    "claim_sentence",
    "claim_strength",
    "percent",
    "read_claim",
]

ClaimStrength = Literal["none", "average", "next site"]
Verdict = Literal["supported", "not shown", "contradicted"]
PartKind = Literal["average", "up to", "at least", "at least on average"]

# "Up to x %" is fair when at least one site in twenty truly saves x %: a convention of this
# program, adjustable.
LEAST_SHARE_FOR_UP_TO = 0.05

CAUTION = (
    "A saving of film is worth nothing if the load is held less: containment must have been equal "
    "in these trials. The sites are those that were tried; others may differ."
)

_NUMBER = r"(-?\d+(?:\.\d+)?)\s*(?:%|percent|per cent)"
_PATTERNS: tuple[tuple[str, tuple[PartKind, ...]], ...] = (
    (rf"at least\s+{_NUMBER}\s+(?:saving\s+)?on average", ("at least on average",)),
    (
        r"(?:between\s+|from\s+)?(-?\d+(?:\.\d+)?)\s*(?:%|percent|per cent)?\s*(?:to|and|-|–)\s*"
        + _NUMBER,
        ("at least", "up to"),
    ),
    (rf"(?:up to|as much as|at most|maximum of|max\.?)\s+{_NUMBER}", ("up to",)),
    (
        rf"(?:at least|no less than|not less than|more than|guaranteed?|always)\s+{_NUMBER}",
        ("at least",),
    ),
    (rf"{_NUMBER}\s+or more", ("at least",)),
    (rf"average[a-z]*(?:\s+savings?)?(?:\s+(?:of|is|about))*\s+{_NUMBER}", ("average",)),
    (rf"{_NUMBER}(?:\s+saving)?(?:\s+on)?(?:\s+an)?\s+average", ("average",)),
    (_NUMBER, ("average",)),
)
_LONGEST_CLAIM = 300


@dataclass(frozen=True, slots=True)
class ClaimPart:
    """One thing that a typed claim says: "average" 5 %, "up to" 15 %."""

    kind: PartKind
    saving: float


@dataclass(frozen=True, slots=True)
class PartVerdict:
    """What the sites say about one part of a claim.

    Args:
        part: what was claimed.
        verdict: ``"supported"``, ``"not shown"`` (not ruled out either) or ``"contradicted"``.
        reason: the numbers behind it, in a sentence.
        share, share_low, share_high: sites that truly save this much or more; None for averages.
        largest_seen: the best site's result; for "up to".
        largest_by_chance: what the best site would show if all sites saved the average.
        chance_if_equal: that at least one result reaches the claim although all sites are equal.
    """

    part: ClaimPart
    verdict: Verdict
    reason: str
    share: float | None = None
    share_low: float | None = None
    share_high: float | None = None
    largest_seen: float | None = None
    largest_by_chance: LargestByChance | None = None
    chance_if_equal: float | None = None


def percent(saving: float) -> str:
    """Text of a saving to one decimal: "5.1 %"; a minus is a sign, and no zero carries one."""
    if saving < -10.0:
        return "less than -1000 %"
    text = f"{100.0 * saving:.1f}"
    return f"{text.removeprefix('-') if float(text) == 0.0 else text} %"


def _confidence(pooled: Pooled) -> str:
    return f"{100.0 * pooled.confidence:g} %"


def claim_strength(pooled: Pooled) -> ClaimStrength:
    """How far the numbers carry: nothing, an average, or the next site too."""
    if pooled.low <= 0.0:
        return "none"
    return "next site" if pooled.prediction_low > 0.0 else "average"


def claim_sentence(pooled: Pooled) -> str:
    """The strongest wording that the numbers allow."""
    average = (
        f"{percent(saving_of(pooled.mean))} ({_confidence(pooled)} interval "
        f"{percent(saving_of(pooled.low))} to {percent(saving_of(pooled.high))})"
    )
    ends = (saving_of(pooled.prediction_low), saving_of(pooled.prediction_high))
    following = f"between {percent(ends[0])} and {percent(ends[1])}"
    strength = claim_strength(pooled)
    if strength == "none":
        if pooled.high < 0.0:
            return (
                f"In trials at {pooled.sites} sites more film was used, not less: "
                f"the average saving was {average}."
            )
        return (
            f"Trials at {pooled.sites} sites do not show that film is saved on average: "
            f"the estimate is {average}, and zero lies within it."
        )
    opening = f"In trials at {pooled.sites} sites film use fell by {average} on average."
    if strength == "average":
        return (
            f"{opening} Sites differ: a further site like these is expected to save {following}, "
            "so it may save nothing."
        )
    if pooled.tau2_low > 0.0:
        return f"{opening} Sites differ: a further site like these is expected to save {following}."
    return (
        f"{opening} A further site like these is expected to save {following}; the sites' results "
        "differ no more than their measurement error explains, so the best of them proves no "
        "larger saving."
    )


def read_claim(text: str) -> tuple[ClaimPart, ...]:
    """The parts of a typed claim: "5 % on average, up to 15 %".

    Raises:
        InputError: too long, no saving in it, or a saving of 100 % and more.
    """
    allowed = 'a claim such as "5 % on average, up to 15 %" or "at least 3 %"'
    if len(text) > _LONGEST_CLAIM:
        raise InputError.one("claim", text, allowed, say("Shorten it."))
    rest = " ".join(text.split()).lower()
    found: list[tuple[int, ClaimPart]] = []
    for pattern, kinds in _PATTERNS:
        while match := re.search(pattern, rest):
            for kind, number in zip(kinds, match.groups(), strict=True):
                saving = float(number) / 100.0
                if not -1.0 < saving < 1.0:
                    raise InputError.one("claim", f"{number} %", say("savings below 100 %"))
                found.append((match.start(), ClaimPart(kind, saving)))
            blank = ";" * (match.end() - match.start())  # keeps the places of what is left
            rest = rest[: match.start()] + blank + rest[match.end() :]
    if not found:
        raise InputError.one(
            "claim", repr(text), allowed, say("Write each saving with its % sign.")
        )
    return tuple(dict.fromkeys(part for _, part in sorted(found, key=lambda pair: pair[0])))


def check_claim(
    parts: tuple[ClaimPart, ...],
    effects: Array,
    standard_errors: Array,
    pooled: Pooled,
    least_share: float = LEAST_SHARE_FOR_UP_TO,
) -> tuple[PartVerdict, ...]:
    """What the sites say about each part of a claim.

    Args:
        parts: of the claim.
        effects, standard_errors: of the sites, shape (sites,).
        pooled: their average.
        least_share: of all sites that must truly reach an "up to".
    """
    effects = np.asarray(effects, float)
    standard_errors = np.asarray(standard_errors, float)
    verdicts = []
    for part in parts:
        if part.kind in ("average", "at least on average"):
            verdicts.append(_check_average(part, pooled))
        elif part.kind == "up to":
            verdicts.append(_check_up_to(part, effects, standard_errors, pooled, least_share))
        else:
            verdicts.append(_check_at_least(part, effects, standard_errors, pooled))
    return tuple(verdicts)


def _check_average(part: ClaimPart, pooled: Pooled) -> PartVerdict:
    claimed = effect_of(part.saving)
    interval = (
        f"the average is {percent(saving_of(pooled.mean))}, {_confidence(pooled)} interval "
        f"{percent(saving_of(pooled.low))} to {percent(saving_of(pooled.high))}"
    )
    # A claim is read to the half per cent step that it is commonly typed in: 5 % covers 4.95 %.
    is_estimate = part.saving <= saving_of(pooled.mean) + 0.0005
    if claimed <= pooled.low:
        return PartVerdict(part, "supported", f"even the low end reaches it: {interval}")
    if claimed > pooled.high:
        return PartVerdict(part, "contradicted", f"the high end lies below it: {interval}")
    if part.kind == "average" and is_estimate and pooled.low > 0.0:
        return PartVerdict(part, "supported", f"as an estimate, said with its interval: {interval}")
    return PartVerdict(part, "not shown", interval)


def _check_up_to(
    part: ClaimPart,
    effects: Array,
    standard_errors: Array,
    pooled: Pooled,
    least_share: float,
) -> PartVerdict:
    claimed = effect_of(part.saving)
    share, low, high = share_saving_at_least(effects, standard_errors, claimed, pooled.confidence)
    by_chance = largest_by_chance(pooled.mean, standard_errors)
    chance = chance_that_largest_reaches(claimed, pooled.mean, standard_errors)
    # One site on its own has shown it, allowing for its having been picked as the best of all.
    shown = np.flatnonzero(
        effects - _picked_reach(effects.size, pooled) * standard_errors >= claimed
    )
    verdict: Verdict
    if shown.size or low >= least_share:
        verdict = "supported"
    elif high >= least_share:
        verdict = "not shown"
    else:
        verdict = "contradicted"
    seen = float(effects.max())
    reason = (
        f"the best of {effects.size} sites showed {percent(saving_of(seen))}; if all sites truly "
        f"saved {percent(saving_of(pooled.mean))}, the best would still show "
        f"{percent(saving_of(by_chance.mean))} on average (90 % of times "
        f"{percent(saving_of(by_chance.low))} to {percent(saving_of(by_chance.high))}) from "
        f"measurement error alone, and reach {percent(part.saving)} in "
        f"{percent(chance)} of cases; {percent(share)} of all sites are expected to save that "
        f"much ({_confidence(pooled)} interval {percent(low)} to {percent(high)}; "
        f"{percent(least_share)} are asked for)"
    )
    return PartVerdict(part, verdict, reason, share, low, high, seen, by_chance, chance)


def _picked_reach(sites: int, pooled: Pooled) -> float:
    from scipy.special import ndtri

    return float(ndtri(1.0 - (1.0 - pooled.confidence) / 2.0 / sites))


def _check_at_least(
    part: ClaimPart, effects: Array, standard_errors: Array, pooled: Pooled
) -> PartVerdict:
    claimed = effect_of(part.saving)
    share, low, high = share_saving_at_least(effects, standard_errors, claimed, pooled.confidence)
    below = np.flatnonzero(
        effects + _picked_reach(effects.size, pooled) * standard_errors < claimed
    )
    verdict: Verdict
    if below.size or pooled.prediction_high < claimed:
        verdict = "contradicted"
    elif claimed <= pooled.prediction_low:
        verdict = "supported"
    else:
        verdict = "not shown"
    reason = (
        f"a further site is expected between {percent(saving_of(pooled.prediction_low))} and "
        f"{percent(saving_of(pooled.prediction_high))}; {percent(share)} of all sites are "
        f"expected to save {percent(part.saving)} or more ({_confidence(pooled)} interval "
        f"{percent(low)} to {percent(high)})"
    )
    if below.size:
        count = f"{below.size} site{'s have' if below.size > 1 else ' has'}"
        reason += f"; {count} shown less"
    return PartVerdict(part, verdict, reason, share, low, high)
