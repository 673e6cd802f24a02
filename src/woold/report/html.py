"""A report as one HTML file that needs nothing else: no script, no network."""

from __future__ import annotations

import functools
import importlib.resources
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from woold.report.model import Report
from woold.rows.blocks import TO_WRITE, Block, Cautions, Heading, to_data
from woold.rows.tied import DOI, tied
from woold.words import say

if TYPE_CHECKING:
    import jinja2

__all__ = ["report_html"]


def report_html(report: Report) -> str:
    """The report as an HTML page; every text in it is escaped.

    Args:
        report: the report.
    """
    return (
        _environment()
        .get_template("page.html")
        .render(
            report=report,
            sections=_told(_sections(report.blocks)),
            contents=say("Contents"),
            made=say("Made {time}", time=report.made_at.strftime("%Y-%m-%d %H:%M %Z").strip()),
            to_write=TO_WRITE,
        )
    )


@functools.cache
def _environment() -> jinja2.Environment:
    import jinja2
    from markupsafe import Markup

    folder = importlib.resources.files("woold.report").joinpath("pages")
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(lambda name: folder.joinpath(name).read_text("utf-8")),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )

    def told(svg: str, words: str) -> Markup:
        # Only SVG that `woold.report.svg` has cleaned is taken as it is.
        attributes = Markup('<svg role="img" aria-label="{}" ').format(words)
        return Markup(svg).replace(Markup("<svg "), attributes, 1)

    environment.filters["told"] = told
    return environment


def _told(data: Any) -> Any:
    """The data as it is laid out: numbers tied to their units, DOIs in one piece."""
    from markupsafe import Markup, escape

    if isinstance(data, str):
        if data.startswith("<svg"):
            return data
        parts = _DOI.split(tied(data))
        whole = Markup('<span class="whole">{}</span>')
        return Markup("").join(
            whole.format(part) if index % 2 else escape(part) for index, part in enumerate(parts)
        )
    if isinstance(data, list):
        return [_told(each) for each in data]
    if isinstance(data, dict):
        return {key: each if key in _CODES else _told(each) for key, each in data.items()}
    return data


_DOI = re.compile(f"({DOI})")
_CODES = frozenset(("block", "alt", "svg"))
"""What is no text between tags."""


def _sections(blocks: Sequence[Block]) -> list[dict[str, Any]]:
    """Blocks under their headings of level 2; what stands before the first has no heading."""
    sections: list[dict[str, Any]] = [{"heading": "", "blocks": []}]
    for block in blocks:
        if isinstance(block, Heading) and block.level == 2:
            sections.append({"heading": block.text, "blocks": []})
            continue
        if isinstance(block, Cautions) and sections[-1]["heading"]:
            sections.append({"heading": "", "blocks": []})
        sections[-1]["blocks"].append(to_data(block))
    return [each for each in sections if each["heading"] or each["blocks"]]
