"""The layer that puts the physics together, by numbers worked on paper.

Each check stands for a change that every other numeric test once let pass.
"""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from unusual import unusual_case
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.physics import outlines
from woold.physics.film import force_loss_per_decade
from woold.physics.film_curve import HawardCurve
from woold.physics.film_points import correlation_inflation
from woold.physics.grip import GOVERNS, DeliveredStretch, RollerPower, roller_power
from woold.physics.pattern import Leg, Rope, WrapProgram, film_length, wrap_path
from woold.physics.restraint import ShearedFilm, residual_slip
from woold.physics.stretch import stretch_on_load
from woold.prediction.predict import largest_corner_force, predict

FILM = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
AREA = 0.508 * 63 * 0.254e-6  # 8.12902 mm²


def case_of(table: dict[str, Any], **sections: dict[str, Any]) -> Case:
    table = copy.deepcopy(table)
    return case_from_table(
        {**table, **{name: table.get(name, {}) | s for name, s in sections.items()}}
    )


def power_of(governs: str) -> RollerPower:
    """Film at 300 % stretched by 80 N leaves at 1.5 m/s; the gears ask for 3.6."""
    delivered = DeliveredStretch(3.0, np.asarray(GOVERNS.index(governs)), 80.0, 90.0, 90.0, 80.0,
                                 np.asarray(True))  # fmt: skip
    return roller_power(delivered, 3.6, 25.0, 45.0, 0.05, 0.1, 1.5)


def test_surface_of_a_fast_roller_that_slips() -> None:
    """Film passes the slow roller at 1.5/3 = 0.5 m/s; the fast one turns 3.6 times as fast.

    55 N brake the slow roller: -27.5 W. 35 N on a surface of 1.8 m/s: 63 W, though the film there
    only takes 35 × 1.5 = 52.5 W: the rest is rubbed away.
    """
    slips = power_of("fast roller")
    assert (slips.speed_slow, slips.speed_fast) == pytest.approx((0.5, 1.8))
    assert (slips.power_slow, slips.power_fast) == pytest.approx((-27.5, 63.0))
    # Where the slow one slips, the fast one goes with its film and the slow one 3.6 times slower.
    slips = power_of("slow roller")
    assert (slips.speed_slow, slips.speed_fast) == pytest.approx((1.5 / 3.6, 1.5))
    assert (slips.torque_slow, slips.torque_fast) == pytest.approx((-55 * 0.025, 35 * 0.05))


@pytest.mark.parametrize("celsius", [-30.0, -18.0, 0.0, 22.0])
def test_cold_store_never_holds_better_than_a_hall(table: dict[str, Any], celsius: float) -> None:
    """26 % in log10(43,201) = 4.6355 decades: .05609 at 23 °C, and no less below."""
    assert force_loss_per_decade(celsius + 273.15) == pytest.approx(0.05609, abs=1e-5)
    hall, store = (
        predict(case_of(table, hold={"temperature": at})) for at in ("23 degC", f"{celsius} degC")
    )
    assert store.containment_later_min_n == pytest.approx(hall.containment_later_min_n, rel=1e-12)


def test_ropes_at_either_edge() -> None:
    """Film 500 mm wide from the deck up, gathered to 50 mm: its upper edge stays at 500 mm."""
    legs = {
        edge: wrap_path(
            WrapProgram(
                load_height=1.2,
                film_width=0.5,
                start_height=0.0,
                bottom_wraps=2.0,
                rise_per_turn=0.2,
                top_overlap=0.1,
                top_wraps=1.0,
                fall_per_turn=0.2,
                closing_wraps=1.0,
                ropes=[Rope(1.0, 3.0, 0.05, edge)],
            )
        )
        for edge in ("lower", "upper")
    }
    spans = {
        edge: [
            (each.first_turn, each.last_turn, each.first_edge, each.last_edge, each.width)
            for each in found[:4]
        ]
        for edge, found in legs.items()
    }
    # One turn open, one of two bottom wraps gathered, the first turn of the rise gathered.
    upper = [(0, 1, 0, 0, 0.5), (1, 2, 0.45, 0.45, 0.05), (2, 3, 0.45, 0.65, 0.05)]
    lower = [(0, 1, 0, 0, 0.5), (1, 2, 0, 0, 0.05), (2, 3, 0, 0.2, 0.05)]
    rest = [(3, 6, 0.2, 0.8, 0.5)]
    np.testing.assert_allclose(spans["upper"], upper + rest, atol=1e-12)
    np.testing.assert_allclose(spans["lower"], lower + rest, atol=1e-12)


def test_film_round_the_pallet_below_the_deck() -> None:
    """Load 4.4 m round, with the pallet 4.8 m, which turns below the deck bridge.

    A rise from -.1 m to .3 m in two turns is below for a quarter: 2 × (.75 × √(4.4² + .2²) +
    .25 × √(4.8² + .2²)) = 2 × (.75 × 4.404543 + .25 × 4.804165) = 9.008897 m.
    """
    legs = [
        Leg("bottom wraps", 0.0, 2.0, -0.1, -0.1, 0.5),
        Leg("rise", 2.0, 4.0, -0.1, 0.3, 0.5),
        Leg("top wraps", 4.0, 5.0, 0.3, 0.3, 0.5),
        Leg("fall", 5.0, 7.0, 0.3, -0.1, 0.5),
        Leg("closing wraps", 7.0, 8.0, 0.0, 0.0, 0.5),
    ]
    lengths = film_length(legs, 4.4, 4.8)
    np.testing.assert_allclose(lengths, [9.6, 9.008897, 4.4, 9.008897, 4.4], rtol=1e-7)
    # Where the pallet's size is not known the load's outline is all there is.
    np.testing.assert_allclose(film_length(legs, 4.4)[:2], [8.8, 8.809086], rtol=1e-7)


def test_the_sharpest_corner_counts() -> None:
    """A triangle of sides 3, 4, 5: film turns by 180° - 36.87° at its sharpest corner.

    R = 2 N sin(71.565°) = 1.897367 N; at the right angle it would be 1.414 N only.
    """
    triangle = outlines.polygon_outline([(0.0, 0.0), (0.8, 0.0), (0.0, 0.6)], (-0.2, -0.2))
    assert largest_corner_force(triangle, 1000.0) == pytest.approx(1897.367, rel=1e-6)
    box = outlines.rectangle_outline(1.2, 1.0, (0.0, 0.0))
    assert largest_corner_force(box, 1000.0) == pytest.approx(1414.214, rel=1e-6)
    assert largest_corner_force(outlines.round_outline(1.0, (0.0, 0.0)), 1000.0) is None


def test_film_springs_back_by_its_stretched_section() -> None:
    """99.453 N stretch it, 45 N are left: 54.453 × 3.6/(400 MPa × 8.12902 mm²) = 6.0288 %.

    3.6 × (1 - .060288) = 3.38296. On the unstretched section it would be 3.5397, 4.6 % less film.
    """
    found = stretch_on_load(3.6, 99.453, 45.0, 400e6, AREA, FILM)
    assert found == pytest.approx(3.38296, abs=1e-5)
    # In a whole case: 918 kg/m³ × 8.12902 mm²/3.38296 = 2.20591 g of film in a metre on the load.


def test_mass_of_a_metre_on_the_load(table: dict[str, Any]) -> None:
    """918 kg/m³ × 8.12902 mm² = 7.46244 g/m on the roll; 2.20589 g/m at 3.38296."""
    p = predict(case_of(table, carriage={"friction": 0.9}))
    assert p.film_mass_kg / p.film_length_m == pytest.approx(2.20589e-3, rel=1e-5)


def test_film_in_the_span_of_the_dancer(table: dict[str, Any]) -> None:
    """Its stiffness is 400 MPa × 8.12902 mm²/3.6 = 903.22 N.

    At rest the load takes film at 3.38296/3.6 = .939711 of the fast roller's speed, under 45 N, so
    with a strain of 4.9821 %: what is unloaded is as much on both sides if the roller gives film
    with a strain of 1.049821/.939711 - 1 = 11.7174 %.
    """
    dancer = {
        "arm_length": "300 mm",
        "inertia": "0.05 kg m^2",
        "holes": ["100 mm"],
        "anchor": ["100 mm", "-250 mm"],
        "springs": [{"rate": "0.5 N/mm", "free_length": "150 mm"}],
    }
    span = case_dancer(case_of(table, carriage={"friction": 0.9}, dancer=dancer)).setup.span
    assert span.film_stiffness == pytest.approx(903.22, rel=1e-5)
    assert span.roller_strain == pytest.approx(0.117174, abs=2e-6)


def test_film_comes_back_to_where_kinetic_friction_holds_it() -> None:
    """1000 N at a friction of .4, three quarters of it when sliding: 300 N hold film back.

    Two walls of 1 m at 250 N/m pull with at most 500 N: x/√(1 + x²) = .6, x = .75, in units of
    50 mm × 250/1000 = 12.5 mm: 9.375 mm stay. By static friction it would be 16.7 mm. But film
    moves a tier at all only against the static 400 N: at 12.25 mm it pulls with 350 N and does not.
    """
    film = ShearedFilm(
        hoop=250.0,
        shear_stiffness=1000.0,
        slip_zone=0.05,
        walls=(np.array([1.0, 1.0]), np.array([1.0, 1.0])),
    )
    stays = residual_slip(np.array([0.05, 0.01225, 0.004]), 1000.0, 0.4, film, 0.75)
    # One that slipped less than that stays where it is.
    np.testing.assert_allclose(stays, [0.009375, 0.01225, 0.004], rtol=1e-6)


def test_neighbours_that_go_together_widen_errors() -> None:
    """Eight residuals up, eight down: 13 of 16 products of neighbours, (1 + .8125)/(1 - .8125)."""
    residuals = np.repeat([1.0, -1.0], 8)
    assert correlation_inflation(residuals) == pytest.approx(9.6667, abs=1e-4)
    # Alternating ones do not go together.
    assert correlation_inflation(np.tile([1.0, -1.0], 8)) == 1.0


@pytest.mark.parametrize(("loss", "left"), [("0.15", 1.0), ("0.2", 0.0)])
def test_film_that_lost_nearly_all_is_judged_by_its_own_loss(
    table: dict[str, Any], loss: str, left: float
) -> None:
    """A year is 525 600 min, 5.72 decades: 0.15 of each leaves 14 % of 6 N, 0.2 leaves nothing.

    The loss was measured, so the worse end of it is itself; of nothing, nothing is left.
    """
    table["film"]["force_loss_per_decade"] = {"value": loss, "origin": "measured"}
    table["hold"] = {"after": "365 days"}
    table["program"]["force_to_load"] = "6 N"
    found = predict(unusual_case(table))
    # Two layers of 6 N when it is wrapped, less what the first minutes take.
    assert 11.0 < found.containment_min_n <= 12.0
    assert (found.containment_later_min_n > 0.0) is bool(left)
    assert found.containment_later_min_n < 0.15 * 2 * 6.0
    assert found.felt.worse_share == pytest.approx(left)
