"""A report as it is sent to a page: the same blocks as on paper."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from woold.report.model import Report
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named

__all__ = ["ReportView", "shown_report"]


class ReportView(Document):
    """A report in blocks; `made_at` makes the same one again, as a page or on paper."""

    schema_: Literal["report-view"] = named("report-view")
    kind: str
    title: str
    subtitle: str
    made_at: datetime
    name: str
    blocks: list[BlockData]
    footer: str


def shown_report(report: Report, kind: str, name: str) -> ReportView:
    """A report as a page lays it out.

    Args:
        report: the report.
        kind: of report.
        name: of its file, without its ending.
    """
    return ReportView(
        kind=kind,
        title=report.title,
        subtitle=report.subtitle,
        made_at=report.made_at,
        name=name,
        blocks=sent(report.blocks),
        footer=report.footer,
    )
