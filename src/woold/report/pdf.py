"""A report as PDF: tagged for screen readers, fonts inside, the same report the same bytes."""

from __future__ import annotations

import importlib.resources
from typing import Any

from woold.report.model import Report
from woold.rows.blocks import TO_WRITE, to_data
from woold.rows.tied import DOI, breakable, tied
from woold.rows.typeset import page_count, typeset
from woold.words import say

__all__ = ["is_one_page", "report_pdf"]

_IN_A_LINE = frozenset(("paragraph", "bullets", "note", "cautions", "heading"))
"""Blocks with the whole width of a line for a word; others are tables, and figures."""


_SPARE_MM = 5.0
"""Left free of a sheet: a browser breaks its lines elsewhere."""


def report_pdf(report: Report) -> bytes:
    """The report as a PDF file (PDF/UA-1), type set by typst in DejaVu Sans.

    Args:
        report: the report; its texts travel as data, so that nothing in them is read as markup.
    """
    return typeset(_source(), _data(report), report.paper, report.made_at)


def is_one_page(report: Report) -> bool:
    """Whether a sheet fits on one page, on paper and with some room for a browser's print."""
    return page_count(_source(), {**_data(report), "spare_mm": _SPARE_MM}, report.paper) == 1


def _source() -> str:
    return (
        importlib.resources.files("woold.report").joinpath("pages", "page.typ").read_text("utf-8")
    )


def _data(report: Report) -> dict[str, Any]:
    data: dict[str, Any] = _printable(to_data(report), 60)
    data["made"] = say("Made {time}", time=report.made_at.strftime("%Y-%m-%d %H:%M %Z").strip())
    return {**data, "doi": DOI, "spare_mm": 0.0, "to_write": TO_WRITE}


def _printable(data: Any, longest: int) -> Any:
    """The data with places where a long word may break, and numbers that stay with their unit."""
    if isinstance(data, str):
        if not data or data.startswith("<svg"):
            return data
        return breakable(tied(data), longest)
    if isinstance(data, list):
        return [_printable(each, longest) for each in data]
    if isinstance(data, dict):
        if "block" in data:
            longest = 60 if data["block"] in _IN_A_LINE else _room(len(data.get("columns", ())))
        return {
            key: value if key == "block" else _printable(value, longest)
            for key, value in data.items()
        }
    return data


def _room(columns: int) -> int:
    """Letters of a word that a table's column has room for; a line holds about a hundred."""
    return min(18, max(5, 100 // max(columns, 1) - 2))
