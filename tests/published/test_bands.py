"""Fewest bands against an integer and a linear program solved by HiGHS.

Reference: scipy.optimize.milp and linprog (HiGHS), an independent solver of the same covering
problem. Whole numbers must agree exactly; the linear program runs on a grid of heights, which can
only ask for less than every height does, and for at most what the grid's step makes of it.
"""

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from woold.physics.bands import fewest_bands, need_steps


def _random_need(random):
    height = random.uniform(0.4, 2.5)
    # Millimetres, so that the edges of bands can be listed for the integer program.
    cuts = np.unique(
        np.round(np.r_[0.0, random.uniform(0.0, height, random.integers(1, 6)), height], 3)
    )
    layers = random.integers(0, 8, cuts.size - 1)
    layers[random.integers(0, layers.size)] += 1
    return [
        (float(low), float(high), float(count))
        for low, high, count in zip(cuts[:-1], cuts[1:], layers, strict=True)
    ]


def _rows(zones, edges, width):
    """Middles of the finest pieces of height, their needs, and which edge covers which."""
    ends = np.unique(
        np.round(np.r_[[z[0] for z in zones], [z[1] for z in zones], edges, edges + width], 9)
    )
    middles = 0.5 * (ends[:-1] + ends[1:])[np.diff(ends) > 1e-6]
    need = np.array([max([z[2] for z in zones if z[0] <= y <= z[1]], default=0) for y in middles])
    covers = (edges <= middles[:, None]) & (middles[:, None] <= edges + width)
    return need, covers.astype(float)


@pytest.mark.parametrize("seed", range(200))
def test_greedy_equals_the_integer_program(seed, capfd):
    random = np.random.default_rng(seed)
    zones = _random_need(random)
    width = round(float(random.uniform(0.15, 0.6)), 3)
    top = max(high for _, high, layers in zones if layers > 0)
    bottom = min(low for low, _, layers in zones if layers > 0)
    highest = max(top - width + round(float(random.uniform(0.0, 0.1)), 3), bottom)
    found = fewest_bands(need_steps(zones), width, bottom, highest)
    # Left-justified bands suffice: edges at a step's end plus whole widths, on either side.
    edges = {min(low + k * width, highest) for low, _, _ in zones for k in range(20)}
    edges |= {min(high - k * width, highest) for _, high, _ in zones for k in range(20)}
    edges = np.array(sorted(edge for edge in edges if bottom <= edge <= highest))
    need, covers = _rows(zones, edges, width)
    solved = milp(
        np.ones(edges.size),
        constraints=LinearConstraint(covers, lb=need),
        integrality=np.ones(edges.size),
        bounds=Bounds(0, np.inf),
    )
    capfd.readouterr()  # the solver writes to the process's own standard output
    assert solved.status == 0
    assert found.turns == pytest.approx(solved.fun, abs=1e-6)
    assert (found.wraps == np.round(found.wraps)).all()


@pytest.mark.parametrize("seed", range(40))
def test_greedy_with_a_travelling_carriage_equals_the_linear_program(seed, capfd):
    random = np.random.default_rng(1000 + seed)
    zones = _random_need(random)
    zones = [(low, high, max(layers, 1.0)) for low, high, layers in zones]
    width = round(float(random.uniform(0.2, 0.6)), 2)
    top = zones[-1][1]
    lowest, highest = -0.05, max(round(top - width + 0.06, 2), 0.0)
    density = random.integers(1, 3) / random.uniform(0.2, 0.8)
    found = fewest_bands(need_steps(zones), width, lowest, highest, density)
    step = 0.01
    edges = np.linspace(lowest, highest, round((highest - lowest) / step) + 1)
    heights = np.unique(np.r_[np.arange(0.0, top, step) + 1e-6, [z[1] for z in zones], edges])
    heights = heights[(heights >= 0.0) & (heights <= top)]
    need = np.array([max(z[2] for z in zones if z[0] - 1e-9 <= y <= z[1] + 1e-9) for y in heights])
    covers = (edges <= heights[:, None] + 1e-9) & (heights[:, None] <= edges + width + 1e-9)
    travel = np.minimum(heights, highest) - np.maximum(heights - width, lowest)
    solved = linprog(
        np.ones(edges.size),
        A_ub=-covers.astype(float),
        b_ub=density * np.maximum(travel, 0.0) - need,
        method="highs",
    )
    capfd.readouterr()
    assert solved.status == 0
    least = solved.fun + density * (highest - lowest)
    # A step's end may fall up to a grid step from the nearest edge of a band: the travelling film
    # makes of that at most density * step a band.
    slack = density * step * (found.edges.size + 1)
    assert found.turns == pytest.approx(least, abs=slack + 1e-6)


def test_needs_in_layers_by_hand():
    # 1.5 m, film 0.5 m wide: three bands cover it once; twice at the foot takes one more.
    assert fewest_bands(need_steps([(0, 1.5, 1)]), 0.5, 0.0, 1.0).turns == 3
    both = fewest_bands(need_steps([(0, 1.5, 1), (0, 0.3, 2)]), 0.5, 0.0, 1.0)
    assert both.turns == 4
    # Travelling once at one film width a turn lays 2 turns over 1 m; half a metre is laid twice.
    once = fewest_bands(need_steps([(0, 1.5, 1)]), 0.5, 0.0, 1.0, turns_per_metre=2.0)
    assert once.moving_turns == pytest.approx(2.0)
    # At the foot nothing lies yet, at the top nothing any more: one whole turn at either end.
    np.testing.assert_allclose(once.edges, [0.0, 1.0])
    np.testing.assert_allclose(once.wraps, [1.0, 1.0])
