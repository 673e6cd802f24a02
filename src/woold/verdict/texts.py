"""A verdict in sentences: the answer, what limits it, what would mend it first."""

from __future__ import annotations

import math
from typing import Final

from woold.rows.wording import Wording
from woold.transport.result import REACHED_NAMES, direction_name
from woold.transport.unmeasured import HOW_TO_MEASURE, INPUT_NAMES, MARGIN
from woold.verdict.result import Limit, Sureness, VerdictPart
from woold.words import to_say

__all__ = [
    "LIMIT_NAMES",
    "answer_text",
    "held_text",
    "limit_text",
    "mend_text",
    "offers",
    "share_text",
    "sure_text",
    "where_text",
]

LIMIT_NAMES: Final[dict[str, str]] = {
    "target": to_say("containment force"),
    "edge_load": to_say("force on a corner"),
    **REACHED_NAMES,
    "grip": to_say("grip of the pre-stretch rollers"),
    "film_strength": to_say("what the film bears"),
    "drive": to_say("carriage speed on the mast"),
    "simulated": to_say("the time simulation"),
}

_MENDS: Final[dict[Limit, str]] = {
    "target": to_say(
        "Lay more film there: a band of wraps, more overlap, or more force to load if corners and"
        " film bear it."
    ),
    "edge_load": to_say(
        "Lower the force to load or the layers where they are most, or put edge protectors on the"
        " corners and state what they bear."
    ),
    "slip": to_say("Support from outside: neighbours, a wall, bars."),
    "lean": to_say("More film over the height of the load, or anti-slip sheets between tiers."),
    "kept": to_say("More film over the height of the load, or anti-slip sheets between tiers."),
    "stack_tips": to_say(
        "Support from outside: neighbours, a wall, bars; or a lower stack on a wider base. Film"
        " does not stop it."
    ),
    "unit_tips": to_say(
        "Secure the whole pallet on the vehicle: neighbours, a wall, bars, straps. Film has no"
        " part in that."
    ),
    "unit_slides": to_say(
        "Secure the whole pallet on the vehicle: against a wall or neighbours, with straps, or on"
        " anti-slip mats. Film has no part in that."
    ),
    "grip": to_say(
        "More contact angle, a cleaner or grippier cover, a nip, or more tension on the roller's"
        " slack side."
    ),
    "film_strength": to_say("Lower the pre-stretch or the force to load, or take another film."),
    "drive": to_say("Turn slower or lower the rise per turn."),
    "simulated": to_say(
        "More film over the height of the load, anti-slip sheets between tiers, or support from"
        " outside: neighbours, a wall, bars."
    ),
}

_USUAL_SHEET: Final = 0.6
"""Friction that EN 12195-1:2010, Annex B, counts for anti-slip mats; from memory [-]."""

_MOST_LAYERS: Final = 10
"""More than that nobody lays on purpose to stop one tier (judgement)."""

_OFFERS: Final = (
    to_say(
        "A containment force for a zone of height, such as 120 N from 0 m to 1.5 m: hold.targets."
    ),
    to_say("What the product's corners bear, such as 800 N/m: hold.edge_load_limit."),
    to_say(
        "The way that it goes, such as EN 12195-1 road, or another set of accelerations:"
        " transport.profiles."
    ),
)


def offers(say: Wording) -> tuple[str, ...]:
    """What may be asked, and how to add it to a case."""
    return tuple(say(each) for each in _OFFERS)


def share_text(share: float, say: Wording) -> str:
    """A share that never looks larger than it is: what is missed by a hair is not 100 %."""
    return say.percent(math.floor(1000.0 * share + 1e-6) / 1000.0)


def answer_text(
    asked: bool, holds: bool | None, share: float | None, worst: VerdictPart | None, say: Wording
) -> str:
    """The answer in a sentence or two.

    Args:
        asked, holds, share, worst: as in `woold.verdict.result.Verdict`.
        say: words and numbers.
    """
    if not asked or worst is None:
        return say(
            "Nothing is asked of the hold, so it cannot be judged: say what the load must hold."
        )
    limit = limit_text(worst, say)
    if holds is None and worst.share_least is not None and worst.share_most is not None:
        return say(
            "It cannot be said whether the load holds: {least} to {most} of what is asked at the"
            " worst place. {limit}",
            least=share_text(worst.share_least, say) if worst.share_least else say.percent(0.0, 0),
            most=share_text(worst.share_most, say),
            limit=limit,
        )
    if holds is None:
        return say("It cannot be said whether the load holds. {limit}", limit=limit)
    if holds and share is None:
        return say("By this estimate the load holds what is asked. {limit}", limit=limit)
    if holds:
        return say(
            "By this estimate the load holds: {share} of what is asked at the worst place. {limit}",
            share=share_text(share or 0.0, say),
            limit=limit,
        )
    if not share:
        return say("By this estimate the load does not hold. {limit}", limit=limit)
    return say(
        "By this estimate the load does not hold: {share} of what is asked at the worst place."
        " {limit}",
        share=share_text(share, say),
        limit=limit,
    )


def limit_text(part: VerdictPart, say: Wording) -> str:
    """What limits it, as a sentence."""
    if part.decided_by:
        return say(
            "Limited by: {limit}, {where}. {reason}",
            limit=say(LIMIT_NAMES[part.limit]),
            where=where_text(part, say),
            reason=say.sentence(part.reason),
        )
    if part.reason:
        return say.sentence(part.reason)
    where, held = where_text(part, say), held_text(part, say)
    if held:
        return say(
            "Limited by: {limit}, {where}: {held}.",
            limit=say(LIMIT_NAMES[part.limit]),
            where=where,
            held=held,
        )
    return say("Limited by: {limit}, {where}.", limit=say(LIMIT_NAMES[part.limit]), where=where)


def where_text(part: VerdictPart, say: Wording) -> str:
    """Zone, height or direction of a part."""
    if part.low_m is not None and part.high_m is not None:
        zone = say.span(part.low_m, part.high_m, "length")
        if part.height_m is None:
            return zone
        height = say.amount(part.height_m, "length")
        return say("{zone} above the deck, worst at {height}", zone=zone, height=height)
    if part.profile:
        way = say(
            "{profile}, {direction}",
            profile=part.profile,
            direction=direction_name(part.direction),
        )
        if part.height_m is None:
            return way
        if part.height_m == 0.0:
            return say("{way}, over the pallet's deck", way=way)
        height = say.amount(part.height_m, "length")
        return say("{way}, over {height}", way=way, height=height)
    if part.limit == "simulated":
        return say("as the vehicle was recorded to move")
    if part.limit == "edge_load":
        return say("where the hoop tension is most")
    return say("on the machine")


_KINDS = {"N": "force", "N/m": "tension_per_width", "m": "small_length", "m/s": "speed"}


def held_text(part: VerdictPart, say: Wording) -> str:
    """What there is, and what is asked; "" where there is no number."""
    if part.unit == "s" and part.value is not None:
        return say("falls after {time}", time=say.amount(part.value, "time"))
    if not part.unit or part.asked is None:
        return ""
    kind = _KINDS[part.unit]
    asked = say.amount(part.asked, kind)
    if part.limit == "target":
        if part.value is None:
            return say("{asked} asked", asked=asked)
        return say("{held} of {asked}", held=say.amount(part.value, kind), asked=asked)
    if part.value is None:
        if part.limit == "edge_load":
            return say("a round load has no corner")
        return say("{asked} allowed, film does not keep it there", asked=asked)
    if part.limit == "slip" and part.unit == "N":
        most = say.amount(part.value, kind)
        return say("film never stops it, with {most} of the {asked} needed", most=most, asked=asked)
    return say("{reached}, {asked} allowed", reached=say.amount(part.value, kind), asked=asked)


def mend_text(part: VerdictPart, say: Wording) -> str:
    """What would mend a part that does not hold, or of which it cannot be said."""
    if part.holds is None and part.limit == "target":
        return say("Give low and high as heights over the deck, within the load.")
    if part.decided_by:
        return _measure_text(part.decided_by, say)
    if part.holds is None and part.profile:
        return say("Move it over time, or test a wrapped load: only a test can say.")
    if part.holds is None and part.limit != "film_strength":
        return say("Mend what is named there.")
    is_pallet = part.limit == "simulated" and part.field == "transport.vehicle_friction"
    limit = "unit_slides" if is_pallet else part.limit
    mend = _friction_text(part, say) or say(_MENDS[limit])
    if part.layers_missing is None:
        return mend
    count = math.ceil(part.layers_missing - 1e-9)
    if count > _MOST_LAYERS:
        return say(
            "{mend} Film alone would take {count} more layers there.", count=count, mend=mend
        )
    if count == 1:
        return say("One more layer of film there makes up for it. {mend}", mend=mend)
    return say("{count} more layers of film there make up for it. {mend}", count=count, mend=mend)


def _measure_text(decided_by: tuple[str, ...], say: Wording) -> str:
    """How to measure what decides, the first of it in full."""
    first, *rest = decided_by
    text = say(HOW_TO_MEASURE[first])
    if first != MARGIN:
        text = say("Measure {input}: {how}", input=say(INPUT_NAMES[first]), how=text)
    if not rest:
        return text
    others = ", ".join(say(INPUT_NAMES[each]) for each in rest)
    return say("{first} Then: {others}.", first=text, others=others)


def _friction_text(part: VerdictPart, say: Wording) -> str:
    """The friction at which a tier stays without film; "" where none is told."""
    if part.friction_needed is None:
        return ""
    friction = math.ceil(100.0 * part.friction_needed - 1e-6) / 100.0
    told = say.number(friction)
    if friction > _USUAL_SHEET:
        return say(
            "Support from outside (neighbours, a wall, bars), since friction alone would have to be"
            " {friction} there, more than rules count for anti-slip sheets ({usual}).",
            friction=told,
            usual=say.number(_USUAL_SHEET),
        )
    if part.height_m == 0.0:
        return say("An anti-slip sheet on the deck, with a friction of at least {f}.", f=told)
    return say("Anti-slip sheets between tiers, with a friction of at least {f}.", f=told)


def sure_text(sure: Sureness, say: Wording) -> str:
    """How often it holds over the ranges of what is not known exactly."""
    if not sure.varied:
        return say("No input states a range, so nothing can be said of how sure it is.")
    text = say(
        "It holds in {share} of {draws} draws (seed {seed}; 95 % interval {low} to {high}) of"
        " what is known within a range only (inputs: {inputs}).",
        share=say.percent(sure.share, 0),
        draws=sure.draws,
        seed=sure.seed,
        low=say.percent(sure.low, 0),
        high=say.percent(sure.high, 0),
        inputs=len(sure.varied),
    )
    if not sure.refused:
        return text
    more = say(
        "In {count} of them the values cannot be together; they count as not holding.",
        count=sure.refused,
    )
    return f"{text} {more}"
