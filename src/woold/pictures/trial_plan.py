"""What a trial can see against its number of loads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.trial.looks import LookLimits
from woold.trial.percent import percent
from woold.trial.plan import TrialPlan
from woold.trial.sight import ALPHA, Size, what_loads_show
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["plan_figure"]


def plan_figure(plan: TrialPlan) -> Figure:
    """Smallest saving and margin that are seen, and the chances of showing what is asked."""
    figure = new_figure(9.6, 4.6)
    left, right = figure.subplots(1, 2)
    most = max(2.2 * plan.loads_per_treatment, 20)
    loads = np.unique(np.round(np.geomspace(4, most, 40)).astype(int))
    blocks = len({each.block for each in plan.order})
    per_block = max(round(plan.loads_per_treatment / blocks), 1)
    limits = LookLimits(
        tuple(each.share for each in plan.looks), tuple(each.limit for each in plan.looks), ALPHA
    )
    seen = [
        what_loads_show(
            plan.aim, Size((int(n),), (1.0,), int(np.ceil(n / per_block)), plan.zones), limits
        )
        for n in loads
    ]
    saving, margin = say("film saving at equal hold"), say("margin of containment, one zone")
    left.plot(loads, [100 * s.smallest_saving for s in seen], color=INK, label=saving)
    left.plot(
        loads, [100 * s.smallest_margin for s in seen], color=MIDDLE, linestyle="--", label=margin
    )
    left.axhline(100 * plan.aim.saving, color=INK, linewidth=0.8, linestyle=":")
    left.axhline(100 * plan.aim.margin, color=MIDDLE, linewidth=0.8, linestyle=":")
    left.set_ylabel(
        say("smallest that is seen in {power} of trials [%]", power=percent(plan.aim.power, 0))
    )
    left.set_ylim(0, 300 * max(plan.aim.saving, plan.aim.margin))
    right.plot(loads, [s.equal_hold_power for s in seen], color=INK, label=saving)
    right.plot(
        loads,
        [s.containment_power for s in seen],
        color=MIDDLE,
        linestyle="--",
        label=say("containment, one zone"),
    )
    right.plot(
        loads,
        [s.both_power for s in seen],
        color=INK,
        linestyle=":",
        label=say("all zones: {zones} (at least)", zones=plan.zones),
    )
    right.axhline(plan.aim.power, color=LIGHT, linewidth=3, zorder=0)
    right.set_ylim(0, 1.02)
    right.set_ylabel(say("chance of showing it [-]"))
    for axes in (left, right):
        axes.axvline(plan.loads_per_treatment, color=LIGHT, linewidth=3, zorder=0)
        axes.set_xlabel(say("loads of each treatment"))
        axes.set_xlim(0, most)
        axes.legend(frameon=False, fontsize=8)
    figure.suptitle(
        say(
            "loads of each treatment: {loads} (bar); dotted: what is asked for; one load type",
            loads=plan.loads_per_treatment,
        ),
        fontsize=10,
    )
    return figure
