"""What a trial can see against its number of loads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.trial.plan import TrialPlan, what_loads_show

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plan_figure"]


def plan_figure(plan: TrialPlan) -> Figure:
    """Smallest saving and margin that are seen, and the chances of showing what is asked."""
    figure = new_figure(9.6, 4.6)
    left, right = figure.subplots(1, 2)
    most = max(2.2 * plan.loads_per_treatment, 20)
    loads = np.unique(np.round(np.geomspace(4, most, 40)).astype(int))
    per_block = max(round(plan.loads_per_treatment / len({each.block for each in plan.order})), 1)
    seen = [
        what_loads_show(plan.aim, plan.zones, [int(n)], [1.0], int(np.ceil(n / per_block)))
        for n in loads
    ]
    percent = 100.0
    left.plot(loads, [percent * s.smallest_saving for s in seen], color=INK, label="film saving")
    left.plot(
        loads,
        [percent * s.smallest_margin for s in seen],
        color=MIDDLE,
        linestyle="--",
        label="margin of containment, one zone",
    )
    left.axhline(percent * plan.aim.saving, color=INK, linewidth=0.8, linestyle=":")
    left.axhline(percent * plan.aim.margin, color=MIDDLE, linewidth=0.8, linestyle=":")
    left.set_ylabel(f"smallest that is seen in {plan.aim.power:.0%} of trials [%]")
    left.set_ylim(0, 3 * percent * max(plan.aim.saving, plan.aim.margin))
    right.plot(loads, [s.film_power for s in seen], color=INK, label="film saving")
    right.plot(
        loads,
        [s.containment_power for s in seen],
        color=MIDDLE,
        linestyle="--",
        label="containment, one zone",
    )
    right.plot(
        loads,
        [s.both_power for s in seen],
        color=INK,
        linestyle=":",
        label=f"all, {plan.zones} zones (at least)",
    )
    right.axhline(plan.aim.power, color=LIGHT, linewidth=3, zorder=0)
    right.set_ylim(0, 1.02)
    right.set_ylabel("chance of showing it [-]")
    for axes in (left, right):
        axes.axvline(plan.loads_per_treatment, color=LIGHT, linewidth=3, zorder=0)
        axes.set_xlabel("loads of each treatment")
        axes.set_xlim(0, most)
        axes.legend(frameon=False, fontsize=8)
    figure.suptitle(
        f"{plan.loads_per_treatment} loads of each treatment (bar); dotted: what is asked for; one"
        " load type",
        fontsize=10,
    )
    return figure
