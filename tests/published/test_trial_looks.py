"""Looks at a running trial against published constants of group-sequential tests."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from woold.trial.looks import (
    exit_probabilities,
    interval_after_looks,
    look_limits,
    spent_error,
)


@pytest.mark.parametrize(
    ("looks", "pocock", "obrien_fleming"),
    [
        (2, 2.178, 1.977),
        (3, 2.289, 2.004),
        (4, 2.361, 2.024),
        (5, 2.413, 2.040),
        (10, 2.555, 2.087),
    ],
)
def test_constants_of_equal_looks(looks: int, pocock: float, obrien_fleming: float) -> None:
    """C. Jennison, B. W. Turnbull, Group Sequential Methods (2000), tables 2.1 and 2.3 (from
    memory): two-sided .05. The printed constants must give that error; tolerance: half a unit of
    their last digit moves the error by about 1e-4.
    """
    times = [(place + 1) / looks for place in range(looks)]
    for limits in ([pocock] * looks, [obrien_fleming / math.sqrt(time) for time in times]):
        above, below = exit_probabilities(times, limits)
        assert above.sum() + below.sum() == pytest.approx(0.05, abs=1.2e-4)
        assert above == pytest.approx(below)


@pytest.mark.parametrize(
    ("spending", "limits"),
    [
        ("late", [4.8769, 3.3569, 2.6803, 2.2898, 2.0310]),
        ("even", [2.4380, 2.4268, 2.4101, 2.3966, 2.3859]),
    ],
)
def test_limits_of_spent_errors(spending: str, limits: list[float]) -> None:
    """Limits of five equal looks, two-sided .05, by Lan and DeMets' two spending functions, as
    tables and public statistics packages print them (from memory). Tolerance: their integration on
    a grid, good to about 1e-4.
    """
    found = look_limits((0.2, 0.4, 0.6, 0.8, 1.0), 0.025, spending)  # type: ignore[arg-type]
    assert found.limits == pytest.approx(limits, abs=2e-4)


def test_all_is_spent_at_the_end() -> None:
    for spending in ("late", "even"):
        assert spent_error(1.0, 0.025, spending) == pytest.approx(0.025)  # type: ignore[arg-type]
        found = look_limits((0.3, 0.35, 1.0), 0.025, spending)  # type: ignore[arg-type]
        above, _ = exit_probabilities(found.times, found.limits)
        assert above.sum() == pytest.approx(0.025, abs=1e-9)


def test_power_of_two_looks_is_that_of_a_bivariate_normal() -> None:
    """Reference: scipy's bivariate normal distribution; tolerance: its own quadrature."""
    times, limits, drift = (0.5, 1.0), (2.5, 2.0), 3.0
    above, _ = exit_probabilities(times, limits, drift)
    rho = math.sqrt(0.5)
    both = stats.multivariate_normal([drift * rho, drift], [[1, rho], [rho, 1]])
    first = 1 - stats.norm.cdf(2.5 - drift * rho)
    # P(-2.5 < Z1 < 2.5, Z2 >= 2) = P(Z1 < 2.5) - P(Z1 < 2.5, Z2 < 2) less the same below -2.5.
    inside = stats.norm.cdf(2.5 - drift * rho) - both.cdf([2.5, 2.0])
    inside -= stats.norm.cdf(-2.5 - drift * rho) - both.cdf([-2.5, 2.0])
    assert above == pytest.approx([first, inside], abs=1e-5)


def test_a_single_look_gives_students_interval() -> None:
    found = interval_after_looks((0.06, 0.02, 12), look_limits((1.0,)), 0)
    reach = stats.t.ppf(0.975, 12) * 0.02
    assert found == pytest.approx((0.06 - reach, 0.06, 0.06 + reach), abs=1e-8)


def test_an_early_stop_draws_the_estimate_towards_nothing() -> None:
    """At the last look of several the estimate is pulled in, and so are both ends of the interval.

    Its lower end lies above 0 exactly where the look decided.
    """
    limits = look_limits((0.5, 1.0), 0.025, "even")
    low, middle, high = interval_after_looks((0.06, 0.02, math.inf), limits, 1)
    assert middle < 0.06
    assert low > 0.0
    assert high < 0.06 + 1.96 * 0.02
    at_limit = limits.limits[1] * 0.02
    assert interval_after_looks((at_limit, 0.02, math.inf), limits, 1)[0] == pytest.approx(
        0, abs=1e-8
    )


def test_a_saving_is_treated_as_its_mirror_image() -> None:
    """Signs turn with the estimate: also where early looks had few degrees of freedom."""
    limits = look_limits((0.25, 0.5, 0.75, 1.0))
    more = interval_after_looks((0.06, 0.02, 30), limits, 3, (4, 12, 20))
    less = interval_after_looks((-0.06, 0.02, 30), limits, 3, (4, 12, 20))
    assert [-each for each in reversed(less)] == pytest.approx(more, abs=1e-8)
    # Early looks with few loads hardly ever decide, so they draw the estimate in less.
    assert more[1] > interval_after_looks((0.06, 0.02, 30), limits, 3)[1]
