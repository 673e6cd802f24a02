"""A quote on one page, for the customer."""

from __future__ import annotations

from collections.abc import Iterator

from woold.quote.document import QuoteDocument
from woold.quote.rows import answer_blocks, assumed_sentence, assumed_table, cautions
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.pdf import is_one_page
from woold.rows.blocks import Block
from woold.units import show

__all__ = ["quote_sheet"]


def quote_sheet(found: QuoteDocument, making: Making) -> Report:
    """The page.

    Args:
        found: what may be expected.
        making: how it is made.
    """
    title = making.say(
        "Load {length} x {width} x {height}, {loads} loads a year",
        length=show(found.facts.length, "length", making.say.units),
        width=show(found.facts.width, "length", making.say.units),
        height=show(found.facts.height, "length", making.say.units),
        loads=making.say.fixed(found.facts.loads_per_year, 0),
    )
    for is_brief in (False, True):
        blocks = tuple(_blocks(found, making, is_brief))
        report = finished("quote", title, blocks, making, is_sheet=True)
        if is_one_page(report):
            break
    return report


def _blocks(found: QuoteDocument, making: Making, is_brief: bool) -> Iterator[Block]:
    say = making.say
    yield from answer_blocks(found, say)
    yield assumed_sentence(found, say) if is_brief else assumed_table(found, say)
    yield cautions(found, say)
