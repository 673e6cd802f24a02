"""A report as it is sent to a page: the same blocks as on paper."""

from __future__ import annotations

from typing import Literal

from woold.report.model import Report
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named

__all__ = ["ReportShown", "report_shown"]


class ReportShown(Document):
    """A report: its title, what kind it is, and its blocks."""

    schema_: Literal["report"] = named("report")
    title: str
    subtitle: str
    made_at: str
    footer: str
    blocks: list[BlockData]


def report_shown(report: Report) -> ReportShown:
    """A report as a page shows it."""
    return ReportShown(
        title=report.title,
        subtitle=report.subtitle,
        made_at=report.made_at.isoformat().replace("+00:00", "Z"),
        footer=report.footer,
        blocks=sent(report.blocks),
    )
