"""What every picture shares: size, saving, colours that stay apart in grey, axes in two units."""

from __future__ import annotations

import html
import io
from typing import TYPE_CHECKING

from woold.units import UnitSystem, from_si

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "INK",
    "LIGHT",
    "MIDDLE",
    "SHADES",
    "figure_bytes",
    "new_figure",
    "picture_text",
    "trade_axis",
    "wants_trade",
]

INK = "#1f2a36"
MIDDLE = "#3f7fa6"
LIGHT = "#c9dbe6"
SHADES = "cividis_r"
"""Colour map whose lightness falls evenly, so that it can be read in grey."""


def new_figure(width: float = 9.0, height: float = 5.4) -> Figure:
    """An empty figure with the house's type sizes, laid out without overlaps.

    Args:
        width, height: size [in].
    """
    import matplotlib
    from matplotlib.figure import Figure

    matplotlib.rcParams.update(
        {
            "font.size": 9,
            "axes.edgecolor": INK,
            "axes.labelcolor": INK,
            "text.color": INK,
            "xtick.color": INK,
            "ytick.color": INK,
            "axes.spines.top": False,
            "axes.spines.right": False,
            "svg.hashsalt": "woold",
        }
    )
    return Figure(figsize=(width, height), layout="constrained")


def figure_bytes(figure: Figure, ending: str) -> bytes:
    """A figure as the content of a file; it says in words what it shows.

    Args:
        figure: drawn.
        ending: of the file: ".svg", ".png" or ".pdf".
    """
    kind, told = ending.lower().removeprefix("."), picture_text(figure)
    stated: dict[str, dict[str, str | None]] = {
        "svg": {"Date": None},
        "png": {"Description": told},
        "pdf": {"Title": told},
    }
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, dpi=150, metadata=stated[kind])
    if kind != "svg":
        return stream.getvalue()
    head, mark, rest = stream.getvalue().decode().partition("<svg ")
    opening, end, body = rest.partition(">")
    named = f'role="img" aria-labelledby="picture-text" {opening}'
    title = f'<title id="picture-text">{html.escape(told)}</title>'
    return f"{head}{mark}{named}{end}\n {title}{body}".encode()


def picture_text(figure: Figure) -> str:
    """What a figure shows, for people who cannot see it: its title, and each drawing's axes."""
    parts = [figure.get_suptitle()]
    for axes in figure.axes:
        labels = (axes.get_title(), axes.get_xlabel(), axes.get_ylabel())
        parts.append(" / ".join(each for each in labels if each))
    return ". ".join(" ".join(each.split()) for each in parts if each)


def trade_axis(axes: Axes, kind_name: str, unit: str, label: str, axis: str = "y") -> None:
    """A second axis in the trade's unit beside one that is in SI.

    Args:
        axes: axes whose ``axis`` is in the kind's SI unit.
        kind_name: key of `woold.units.KINDS`.
        unit: the trade's unit.
        label: the second axis' label.
        axis: "x" or "y".
    """
    factor = from_si(1.0, kind_name, unit)
    functions = (lambda value: value * factor, lambda value: value / factor)
    if axis == "y":
        second = axes.secondary_yaxis("right", functions=functions)
        second.set_ylabel(label)
    else:
        second = axes.secondary_xaxis("top", functions=functions)
        second.set_xlabel(label)


def wants_trade(system: UnitSystem) -> bool:
    """Whether trade units are asked for as well."""
    return system in ("trade", "both")
