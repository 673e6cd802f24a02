"""What is written down of a trial's loads, in blocks: the same list as on the worksheet."""

from __future__ import annotations

from woold.rows.blocks import Block, Table
from woold.rows.wording import Wording
from woold.trial.sheets import SHEETS

__all__ = ["written_down_blocks"]


def written_down_blocks(say: Wording) -> list[Block]:
    """A table for each sheet of the worksheet.

    Args:
        say: words and numbers.
    """
    columns = (say("what"), say("how"), say("units on offer"), say("needed"))
    return [
        Table(
            say(sheet.title),
            columns,
            tuple(
                (
                    say(each.label),
                    say(each.doc),
                    ", ".join(each.units),
                    say("yes") if each.required else "",
                )
                for each in sheet.fields
            ),
            words=(0, 1, 2, 3),
        )
        for sheet in SHEETS
    ]
