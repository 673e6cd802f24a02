"""What holds for every footprint."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPoint

from woold.physics.demand import demand_range, film_line_distance, flush_sides
from woold.physics.outlines import convex_hull, largest_radius, perimeter, polygon_outline

coordinate = st.floats(-1.0, 1.0)
footprints = st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=12)


@given(footprints, st.floats(1.05, 4.0))
@settings(max_examples=60, deadline=None)
def test_mean_demand_is_the_perimeter_over_two_pi(points, farther):
    shape = MultiPoint(points).convex_hull
    assume(shape.area > 1e-2)
    outline = polygon_outline(points)
    assert perimeter(outline) == pytest.approx(shape.length, rel=1e-9)
    exit_distance = farther * largest_radius(outline)
    # Gauss-Legendre between the kinks, so that the integral is exact to rounding.
    kinks = np.sort(flush_sides(outline, exit_distance, 1.0).theta)
    edges = np.append(kinks, kinks[0] + 2 * np.pi)
    nodes, weights = np.polynomial.legendre.leggauss(60)
    half = np.diff(edges)[:, None] / 2
    theta = half * nodes + (edges[1:] + edges[:-1])[:, None] / 2
    distance = film_line_distance(theta, outline, exit_distance)
    assert (half * weights * distance).sum() == pytest.approx(shape.length, rel=1e-6)
    extremes = demand_range(outline, 1.0)
    assert extremes.slowest - 1e-9 <= distance.min()
    assert distance.max() <= extremes.fastest + 1e-9


@given(footprints)
@settings(max_examples=60, deadline=None)
def test_hull_is_convex_and_holds_every_point(points):
    shape = MultiPoint(points).convex_hull
    assume(shape.area > 1e-3)
    hull = convex_hull(points)
    sides = np.roll(hull, -1, axis=0) - hull
    following = np.roll(sides, -1, axis=0)
    assert (sides[:, 0] * following[:, 1] - sides[:, 1] * following[:, 0] > -1e-11).all()
    assert MultiPoint(hull).convex_hull.area == pytest.approx(shape.area, rel=1e-9)
    for x, y in points:
        height = sides[:, 0] * (y - hull[:, 1]) - sides[:, 1] * (x - hull[:, 0])
        assert (height >= -1e-11).all()
