"""A tensile test with the curve fitted to it, and what the curve misses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from woold.carriages.film_test import FilmFitReport
from woold.carriages.tensile_file import TensileTest
from woold.physics.film import nominal_stress
from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure, wants_trade
from woold.units import UnitSystem, show
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["film_curve_figure"]

Array = npt.NDArray[np.float64]


def film_curve_figure(test: TensileTest, report: FilmFitReport, system: UnitSystem) -> Figure:
    """Points and fitted curve above, residuals below.

    Args:
        test: the test's points.
        report: the fit.
        system: units of the axes.
    """
    figure = new_figure(7.6, 6.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3.0, 1.0])
    stretches = test.stretches / (1.0 + report.toe)
    used = stretches >= report.fit_from_stretch
    elongation = 100.0 * (stretches - 1.0)
    upper.plot(
        elongation[~used],
        test.stresses[~used] * 1e-6,
        ".",
        color=LIGHT,
        markeredgecolor=MIDDLE,
        label=say("points not fitted"),
    )
    upper.plot(
        elongation[used], test.stresses[used] * 1e-6, ".", color=MIDDLE, label=say("points fitted")
    )
    along = np.linspace(report.fit_from_stretch, stretches[-1], 300)
    fitted = _stress_of(report, along) * 1e-6
    label = say("fitted curve") if report.values else say("points that stand for it")
    upper.plot(100.0 * (along - 1.0), fitted, color=INK, linewidth=1.8, label=label)
    natural = 100.0 * (report.natural_draw_stretch - 1.0)
    if natural > 0.0:
        upper.axvline(natural, color=INK, linewidth=0.8, linestyle=":")
        upper.text(
            natural,
            0.0,
            say(" draws evenly above {elongation:.0f} %", elongation=natural),
            fontsize=8,
            va="bottom",
        )
    upper.set_ylim(bottom=0.0)
    upper.set_ylabel(say("force over unstretched section [MPa]"))
    upper.legend(frameon=False, loc="lower right")
    residuals = test.stresses[used] - _stress_of(report, stretches[used])
    lower.axhline(0.0, color=INK, linewidth=0.8)
    lower.plot(elongation[used], residuals * 1e-6, ".", color=MIDDLE)
    lower.set_ylabel(say("test less fit\n[MPa]"))
    lower.set_xlabel(say("elongation [%]"))
    if wants_trade(system):
        factor = 1e6 / 6894.757293168361
        second = upper.secondary_yaxis(
            "right", functions=(lambda mpa: mpa * factor, lambda psi: psi / factor)
        )
        second.set_ylabel("[psi]")
    figure.suptitle(
        say(
            "{source}: {points} points, residual deviation {deviation}, R² {determination:.4f}",
            source=report.source,
            points=report.points_used,
            deviation=show(report.residual_deviation_pa, "stress", "si"),
            determination=report.determination,
        ),
        fontsize=10,
    )
    return figure


def _stress_of(report: FilmFitReport, stretches: Array) -> Array:
    """Nominal stress [Pa] by the fitted law, or between the points where none fits."""
    if report.values:
        flow = [each.value for each in report.values[:3]]
        return np.asarray(nominal_stress(stretches, *flow))
    known, stresses = np.array(report.curve).T
    return np.asarray(np.interp(stretches, known, stresses))
