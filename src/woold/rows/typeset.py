"""Words and numbers on paper: sizes of the page, fonts that travel along, type set by typst."""

from __future__ import annotations

import functools
import importlib.resources
import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import typst

__all__ = ["PAPERS", "Paper", "page_count", "typeset"]

Paper = Literal["a4", "letter"]

PAPERS: tuple[Paper, ...] = ("a4", "letter")
"""Sizes of paper (ISO 216 A4; ANSI/ASME Y14.1 A, called letter), named alike everywhere."""

_TYPST_NAMES: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}


def typeset(
    source: str, data: dict[str, Any], paper: Paper, made_at: datetime | None = None
) -> bytes:
    """A tagged PDF (PDF/UA-1) with its fonts inside; the same input gives the same bytes.

    Args:
        source: typst source, which finds ``data`` and the helpers of ``paper.typ``.
        data: every text; none of it is ever read as markup.
        paper: size of the page.
        made_at: time that the file states; none where not given.
    """
    import typst

    made: bytes = typst.compile(
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=made_at,
        **_inputs(source, data, paper),
    )
    return made


def page_count(source: str, data: dict[str, Any], paper: Paper) -> int:
    """How many pages it takes; nothing is written.

    Args:
        source, data, paper: as for :func:`typeset`.
    """
    import typst

    counted = f"{source}\n#context [#metadata(counter(page).final().first()) <pages>]"
    found = typst.query(
        selector="<pages>", field="value", one=True, **_inputs(counted, data, paper)
    )
    return int(json.loads(found))


def _inputs(source: str, data: dict[str, Any], paper: Paper) -> dict[str, Any]:
    helpers = importlib.resources.files("woold.rows").joinpath("paper.typ").read_text("utf-8")
    data = {**data, "paper": _TYPST_NAMES[paper]}
    return {
        "input": f"{helpers}\n{source}".encode(),
        "font_paths": _fonts(),
        "sys_inputs": {"data": json.dumps(data, ensure_ascii=False)},
    }


@functools.cache
def _fonts() -> typst.Fonts:
    """Fonts that come with matplotlib: paper and figures look the same on every machine."""
    import matplotlib
    import typst

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return typst.Fonts(include_system_fonts=False, font_paths=[folder])
