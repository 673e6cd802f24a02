"""What every picture shares: size, saving, colours that stay apart in grey, axes in two units."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from woold.errors import InputError
from woold.units import UnitSystem, from_si
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "INK",
    "LIGHT",
    "MIDDLE",
    "SHADES",
    "new_figure",
    "save_figure",
    "trade_axis",
    "wants_trade",
]

INK = "#1f2a36"
MIDDLE = "#3f7fa6"
LIGHT = "#c9dbe6"
SHADES = "cividis_r"
"""Colour map whose lightness falls evenly, so that it can be read in grey."""

_SUFFIXES = (".svg", ".png", ".pdf")


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


def save_figure(figure: Figure, path: Path | str) -> None:
    """Write a figure as SVG, PNG or PDF, by the file's ending.

    Raises:
        InputError: another ending, or the file cannot be written.
    """
    path = Path(path)
    if path.suffix.lower() not in _SUFFIXES:
        raise InputError.one(
            "--plot", str(path), say("a file name ending in .svg, .png or .pdf"), say("Rename it.")
        )
    try:
        metadata = {"Date": None} if path.suffix.lower() == ".svg" else None
        figure.savefig(path, dpi=150, metadata=metadata)
    except OSError as error:
        raise InputError.one(
            "--plot",
            str(path),
            say("a file that can be written ({strerror})", strerror=error.strerror),
        ) from None


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
