"""What an import did, in blocks."""

from __future__ import annotations

from woold.rows.blocks import Block, Paragraph
from woold.rows.wording import Wording
from woold.trial.importing import Imported
from woold.words import to_say

__all__ = ["import_blocks"]


def import_blocks(done: Imported, say: Wording) -> list[Block]:
    """What an import did.

    Args:
        done: the import.
        say: words and numbers.
    """
    parts = [_new(kind, count, say) for kind, count in done.added.items()]
    if done.completed:
        parts.append(say("{count} filled in", count=done.completed))
    if done.corrected:
        parts.append(say("{count} corrected", count=done.corrected))
    if done.known:
        parts.append(say("{count} on record already", count=done.known))
    if done.set_aside:
        words = say("readings of earlier wraps taken out: {count}", count=done.set_aside)
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


_ONE_NEW = {
    "load": to_say("1 new load"),
    "width": to_say("1 new width"),
    "pull": to_say("1 new pull reading"),
    "gauge": to_say("1 new gauge reading"),
    "attempt": to_say("1 new wrap that does not count"),
}
_MORE_NEW = {
    "load": to_say("{count} new loads"),
    "width": to_say("{count} new widths"),
    "pull": to_say("{count} new pull readings"),
    "gauge": to_say("{count} new gauge readings"),
    "attempt": to_say("{count} new wraps that do not count"),
}


def _new(kind: str, count: int, say: Wording) -> str:
    return say(_ONE_NEW[kind]) if count == 1 else say(_MORE_NEW[kind], count=count)
