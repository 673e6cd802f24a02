"""Film demand against Cauchy's formula, the geometry library shapely, and an integrated winding."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from shapely.geometry import LineString, MultiPoint, Point

from woold.physics.demand import (
    demand_range,
    film_demand,
    film_line_distance,
    flush_sides,
    free_span,
)
from woold.physics.outlines import perimeter, polygon_outline, rectangle_outline, round_outline

# Derived from first principles by an independent computation: p sampled round the turn.
# Tolerance: four printed digits, and sampling that misses the lowest point by up to 2e-4 m.
TABLE = [
    ((1.2, 1.0), (0.0, 0.0), 1.5, (0.5002, 0.7003, 0.7810)),
    ((1.2, 0.8), (0.0, 0.0), 1.2, (0.4002, 0.6366, 0.7211)),
    ((1.2, 0.8), (0.05, 0.03), 1.2, (0.3702, 0.6366, 0.7794)),
    ((1.2, 1.2), (0.0, 0.0), 2.0, (0.6001, 0.7639, 0.8485)),
]


@pytest.mark.parametrize(("sides", "offset", "exit_distance", "published"), TABLE)
def test_distance_to_the_film_line(sides, offset, exit_distance, published):
    outline = rectangle_outline(*sides, offset)
    theta = np.linspace(0.0, 2 * np.pi, 20_001)[:-1]
    distance = film_line_distance(theta, outline, exit_distance)
    np.testing.assert_allclose(
        (distance.min(), distance.mean(), distance.max()), published, atol=2.5e-4
    )
    exact = demand_range(outline, 1.0)
    # The sampled extremes approach the exact ones from inside; 20 000 samples leave 2e-4 m.
    assert exact.slowest <= distance.min() < exact.slowest + 2e-4
    assert exact.fastest - 2e-4 < distance.max() <= exact.fastest
    assert exact.mean == pytest.approx(distance.mean(), abs=1e-7)


def test_round_load_on_the_axis_takes_film_steadily():
    theta = np.linspace(0.0, 7.0, 50)
    outline = round_outline(1.1)
    np.testing.assert_allclose(film_line_distance(theta, outline, 1.3), 0.55, rtol=1e-14)
    np.testing.assert_allclose(
        free_span(theta, outline, 1.3), np.sqrt(1.3**2 - 0.55**2), rtol=1e-14
    )


def test_round_load_off_the_axis_is_the_limit_of_polygons():
    angles = np.linspace(0.0, 2 * np.pi, 4001)[:-1]
    circle = 0.5 * np.column_stack([np.cos(angles), np.sin(angles)])
    theta = np.linspace(0.0, 2 * np.pi, 97)
    polygon, disc = polygon_outline(circle, (0.08, -0.05)), round_outline(1.0, (0.08, -0.05))
    # The polygon's sides stand r (pi/4000)^2/2 = 1.6e-7 m inside the circle.
    np.testing.assert_allclose(
        film_line_distance(theta, polygon, 1.4), film_line_distance(theta, disc, 1.4), atol=3e-7
    )
    assert perimeter(polygon) == pytest.approx(perimeter(disc), rel=1e-6)


@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.05, 0.03), (-0.3, 0.2)])
def test_film_line_touches_and_does_not_cut_the_load(offset):
    outline = rectangle_outline(1.2, 0.8, offset)
    shape = MultiPoint(outline.vertices).convex_hull
    exit_distance = 1.6
    for theta in np.linspace(0.1, 6.2, 13):
        exit_point = exit_distance * np.array([np.cos(theta), np.sin(theta)])
        sight = np.arcsin(film_line_distance(theta, outline, exit_distance) / exit_distance)
        toward = theta + np.pi + sight
        reach = float(free_span(theta, outline, exit_distance))
        far = exit_point + 4 * np.array([np.cos(toward), np.sin(toward)])
        touch = exit_point + reach * np.array([np.cos(toward), np.sin(toward)])
        assert LineString([exit_point, far]).intersection(shape).length < 1e-9
        assert Point(touch).distance(shape) < 1e-12


def test_film_fed_equals_film_laid_plus_change_of_free_span():
    """Winding followed corner by corner, from the free span and the sides alone."""
    outline = polygon_outline(
        [(0, 0), (1.1, 0.1), (1.2, 0.7), (0.5, 1.0), (-0.1, 0.6)], (-0.5, -0.4)
    )
    exit_distance = 1.3
    flush = flush_sides(outline, exit_distance, 1.0)
    angles = np.sort(flush.theta)
    order = np.argsort(flush.theta)
    sides = np.roll(outline.vertices, -1, axis=0) - outline.vertices
    lengths = np.hypot(*sides.T)
    for first, second, laid in zip(angles, angles[1:], lengths[order[1:]], strict=False):
        # Just after one flush angle to just after the next, one whole side is laid.
        nodes, weights = np.polynomial.legendre.leggauss(40)
        theta = (second - first) / 2 * nodes + (second + first) / 2
        fed = (second - first) / 2 * weights @ film_demand(theta, outline, exit_distance, 1.0)
        tiny = 1e-12
        spans = free_span(np.array([first + tiny, second + tiny]), outline, exit_distance)
        assert fed == pytest.approx(laid + spans[1] - spans[0], abs=1e-10)


def test_acceleration_jump_against_one_sided_differences():
    outline = rectangle_outline(1.2, 1.0, (0.03, -0.02))
    exit_distance, turning_speed, step = 1.5, 1.3, 1e-6
    flush = flush_sides(outline, exit_distance, turning_speed)
    for theta, jump in zip(flush.theta, flush.acceleration_jump, strict=True):
        before, at, after = film_demand(
            theta + step * np.array([-1, 0, 1]), outline, exit_distance, turning_speed
        )
        measured = ((after - at) - (at - before)) / step * turning_speed
        # One-sided differences of step 1e-6 carry a truncation error of about 1e-6.
        assert jump == pytest.approx(measured, abs=2e-5)
        assert jump > 0


def test_axis_outside_the_load():
    """A small load far off the axis: film runs back for part of the turn, its mean stays."""
    outline = rectangle_outline(0.3, 0.2, (0.6, 0.4))
    shape = MultiPoint(outline.vertices).convex_hull
    extremes = demand_range(outline, 2.0)
    assert extremes.slowest == pytest.approx(-2.0 * shape.distance(Point(0, 0)), rel=1e-12)
    assert extremes.mean * np.pi == pytest.approx(shape.length, rel=1e-12)
    found = minimize_scalar(
        lambda theta: float(film_demand(theta, outline, 1.0, 2.0)), bounds=(0, 2 * np.pi)
    )
    assert extremes.slowest <= found.fun + 1e-12
    disc = demand_range(round_outline(0.2, (0.5, 0.0)), 1.0)
    np.testing.assert_allclose(
        (disc.slowest, disc.mean, disc.fastest), (-0.4, 0.1, 0.6), atol=1e-15
    )
