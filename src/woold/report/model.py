"""The frozen report: blocks of plain text, which the renderers lay out for page and paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from woold.rows.blocks import Block
from woold.rows.typeset import Paper

__all__ = ["InputHash", "Report"]


@dataclass(frozen=True, slots=True)
class InputHash:
    """A file or set of records that the report was made of."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report.

    Args:
        kind: "prediction", "set-up sheet", "trial", "carriage comparison", "design" or
            "transport".
        title: of the case or trial.
        subtitle: what kind of report it is, in the report's language.
        language: tag such as "en".
        made_at: when; the renderers know no other clock, so equal reports give equal files.
        paper: size of the printed page.
        inputs: what it was made of; the blocks say so too.
        blocks: in reading order.
        footer: at the foot of each printed page.
        page_of: "page {page} of {pages}" in the report's language.
        is_sheet: one page: type is made smaller until everything fits.
    """

    kind: str
    title: str
    subtitle: str
    language: str
    made_at: datetime
    paper: Paper
    inputs: tuple[InputHash, ...]
    blocks: tuple[Block, ...]
    footer: str
    page_of: str
    is_sheet: bool = False
