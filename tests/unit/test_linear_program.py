"""Least sums that cover needs, against values worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from woold.design.linear_program import Covering

TRIANGLE = np.array([[1.0, 1.0, 0.0], [0.0, 1.0, 1.0], [1.0, 0.0, 1.0]])
"""Corners that cover the sides of a triangle: the textbook case of a half of each."""


def test_a_half_of_each_corner_covers_a_triangle_and_whole_ones_take_two(
    capfd: pytest.CaptureFixture[str],
) -> None:
    one = np.ones(3)
    parts = Covering(TRIANGLE, one, one).solved()
    assert parts.is_possible
    assert parts.bound == pytest.approx(1.5)
    assert parts.values == pytest.approx([0.5, 0.5, 0.5])
    assert parts.duals == pytest.approx([0.5, 0.5, 0.5])
    whole = Covering(TRIANGLE, one, one, is_whole=np.ones(3, dtype=bool)).solved()
    assert whole.bound == pytest.approx(2.0)
    assert whole.values is not None
    assert whole.values.sum() == pytest.approx(2.0)
    # A corner that is there anyhow leaves one side, and another whole corner.
    low = np.array([1.0, 0.0, 0.0])
    assert Covering(TRIANGLE, one, one, low, np.ones(3, dtype=bool)).solved().bound == 2.0
    assert capfd.readouterr() == ("", "")


def test_a_need_that_nothing_covers_is_said_to_be_impossible() -> None:
    found = Covering(np.array([[1.0, 0.0], [0.0, 0.0]]), np.ones(2), np.ones(2)).solved()
    assert found.is_possible is False
    assert found.values is None
    assert found.bound == -np.inf
