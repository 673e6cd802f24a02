"""What a load not wrapped yet will take, and what to measure next, in blocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from woold.learning.forecast import RISK, Forecast, Worth
from woold.learning.new_site import (
    FILM_AND_CARRIAGE,
    GRIP_THERE,
    MACHINE_AND_PLACE,
    MODEL,
    SITE,
)
from woold.prediction.yearly import Estimate
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["forecast_blocks", "measure_first_blocks", "percent_span", "saving_words"]


_CAUSES: Mapping[str, str] = MappingProxyType(
    {
        FILM_AND_CARRIAGE: to_say("film and carriage, as far as no trial tells them yet"),
        GRIP_THERE: to_say("grip, which differs from site to site"),
        MACHINE_AND_PLACE: to_say("machine, load and place there"),
        SITE: to_say("what else all readings of a site share"),
        MODEL: to_say("what the model misses of one way of wrapping"),
    }
)


_SAVES = to_say(
    "At a site not tried yet: {saving} of the film saved, most likely; nine of ten lie"
    " between {low} and {high}."
)
_TAKES_MORE = to_say(
    "At a site not tried yet: {more} more film, most likely; nine of ten savings lie"
    " between {low} and {high}."
)


def forecast_blocks(told: Forecast, say: Wording) -> Iterator[Block]:
    """What a load not wrapped yet will take, and what to measure next.

    Args:
        told: the forecast.
        say: words and numbers.
    """
    saving = told.saving
    if saving is not None:
        answer = saving_words(saving.after, _SAVES, _TAKES_MORE, say)
        yield Paragraph(answer, is_strong=True)
    rows = [_mass(say("Film per load"), told.film_mass_before_kg, told.film_mass_kg, say)]
    if told.baseline_mass_before_kg and told.baseline_mass_kg:
        label = say("Film per load, baseline")
        rows.append(_mass(label, told.baseline_mass_before_kg, told.baseline_mass_kg, say))
    if saving is not None:
        rows.append(
            Row(
                say("Saving of film"),
                say.percent(saving.after.value),
                percent_span(saving.after, say),
                say("without what was learnt {span}", span=percent_span(saving.before, say)),
            )
        )
        if saving.asked is not None and saving.chance is not None:
            label = say("Chance of {saving} or more", saving=say.percent(saving.asked))
            rows.append(Row(label, say.percent(saving.chance, 0)))
    yield Facts(say("A load not wrapped yet: mean of its loads, middle 90 %"), tuple(rows))
    if told.causes:
        rows = [Row(say(_CAUSES[each.cause]), say.percent(each.share, 0)) for each in told.causes]
        yield Facts(say("What makes this range so wide, as parts of its variance"), tuple(rows))
    yield from measure_first_blocks(told, say)
    if told.unknown:
        names = ", ".join(told.unknown)
        yield Paragraph(say("No trial tells of its {names}: they keep their ranges.", names=names))


def measure_first_blocks(told: Forecast, say: Wording) -> Iterator[Block]:
    """What to measure next, what it is worth, and whether enough was measured.

    Args:
        told: a forecast.
        say: words and numbers.
    """
    is_asked = told.is_enough is not None
    yield Table(
        say("Measure this first"),
        (
            *(
                say("of"),
                say("what"),
                say("loads or rolls"),
                say("narrows the answer's variance by"),
            ),
            *((say("changes the decision"), say("gains, points")) if is_asked else ()),
        ),
        tuple(_worth(each, say) for each in told.worth if each.narrower >= _TELLING),
        words=(0, 1),
    )
    if told.is_enough is not None:
        yield Paragraph(_enough(told, say))


_TELLING = 0.005
"""Part of a variance below which a measurement is not worth a row: it would be shown as 0 %."""


def _worth(each: Worth, say: Wording) -> tuple[str, ...]:
    cells = [say(each.treatment), say(each.what), str(each.loads), say.percent(each.narrower, 0)]
    if each.changes is not None and each.gain is not None:
        cells += [say.percent(each.changes, 0), say.fixed(100.0 * each.gain, 2)]
    return tuple(cells)


def _enough(told: Forecast, say: Wording) -> str:
    risk = say.percent(RISK, 0)
    if told.is_enough:
        return say(
            "Enough was measured: none of these changes the decision in more than {risk}.",
            risk=risk,
        )
    return say(
        "Measure on: the first of these may still change the decision in more than {risk}.",
        risk=risk,
    )


def _mass(label: str, before: Estimate, after: Estimate, say: Wording) -> Row:
    return Row(
        label,
        say.amount(after.value, "small_mass"),
        say.span(after.low, after.high, "small_mass"),
        say(
            "without what was learnt {span}",
            span=say.span(before.low, before.high, "small_mass"),
        ),
    )


def saving_words(found: Estimate, saves: str, takes_more: str, say: Wording) -> str:
    """A saving with its range in a sentence, and in another one where more film is likelier."""
    ends = {"low": say.percent(found.low), "high": say.percent(found.high)}
    if found.value >= 0.0:
        return say(saves, saving=say.percent(found.value), **ends)
    return say(takes_more, more=say.percent(-found.value), **ends)


def percent_span(found: Estimate, say: Wording) -> str:
    """ "1 % to 5 %"."""
    return say("{low} to {high}", low=say.percent(found.low), high=say.percent(found.high))
