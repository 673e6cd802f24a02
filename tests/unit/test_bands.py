"""Needs over the height, and covers that cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woold.errors import PhysicsError
from woold.physics.bands import fewest_bands, need_steps


def test_overlapping_zones_count_by_the_largest():
    steps = need_steps([(0.0, 1.0, 2), (0.5, 1.5, 3), (0.2, 0.4, 1), (2.0, 2.5, 0)])
    np.testing.assert_allclose(steps.low, [0.0, 0.5])
    np.testing.assert_allclose(steps.high, [0.5, 1.5])
    np.testing.assert_allclose(steps.layers, [2, 3])


def test_nothing_needed_takes_nothing():
    assert fewest_bands(need_steps([]), 0.5, 0.0, 1.0).turns == 0.0


def test_a_need_out_of_reach_is_refused_by_name():
    with pytest.raises(PhysicsError, match=r"program\.start_height"):
        fewest_bands(need_steps([(-0.2, 1.0, 1)]), 0.5, -0.1, 1.0)
    with pytest.raises(PhysicsError, match=r"program\.top_overlap"):
        fewest_bands(need_steps([(0.0, 1.6, 1)]), 0.5, 0.0, 1.0)


@given(
    zones=st.lists(
        st.tuples(st.floats(0.0, 1.4), st.floats(0.05, 0.8), st.integers(0, 6)), min_size=1
    ),
    width=st.floats(0.1, 0.7),
    density=st.sampled_from([0.0, 0.7, 2.0, 5.0]),
)
def test_every_height_gets_what_it_needs(zones, width, density):
    zones = [(low, low + length, float(layers)) for low, length, layers in zones]
    steps = need_steps(zones)
    highest = 2.2
    cover = fewest_bands(steps, width, 0.0, highest, density)
    for low, high, layers in zip(steps.low, steps.high, steps.layers, strict=True):
        # Inside the step: at its very end the next step's bands may count as well.
        for height in low + (high - low) * np.linspace(0.01, 0.99, 41):
            held = cover.wraps[(cover.edges <= height) & (height <= cover.edges + width + 1e-9)]
            moving = density * max(min(height, highest) - max(height - width, 0.0), 0.0)
            assert held.sum() + moving >= layers - 1e-5
