"""The stack as a transport screen leaves it, beside what each interface needs and film gives."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.patches import Rectangle

from woold.case.model import Case
from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure, trade_axis, wants_trade
from woold.transport.result import (
    ProfileResult,
    TransportResult,
    WayResult,
    direction_name,
    limit_name,
)
from woold.units import UnitSystem
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["moved_stack_figure"]


def moved_stack_figure(case: Case, result: TransportResult, system: UnitSystem) -> Figure:
    """Tiers where they end up, and forces at each interface, for the worst direction of all.

    Args:
        case: the case.
        result: its screen.
        system: units of the axes.
    """
    profile, way = _worst(result)
    figure = new_figure(9.6, 5.4)
    left, right = figure.subplots(1, 2, sharey=True, width_ratios=[1.0, 1.3])
    _draw_stack(left, case, way)
    left.set_xlabel(
        say(
            "travel of each tier over the one below (limit {limit:.0f} mm)",
            limit=result.slip_limit_m * 1000,
        )
    )
    _draw_forces(right, way)
    if wants_trade(system):
        trade_axis(right, "length", "in", say("height above the deck [in]"))
        trade_axis(right, "force", "lbf", say("force [lbf]"), axis="x")
    figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=8)
    verdict = say("holds within the limits") if way.holds else limit_name(way.limited_by)
    if way.holds is None:
        verdict = say("it cannot be said, shown as guessed")
    figure.suptitle(
        say(
            "{edition}: {direction}, {acceleration:g} g: {verdict}\n"
            "Engineering estimate; a physical test decides",
            edition=say(profile.edition),
            direction=direction_name(way.direction),
            acceleration=way.acceleration_g,
            verdict=verdict,
        ),
        fontsize=10,
    )
    return figure


def _worst(result: TransportResult) -> tuple[ProfileResult, WayResult]:
    """The direction in which film lacks most, or has least to spare."""
    rows = [(profile, way) for profile in result.profiles for way in profile.ways]

    def lack(row: tuple[ProfileResult, WayResult]) -> tuple[bool, bool, float]:
        way = row[1]
        return (
            way.holds is False,
            way.holds is None,
            max(each.restraint_needed_n - each.restraint_limit_n for each in way.interfaces),
        )

    return max(rows, key=lack)


def _draw_stack(axes: Axes, case: Case, way: WayResult) -> None:
    height = case.load.height / len(way.interfaces)
    depth = 1.0
    shift = 0.0
    axes.add_patch(
        Rectangle(
            (0, -case.load.deck_height), depth, case.load.deck_height, facecolor=LIGHT, ec=INK
        )
    )
    axes.text(0.5 * depth, -0.5 * case.load.deck_height, say("pallet"), ha="center", va="center")
    for each in way.interfaces:
        lost = each.slip_m is None
        # Drawn at true scale against a load one metre deep; a tier that is lost goes to the rim.
        shift += 0.25 * depth if each.slip_m is None else each.slip_m
        axes.add_patch(
            Rectangle(
                (shift, each.height_m),
                depth,
                height,
                facecolor="white",
                ec=INK,
                hatch="///" if lost else None,
                linewidth=0.8,
            )
        )
        words = say("not held") if lost else f"{(each.slip_m or 0.0) * 1000:.0f} mm"
        axes.text(
            shift + 0.5 * depth,
            each.height_m + 0.5 * height,
            words,
            ha="center",
            va="center",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
        )
    axes.annotate(
        "",
        xy=(1.25, case.load.height + 0.06),
        xytext=(0.75, case.load.height + 0.06),
        arrowprops={"arrowstyle": "->", "color": INK},
    )
    axes.text(
        0.72, case.load.height + 0.06, say("inertia force"), ha="right", va="center", fontsize=8
    )
    axes.set_xlim(-0.1, max(1.4, 1.1 + shift))
    axes.set_ylim(-case.load.deck_height - 0.03, case.load.height + 0.12)
    axes.set_xticks([])
    axes.spines["bottom"].set_visible(False)
    axes.set_ylabel(say("height above the deck [m]"))


def _draw_forces(axes: Axes, way: WayResult) -> None:
    heights = [each.height_m for each in way.interfaces]
    bar = 0.28 * (heights[1] - heights[0]) if len(heights) > 1 else 0.1
    axes.barh(
        [height + 0.5 * bar for height in heights],
        [each.restraint_needed_n for each in way.interfaces],
        height=bar,
        color=INK,
        label=say("needed beyond friction once it slips"),
    )
    axes.barh(
        [height - 0.5 * bar for height in heights],
        [each.restraint_limit_n for each in way.interfaces],
        height=bar,
        color=LIGHT,
        edgecolor=MIDDLE,
        hatch="..",
        label=say("most that film can give"),
    )
    axes.set_xlim(left=0.0)
    axes.set_xlabel(say("force on the tiers above each interface [N]"))
