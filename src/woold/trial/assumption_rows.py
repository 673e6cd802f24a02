"""A trial's assumptions in blocks: what was looked at, loads that may stand apart, taken out."""

from __future__ import annotations

from woold.rows.blocks import Block, Heading, Table
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis
from woold.trial.outlying import OddReading

__all__ = ["assumption_blocks"]


def assumption_blocks(a: Analysis, say: Wording) -> list[Block]:
    """What the intervals rest on, looked at.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    rows = tuple(
        (
            each.name,
            say("yes") if each.raises_doubt else say("no"),
            say.sentence(each.finding),
            "" if each.p is None else say.fixed(each.p, 3),
        )
        for each in a.checks
    )
    columns = (say("assumption"), say("doubt"), say("what was found"), "p")
    blocks: list[Block] = [
        Heading(say("Assumptions, looked at")),
        Table(say("What the intervals rest on"), columns, rows, words=(0, 1, 2), is_small=True),
    ]
    if a.outliers:
        blocks.append(_outlier_table(a, say))
    if a.odd_readings:
        blocks.append(_odd_table(a, say))
    if a.taken_out:
        gone = tuple((f"{each.kind} {each.key}", each.reason, each.by) for each in a.taken_out)
        heads = (say("record"), say("reason"), say("by"))
        blocks.append(
            Table(say("Taken out, with reasons"), heads, gone, words=(0, 1, 2), is_small=True)
        )
    return blocks


def _odd_table(a: Analysis, say: Wording) -> Table:
    words = {
        "pull": say("pull reading"),
        "width": say("film width"),
        "marks": say("marks on the load over marks on the roll"),
        "time": say("cycle time"),
        "dancer": say("film force by the dancer"),
    }
    kinds = {"pull": "force", "width": "small_length", "time": "time", "dancer": "force"}

    def shown(each: OddReading, value: float) -> str:
        kind = kinds.get(each.quantity)
        return say.fixed(value, 2) if kind is None else say.amount(value, kind)

    rows = tuple(
        (
            each.load,
            say(each.treatment),
            ", ".join(filter(None, (words[each.quantity], each.zone))),
            shown(each, each.value),
            shown(each, each.expected),
            say.fixed(each.deviation, 1),
            say.fixed(each.p, 4),
            each.note,
        )
        for each in a.odd_readings
    )
    heads = (
        say("load"),
        say("treatment"),
        say("what was read"),
        say("mean"),
        say("expected"),
        say("standard deviations off"),
        "p",
        say("note"),
    )
    return Table(
        say("Readings that may stand apart (they are counted)"),
        heads,
        rows,
        words=(0, 1, 2, 7),
        is_small=True,
    )


def _outlier_table(a: Analysis, say: Wording) -> Table:
    rows = tuple(
        (
            each.load,
            say(each.treatment),
            say.amount(each.film_mass_kg, "small_mass"),
            say.amount(each.expected_kg, "small_mass"),
            say.fixed(each.deviation, 1),
            say.fixed(each.p, 4),
            each.note,
        )
        for each in a.outliers
    )
    heads = (
        say("load"),
        say("treatment"),
        say("film"),
        say("expected"),
        say("standard deviations off"),
        "p",
        say("note"),
    )
    return Table(
        say("Loads that may stand apart (they are counted)"),
        heads,
        rows,
        words=(0, 1, 6),
        is_small=True,
    )
