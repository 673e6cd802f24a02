"""One carriage for the line, in words."""

from __future__ import annotations

from woold.line.envelope_rows import envelope_blocks
from woold.line.limits import LIMITS
from woold.line.one_carriage import CarriageServes, LineCarriages
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["carriages_blocks"]


def carriages_blocks(result: LineCarriages, wording: Wording) -> list[Block]:
    """Which carriage serves most, what one for all costs, and the best for each machine.

    Args:
        result: what each does.
        wording: units and marks of its numbers.
    """
    first = result.carriages[0]
    blocks: list[Block] = [
        Paragraph(
            say(
                "{carriage} serves most: {share} of the line's film.",
                carriage=first.carriage,
                share=wording.percent(first.film_share),
            ),
            is_strong=True,
        ),
        Facts(
            result.title or say("The line"),
            (
                Row(say("kinds of load"), wording.fixed(result.loads, 0)),
                Row(say("loads a year"), wording.fixed(result.loads_per_year, 0)),
                Row(
                    say("film a year"),
                    wording.amount(result.film_per_year_kg, "mass"),
                    note=say("today's carriages where they are known, else the least of any"),
                ),
            ),
        ),
        _table(result, wording),
        Paragraph(
            say(
                "The price of one is film a year beyond the best listed carriage for each machine,"
                " on the loads that both serve; ranges hold 90 % of {draws} draws of what nobody"
                " measured and of the law of the film's width. A saving below 0 is film that it"
                " takes beyond today's.",
                draws=wording.fixed(result.draws, 0),
            )
        ),
    ]
    for searched in result.envelopes:
        blocks.extend(envelope_blocks(searched, wording))
    limits = tuple(
        (each.carriage, say(LIMITS[limit.limit]), wording.percent(limit.film_share))
        for each in result.carriages
        for limit in each.limits
    )
    if limits:
        heads = (say("carriage"), say("what limits it"), say("film that it does not serve"))
        blocks.append(Table(say("Why the rest is not served"), heads, limits, words=(0, 1)))
    rows = tuple(
        (
            each.machine_model,
            each.carriage,
            wording.percent(each.film_share),
            each.today or "-",
            "-" if each.today_share is None else wording.percent(each.today_share),
        )
        for each in result.machines
    )
    names = (say("machine"), say("best carriage"), say("serves"), say("today"), say("serves"))
    blocks.append(
        Table(
            say("The best of the listed carriages for each machine"), names, rows, words=(0, 1, 3)
        )
    )
    return blocks


def _table(result: LineCarriages, wording: Wording) -> Table:
    heads = (
        say("carriage"),
        say("serves of the film"),
        say("of the loads"),
        say("a limit within a tenth"),
        say("a roller may slip"),
        say("price of one"),
        say("range"),
        say("saves against today"),
        say("range"),
    )
    rows = tuple(_row(each, wording) for each in result.carriages)
    return Table(say("Each carriage as the only one"), heads, rows)


def _row(each: CarriageServes, wording: Wording) -> tuple[str, ...]:
    saving = ("-", "-")
    if (
        each.saving_share is not None
        and each.saving_low_share is not None
        and each.saving_high_share is not None
    ):
        ends = (wording.percent(each.saving_low_share), wording.percent(each.saving_high_share))
        saving = (
            wording.percent(each.saving_share),
            say("{low} to {high}", low=ends[0], high=ends[1]),
        )
    return (
        each.carriage,
        wording.percent(each.film_share),
        wording.percent(each.loads_share),
        wording.percent(each.close_share),
        wording.percent(each.slips_share),
        wording.amount(each.price_of_one_kg, "mass"),
        wording.span(each.price_of_one_low_kg, each.price_of_one_high_kg, "mass"),
        *saving,
    )
