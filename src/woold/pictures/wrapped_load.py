"""The wrapped load in elevation, layers as shades, beside the containment force over the height."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import BoundaryNorm
from matplotlib.patches import Rectangle

from woold.case.model import Case
from woold.physics import layer_count, outlines
from woold.pictures.canvas import INK, LIGHT, MIDDLE, SHADES, new_figure, trade_axis, wants_trade
from woold.prediction.film_on_load import film_on_load
from woold.prediction.predict import load_outline, program_legs
from woold.prediction.result import Prediction
from woold.units import UnitSystem, show
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["wrapped_load_figure"]


def wrapped_load_figure(case: Case, prediction: Prediction, system: UnitSystem) -> Figure:
    """Elevation of the load's side unrolled over one turn, and its containment profile.

    Args:
        case: the case.
        prediction: its prediction.
        system: units of the axes.
    """
    figure = new_figure(9.6, 5.8)
    left, right = figure.subplots(1, 2, sharey=True, width_ratios=[1.5, 1.0])
    _draw_side(figure, left, case, prediction)
    _draw_profile(right, prediction)
    if wants_trade(system):
        trade_axis(right, "length", "in", say("height above the deck [in]"))
        trade_axis(right, "force", "lbf", say("containment force [lbf]"), axis="x")
    figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=8)
    title = case.title or say("Wrapped load")
    figure.suptitle(
        say(
            "{title}: {mass} of film, {turns:.1f} turns",
            title=title,
            mass=show(prediction.film_mass_kg, "small_mass", system),
            turns=prediction.turns,
        ),
        fontsize=11,
    )
    return figure


def _draw_side(figure: Figure, axes: Axes, case: Case, prediction: Prediction) -> None:
    outline = load_outline(case)
    perimeter = outlines.perimeter(outline)
    sheet = film_on_load(case)
    legs = program_legs(case, sheet.width)
    bottom = min(prediction.containment_profile[0].height_m, 0.0)
    height = case.load.height
    positions = (np.arange(400) + 0.5) / 400
    heights = np.linspace(bottom, height, 600)
    # A rope counts as the films that it is gathered of, as in the prediction.
    layers = sum(
        sheet.width / leg.width * layer_count.passes_at([leg], positions, heights) for leg in legs
    )
    most = max(int(np.ceil(np.max(layers))), 1)
    floor = -case.load.deck_height
    axes.add_patch(Rectangle((0, floor), perimeter, -floor, facecolor=LIGHT, edgecolor=INK))
    axes.add_patch(Rectangle((0, 0), perimeter, height, facecolor="white", edgecolor=INK))
    shades = axes.imshow(
        np.ma.masked_less(layers, 0.5),
        origin="lower",
        extent=(0.0, perimeter, bottom, height),
        aspect="auto",
        cmap=SHADES,
        norm=BoundaryNorm(np.arange(0.5, most + 1.5), 256),
        interpolation="nearest",
        zorder=2,
    )
    for tier in range(1, case.load.tiers):
        axes.axhline(height * tier / case.load.tiers, color=INK, linewidth=0.4, alpha=0.5, zorder=3)
    axes.axhline(0.0, color=INK, linewidth=1.2, zorder=3)
    axes.text(0.02 * perimeter, 0.5 * floor, say("pallet"), va="center", zorder=4)
    axes.set_xlim(0.0, perimeter)
    axes.set_ylim(floor - 0.02, height + 0.03)
    axes.set_xlabel(say("way round the load, one turn [m]"))
    axes.set_ylabel(say("height above the deck [m]"))
    step = max(1, most // 8)
    figure.colorbar(
        shades, ax=axes, ticks=np.arange(1, most + 1, step), label=say("layers [-]"), pad=0.02
    )


def _draw_profile(axes: Axes, prediction: Prediction) -> None:
    points = prediction.containment_profile
    heights = [point.height_m for point in points]
    later = show(prediction.later_s, "hours")
    axes.fill_betweenx(
        heights,
        [point.force_later_low_n for point in points],
        [point.force_later_high_n for point in points],
        color=LIGHT,
        label=say("range after {time}, by loss alone", time=later),
    )
    axes.plot(
        [p.force_later_n for p in points],
        heights,
        color=MIDDLE,
        label=say("after {time}", time=later),
    )
    axes.plot(
        [p.force_later_patch_n for p in points],
        heights,
        color=MIDDLE,
        linestyle="--",
        label=say("after {time}, over a patch that can be felt", time=later),
    )
    axes.plot([p.force_n for p in points], heights, color=INK, label=say("when wrapped, least"))
    axes.plot(
        [p.force_mean_n for p in points],
        heights,
        color=INK,
        linestyle=":",
        label=say("when wrapped, mean round the load"),
    )
    axes.axhline(0.0, color=INK, linewidth=1.2)
    axes.set_xlim(left=0.0)
    axes.set_xlabel(say("containment force [N]"))
