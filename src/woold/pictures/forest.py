"""The forest plot: every site with its interval, the average, and the next site."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, MIDDLE, new_figure
from woold.sites.claim_parts import outward
from woold.sites.effect import saving_of
from woold.sites.pooling import Pooled
from woold.sites.site_table import SiteTable
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["forest_figure"]

_MOST_ROWS = 60


def forest_figure(table: SiteTable, pooled: Pooled) -> Figure:
    """Sites sorted by saving; squares grow with the weight; intervals at the pooled confidence."""
    from scipy.special import ndtri

    reach = float(ndtri((1.0 + pooled.confidence) / 2.0))
    order = np.argsort([site.effect for site in table.sites], kind="stable")
    if order.size > _MOST_ROWS:  # a longer list is not readable: evenly over the ranks
        order = order[np.linspace(0, order.size - 1, _MOST_ROWS).round().astype(int)]
    weights = 1.0 / (table.standard_errors**2 + pooled.tau2)
    shares = weights / weights.sum()
    names = [_short(table.sites[index].name) for index in order]
    left = 0.08 * max(len(name) for name in [*names, say("Average of all sites")]) + 0.25
    figure = new_figure(left + 6.6, 1.35 + 0.27 * (order.size + 2))
    figure.set_layout_engine("none")
    width, height = figure.get_size_inches()
    axes = figure.add_axes((left / width, 0.62 / height, 4.2 / width, 1.0 - 0.97 / height))
    bottom = np.inf
    top = -np.inf
    for row, index in enumerate(order):
        site = table.sites[index]
        low, high = (
            100.0 * saving_of(site.effect + sign * reach * site.standard_error)
            for sign in (-1.0, 1.0)
        )
        bottom, top = min(bottom, low), max(top, high)
        axes.plot([low, high], [row, row], color=INK, linewidth=1.0, solid_capstyle="butt")
        axes.plot(
            100.0 * site.saving,
            row,
            marker="s",
            markersize=3.0 + 9.0 * float(np.sqrt(shares[index])),
            color=INK,
            markeredgewidth=0,
        )
        _numbers(axes, row, 100.0 * site.saving, low, high)
    mean, low, high, next_low, next_high = (
        100.0 * saving_of(value)
        for value in (
            pooled.mean,
            pooled.low,
            pooled.high,
            pooled.prediction_low,
            pooled.prediction_high,
        )
    )
    axes.axhline(-0.6, color=INK, linewidth=0.6)
    axes.fill([low, mean, high, mean], [-1.2, -0.95, -1.2, -1.45], color=INK, linewidth=0)
    axes.plot([next_low, next_high], [-2.2, -2.2], color=MIDDLE, linewidth=4)
    _numbers(axes, -1.2, mean, low, high)
    _numbers(axes, -2.2, None, next_low, next_high)
    axes.axvline(0.0, color=INK, linewidth=0.9)
    axes.axvline(mean, color=INK, linewidth=0.8, linestyle=(0, (4, 3)))
    bottom, top = min(bottom, next_low, 0.0), max(top, next_high, 0.0)
    margin = 0.04 * (top - bottom)
    axes.set_xlim(bottom - margin, top + margin)
    axes.set_ylim(-2.8, order.size - 0.3)
    axes.set_yticks([-2.2, -1.2, *range(order.size)])
    axes.set_yticklabels([say("Next site"), say("Average of all sites"), *names], parse_math=False)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel(say("film saved, % of the baseline's film"))
    axes.spines["left"].set_visible(False)
    axes.set_title(
        say(
            "{sites} sites; {level:g} % intervals",
            sites=len(table.sites),
            level=100 * pooled.confidence,
        ),
        loc="left",
        fontsize=10,
    )
    return figure


def _short(name: str) -> str:
    return name if len(name) <= 32 else name[:31] + "…"


def _numbers(axes: object, row: float, value: float | None, low: float, high: float) -> None:
    ends = outward(0.01 * low, 0.01 * high)
    text = say("{low:z.1f} to {high:z.1f}", low=100.0 * ends[0], high=100.0 * ends[1])
    if value is not None:
        text = f"{value:z.1f}   ({text})"
    axes.text(  # type: ignore[attr-defined]
        1.03, row, text.replace("-", "−"), transform=axes.get_yaxis_transform(),  # type: ignore[attr-defined]
        va="center", fontsize=8.5, color=INK,
    )  # fmt: skip
