"""Pictures of the dancer: springs at rest, one cycle, and smoothness against turning speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.case.model import Case
from woold.dancer.case_dancer import CaseDancer, case_dancer
from woold.dancer.results import CycleStudy, SpringTable, TuneStudy
from woold.physics.dancer import balance_tension
from woold.physics.dancer_motion import Motion
from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure, trade_axis, wants_trade
from woold.units import UnitSystem, show
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["cycle_figure", "springs_figure", "tuning_figure"]

_LINES = ("-", "--", "-.", ":")
_RPM = 2 * np.pi / 60


def springs_figure(case: Case, table: SpringTable, system: UnitSystem) -> Figure:
    """Tension that each spring in each hole balances, over the arm's travel.

    Args:
        case: the case.
        table: its ranked springs.
        system: units of the axes.
    """
    figure = new_figure(8.4, 5.4)
    axes = figure.subplots()
    number = 0
    for row in reversed(table.choices):
        setup = case_dancer(case, row.spring, row.hole_m).setup
        angles = np.linspace(setup.arm.lower_stop, setup.arm.upper_stop, 121)
        tension = balance_tension(angles, setup.arm, setup.spring, setup.hole_radius)
        degrees = np.degrees(angles)
        if not row.fits:
            axes.plot(degrees, tension, color=LIGHT, linewidth=1.0, zorder=1)
            continue
        label = say(
            "{rank}. {rate} in {hole}",
            rank=row.rank,
            rate=show(row.rate_n_per_m, "stiffness", "si"),
            hole=show(row.hole_m, "small_length", "si"),
        )
        best = row.rank == 1
        axes.plot(
            degrees,
            tension,
            color=INK if best else MIDDLE,
            linewidth=2.2 if best else 1.3,
            linestyle="-" if best else _LINES[number % len(_LINES)],
            label=label,
            zorder=3,
        )
        number += 1
        if row.balance_angle_rad is not None:
            at = float(np.degrees(row.balance_angle_rad))
            axes.plot([at], [table.force_to_load_n], "o", color=INK, markersize=4, zorder=4)
    axes.plot([], [], color=LIGHT, label=say("does not fit"))
    force = show(table.force_to_load_n, "force", system)
    axes.axhline(table.force_to_load_n, color=INK, linewidth=0.8, linestyle=":")
    axes.set_xlabel(say("dancer angle, growing as film is stored [°]"))
    axes.set_ylabel(say("film tension that the spring balances [N]"))
    axes.set_ylim(0.0, 2.6 * table.force_to_load_n)
    axes.margins(x=0.0)
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles[::-1], labels[::-1], loc="outside lower center", ncols=4, frameon=False, fontsize=8
    )
    if wants_trade(system):
        trade_axis(axes, "force", "lbf", say("film tension [lbf]"))
    axes.set_title(say("Springs and holes for {force}", force=force), fontsize=11)
    return figure


def cycle_figure(
    study: CycleStudy, motion: Motion, dancer: CaseDancer, system: UnitSystem
) -> Figure:
    """Tension, arm angle and film speed over the cycle.

    Args:
        study: the cycle.
        motion: its samples.
        dancer: the dancer that made it.
        system: units of the axes.
    """
    figure = new_figure(9.6, 7.0)
    upper, middle, lower = figure.subplots(3, 1, sharex=True)
    arm = dancer.setup.arm
    upper.plot(motion.time, motion.tension, color=INK, linewidth=0.9, label=say("film tension"))
    upper.axhline(
        study.tension_mean_n,
        color=MIDDLE,
        linewidth=1.0,
        linestyle="--",
        label=say("mean at speed"),
    )
    upper.set_ylim(bottom=0.0)
    upper.set_ylabel(say("tension [N]"))
    middle.plot(motion.time, np.degrees(motion.arm_angle), color=INK, linewidth=0.9)
    for stop in (arm.lower_stop, arm.upper_stop):
        middle.axhline(np.degrees(stop), color=MIDDLE, linewidth=1.2, linestyle="--")
    middle.plot([], [], color=MIDDLE, linestyle="--", label=say("stops"))
    middle.set_ylabel(say("dancer angle [°]"))
    lower.plot(motion.time, motion.demand, color=MIDDLE, linewidth=0.8, label=say("film demand"))
    lower.plot(motion.time, motion.film_speed, color=INK, linewidth=1.2, label=say("fast roller"))
    lower.set_ylim(bottom=min(0.0, float(motion.demand.min())))
    lower.set_ylabel(say("film speed [m/s]"))
    lower.set_xlabel(say("time in the cycle [s]"))
    lower.margins(x=0.0)
    figure.legend(loc="outside lower center", ncols=5, frameon=False, fontsize=8)
    if wants_trade(system):
        trade_axis(upper, "force", "lbf", say("tension [lbf]"))
        trade_axis(lower, "speed", "ft/min", say("film speed [ft/min]"))
    named = {
        "speed": show(study.turning_speed_rad_per_s, "turning_speed", system),
        "spring": study.spring,
        "hole": show(study.hole_m, "small_length", "si"),
    }
    title = (
        say("Dancer at {speed}, spring {spring}, which does not fit the hole at {hole}", **named)
        if not study.fits
        else say(
            "Dancer at {speed}, spring {spring} in the hole at {hole}: smooth at speed", **named
        )
        if study.steady.is_smooth
        else say(
            "Dancer at {speed}, spring {spring} in the hole at {hole}: not smooth at speed", **named
        )
    )
    figure.suptitle(title, fontsize=11)
    return figure


def tuning_figure(study: TuneStudy) -> Figure:
    """Tension and swing against turning speed as set; ripple of what was tried.

    Args:
        study: the tuning.
    """
    figure = new_figure(11.0, 4.6)
    left, middle, right = figure.subplots(1, 3)
    rpm = np.array([each.turning_speed_rad_per_s for each in study.speeds]) / _RPM
    smooth = np.array([each.is_smooth for each in study.speeds])
    _band(
        left,
        rpm,
        [each.tension_low_n for each in study.speeds],
        [each.tension_peak_n for each in study.speeds],
    )
    mean = np.array([each.tension_mean_n for each in study.speeds])
    left.plot(rpm[smooth], mean[smooth], "o", color=INK, markersize=4, label=say("mean, smooth"))
    left.plot(
        rpm[~smooth],
        mean[~smooth],
        "o",
        color=INK,
        markersize=4,
        fillstyle="none",
        label=say("mean, not smooth"),
    )
    left.set_ylim(0.0, max(3.0 * study.force_to_load_n, 1.1 * float(mean[smooth].max(initial=0))))
    left.set_ylabel(say("film tension, lowest to peak [N]"))
    left.legend(loc="upper left", frameon=False, fontsize=8)
    _band(
        middle,
        rpm,
        np.degrees([each.arm_angle_low_rad for each in study.speeds]),
        np.degrees([each.arm_angle_high_rad for each in study.speeds]),
    )
    middle.margins(y=0.15)
    middle.set_ylabel(say("dancer angle, lowest to highest [°]"))
    for axes in (left, middle):
        axes.set_xlabel(say("turning speed [rpm]"))
        if study.highest_smooth_speed_rad_per_s is not None:
            axes.axvline(
                study.highest_smooth_speed_rad_per_s / _RPM, color=INK, linewidth=1.0, linestyle=":"
            )
    _draw_best(right, study)
    title = say("Dancer against turning speed, as set; dotted: highest smooth")
    figure.suptitle(title, fontsize=11)
    return figure


def _draw_best(axes: Axes, study: TuneStudy) -> None:
    """Ripple of the best that were tried, the best on top."""
    places = np.arange(len(study.best))[::-1]
    axes.barh(
        places,
        [100 * row.steady.tension_ripple for row in study.best],
        color=[MIDDLE if row.fits else LIGHT for row in study.best],
    )
    axes.set_yticks(
        places,
        [
            say(
                "{rate:.3g} N/mm, {hole:.0f} mm, gain {gain:.2f}: {tension:.0f} N",
                rate=row.rate_n_per_m / 1e3,
                hole=row.hole_m * 1e3,
                gain=row.gain_m_per_s_rad,
                tension=row.steady.tension_mean_n,
            )
            for row in study.best
        ],
        fontsize=7,
    )
    axes.set_xlabel(say("tension ripple [% of the mean]"))
    axes.set_title(say("best of {tried} tried", tried=study.tried), fontsize=9)


def _band(axes: Axes, x: object, low: object, high: object) -> None:
    axes.fill_between(x, low, high, color=LIGHT)  # type: ignore[arg-type]
