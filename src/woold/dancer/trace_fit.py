"""The model's turn laid over a recorded one, and constants fitted to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.dancer.results import AllowedConstant, FitStudy, FittedConstant, FitTest, Laid
from woold.errors import PhysicsError
from woold.physics.dancer_fit import DancerFit, fit_dancer
from woold.physics.fit_search import RANGES
from woold.physics.model_turn import FITTABLE, laid_over, value_of
from woold.physics.trace_analysis import TraceAnalysis
from woold.words import say

__all__ = ["FitAsk", "laid_over_trace", "thinned"]

Floats = NDArray[np.float64]

BETTER = 10.0
"""Fall of the Bayesian information criterion from which the larger fit is offered.

Source: R. E. Kass, A. E. Raftery, J. American Statistical Association 90 (1995) 773: above 10 the
evidence is very strong; from memory.
"""

_MOST_STEPS = 256
FITTED_UNITS = {
    "inertia": "kg m^2",
    "damping": "N m s",
    "film_stiffness": "N",
    "friction_torque": "N m",
    "gain": "m/s/rad",
    "lag": "s",
}


@dataclass(frozen=True, slots=True)
class FitAsk:
    """What is laid over a trace.

    Args:
        names: constants to fit, none for no fit.
        spring: number of the case's spring.
        hole: of the case's dancer [m].
    """

    names: tuple[str, ...]
    spring: int | None
    hole: float | None


def thinned(turn: Floats) -> tuple[float, ...]:
    """A turn in at most so many even steps."""
    return tuple(turn[:: max(len(turn) // _MOST_STEPS, 1)].tolist())


def laid_over_trace(
    case: Case | None, analysis: TraceAnalysis, asked: FitAsk, kind: str
) -> tuple[Laid | None, FitStudy | None, list[str]]:
    """The model's turn on the measured one, as the case says or fitted; and why not.

    Args:
        case: whose dancer it was.
        analysis: the trace, taken apart.
        asked: constants to fit, spring and hole.
        kind: of the trace's position.
    """
    if case is None:
        return None, None, []
    if case.dancer is None or kind != "angle":
        return (
            None,
            None,
            [say("The model was not laid over it: that needs a [dancer] table and an angle.")],
        )
    setup = case_dancer(case, asked.spring, asked.hole).setup
    period = analysis.turn.period
    fit: FitStudy | None = None
    try:
        if asked.names:
            found = fit_dancer(setup, analysis.turns, period, asked.names, analysis.read_to)
            every = tuple(each for each in FITTABLE if value_of(setup, each) > 0)
            all_ = None
            if found.gain_of_all > BETTER:
                all_ = fit_dancer(setup, analysis.turns, period, every, analysis.read_to)
            setup, fit = found.setup, _fit(found, all_)
        simulated, shift, apart = laid_over(setup, analysis.turns, period)
    except PhysicsError as error:
        reason = error.problems[0]
        return None, fit, [say("The model was not laid over it: {reason}", reason=reason)]
    return Laid(shift, apart, thinned(simulated)), fit, []


def _fit(found: DancerFit, all_: DancerFit | None) -> FitStudy:
    test = found.lack_of_fit
    asked = {each.name for each in found.values}
    return FitStudy(
        values=_constants(found),
        allowed=tuple(
            AllowedConstant(name, RANGES[name]) for name in FITTABLE if name not in asked
        ),
        test=FitTest(test.ratio, test.freedom, test.probability, test.is_found),
        starts=found.starts[0],
        starts_agreeing=found.starts[1],
        criterion_gain=found.gain_of_all,
        all_values=() if all_ is None else _constants(all_),
        correlation=tuple(tuple(row) for row in found.correlation.tolist()),
        bounce_frequency_hz=found.bounce_frequency,
        bounce_damping=found.bounce_damping,
    )


def _constants(found: DancerFit) -> tuple[FittedConstant, ...]:
    return tuple(
        FittedConstant(
            each.name, FITTED_UNITS[each.name], each.start, each.value, each.low, each.high
        )
        for each in found.values
    )
