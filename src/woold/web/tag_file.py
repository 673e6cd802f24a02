"""The tags of a film of the dancer, as a PDF that a page offers to print."""

from __future__ import annotations

import shlex
from datetime import UTC, datetime

from woold.case.asked import asked_quantity
from woold.report.making import Making
from woold.report.pdf import report_pdf
from woold.report.tag_sheet import tag_sheet
from woold.rows.typeset import Paper
from woold.rows.wording import Wording

__all__ = ["tags_pdf"]


def tags_pdf(side: str, paper: Paper, say: Wording) -> bytes:
    """The sheet of tags with its instructions.

    Args:
        side: of the frame's and the arm's tags, as it was typed.
        paper: size of the printed page.
        say: words and numbers.

    Raises:
        InputError: no such length.
    """
    length = asked_quantity("tag_side", side, "side")
    at = datetime.now(UTC).replace(microsecond=0)
    words = ["woold", "dancer", "tags", "--side", side, "--units", say.units, "--paper", paper]
    return report_pdf(tag_sheet(length, Making(say, at, paper, (), shlex.join(words))))
