"""A report as PDF: tagged for screen readers, fonts inside, the same report the same bytes."""

from __future__ import annotations

import functools
import importlib.resources
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.report.model import Report, to_data
from woold.report.voice import Voice

if TYPE_CHECKING:
    import typst

__all__ = ["report_pdf"]


def report_pdf(report: Report) -> bytes:
    """The report as a PDF file (PDF/UA-1), type set by typst in DejaVu Sans.

    Args:
        report: the report; its texts travel as data, so that nothing in them is read as markup.
    """
    import typst

    say = Voice(report.language)
    data: dict[str, Any] = to_data(report)
    data["made"] = say("page.made", time=report.made_at.strftime("%Y-%m-%d %H:%M %Z").strip())
    source = importlib.resources.files("woold.report").joinpath("pages", "page.typ").read_bytes()
    return typst.compile(
        source,
        format="pdf",
        font_paths=_fonts(),
        sys_inputs={"report": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=report.made_at,
    )


@functools.cache
def _fonts() -> typst.Fonts:
    """Fonts that come with matplotlib: paper and figures look the same on every machine."""
    import matplotlib
    import typst

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return typst.Fonts(include_system_fonts=False, font_paths=[folder])
