"""A trial's results: every load, the film ratio, containment by zone, and both together."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.trial.analysis import Analysis
from woold.trial.compare import TrialInterval
from woold.trial.equal_hold import EqualHold
from woold.trial.percent import percent
from woold.trial.table import LoadTable
from woold.words import say, to_say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["analysis_figure"]


def analysis_figure(analysis: Analysis, table: LoadTable) -> Figure:
    """Four panels: loads in their order, film ratio, zones, film against containment."""
    figure = new_figure(10.4, 7.6)
    loads, film, zones, joint = figure.subplots(2, 2, width_ratios=[1.25, 1.0]).ravel()
    _draw_loads(loads, analysis, table)
    _draw_film(film, analysis)
    _draw_zones(zones, analysis)
    _draw_joint(joint, analysis)
    figure.suptitle(_wrapped(analysis.verdict.sentence, 120), fontsize=9.5)
    return figure


def _wrapped(text: str, width: int) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(text, width))


def _draw_loads(axes: Axes, analysis: Analysis, table: LoadTable) -> None:
    from matplotlib.ticker import MaxNLocator

    order = np.arange(1, table.film_mass.size + 1)
    apart = {each.load for each in analysis.outliers}
    for side, (name, marker, fill) in enumerate(
        ((to_say("baseline"), "o", "none"), (to_say("candidate"), "^", "full"))
    ):
        own = table.of_treatment(side)
        axes.plot(
            order[own],
            1000 * table.film_mass[own],
            linestyle="none",
            marker=marker,
            fillstyle=fill,
            color=(INK, MIDDLE)[side],
            markersize=5,
            label=say(name),
        )
    for index, number in enumerate(table.numbers):
        if number in apart:
            place = (order[index], 1000 * table.film_mass[index])
            axes.plot(*place, marker="o", markersize=13, fillstyle="none", color=INK)
            axes.annotate(
                say("load {number}", number=number),
                place,
                xytext=(9, 4),
                textcoords="offset points",
                fontsize=8,
            )
    changes = np.flatnonzero(np.diff(table.block)) + 1.5
    if changes.size <= 60:
        for place in changes:
            axes.axvline(place, color=LIGHT, linewidth=0.8, zorder=0)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    axes.set_xlabel(say("load, in the order of the trial (lines: blocks)"))
    axes.set_ylabel(say("film mass per load [g]"))
    axes.legend(frameon=False, fontsize=8, loc="best")


def _bar(axes: Axes, row: float, ratio: float, interval: TrialInterval) -> None:
    if interval.low is not None and interval.high is not None:
        axes.plot([interval.low, interval.high], [row, row], color=INK, linewidth=1.4)
        for end in (interval.low, interval.high):
            axes.plot([end, end], [row - 0.12, row + 0.12], color=INK, linewidth=1.0)
    axes.plot([ratio], [row], linestyle="none", color=MIDDLE, marker="s", markersize=6)


def _draw_film(axes: Axes, analysis: Analysis) -> None:
    film = analysis.film
    rows: list[tuple[str, float, TrialInterval]] = [
        *_at_equal_hold(analysis),
        (say("film, Fieller"), film.ratio, film.fieller),
        (say("film, log ratio"), film.ratio, film.log_ratio),
    ]
    if film.bootstrap is not None:
        rows.append((say("film, bootstrap-t"), film.ratio, film.bootstrap))
    if analysis.film_without_outliers is not None:
        without = analysis.film_without_outliers
        rows.append(
            (say("film, without loads\nthat may stand apart"), without.ratio, without.fieller)
        )
    shown = analysis.by_type if len(analysis.by_type) > 1 else ()
    rows += [
        (each.load_type[:18], each.ratio, each.interval)
        for each in shown[:8]
        if each.interval is not None
    ]
    for row, (_, ratio, interval) in enumerate(rows):
        _bar(axes, row, ratio, interval)
    axes.set_yticks(range(len(rows)), [name for name, _, _ in rows])
    axes.invert_yaxis()
    axes.axvline(1.0, color=INK, linewidth=0.8)
    if analysis.predicted_ratio is not None:
        axes.axvline(
            analysis.predicted_ratio,
            color=MIDDLE,
            linestyle=":",
            label=say("predicted film"),
            zorder=0,
        )
        axes.legend(frameon=False, fontsize=8, loc="best")
    axes.set_xlabel(say("film mass, candidate/baseline [-]; 95 % intervals"))


def _at_equal_hold(analysis: Analysis) -> list[tuple[str, float, TrialInterval]]:
    found = analysis.equal_hold
    if found is None:
        return []
    return [(say("film at\nequal hold"), found.film_at_equal_hold, found.interval)]


def _draw_zones(axes: Axes, analysis: Analysis) -> None:
    axes.axvline(1.0, color=INK, linewidth=0.8)
    axes.set_xlabel(say("pull reading, candidate/baseline [-]; 95 % intervals"))
    if not analysis.containment:
        axes.text(0.5, 0.5, say("no pull readings"), transform=axes.transAxes, ha="center")
        axes.set_yticks([])
        return
    margin = analysis.containment[0].margin
    for row, each in enumerate(analysis.containment):
        _bar(axes, row, each.ratio, each.interval)
    axes.set_yticks(
        range(len(analysis.containment)),
        [say("{zone} zone", zone=each.zone) for each in analysis.containment],
    )
    axes.set_ylim(-0.6, len(analysis.containment) - 0.4)
    low = min(1 - margin - 0.03, *(each.interval.low or 1.0 for each in analysis.containment))
    axes.axvspan(
        low - 0.02,
        1 - margin,
        color=LIGHT,
        zorder=0,
        label=say("loss of {margin} or more", margin=percent(margin, 0)),
    )
    axes.set_xlim(left=low - 0.02)
    axes.legend(frameon=False, fontsize=8, loc="best")


def _draw_joint(axes: Axes, analysis: Analysis) -> None:
    axes.set_xlabel(say("film mass, candidate/baseline [-]"))
    axes.set_ylabel(say("pull reading, candidate/baseline [-]"))
    found = analysis.equal_hold
    if found is None:
        axes.text(0.5, 0.5, say("no pull readings"), transform=axes.transAxes, ha="center")
        return
    x, y = joint_ellipse(found)
    axes.fill(x, y, color=LIGHT, zorder=1)
    axes.plot(x, y, color=INK, linewidth=0.8, zorder=2, label=say("95 % region of both"))
    axes.plot([found.film_ratio], [found.hold_ratio], marker="s", color=MIDDLE, zorder=3)
    reach = max(abs(np.log(x)).max(), abs(np.log(y)).max(), 0.05) * 1.15
    span = np.exp(np.linspace(-reach, reach, 2))
    axes.plot(span, span, color=INK, linestyle=":", linewidth=1, label=say("same hold per film"))
    axes.axvline(1.0, color=INK, linewidth=0.8)
    axes.axhline(1.0, color=INK, linewidth=0.8)
    axes.set_xlim(span[0], span[-1])
    axes.set_ylim(span[0], span[-1])
    axes.set_title(say("mean of the zones; above the dotted line is better"), fontsize=9)
    axes.legend(frameon=False, fontsize=8, loc="lower right")


def joint_ellipse(found: EqualHold, level: float = 0.95) -> tuple[np.ndarray, np.ndarray]:
    """Edge of the region that holds both ratios with the level (Hotelling's T square)."""
    from scipy import special

    df = max(found.degrees_of_freedom, 2.0)
    radius = math.sqrt(2 * df / (df - 1) * float(special.fdtri(2, df - 1, level)))
    values, vectors = np.linalg.eigh(np.asarray(found.covariance))
    angle = np.linspace(0, 2 * np.pi, 181)
    circle = np.vstack([np.cos(angle), np.sin(angle)])
    edge = radius * vectors @ (np.sqrt(np.clip(values, 0, None))[:, None] * circle)
    return (
        np.exp(math.log(found.film_ratio) + edge[0]),
        np.exp(math.log(found.hold_ratio) + edge[1]),
    )
