"""Control charts, run lengths and change points against published worked examples.

NIST/SEMATECH e-Handbook of Statistical Methods, section numbers as given. Tolerances are half a
unit of the last printed digit unless said otherwise.
"""

import itertools

import numpy as np
import pytest

from woold.watch.charts import (
    cumulative_sums,
    moving_ranges,
    set_up,
    sum_excursions,
    weighted_excursions,
    weighted_means,
)
from woold.watch.level_steps import change_points, level_steps
from woold.watch.run_length import (
    cusum_limit_for,
    cusum_run_length,
    ewma_run_length,
    gap_run_length,
)

FLOW = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])


def test_individuals_and_moving_range() -> None:
    """[P] 6.3.2.2: mean 50.81, moving range 1.8778, limits 55.8041 and 45.8159.
    The handbook divides by d2 rounded to 1.128, hence 2e-3 on the limits."""
    found = set_up(FLOW, least=10)
    assert found.centre == pytest.approx(50.81, abs=5e-3)
    assert moving_ranges(FLOW).mean() == pytest.approx(1.8778, abs=5e-5)
    assert found.centre + 3 * found.sigma == pytest.approx(55.8041, abs=2e-3)
    assert found.centre - 3 * found.sigma == pytest.approx(45.8159, abs=2e-3)


def test_exponentially_weighted_means() -> None:
    """[P] 6.3.2.4: weight .3, centre 50."""
    data = [52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, *FLOW]
    printed = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
        50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ]  # fmt: skip
    # The handbook carries two decimals from one value to the next.
    assert weighted_means(np.array(data), 50.0, 0.3) == pytest.approx(printed, abs=1e-2)


def test_cumulative_sums() -> None:
    """[M] 6.3.2.3: target 325, k .3175, h 4.1959: the upper sum signals at the 14th value."""
    data = np.array(
        [
            324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225,
            324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775,
            326.875, 328.350,
        ]
    )  # fmt: skip
    upper, lower = cumulative_sums(data, 325.0, 0.3175)
    assert int(np.flatnonzero(np.maximum(upper, lower) > 4.1959)[0]) + 1 == 14
    assert upper[12] == pytest.approx(3.0075, abs=1e-9)
    # By hand: the last eight add up to 2621.575; less 8 × 325.3175 = 2602.54.
    assert upper[-1] == pytest.approx(19.035, abs=1e-9)


MONTGOMERY = np.array(
    [
        9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34,
        9.03, 11.47, 10.51, 9.40, 10.08, 9.37, 10.62, 10.31, 8.52, 10.84,
        10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52,
    ]
)  # fmt: skip
"""Montgomery, Introduction to Statistical Quality Control, table of the cumulative-sum chapter
(from memory): target 10, the last ten values from a mean of 11; k .5, h 5."""


def test_cumulative_sums_of_a_textbook() -> None:
    """[M] Montgomery: printed sums of its 30 values; it signals at the 29th, of values that rise
    from the 23rd on, and at the 30th the sum stands at 5.30."""
    upper, lower = cumulative_sums(MONTGOMERY, 10.0, 0.5)
    printed_upper = [
        0, 0, 0, 1.16, 2.82, 2.50, 0.04, 1.00, 0, 0,
        0, 0.97, 0.98, 0, 0, 0, 0.12, 0, 0, 0.34,
        0.74, 0, 1.79, 2.79, 2.89, 3.47, 3.35, 4.47, 5.28, 5.30,
    ]  # fmt: skip
    printed_lower = [
        0.05, 1.56, 1.77, 0, 0, 0, 1.46, 0, 0.30, 0,
        0.47, 0, 0, 0.10, 0, 0.13, 0, 0, 0.98, 0,
        0, 0.17, 0, 0, 0, 0, 0, 0, 0, 0,
    ]  # fmt: skip
    # Printed with all the digits that there are.
    assert upper == pytest.approx(printed_upper, abs=1e-9)
    assert lower == pytest.approx(printed_lower, abs=1e-9)
    (found,) = sum_excursions(MONTGOMERY - 10.0, 0.5, 5.0)
    assert (found.direction, found.first + 1, found.alarm + 1) == ("up", 23, 29)
    assert found.is_open


def test_weighted_means_of_a_textbook() -> None:
    """[M] Montgomery, the same 30 values, weight .1 from 10, with 10 + 2.7 sqrt(.1/1.9) = 10.6194
    as limit, which the 29th of them passes."""
    means = weighted_means(MONTGOMERY, 10.0, 0.1)
    printed = [
        9.945, 9.7495, 9.7036, 9.8992, 10.1253, 10.1307, 9.9217, 10.0755, 9.9880, 10.0232,
        9.9238, 10.0785, 10.1216, 10.0495, 10.0525, 9.9843, 10.0478, 10.0740, 9.9186, 10.0108,
        10.0997, 10.0227, 10.2495, 10.3745, 10.3971, 10.4654, 10.4568, 10.5731, 10.6468, 10.6341,
    ]  # fmt: skip
    # The book carries four decimals from one value to the next.
    assert means == pytest.approx(printed, abs=1e-4)
    limit = 2.7 * (0.1 / 1.9) ** 0.5
    assert limit == pytest.approx(0.6194, abs=5e-5)
    (found,) = weighted_excursions(means - 10.0, limit)
    assert (found.direction, found.alarm + 1, found.is_open) == ("up", 29, True)


@pytest.mark.parametrize(
    ("shift", "expected", "digit"),
    [(0.0, 167.7, 0.05), (0.5, 26.6, 0.05), (1.0, 8.38, 0.005), (2.0, 3.34, 0.005)],
)
def test_run_length_of_cumulative_sums(shift: float, expected: float, digit: float) -> None:
    """[M] 6.3.2.3.1, two-sided, h 4, k .5 (Montgomery, Statistical Quality Control, ch. 9)."""
    assert cusum_run_length(0.5, 4.0, shift) == pytest.approx(expected, abs=digit)


@pytest.mark.parametrize(
    ("weight", "width", "shift", "expected", "digit"),
    [
        (0.25, 3.0, 0.0, 502.90, 0.005),
        (0.25, 3.0, 1.0, 11.15, 0.005),
        # Designs for a run length of 500 whose width is rounded to three decimals: 0.1 %.
        (0.2, 2.962, 0.0, 500.0, 0.5),
        (0.1, 2.814, 0.0, 500.0, 0.5),
        (0.1, 2.814, 1.0, 10.3, 0.05),
    ],
)
def test_run_length_of_weighted_means(
    weight: float, width: float, shift: float, expected: float, digit: float
) -> None:
    """[M] Crowder, J. Quality Technology 19 (1987) 161; Lucas & Saccucci, Technometrics 32 (1990)
    1."""
    assert ewma_run_length(weight, width, shift) == pytest.approx(expected, abs=digit)


@pytest.mark.parametrize("limit", [2.0, 3.0, 4.0, 5.0])
def test_run_length_of_gaps_between_breaks(limit: float) -> None:
    """[M] Reynolds & Stoumbos, J. Quality Technology 31 (1999) 87: items until a Bernoulli sum that
    is set for .010 against .005 signals, (e^(h r2) - h r2 - 1)/|r2 p - r1|, h moved by
    (sqrt((1 - p)/p) - sqrt(p/(1 - p)))/3 sqrt(p (1 - p)) for p up to .01. An approximation, and of
    geometric gaps: 6 %."""
    rate, other = 0.005, 0.010
    r1 = -np.log((1 - other) / (1 - rate))
    r2 = np.log(other * (1 - rate) / (rate * (1 - other)))
    moved = (np.sqrt((1 - rate) / rate) - np.sqrt(rate / (1 - rate))) / 3
    high = limit + moved * np.sqrt(rate * (1 - rate))
    published = (np.exp(high * r2) - high * r2 - 1) / abs(r2 * rate - r1)
    # A break adds 1 there, each item takes r1/r2 off; here a gap is taken off r2/r1 at each break.
    share = rate * r2 / r1
    assert gap_run_length(share, (limit - 1) * share) / rate == pytest.approx(published, rel=0.06)


def test_decision_limit_for_a_run_length() -> None:
    """[M] h = 4.77 gives 370 at k = .5 (Hawkins, J. Quality Technology 25 (1993) 248)."""
    assert cusum_limit_for(370.0, 0.5) == pytest.approx(4.77, abs=5e-3)


def test_nile_changes_after_1898() -> None:
    """[P] Cobb, Biometrika 65 (1978) 243; data as in statsmodels: means 1097.75 and 849.97."""
    import statsmodels.api as sm

    volume = sm.datasets.nile.load_pandas().data["volume"].to_numpy()
    assert change_points(volume) == [28]
    (change,) = level_steps(volume)
    assert change.index == 28
    assert change.before == pytest.approx(1097.75, abs=5e-3)
    assert change.after == pytest.approx(849.97, abs=5e-3)
    assert change.low <= 28 <= change.high


def test_change_points_are_the_best_of_all_splits() -> None:
    """[D] Dynamic programming over every split, on short series."""
    rng = np.random.default_rng(9)
    for _ in range(20):
        values = rng.normal(size=24) + np.repeat(rng.normal(0, 2, 3), 8)
        penalty = 3.0
        count = values.size

        def cost(start: int, end: int, values: np.ndarray = values) -> float:
            return float(((values[start:end] - values[start:end].mean()) ** 2).sum())

        best = [0.0] + [np.inf] * count
        for end in range(2, count + 1):
            best[end] = min(
                best[start] + cost(start, end) + (penalty if start else 0.0)
                for start in range(end - 1)
                if start == 0 or best[start] < np.inf
            )
        edges = [0, *change_points(values, penalty), count]
        found = sum(cost(a, b) for a, b in itertools.pairwise(edges))
        assert found + penalty * (len(edges) - 2) == pytest.approx(best[count], abs=1e-9)
