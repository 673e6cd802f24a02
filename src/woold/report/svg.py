"""A matplotlib figure as one clean SVG element that can stand inside of a page."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from typing import TYPE_CHECKING

from woold.report.figure_fit import fit_to_paper
from woold.rows.wording import Wording

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["figure_svg"]

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"
_KNOWN = frozenset(("svg", "defs", "clipPath", "linearGradient", "stop", "g", "use", "image"))
_KNOWN |= {"text", "tspan", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_KNOWN |= {"pattern"}  # hatches
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_PLACES = ("d", "x", "y", "points")
_REFERENCE = re.compile(r"url\(#([^)]+)\)")


PRINTED_MM = 174.0
"""Width of the text on a printed page of A4 [mm]; letter has a little more."""


def figure_svg(figure: Figure, name: str, wording: Wording, printed_mm: float = PRINTED_MM) -> str:
    """The figure as SVG text without XML header, style sheet or metadata.

    It is drawn so small that its letters can be read where it is printed.

    Args:
        figure: what to draw; its texts stay text, so that they can be searched and read aloud.
        name: put before every id, so that figures on one page do not get in each other's way.
        wording: its decimal mark is used in the figure's numbers.
        printed_mm: width at which it stands on paper [mm].

    Raises:
        ValueError: an element that no figure of ours has.
    """
    import matplotlib

    fit_to_paper(figure, printed_mm / 25.4)
    stream = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "woold"}):
        figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None})
    root = ET.fromstring(stream.getvalue())
    _clean(root)
    for element in root.iter():
        _rename_ids(element, name)
        for key in _PLACES:
            if key in element.attrib:
                element.set(key, _LONG_NUMBER.sub(_rounded, element.attrib[key]))
        if element.text and _tag(element) in ("text", "tspan"):
            element.text = wording.sentence(element.text)
    # What matplotlib's style sheet asks of every element; a style sheet would leak into the page.
    root.set("stroke-linejoin", "round")
    root.set("stroke-linecap", "butt")
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", _XLINK)
    return ET.tostring(root, encoding="unicode")


def _rounded(number: re.Match[str]) -> str:
    """To a hundredth of a point; nobody sees more, and the file is half as long."""
    return f"{float(number[0]):.2f}".rstrip("0").rstrip(".")


def _tag(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _clean(parent: ET.Element) -> None:
    for child in list(parent):
        if _tag(child) in ("metadata", "style"):
            parent.remove(child)
        elif _tag(child) not in _KNOWN:
            raise ValueError(f"a figure with an element {_tag(child)!r}")
        else:
            _clean(child)


def _rename_ids(element: ET.Element, name: str) -> None:
    for key, value in element.attrib.items():
        if key == "id":
            element.set(key, f"{name}-{value}")
        elif key.endswith("href") and value.startswith("#"):
            element.set(key, f"#{name}-{value[1:]}")
        elif "url(#" in value:
            element.set(key, _REFERENCE.sub(rf"url(#{name}-\1)", value))
