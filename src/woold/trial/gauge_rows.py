"""A gauge study in blocks: analysis of variance, where the spread comes from, what that means."""

from __future__ import annotations

from woold.rows.blocks import Block, Paragraph, Table
from woold.rows.wording import Wording
from woold.trial.gauge import GaugeStudy
from woold.words import to_say

__all__ = ["COMPONENT_NAMES", "gauge_blocks"]

COMPONENT_NAMES = {
    "appraiser": to_say("person"),
    "between": to_say("between"),
    "gauge": to_say("gauge"),
    "part": to_say("part"),
    "part x appraiser": to_say("part and person together"),
    "pooled repeatability": to_say("repeatability, pooled"),
    "repeatability": to_say("repeatability"),
    "reproducibility": to_say("reproducibility"),
    "total": to_say("total"),
    "within": to_say("within"),
}


def gauge_blocks(name: str, study: GaugeStudy, effect: str, say: Wording) -> list[Block]:
    """A gauge study.

    Args:
        name: of the gauge.
        study: its study.
        effect: what it does to the trial, a sentence; "" where that is not known.
        say: words and numbers.
    """
    blocks: list[Block] = [_variance_table(name, study, say)]
    if study.appraisers > 1:
        blocks.append(
            Paragraph(
                say(
                    "Interaction of part and person: p above 0.25, so it was taken into"
                    " repeatability."
                )
                if study.pooled
                else say("Interaction of part and person: p at or below 0.25, so it was kept.")
            )
        )
    blocks += [_spread_table(study, say), Paragraph(say.sentence(study.verdict))]
    return [*blocks, Paragraph(say.sentence(effect))] if effect else blocks


def _variance_table(name: str, study: GaugeStudy, say: Wording) -> Table:
    columns = (
        say("source"),
        say("freedom"),
        say("sum of squares"),
        say("mean square"),
        "F",
        "p",
    )
    rows = tuple(
        (
            say(COMPONENT_NAMES[row.source]),
            str(row.df),
            say.number(row.sum_of_squares, 5),
            say.number(row.mean_square, 5),
            "" if row.f != row.f else say.fixed(row.f, 2),
            "" if row.p != row.p else say.fixed(row.p, 4),
        )
        for row in study.anova
    )
    caption = say(
        "{name}: analysis of variance (parts: {parts}, people: {people}, repeats: {repeats})",
        name=name,
        parts=study.parts,
        people=study.appraisers,
        repeats=study.repeats,
    )
    return Table(caption, columns, rows)


def _spread_table(study: GaugeStudy, say: Wording) -> Table:
    columns = (
        say("part of the spread"),
        say("standard deviation"),
        say("share of variance"),
        say("share of study variation"),
    )
    rows = tuple(
        (
            say(COMPONENT_NAMES[each.name]),
            say.number(each.sd, 4),
            say.percent(each.variance_share),
            say.percent(each.study_share),
        )
        for each in study.components
    )
    return Table(say("Where the spread comes from"), columns, rows)
