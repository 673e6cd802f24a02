"""What an import did, in blocks."""

from __future__ import annotations

from woold.rows.blocks import Block, Paragraph
from woold.rows.wording import Wording
from woold.trial.importing import Imported

__all__ = ["import_blocks"]


def import_blocks(done: Imported, say: Wording) -> list[Block]:
    """What an import did.

    Args:
        done: the import.
        say: words and numbers.
    """
    new = {
        "load": say("loads"),
        "width": say("widths"),
        "pull": say("pull readings"),
        "gauge": say("gauge readings"),
        "attempt": say("wraps that do not count"),
    }
    parts = [
        say("{count} new {what}", count=count, what=new[kind]) for kind, count in done.added.items()
    ]
    if done.completed:
        parts.append(say("{count} filled in", count=done.completed))
    if done.corrected:
        parts.append(say("{count} corrected", count=done.corrected))
    if done.known:
        parts.append(say("{count} on record already", count=done.known))
    if done.set_aside:
        words = say("{count} readings of earlier wraps taken out", count=done.set_aside)
        parts.append(words)
    if done.unused:
        parts.append(say("{count} not used yet", count=done.unused))
    blocks: list[Block] = [Paragraph(f"{done.trial}: {', '.join(parts) or say('nothing')}.")]
    if done.read_as:
        blocks.append(Paragraph(done.read_as))
    if done.file_known:
        blocks.append(Paragraph(say("This very file was imported before.")))
    blocks += [Paragraph(each) for each in done.said]
    if done.unread:
        names = ", ".join(done.unread)
        blocks.append(
            Paragraph(say("Not read, being no sheet of the trial: {names}.", names=names))
        )
    return blocks
