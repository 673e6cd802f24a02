"""Inertia, damping and film stiffness from a measured swing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, PhysicsError
from woold.physics.dancer_modes import bounce_mode, operating_point
from woold.physics.dancer_setup import DancerSetup
from woold.physics.fit_search import (
    FitProblem,
    LackOfFit,
    criterion,
    lack_of_fit,
    searched,
    settled,
)
from woold.physics.model_turn import FITTABLE, best_shift, shifted_turn, steady_turn, value_of
from woold.physics.turn_lines import turn_lines
from woold.words import say

__all__ = ["ConstantInFit", "DancerFit", "fit_dancer"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ConstantInFit:
    """A fitted constant.

    Args:
        name: one of `FITTABLE`.
        start: value that the fit began with, SI.
        value: fitted, SI.
        low, high: value over and times its standard error's factor, two of them either way, SI.
    """

    name: str
    start: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class DancerFit:
    """A dancer fitted to its trace.

    Args:
        setup: the set-up with the fitted values.
        values: what was fitted.
        correlation: of the fitted values' logarithms, shape (n, n) [-].
        shift: angle of the trace's turn start on the model's turntable [rad].
        simulated: average turn of the fitted model about its mean, at the trace's steps [rad].
        residual_rms: of measured less simulated turn [rad].
        bounce_frequency: of the fitted model, or None [Hz].
        bounce_damping: of the fitted model, or None [-].
        lack_of_fit: of this fit.
        gain_of_all: by how much the Bayesian information criterion is lower with all constants
            fitted than with these alone, the rest as typed [-].
        starts: points that the search began from, and how many of them ended here.
    """

    setup: DancerSetup
    values: tuple[ConstantInFit, ...]
    correlation: Floats
    shift: float
    simulated: Floats
    residual_rms: float
    bounce_frequency: float | None
    bounce_damping: float | None
    lack_of_fit: LackOfFit
    gain_of_all: float
    starts: tuple[int, int]


def fit_dancer(
    setup: DancerSetup,
    turns: Floats,
    period: float,
    names: Sequence[str] = ("inertia", "damping", "film_stiffness"),
    read_to: Floats | None = None,
) -> DancerFit:
    """Constants with which the simulated turn lies on the measured one.

    Least squares on the average turn's orders, weighted by the scatter of the turns and by how well
    each was read. What is not
    asked for is not taken for known: it is fitted along, held to what was typed by its range
    (`RANGES`), so that its error is in the intervals. The start of the turn is fitted along too.
    Several points are searched from; where another one ends as well elsewhere, the ranges reach
    over both.

    Args:
        setup: the dancer with the values to start from.
        turns: measured arm angle, one row a turn, storing film positive [rad], (turns, per turn).
        period: of the turn [s].
        names: what to fit, of `FITTABLE`.
        read_to: standard error that reading leaves in any order of each turn, or none [rad],
            shape (turns,).

    Returns:
        The fit.

    Raises:
        InputError: a name that is none of `FITTABLE`, or fewer than three turns.
        PhysicsError: the model cannot run at this turning speed.
    """
    _require_fit(setup, turns, names)
    lines = turn_lines(turns, read_to)
    # The model must run where it was typed to; elsewhere a point that cannot is passed over.
    turn = steady_turn(setup, 2 * np.pi / period, lines.samples)
    shift = best_shift(turns.mean(axis=0) - turns.mean(), turn)
    problem = FitProblem(setup, tuple(names), lines, 2 * np.pi / period)
    found = searched(problem, shift)
    best = found.best
    fitted = problem.setup_at(best.x)
    simulated = shifted_turn(steady_turn(fitted, problem.turning_speed, lines.samples), best.x[-1])
    measured = turns.mean(axis=0) - turns.mean()
    mode = _mode(fitted, problem.turning_speed)
    count = len(names)
    size = np.sqrt(np.diag(found.covariance))
    return DancerFit(
        setup=fitted,
        values=tuple(
            ConstantInFit(name, *(float(start * np.exp(log)) for log in (0.0, best.x[at], *ends)))
            for at, (name, start, ends) in enumerate(
                zip(names, problem.start, zip(found.low, found.high, strict=True), strict=False)
            )
        ),
        correlation=(found.covariance / np.outer(size, size))[:count, :count],
        shift=float(best.x[-1] % (2 * np.pi)),
        simulated=simulated,
        residual_rms=float(np.sqrt(np.mean((measured - simulated) ** 2))),
        bounce_frequency=mode[0] if mode else None,
        bounce_damping=mode[1] if mode else None,
        lack_of_fit=lack_of_fit(problem, best.x),
        gain_of_all=_gain_of_all(problem, best.x),
        starts=found.starts,
    )


def _gain_of_all(problem: FitProblem, found: Floats) -> float:
    """How much better all constants fit than the asked ones with the rest as typed."""
    every = tuple(problem.names)
    if len(every) == len(problem.asked):
        return 0.0
    whole = FitProblem(problem.setup, every, problem.lines, problem.turning_speed)
    # Both are measured by the scatter that the better one leaves.
    point = settled(whole, [found])
    test = lack_of_fit(whole, point)
    excess = max(test.ratio, 1.0)
    count = 2 * len(problem.lines.lines)
    all_ = test.ratio * test.freedom[0] / excess + (len(every) + 1) * float(np.log(count))
    return criterion(problem, found, excess) - all_


def _require_fit(setup: DancerSetup, turns: Floats, names: Sequence[str]) -> None:
    unknown = [name for name in names if name not in FITTABLE]
    if unknown or not names:
        raise InputError.one(
            "--fit",
            ", ".join(unknown) or say("nothing"),
            ", ".join(FITTABLE),
            say("Write one or more of these names."),
        )
    if len(turns) < 3:
        raise InputError.one(
            "trace",
            say("turns: {turns}", turns=len(turns)),
            say("three turns or more"),
            say("Record for longer, with a pulse in each turn."),
        )
    start = [value_of(setup, name) for name in names]
    if not all(value > 0 for value in start):
        raise InputError.one(
            "dancer",
            ", ".join(f"{name} {value:g}" for name, value in zip(names, start, strict=True)),
            say("a value above zero to start from, for each"),
            say("Mend [dancer]."),
        )


def _mode(setup: DancerSetup, turning_speed: float) -> tuple[float, float] | None:
    try:
        mode = bounce_mode(setup, operating_point(setup, turning_speed))
    except PhysicsError:
        return None
    return (mode.frequency, mode.damping) if mode is not None else None
