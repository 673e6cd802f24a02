"""A report as PDF: tagged for screen readers, fonts inside, the same report the same bytes."""

from __future__ import annotations

import functools
import importlib.resources
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.report.model import Report
from woold.rows.blocks import to_data
from woold.words import say

if TYPE_CHECKING:
    import typst

__all__ = ["report_pdf"]


def report_pdf(report: Report) -> bytes:
    """The report as a PDF file (PDF/UA-1), type set by typst in DejaVu Sans.

    Args:
        report: the report; its texts travel as data, so that nothing in them is read as markup.
    """
    import typst

    data: dict[str, Any] = _printable(to_data(report))
    data["made"] = say("Made {time}", time=report.made_at.strftime("%Y-%m-%d %H:%M %Z").strip())
    source = importlib.resources.files("woold.report").joinpath("pages", "page.typ").read_bytes()
    return typst.compile(
        source,
        format="pdf",
        font_paths=_fonts(),
        sys_inputs={"report": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=report.made_at,
    )


_LONG_WORD = re.compile(r"\S{18,}")
_UNIT = re.compile(r"(?<=\d) ([A-Za-z°µ][A-Za-z0-9/²³·]{0,6}\b|%)")
_SLASH = "/\N{WORD JOINER}"


def _printable(data: Any) -> Any:
    """The data with places where a long word may break, and numbers that stay with their unit."""
    if isinstance(data, str):
        if not data or data.startswith("<svg"):
            return data
        tied = _UNIT.sub(lambda unit: f"\N{NO-BREAK SPACE}{unit[1].replace('/', _SLASH)}", data)
        return _LONG_WORD.sub(lambda word: _breakable(word[0]), tied)
    if isinstance(data, list):
        return [_printable(each) for each in data]
    if isinstance(data, dict):
        return {key: _printable(value) for key, value in data.items()}
    return data


def _breakable(word: str) -> str:
    return "\N{ZERO WIDTH SPACE}".join(word[at : at + 6] for at in range(0, len(word), 6))


@functools.cache
def _fonts() -> typst.Fonts:
    """Fonts that come with matplotlib: paper and figures look the same on every machine."""
    import matplotlib
    import typst

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return typst.Fonts(include_system_fonts=False, font_paths=[folder])
