"""A result that shows itself: as a document, in one line, and as a page of a notebook."""

from __future__ import annotations

import importlib
import textwrap
from collections.abc import Iterable, Iterator

from woold.rows.blocks import Block, Cautions, Facts, Heading, Note, Paragraph, Table
from woold.rows.document import JsonDocument
from woold.rows.wording import Wording
from woold.units import UnitSystem
from woold.words import say

__all__ = ["Told"]

_ROWS_IN_LINE = 3
_LONGEST = 300


class Told(JsonDocument):
    """Base of results.

    A result class names its document and the function that tells its blocks, which stands in a
    module that itself needs the result: "room.module:function", called with the result and the
    wordings of text and, where it has any, of tables.
    """

    __slots__ = ()

    told_by = ""

    def blocks(self, units: UnitSystem = "both") -> list[Block]:
        """What there is to read, findings and cautions included.

        Args:
            units: units of its numbers.
        """
        module, _, function = self.told_by.partition(":")
        tell = getattr(importlib.import_module(module), function)
        wordings = [Wording(units=units)] * (tell.__code__.co_argcount - 1)
        blocks: list[Block] = list(tell(self, *wordings))
        if not any(isinstance(each, Note) for each in blocks):
            blocks += self._notes()
        if not any(isinstance(each, Cautions) for each in blocks):
            cautions = tuple(say(each) for each in getattr(self, "cautions", ()))
            blocks += [Cautions(say("Take care"), cautions)] if cautions else []
        return blocks

    def _notes(self) -> Iterator[Block]:
        findings = getattr(self, "findings", ())
        if findings:
            yield Heading(say("Findings"), 3)
        for each in findings:
            yield Note(each.field, each.message)

    def __repr__(self) -> str:
        told = textwrap.shorten("; ".join(_short(self.blocks("si"))), _LONGEST, placeholder=" …")
        return f"<{type(self).__name__}: {told}>"

    def _repr_html_(self) -> str:
        """The blocks as HTML, for notebooks."""
        from woold.rows.notebook import blocks_html

        title = getattr(self, "title", "")
        blocks = self.blocks()
        if title and not any(isinstance(each, Heading) and each.level == 2 for each in blocks):
            blocks.insert(0, Heading(title))
        return blocks_html(blocks)


def _short(blocks: Iterable[Block]) -> list[str]:
    """The answer if there is one, else the first rows."""
    for block in blocks:
        if isinstance(block, Paragraph) and block.is_strong:
            return [block.text]
        if isinstance(block, Facts):
            return [f"{row.label} {row.value}" for row in block.rows[:_ROWS_IN_LINE]]
        if isinstance(block, Table):
            first = dict.fromkeys(row[0] for row in block.rows if row[0])
            return [block.caption, ", ".join(list(first)[:_ROWS_IN_LINE])]
    return []
