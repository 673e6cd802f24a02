"""Findings and cautions as blocks, under a heading that the page has already."""

from __future__ import annotations

from collections.abc import Sequence

from woold.prediction.result import Finding
from woold.rows.blocks import Block, Cautions, Note, Paragraph
from woold.rows.wording import Wording

__all__ = ["caution_blocks", "finding_blocks"]


def finding_blocks(findings: Sequence[Finding], say: Wording) -> list[Block]:
    """A note each, or one line that there are none."""
    if not findings:
        return [Paragraph(say("No findings."))]
    return [Note(each.field, say.sentence(each.message)) for each in findings]


def caution_blocks(cautions: Sequence[str], say: Wording) -> list[Block]:
    """The usual cautions."""
    return [Cautions(say("Take care"), tuple(say(each) for each in cautions))]
