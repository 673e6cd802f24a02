"""What was learnt, in blocks: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from woold.learning.document import LearnedDocument
from woold.learning.forecast_rows import forecast_blocks, percent_span
from woold.learning.held_back import HeldBack, PlainAverage
from woold.learning.learned import LearnedInput
from woold.learning.sampling import FEWEST, FEWEST_IN_TAILS, WORST_R_HAT
from woold.learning.versions import LearningVersion
from woold.prediction.yearly import Estimate
from woold.rows.blocks import Block, Bullets, Cautions, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.uncertainty.rows import RANGE_MEANING
from woold.words import to_say

__all__ = ["learned_blocks", "versions_table"]

_KINDS = {
    "kg": "small_mass",
    "m": "small_length",
    "N": "force",
    "s": "time",
    "kg/m": "linear_density",
}


def learned_blocks(found: LearnedDocument, say: Wording) -> list[Block]:
    """What was learnt.

    Args:
        found: what was learnt, and what it says of a case.
        say: words and numbers.
    """
    blocks: list[Block] = []
    if not found.is_trusted:
        answer = say("Nothing was learnt. {reason}", reason=say.sentence(found.diagnostics.reason))
        blocks.append(Paragraph(answer, is_strong=True))
    elif found.forecast is not None:
        blocks += forecast_blocks(found.forecast, say)
    if found.held_back is not None:
        blocks += _held_back(found.held_back, say)
    elif found.plain is not None:
        blocks.append(Facts(say("Beside it"), (_plain(found.plain, say),)))
    if found.findings:
        blocks += [Heading(say("Findings"), 3), Bullets(tuple(map(say.sentence, found.findings)))]
    if found.is_trusted:
        blocks += _what_was_learnt(found, say)
    blocks += [_trust(found, say), Cautions(say("Take care"), found.cautions)]
    return blocks


def versions_table(versions: Sequence[LearningVersion], say: Wording) -> Table:
    """What was learnt so far.

    Args:
        versions: the latest first.
        say: words and numbers.
    """
    return Table(
        say("Versions of what was learnt: each can be asked again"),
        (say("version"), say("when"), say("by"), say("trials"), say("averages"), say("woold")),
        tuple(
            (
                str(each.number),
                say("{day}, {time} UTC", day=each.at[:10], time=each.at[11:16]),
                each.by,
                ", ".join(each.trials),
                str(each.averages),
                each.made_with,
            )
            for each in versions
        ),
        words=(1, 2, 3, 5),
    )


def _plain(found: PlainAverage, say: Wording) -> Row:
    each = found.further_site
    return Row(
        say("Plain average of {sites} sites, nine of ten further ones", sites=found.sites),
        say.percent(each.value),
        percent_span(each, say),
    )


def _held_back(found: HeldBack, say: Wording) -> Iterator[Block]:
    answer = (
        say("{trial} measured what the other trials let expect of it.", trial=found.trial)
        if found.is_inside
        else say(
            "{trial} measured something else than the other trials let expect: look for the"
            " cause before this is used.",
            trial=found.trial,
        )
    )
    yield Paragraph(answer, is_strong=True)
    rows = [
        Row(
            say("Saving measured"),
            say.percent(found.measured.value),
            percent_span(found.measured, say),
        ),
        Row(say("Expected"), say.percent(found.expected.value), percent_span(found.expected, say)),
    ]
    if found.plain is not None:
        rows.append(_plain(found.plain, say))
    yield Facts(say("A trial that was not learnt from"), tuple(rows))


def _what_was_learnt(found: LearnedDocument, say: Wording) -> Iterator[Block]:
    told = [each for each in found.inputs if _is_learnt(each)]
    untaught = [each for each in found.inputs if each not in told]
    if told:
        yield Table(
            say("Inputs that the trials tell"),
            (
                *(say("of"), say("input"), say("taken for its range")),
                *(say("before, 90 %"), say("now, 90 %"), say("spread left")),
            ),
            tuple(_input(each, say) for each in told),
            words=(0, 1, 2),
        )
        yield Paragraph(f"{say(RANGE_MEANING)} {say(_NINE_IN_TEN)}")
    learnt = {each.field for each in told}
    untold = sorted(
        {
            say("{input} of {owner}", input=each.field, owner=each.owner)
            if each.field in learnt
            else each.field
            for each in untaught
        }
    )
    if untold:
        names = ", ".join(untold)
        yield Paragraph(
            say("Nothing was learnt of {names}: it keeps its range.", names=names)
            if len(untold) == 1
            else say("Nothing was learnt of {names}: they keep their ranges.", names=names)
        )
    yield Table(
        say("How far readings lie off the model, beyond its inputs"),
        (say("reading"), say("between sites"), say("90 %"), say("of the model"), say("90 %")),
        tuple(
            (
                say(each.what),
                say.percent(each.between_sites.value),
                percent_span(each.between_sites, say),
                say.percent(each.of_model.value),
                percent_span(each.of_model, say),
            )
            for each in found.spreads
        ),
        words=(0,),
    )
    if found.drift is not None:
        row = Row(
            say("Grip differs from site to site by"),
            say.percent(found.drift.value),
            percent_span(found.drift, say),
            say("in a year it wanders as far again, and may wear by twice as much"),
        )
        yield Facts(say("Drift"), (row,))
    yield Table(
        say("Readings"),
        (say("trial"), say("of"), say("average of"), say("measured"), say("before"), say("now")),
        tuple(
            (
                each.trial,
                say("{way}, {load}", way=say(each.treatment), load=each.load_type),
                each.what,
                _value(each.measured, each.unit, say),
                _span(each.before, each.unit, say),
                _span(each.after, each.unit, say),
            )
            for each in found.readings
        ),
        words=(0, 1, 2),
    )


_TAKEN_FOR: Mapping[str, str] = MappingProxyType(
    {
        "pert": to_say("PERT"),
        "normal": to_say("normal"),
        "lognormal": to_say("lognormal"),
    }
)
_NINE_IN_TEN = to_say(
    "Of normal and lognormal ones nine in ten lie within the range: those of laws, and grip, since"
    " wear may lead beyond any range."
)


_HARDLY = 0.05
"""Part of a range by which a spread of some hundred independent draws is off by chance [-]."""


def _is_learnt(each: LearnedInput) -> bool:
    """Whether a range became narrower, or its middle moved, by more than draws do by chance."""
    if not each.is_told:
        return False
    moved = abs(each.after.value - each.before.value)
    wide = each.before.high - each.before.low
    return each.left < 1.0 - _HARDLY or moved > 2.0 * _HARDLY * wide


def _input(each: LearnedInput, say: Wording) -> tuple[str, ...]:
    return (
        each.owner,
        each.field,
        say(_TAKEN_FOR[each.distribution]),
        say.span(each.before.low, each.before.high, each.kind),
        say.span(each.after.low, each.after.high, each.kind),
        say.percent(each.left, 0),
    )


def _value(value: float, unit: str, say: Wording) -> str:
    kind = _KINDS.get(unit)
    return say.number(value) if kind is None else say.amount(value, kind)


def _span(found: Estimate, unit: str, say: Wording) -> str:
    kind = _KINDS.get(unit)
    if kind is not None:
        return say.span(found.low, found.high, kind)
    return say("{low} to {high}", low=say.number(found.low), high=say.number(found.high))


def _trust(found: LearnedDocument, say: Wording) -> Facts:
    drawn = found.diagnostics
    return Facts(
        say("Whether the draws can be trusted"),
        (
            Row(say("Draws"), str(drawn.draws), note=say("by {how}", how=drawn.by)),
            Row(
                say("Agreement of the chains (R-hat)"),
                say.fixed(drawn.r_hat, 3),
                note=say("{most} at most", most=say.number(WORST_R_HAT)),
            ),
            Row(
                say("Independent draws, fewest"),
                say.fixed(drawn.effective, 0),
                note=say("{least} at least", least=FEWEST),
            ),
            Row(
                say("The same, of the ends of ranges"),
                say.fixed(drawn.effective_in_tails, 0),
                note=say("{least} at least", least=FEWEST_IN_TAILS),
            ),
            Row(say("Draws that lost their way"), str(drawn.divergences)),
        ),
    )
