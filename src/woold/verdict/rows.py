"""A verdict in rows: the answer first, what would mend it, and each part with its share."""

from __future__ import annotations

from woold.rows.blocks import Block, Bullets, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.transport.result import holds_word
from woold.verdict.result import Verdict, VerdictPart
from woold.verdict.texts import (
    LIMIT_NAMES,
    answer_text,
    held_text,
    mend_text,
    offers,
    share_text,
    sure_text,
    where_text,
)

__all__ = [
    "answer_blocks",
    "glance_rows",
    "judged_text",
    "verdict_answer",
    "verdict_blocks",
    "verdict_row",
]


def verdict_answer(verdict: Verdict, say: Wording) -> str:
    """The answer in a sentence or two."""
    return answer_text(verdict.asked, verdict.holds, verdict.share, verdict.worst, say)


def glance_rows(verdict: Verdict, say: Wording) -> tuple[Row, Row]:
    """The verdict at a glance: whether it holds and by how much, and what to do.

    Args:
        verdict: the verdict.
        say: words and numbers.
    """
    label, todo, worst = say("does it hold"), say("what to do"), verdict.worst
    if not verdict.asked or worst is None:
        what = say(
            "Say what the load must hold: a containment force, what its corners bear, or the way"
            " that it goes."
        )
        return Row(label, say("nothing is asked yet")), Row(todo, what)
    where = say(
        "{limit}, {where}", limit=say(LIMIT_NAMES[worst.limit]), where=where_text(worst, say)
    )
    share = "" if not verdict.share else share_text(verdict.share, say)
    note = say("of what is asked; {limit}", limit=where) if share else where
    if verdict.holds is None:
        return Row(label, say("cannot be said"), note=note), Row(todo, mend_text(worst, say))
    if not verdict.holds:
        value = say("no, {share}", share=share) if share else say("no")
        return Row(label, value, note=note), Row(todo, mend_text(worst, say))
    value = say("yes, {share}", share=share) if share else say("yes")
    done = say("Nothing needs mending. A search may find a program that holds with less film.")
    return Row(label, value, note=note), Row(todo, done)


def answer_blocks(verdict: Verdict, say: Wording) -> list[Block]:
    """The answer, what would mend it first, and how sure it is; what to ask where nothing is.

    Args:
        verdict: the verdict.
        say: words and numbers.
    """
    blocks: list[Block] = [Paragraph(verdict_answer(verdict, say), is_strong=True)]
    if not verdict.asked:
        return [*blocks, Bullets(offers(say))]
    if verdict.worst is not None and not verdict.holds:
        first = say("First: {mend}", mend=mend_text(verdict.worst, say))
        blocks.append(Paragraph(first))
    if verdict.sure is not None:
        blocks.append(Paragraph(sure_text(verdict.sure, say)))
    return blocks


def verdict_blocks(verdict: Verdict, say: Wording, brief: Wording) -> list[Block]:
    """The answer, and every part that it rests on.

    Args:
        verdict: the verdict.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    blocks = answer_blocks(verdict, say)
    if not verdict.asked:
        return blocks
    heads = (
        say("part"),
        say("where"),
        say("what there is"),
        say("share of what is asked"),
        say("verdict"),
    )
    rows = tuple(_part_cells(each, brief) for each in verdict.parts)
    blocks.append(Table(say("Verdict by part"), heads, rows, words=(0, 1, 2, 4), is_small=True))
    blocks.append(Paragraph(judged_text(verdict, say)))
    return blocks


def _part_cells(part: VerdictPart, say: Wording) -> tuple[str, ...]:
    told = held_text(part, say)
    if part.share_below:
        told = say(
            "{held}; less on {share} of the sides",
            held=told,
            share=say.percent(part.share_below),
        )
    if part.decided_by:
        told = say.sentence(part.reason)
    if part.reason and not told:
        told = say("see the findings") if part.holds is False else say.sentence(part.reason)
    if part.share == 0.0:
        share = say("none")
    elif part.share is not None:
        share = share_text(part.share, say)
    elif part.share_least is not None and part.share_most is not None:
        share = say(
            "{least} to {most}",
            least=share_text(part.share_least, say),
            most=share_text(part.share_most, say),
        )
    else:
        share = say("not touched") if part.holds else "-"
    return say(LIMIT_NAMES[part.limit]), where_text(part, say), told, share, holds_word(part.holds)


def judged_text(verdict: Verdict, say: Wording) -> str:
    """How containment is judged."""
    return say(
        "Containment is judged {time} after wrapping, over patches of film {height} high and"
        " {length} long that can be felt, at the worse end of the film's loss of force: {share}"
        " below its best guess.",
        time=say.amount(verdict.later_s, "hours"),
        height=say.amount(verdict.patch_height_m, "small_length"),
        length=say.amount(verdict.patch_length_m, "small_length"),
        share=say.percent(verdict.safe_side),
    )


def verdict_row(verdict: Verdict, say: Wording) -> Row:
    """One row for tables of results: holds, does not or cannot be said, with the share."""
    label = say("holds what is asked")
    if not verdict.asked:
        return Row(label, say("nothing is asked"))
    limit = "" if verdict.worst is None else say(LIMIT_NAMES[verdict.worst.limit])
    if not verdict.share:
        word = holds_word(verdict.holds)
        return Row(label, say("{word} ({limit})", word=word, limit=limit))
    share = share_text(verdict.share, say)
    word = holds_word(verdict.holds)
    return Row(label, say("{word}, {share} ({limit})", word=word, share=share, limit=limit))
