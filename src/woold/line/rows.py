"""A line in words: what it holds, and what is left out."""

from __future__ import annotations

from woold.line.check import LineCheck
from woold.rows.blocks import Block, Facts, Row, Table
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["check_blocks"]


def check_blocks(result: LineCheck, wording: Wording) -> list[Block]:
    """What a line holds.

    Args:
        result: what was found.
        wording: units and marks of its numbers.
    """

    def count(number: float) -> str:
        return wording.fixed(number, 0)

    blocks: list[Block] = [
        Facts(
            result.title or say("The line"),
            (
                Row(say("carriages to choose from"), ", ".join(result.carriages)),
                Row(say("models of machine"), ", ".join(result.machine_models)),
                Row(say("machines"), ", ".join(result.machines) or "-"),
                Row(say("films"), ", ".join(result.films)),
                Row(say("recipes"), ", ".join(result.recipes)),
                Row(say("kinds of load"), count(result.loads), note=result.catalogue),
                Row(say("loads a year"), count(result.loads_per_year)),
                Row(
                    say("combinations"),
                    count(result.combinations),
                    note=say("carriage x machine x film x load"),
                ),
            ),
        )
    ]
    if result.broken:
        rows = tuple(
            (
                each.reason,
                f"[{each.column.rpartition('.')[2]}]",
                count(each.rows),
                "; ".join(each.examples),
            )
            for each in result.broken
        )
        heads = (say("rows left out because of"), say("column"), say("rows"), say("row: given"))
        caption = say("Rows of the catalogue that cannot be used")
        blocks.append(Table(caption, heads, rows, words=(0, 1, 3)))
    return blocks
