"""Refusals of the film demand."""

import numpy as np
import pytest

from woold.errors import InputError, PhysicsError
from woold.physics.demand import film_line_distance, flush_sides, touch_vertex
from woold.physics.outlines import convex_hull, rectangle_outline, round_outline


@pytest.mark.parametrize(
    "points",
    [
        [],
        [(0, 0)],
        [(0, 0), (1, 1)],
        [(0, 0), (1, 1), (2, 2), (0.5, 0.5)],
        [(0, 0), (0, 0), (0, 0)],
        [(0, 0), (1, 0), (0, float("nan"))],
        [(0, 0, 0), (1, 0, 0), (0, 1, 0)],
        [(0, 0), (1,), (2, 3)],
        "round",
    ],
)
def test_outline_that_is_none(points):
    with pytest.raises(InputError) as refusal:
        convex_hull(points)
    assert refusal.value.problems[0].field == "load.footprint"


def test_all_wrong_sides_are_named_at_once():
    with pytest.raises(InputError) as refusal:
        rectangle_outline(0.0, float("inf"))
    assert [problem.field for problem in refusal.value.problems] == ["load.length", "load.width"]
    with pytest.raises(InputError, match=r"load\.diameter"):
        round_outline(-1.0)
    with pytest.raises(InputError, match=r"load\.offset"):
        round_outline(1.0, (0.0, float("nan")))


@pytest.mark.parametrize("exit_distance", [0.5, np.hypot(0.6, 0.5), float("nan"), float("inf")])
def test_exit_point_inside_the_swept_circle(exit_distance):
    outline = rectangle_outline(1.2, 1.0)
    with pytest.raises(PhysicsError) as refusal:
        film_line_distance(0.0, outline, exit_distance)
    problem = refusal.value.problems[0]
    assert problem.field == "machine.exit_distance"
    assert f"{exit_distance:g} m" in problem.given
    assert "0.781 m" in problem.allowed


def test_hull_drops_corners_on_a_side_and_inside():
    hull = convex_hull([(0, 0), (0.5, 0), (1, 0), (1, 1), (0.4, 0.6), (0, 1), (0, 0.3)])
    np.testing.assert_array_equal(hull, [(0, 0), (1, 0), (1, 1), (0, 1)])


def test_corners_are_touched_in_order():
    outline = rectangle_outline(1.2, 1.0)
    touched = touch_vertex(np.linspace(0.0, 2 * np.pi, 400), outline, 1.5)
    changes = touched[np.flatnonzero(np.diff(touched)) + 1]
    assert len(changes) == 4
    assert set(np.diff(changes) % 4) == {1}


def test_round_load_has_no_side_to_lie_flush_on():
    assert flush_sides(round_outline(1.0), 1.2, 1.0).theta.size == 0
