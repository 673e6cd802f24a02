"""The search for a dancer's constants: least squares from several points, and how well they fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError
from woold.physics.dancer_setup import DancerSetup
from woold.physics.model_turn import FITTABLE, steady_turn, value_of, with_values
from woold.physics.turn_lines import TurnLines

__all__ = [
    "RANGES",
    "FitProblem",
    "LackOfFit",
    "Searched",
    "criterion",
    "lack_of_fit",
    "searched",
    "settled",
]

Floats = NDArray[np.float64]

RANGES = {
    "inertia": 3.0,
    "damping": 4.0,
    "film_stiffness": 2.5,
    "friction_torque": 4.5,
    "gain": 3.2,
    "lag": 3.7,
}
"""Factor either way, two standard errors, by which a typed constant may be off: as wide as the
ranges of the case's placeholders. Engineering estimates."""

_WIDEST = np.log(30.0)  # a value is looked for within this factor of where it starts
_UNRULY = 1e3  # residual where the model cannot run
_CERTAIN = 0.01
_AS_GOOD = 4.0  # of χ² over its scatter, within which two points are as good
_STARTS = (
    (0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.7, 0.4, 0.4, -0.5, -0.4, 0.4),
    (-0.7, -0.4, -0.4, 0.5, 0.4, -0.4),
    (0.7, -0.5, 0.0, 0.5, -0.4, -0.4),
    (-0.7, 0.5, 0.0, -0.5, 0.4, 0.4),
    (0.0, 0.9, 0.5, -0.9, 0.5, -0.5),
)
_SEARCHED = 3  # of the starts, those that lie best


@dataclass(frozen=True)
class LackOfFit:
    """Whether the model leaves more over than the turns differ from each other.

    F = χ²/ν, the turns being the replicates

    Args:
        ratio: F [-].
        freedom: degrees of freedom of the model's rest and of the turns' scatter.
        probability: that scatter alone gives as much or more [-].
        is_found: the model does not describe the turn.
    """

    ratio: float
    freedom: tuple[int, int]
    probability: float
    is_found: bool


class FitProblem:
    """Measured orders, and the model's at a point: logarithms over the start, and the turn's shift.

    Args:
        setup: the dancer with the values to start from.
        names: what is asked for; the rest is held to what was typed by its range.
        lines: of the measured turns.
        turning_speed: Ω [rad/s].
        is_held: the rest is held as typed.
    """

    def __init__(
        self,
        setup: DancerSetup,
        names: tuple[str, ...],
        lines: TurnLines,
        turning_speed: float,
        is_held: bool = False,
    ) -> None:
        beside = (name for name in FITTABLE if name not in names and value_of(setup, name) > 0)
        self.setup, self.lines, self.turning_speed = setup, lines, turning_speed
        self.asked = names
        self.names = names if is_held else (*names, *beside)
        self.start = np.array([value_of(setup, name) for name in self.names])
        held = [np.log(RANGES[name]) / 2 for name in self.names[len(names) :]]
        self.held = np.array(held)

    def setup_at(self, point: Floats) -> DancerSetup:
        """The dancer with the values of a point."""
        values = self.start * np.exp(point[:-1])
        return with_values(self.setup, dict(zip(self.names, values, strict=True)))

    def misfit(self, point: Floats) -> Floats:
        """Measured less simulated orders, over their standard errors."""
        lines = self.lines
        try:
            turn = steady_turn(self.setup_at(point), self.turning_speed, lines.samples)
        except PhysicsError:
            return np.full(2 * len(lines.lines), _UNRULY)
        orders = np.arange(1, len(lines.lines) + 1)
        model = np.fft.rfft(turn)[orders] * 2 / lines.samples * np.exp(-1j * orders * point[-1])
        apart = (lines.lines - model) / lines.line_error
        return np.concatenate([apart.real, apart.imag])

    def residuals(self, point: Floats) -> Floats:
        """The misfit, and how far what was not asked for lies from what was typed."""
        count = len(self.asked)
        return np.concatenate([self.misfit(point), point[count:-1] / self.held])


@dataclass(frozen=True, eq=False)
class Searched:
    """What a search found.

    Args:
        best: the result that leaves least.
        covariance: of its point, what the model leaves over taken for scatter.
        low, high: ends of the asked logarithms, over all points that are as good.
        starts: points searched from, and how many of them ended at the best.
    """

    best: Any
    covariance: Floats
    low: Floats
    high: Floats
    starts: tuple[int, int]


def searched(problem: FitProblem, shift: float) -> Searched:
    """Least squares from the points that lie best of several.

    Args:
        problem: what is fitted.
        shift: of the turn, about [rad].

    Returns:
        What was found.
    """
    places = [FITTABLE.index(name) for name in problem.names]
    points = [np.append(np.array(start)[places], shift) for start in _STARTS]
    costs = [float(np.sum(problem.residuals(point) ** 2)) for point in points]
    kept = [points[at] for at in np.argsort(costs)[:_SEARCHED]]
    results = sorted(_results(problem, kept), key=_cost)
    best = results[0]
    count = len(problem.asked)
    excess = _excess(problem, best.x)
    ends, as_good = [], 0
    for each in results:
        if 2 * (each.cost - best.cost) > _AS_GOOD * excess:
            continue
        as_good += 1
        error = np.sqrt(np.diag(_covariance(each, excess)))[:count]
        ends.append((each.x[:count] - 2 * error, each.x[:count] + 2 * error))
    return Searched(
        best=best,
        covariance=_covariance(best, excess),
        low=np.min([low for low, _ in ends], axis=0),
        high=np.max([high for _, high in ends], axis=0),
        starts=(len(results), as_good),
    )


def _cost(result: Any) -> float:
    return float(result.cost)


def settled(problem: FitProblem, points: Sequence[Floats]) -> Floats:
    """Where the search from some points, near to what is looked for, leaves least.

    Args:
        problem: what is fitted.
        points: to search from.
    """
    return np.asarray(min(_results(problem, points), key=_cost).x)


def _results(problem: FitProblem, points: Sequence[Floats]) -> Iterator[Any]:
    from scipy.optimize import least_squares

    for point in points:
        far = np.append(np.full(len(point) - 1, _WIDEST), np.pi)
        centre = np.append(np.zeros(len(point) - 1), point[-1])
        yield least_squares(
            problem.residuals,
            point,
            bounds=(centre - far, centre + far),
            x_scale=np.append(np.full(len(point) - 1, 0.3), 0.05),
            diff_step=1e-3,
            xtol=1e-4,
            ftol=1e-5,
            max_nfev=25,
        )


def _covariance(result: Any, excess: float) -> Floats:
    jacobian = np.asarray(result.jac)
    return np.asarray(np.linalg.pinv(jacobian.T @ jacobian) * excess)


def _freedom(problem: FitProblem) -> int:
    return 2 * len(problem.lines.lines) - len(problem.asked) - 1


def _excess(problem: FitProblem, point: Floats) -> float:
    """What the model leaves over, over the turns' scatter; no less than one."""
    return max(float(np.sum(problem.misfit(point) ** 2)) / _freedom(problem), 1.0)


def lack_of_fit(problem: FitProblem, point: Floats) -> LackOfFit:
    """Whether a fit leaves more than the turns' own scatter.

    Args:
        problem: what was fitted.
        point: where.

    Returns:
        The test.
    """
    from scipy.stats import f

    freedom = _freedom(problem), 2 * (problem.lines.turns - 1) * 4
    ratio = float(np.sum(problem.misfit(point) ** 2)) / freedom[0]
    probability = float(f.sf(ratio, *freedom))
    return LackOfFit(ratio, freedom, probability, probability < _CERTAIN)


def criterion(problem: FitProblem, point: Floats, excess: float = 1.0) -> float:
    """Bayesian information criterion with all that was not asked for held as typed.

    χ²/excess + k ln n

    Args:
        problem: what was fitted.
        point: where that ended.
        excess: scatter that χ² is measured by [-].

    Returns:
        The criterion; the lower one is the better model [-].

    Source: G. Schwarz, Annals of Statistics 6 (1978) 461.
    """
    held = FitProblem(
        problem.setup, problem.asked, problem.lines, problem.turning_speed, is_held=True
    )
    size, shift = len(problem.asked), point[-1]
    best = settled(held, [np.append(point[:size], shift), np.append(np.zeros(size), shift)])
    count = 2 * len(problem.lines.lines)
    square = float(np.sum(held.misfit(best) ** 2))
    return square / excess + (size + 1) * float(np.log(count))
