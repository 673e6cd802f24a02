"""Accelerations, friction and tipping against rules and rigid-body results."""

import numpy as np
import pytest

from woold.errors import InputError
from woold.physics.outlines import rectangle_outline
from woold.physics.transport import (
    CAUTION,
    FilmOverInterfaces,
    Stack,
    force_beyond_friction,
    restraint_needed,
    tips,
    transport_screen,
)
from woold.physics.transport_profiles import PROFILES, chosen_profile, uniform_profile


def _values(key):
    return {
        action.direction: (action.horizontal, action.tipping, action.vertical)
        for action in chosen_profile(key).actions
    }


def test_accelerations_of_49_cfr_393_102():
    # 49 CFR 393.102(a)(1) and (a)(2), read. Exact.
    assert _values("49 CFR breaking strength") == {
        "forward": (0.8, 0.8, 1.0),
        "rearward": (0.5, 0.5, 1.0),
        "sideways": (0.5, 0.5, 1.0),
    }
    assert _values("49 CFR working load") == {
        "forward": (0.435, 0.435, 1.0),
        "rearward": (0.5, 0.5, 1.0),
        "sideways": (0.25, 0.25, 1.0),
    }


def test_accelerations_of_en_12195_1_road():
    # EN 12195-1:2010, road; recalled from memory. Exact.
    assert _values("EN 12195-1 road") == {
        "forward": (0.8, 0.8, 1.0),
        "rearward": (0.5, 0.5, 1.0),
        "sideways": (0.5, 0.6, 1.0),
    }


@pytest.mark.parametrize(
    ("key", "lengthways", "sideways"),
    [
        # CTU Code 2014, chapter 5; recalled from memory. Exact.
        ("CTU sea A", (0.3, 0.5), (0.5, 1.0)),
        ("CTU sea B", (0.3, 0.3), (0.7, 1.0)),
        ("CTU sea C", (0.4, 0.2), (0.8, 1.0)),
        ("CTU rail", (0.5, 1.0), (0.5, 1.0)),
        ("CTU rail shunting", (1.0, 0.7), (0.5, 0.7)),
    ],
)
def test_accelerations_of_the_ctu_code(key, lengthways, sideways):
    values = _values(key)
    assert (values["lengthways"][0], values["lengthways"][2]) == lengthways
    assert (values["sideways"][0], values["sideways"][2]) == sideways


def test_a_profile_recalled_from_memory_says_so():
    for profile in PROFILES:
        read = profile.edition.startswith("49 CFR")
        assert ("memory" in profile.source) != read
        assert profile.edition
        assert profile.basis


def test_the_user_chooses_the_level_of_eumos_40509():
    # EUMOS 40509: level chosen by the user; bends at most 10 %, keeps 5 % [secondary source].
    profile = uniform_profile(0.4)
    assert [(a.direction, a.horizontal, a.vertical) for a in profile.actions] == [("any", 0.4, 1.0)]
    assert "10 %" in profile.basis
    assert "5 %" in profile.basis
    for given in (0.0, -0.3, 2.5, float("nan")):
        with pytest.raises(InputError, match=r"transport\.acceleration"):
            uniform_profile(given)
    with pytest.raises(InputError, match="nothing"):
        chosen_profile("EUMOS 40509")
    with pytest.raises(InputError, match="its own accelerations"):
        chosen_profile("CTU sea A", 0.4)
    with pytest.raises(InputError, match="CTU sea B"):
        chosen_profile("CTU sea D")


@pytest.mark.parametrize(
    ("friction", "horizontal", "force"), [(0.3, 0.5, 1177.2), (0.4, 0.8, 2354.4), (0.5, 0.5, 0.0)]
)
def test_force_beyond_friction_of_600_kg(friction, horizontal, force):
    # Derived from first principles, 600 kg, g = 9.81 m/s2. Four decimals of a product.
    assert force_beyond_friction(600.0, friction, horizontal) == pytest.approx(force, abs=1e-4)


def test_kinetic_friction_is_three_quarters_of_static():
    # CTU Code Annex 7 Appendix 2: dynamic = 0.75 static. 600 kg, mu .4 gives .3 once it moves.
    assert restraint_needed(600.0, 0.4, 0.8) == pytest.approx(600 * 9.81 * (0.8 - 0.3), rel=1e-12)
    assert restraint_needed(600.0, 0.4, 0.39) == 0.0


# CTU Code Annex 7 Appendix 2, static friction, dry, published and read.
CTU_FRICTION = {
    "sawn wood pallet on plywood": 0.45,
    "sawn wood pallet on grooved aluminium": 0.40,
    "sawn wood pallet on steel": 0.30,
    "shrink film": 0.30,
    "cardboard on cardboard": 0.50,
    "cardboard on wood pallet": 0.50,
    "big bag on wood pallet": 0.40,
    "plastic pallet on plywood": 0.20,
}


def test_the_rules_friction_decides_what_slides_at_half_gravity():
    slides = {
        name: force_beyond_friction(600.0, friction, 0.5) > 0.0
        for name, friction in CTU_FRICTION.items()
    }
    assert [name for name, moves in slides.items() if not moves] == [
        "cardboard on cardboard",
        "cardboard on wood pallet",
    ]


def test_tips_when_higher_than_base_over_acceleration():
    # Derived: a base of 0.8 m at 0.5 tips above 1.6 m. The edge is exact to rounding.
    assert not tips(0.4, 0.5 * 1.5999, 0.5, 1.0)
    assert tips(0.4, 0.5 * 1.6001, 0.5, 1.0)


@pytest.mark.parametrize("acceleration", [0.3, 0.5, 0.8])
def test_a_tilted_body_slides_and_tips_at_the_same_share(acceleration):
    # Derived: on a slope of atan c (26.57 degrees at .5) a body sees sin : cos = c : 1, so that
    # lateral is .447 g at .5; whether it slides or tips does not depend on the scale.
    angle = np.arctan(acceleration)
    if acceleration == 0.5:
        assert np.degrees(angle) == pytest.approx(26.57, abs=0.005)
        assert np.sin(angle) == pytest.approx(0.447, abs=0.0005)
    for friction in (acceleration - 0.01, acceleration + 0.01):
        level = force_beyond_friction(600.0, friction, acceleration)
        tilted = force_beyond_friction(600.0, friction, np.sin(angle), np.cos(angle))
        assert (level > 0) == (tilted > 0)
    for support in (0.99 * acceleration, 1.01 * acceleration):
        assert tips(support, 1.0, acceleration, 1.0) == tips(
            support, 1.0, np.sin(angle), np.cos(angle)
        )


def _stack(friction=0.3):
    outline = rectangle_outline(0.8, 1.2)
    return Stack(
        vertices=outline.vertices,
        corner_radius=0.0,
        load_height=1.5,
        load_mass=600.0,
        interface_heights=np.array([0.0, 0.5, 1.0]),
        friction=np.full(3, friction),
        deck_friction=0.45,
        deck_height=0.144,
    )


def _film(hoop, stiffness=30_000.0):
    return FilmOverInterfaces(np.full(3, hoop), np.full(3, stiffness), 0.2, 1.0, np.zeros(3))


def test_each_interface_of_a_load_against_hand_calculation():
    # By hand: 600, 400, 200 kg above the interfaces; at .5 along x, the two sides along the
    # movement are 0.8 m long. H = 2 L q / sqrt(1 + (q/N)^2) solved for q by hand.
    screen = transport_screen(_stack(), _film(3000.0), uniform_profile(0.5), np.array([0.0]))
    row = [way.bearing for way in screen.ways].index(0.0)
    way = screen.ways[row]
    needed = np.array([600.0, 400.0, 200.0]) * 9.81 * (0.5 - 0.225)
    np.testing.assert_allclose(way.needed, needed, rtol=1e-12)
    np.testing.assert_allclose(screen.restraint_limit[row], 2 * 0.8 * 3000.0, rtol=1e-12)
    share = needed / (2 * 0.8)
    flow = share / np.sqrt(1 - (share / 3000.0) ** 2)
    np.testing.assert_allclose(screen.slip[row], flow * 0.2 / 30_000.0, rtol=1e-9)
    assert way.slides_on_vehicle  # .5 > .45
    assert not way.tips.any()  # .4/.75 = .533 > .5
    assert way.tips_on_vehicle  # the pallet lifts the centre: .4/.894 = .447 < .5
    assert screen.caution == CAUTION
    assert "physical" in CAUTION
    assert "Local codes" in CAUTION


def test_film_that_is_too_weak_never_holds():
    screen = transport_screen(_stack(), _film(800.0), uniform_profile(0.5), np.array([0.0]))
    weak = screen.restraint_limit < np.array([way.needed for way in screen.ways])
    assert weak.any()
    assert not weak.all()
    assert np.isinf(screen.slip[weak]).all()
    assert np.isfinite(screen.slip[~weak]).all()
    bare = transport_screen(_stack(0.6), _film(0.0), uniform_profile(0.5), np.array([0.0]))
    assert (bare.slip == 0.0).all()  # friction alone holds: .6 > .5
