"""The sheared film panel: its limits, its inverse, and what it leaves behind."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woold.physics.outlines import polygon_outline, rectangle_outline, round_outline
from woold.physics.restraint import (
    KINETIC_SHARE,
    ShearedFilm,
    layers_needed,
    residual_slip,
    restraint_limit,
    shear_modulus,
    shear_restraint,
    side_walls,
    slip_to_hold,
    slip_zones,
)
from woold.physics.stack_motion import film_panels
from woold.physics.sudden_start import sudden_slip
from woold.physics.tipping import support_ahead

WALLS = side_walls(rectangle_outline(1.2, 1.0).vertices, 0.0, 0.0)


def test_small_slip_is_a_linear_panel_and_large_slip_the_hoop_tension():
    stiffness, hoop, zone = 40_000.0, 900.0, 0.25
    film = ShearedFilm(hoop, stiffness, zone, WALLS)
    small = shear_restraint(1e-6, film)
    # A panel on each of the two sides of 1.2 m: 2 L G n t delta / h, less (q/N)^2/2 = 1.6e-8.
    assert small == pytest.approx(2 * 1.2 * stiffness * 1e-6 / zone, rel=1e-7)
    large = shear_restraint(1e3, film)
    assert large == pytest.approx(2 * 1.2 * hoop, rel=1e-7)
    assert restraint_limit(film) == pytest.approx(2 * 1.2 * hoop, rel=1e-12)
    # q = N: the panel gives its hoop tension over the square root of two.
    knee = hoop * zone / stiffness
    middle = shear_restraint(knee, ShearedFilm(hoop, stiffness, zone, WALLS, calibration=1.3))
    assert middle == pytest.approx(1.3 * 2 * 1.2 * hoop / np.sqrt(2), rel=1e-12)


def test_no_film_and_no_slip_give_no_force():
    assert shear_restraint(0.0, ShearedFilm(900.0, 4e4, 0.2, WALLS)) == 0.0
    assert shear_restraint(0.05, ShearedFilm(0.0, 0.0, 0.2, WALLS)) == 0.0
    assert np.isinf(slip_to_hold(100.0, ShearedFilm(0.0, 0.0, 0.2, WALLS)))
    assert slip_to_hold(0.0, ShearedFilm(0.0, 0.0, 0.2, WALLS)) == 0.0


@given(
    share=st.floats(1e-6, 0.9999),
    hoop=st.floats(1.0, 1e4),
    stiffness=st.floats(1e2, 1e6),
    zone=st.floats(0.02, 2.0),
    bearing=st.floats(0.0, 6.3),
)
def test_slip_gives_back_the_force_it_was_asked_for(share, hoop, stiffness, zone, bearing):
    outline = polygon_outline([(0, 0), (1.2, 0.1), (1.0, 0.9), (0.2, 1.1)])
    film = ShearedFilm(hoop, stiffness, zone, side_walls(outline.vertices, 0.0, bearing))
    force = share * restraint_limit(film)
    slip = slip_to_hold(force, film)
    assert shear_restraint(slip, film) == pytest.approx(force, rel=1e-8)
    assert np.isinf(slip_to_hold(1.0001 / share * force, film))


def test_layers_needed_hold_within_the_slip_and_one_part_less_does_not():
    force, slip, hoop, stiffness = 1500.0, 0.02, 90.0, 2400.0
    layers = layers_needed(force, slip, ShearedFilm(hoop, stiffness, 0.2, WALLS))
    for factor, holds in ((1.0001, True), (0.9999, False)):
        count = factor * layers
        travel = sudden_slip(force, ShearedFilm(count * hoop, count * stiffness, 0.2, WALLS))
        assert (travel <= slip) == holds
    assert layers_needed(0.0, slip, ShearedFilm(hoop, stiffness, 0.2, WALLS)) == 0.0
    assert np.isinf(layers_needed(force, 0.0, ShearedFilm(hoop, stiffness, 0.2, WALLS)))


def test_round_load_is_the_limit_of_polygons():
    angles = np.linspace(0.0, 2 * np.pi, 2001)[:-1]
    polygon = polygon_outline(0.5 * np.column_stack([np.cos(angles), np.sin(angles)]))
    disc = round_outline(1.0)
    many, few = (
        shear_restraint(
            0.01, ShearedFilm(700.0, 3e4, 0.2, side_walls(each.vertices, each.corner_radius, 0.3))
        )
        for each in (polygon, disc)
    )
    # 64 pieces of arc against 2000 sides.
    assert few == pytest.approx(many, rel=1e-3)
    walls = side_walls(disc.vertices, disc.corner_radius, 0.3)
    assert restraint_limit(ShearedFilm(1.0, 1.0, 0.2, walls)) == pytest.approx(
        2.0, rel=1e-3
    )  # integral |cos| d = 2 d


def test_film_pulls_a_tier_back_only_as_far_as_friction_lets_it():
    film = ShearedFilm(3000.0, 30_000.0, 0.2, WALLS)
    weight, friction = 2000.0, 0.3
    slip = 0.03
    assert shear_restraint(slip, film) > friction * weight
    stays = residual_slip(slip, weight, friction, film)
    assert 0 < stays < slip
    assert shear_restraint(stays, film) == pytest.approx(KINETIC_SHARE * friction * weight)
    heavy = residual_slip(slip, 60_000.0, friction, film)
    assert heavy == slip
    assert np.isinf(residual_slip(np.inf, weight, friction, film))


def test_shear_modulus_of_film_that_keeps_its_volume_is_a_third():
    assert shear_modulus(300e6) == pytest.approx(100e6)


def test_slip_zones_end_at_the_top_and_at_the_grip_on_the_pallet():
    low, high = slip_zones(np.array([0.0, 0.5, 0.95]), 0.2, 1.0, 0.05)
    np.testing.assert_allclose(low, [-0.05, 0.4, 0.85])
    np.testing.assert_allclose(high, [0.1, 0.6, 1.0])


def test_support_ahead_of_shapes():
    rectangle = rectangle_outline(1.2, 0.8, (0.1, 0.2))
    assert support_ahead(rectangle.vertices, 0.0, 0.0) == pytest.approx(0.6)
    assert support_ahead(rectangle.vertices, 0.0, np.pi / 2) == pytest.approx(0.4)
    disc = round_outline(1.0, (0.3, 0.0))
    assert support_ahead(disc.vertices, disc.corner_radius, 1.0) == pytest.approx(0.5)
    # A right triangle's centroid is a third of the way along its legs.
    triangle = polygon_outline([(0, 0), (0.9, 0), (0, 0.9)])
    assert support_ahead(triangle.vertices, 0.0, np.pi) == pytest.approx(0.3)
    assert support_ahead(triangle.vertices, 0.0, 0.0) == pytest.approx(0.6)


@pytest.mark.parametrize(
    "outline",
    [rectangle_outline(1.2, 0.8), round_outline(1.1), polygon_outline([(0, 0), (1, 0), (0.4, 1)])],
    ids=["rectangle", "round", "triangle"],
)
def test_panels_of_the_simulation_pull_as_the_film_does(outline):
    """The film of the screen and that of the simulation are one: to rounding."""
    walls = side_walls(outline.vertices, outline.corner_radius, 0.3)
    film = ShearedFilm(np.array([600.0, 0.0]), np.array([30_000.0, 0.0]), 0.2, walls, 0.8)
    panels = film_panels(film)
    for slip in (1e-4, 0.004, 0.05):
        reach = slip / panels[..., 1]
        pull = (panels[..., 0] * reach / np.hypot(1.0, reach)).sum(axis=-1)
        np.testing.assert_allclose(pull, shear_restraint(slip, film), rtol=1e-9)
    assert panels.shape[1] <= 35  # of 64 pieces of arc, those that lie alike are one
