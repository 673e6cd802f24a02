"""A report as PDF: tagged for screen readers, its fonts inside, equal reports equal byte for byte."""

from __future__ import annotations

import importlib.resources
import json
from pathlib import Path
from typing import Any

from woold.report.model import Report, to_data
from woold.report.voice import Voice

__all__ = ["report_pdf"]


def report_pdf(report: Report) -> bytes:
    """The report as a PDF file (PDF/UA-1), type set by typst in DejaVu Sans.

    Args:
        report: the report; its texts travel as data, so that nothing in them is read as markup.
    """
    import matplotlib
    import typst

    say = Voice(report.language)
    data: dict[str, Any] = to_data(report)
    data["made"] = say("page.made", time=report.made_at.strftime("%Y-%m-%d %H:%M %Z").strip())
    source = importlib.resources.files("woold.report").joinpath("pages", "page.typ").read_bytes()
    # matplotlib brings these fonts along, so that paper and figures look the same everywhere.
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    made = typst.compile(
        source,
        format="pdf",
        font_paths=[fonts],
        ignore_system_fonts=True,
        sys_inputs={"report": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=report.made_at,
    )
    if not isinstance(made, bytes):
        raise TypeError("typst gave no single PDF file")
    return made
