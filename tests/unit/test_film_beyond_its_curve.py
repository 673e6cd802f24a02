"""Film between the fast roller and the load: springing back, drawn on, or torn; worked on paper.

Film of 20 in and 16 um: A0 = 8.128 mm². Its curve P = 9/λ + 2.4 (λ - λ^-2)/(1 - (λ² + 2/λ - 3)/80)
in MPa, worked by hand:

    λ        λ²+2/λ-3    room       (λ-λ^-2)/room   P [MPa]    F [N]
    3.6      10.51556    .868556    4.05598         12.2344     99.44
    3.62     10.65689    .866789    4.08829         12.2981     99.96
    6        33.33333    .583333   10.23810         26.0714    211.91
    7.30     50.56397    .367950   19.78836         48.7249    396.04
    7.32     50.85562    .364305   20.04185         49.3299    400.95
"""

import numpy as np
import pytest

from woold.physics.carriage import CarriageSetting, FilmRoll, laid_film
from woold.physics.film_curve import HawardCurve
from woold.physics.film_points import PointsCurve
from woold.physics.grip import RollerGrip
from woold.physics.stretch import breaking_force, stretch_before_roller, stretch_on_load

AREA = 8.128e-6
CURVE = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
FORCE = 99.44
GRIP = RollerGrip(0.6, np.pi)


def roll(break_stretch: float = np.inf) -> FilmRoll:
    return FilmRoll(0.508, 16e-6, 918.0, 400e6, CURVE, break_stretch)


def carriage(unwind: float = 25.0, geared: float = 3.6) -> CarriageSetting:
    return CarriageSetting(geared, 0.04, GRIP, GRIP, unwind)


@pytest.mark.parametrize(
    ("force_to_load", "by_hand"),
    [
        # The section of film at 3.6 is 8.128/3.6 = 2.25778 mm².
        # 54.44 N less on it: 24.112 MPa; over 400 MPa 6.0281 %; 3.6 less that is 3.38299.
        (45.0, 3.38299),
        # All 99.44 N: 44.043 MPa, 11.0108 %, 3.20361.
        (0.0, 3.20361),
        # Nothing less: nothing springs back.
        (FORCE, 3.6),
        # 99.96 N is the curve's force at 3.62.
        (99.96, 3.62),
        # 400 N lies between 396.04 N at 7.30 and 400.95 N at 7.32: 7.3161 on a straight line.
        (400.0, 7.3161),
    ],
)
def test_stretch_on_load_by_hand(force_to_load: float, by_hand: float) -> None:
    found = stretch_on_load(3.6, FORCE, force_to_load, 400e6, AREA, CURVE)
    # Five digits of the paper; on the flat part of the curve a hundredth of a newton is .0004.
    assert found == pytest.approx(by_hand, abs=5e-4)


def test_film_never_springs_back_beyond_the_roll() -> None:
    # 44.04 MPa over 10 MPa would be 440 % of the length that there is.
    assert stretch_on_load(3.6, FORCE, 0.0, 10e6, AREA, CURVE) == 1.0


def test_a_force_above_the_drawing_force_takes_width_and_mass_along() -> None:
    held, drawn = (
        laid_film(roll(), carriage(), np.array([45.0])),
        laid_film(roll(), carriage(), np.array([400.0])),
    )
    assert not held.is_drawn_on[0]
    assert drawn.is_drawn_on[0]
    assert drawn.stretch[0] == pytest.approx(7.3161, abs=5e-4)
    # 918 × 8.128e-6/7.3161 = 1.01988 g/m.
    assert drawn.mass_per_metre[0] == pytest.approx(1.01988e-3, abs=1e-7)
    # Free to neck down behind the carriage: √(3.6/7.3161) = .70147 of the width at the roller.
    assert drawn.width[0] / held.width[0] == pytest.approx(0.70147, abs=1e-4)
    # Volume of a metre, by the lot: width × thickness × density is its mass.
    assert drawn.width[0] * drawn.thickness[0] * 918.0 == pytest.approx(drawn.mass_per_metre[0])


def test_strength_by_hand() -> None:
    assert breaking_force(CURVE, AREA, 6.0) == pytest.approx(211.91, abs=0.01)
    assert np.isinf(breaking_force(CURVE, AREA))
    points = PointsCurve((1.5, 2.0, 3.0, 4.0), (8e6, 8.5e6, 11e6, 15e6))
    # 15 MPa × 8.128 mm² = 121.92 N: the curve ends there.
    assert breaking_force(points, AREA) == pytest.approx(121.92)
    assert breaking_force(points, AREA, 3.0) == pytest.approx(89.408)


@pytest.mark.parametrize(
    ("force_to_load", "break_stretch", "breaks"),
    [
        (45.0, 6.0, False),
        (205.0, 6.0, False),
        (212.5, 6.0, True),
        (400.0, np.inf, False),
        (45.0, 3.5, True),
    ],
)
def test_film_asked_for_more_than_it_bears(
    force_to_load: float, break_stretch: float, breaks: bool
) -> None:
    assert laid_film(roll(break_stretch), carriage(), force_to_load).breaks == breaks


def test_points_end_and_so_does_the_film() -> None:
    curve = PointsCurve((1.5, 2.0, 3.0, 4.0), (8e6, 8.5e6, 11e6, 15e6))
    film = FilmRoll(0.508, 16e-6, 918.0, 400e6, curve)
    laid = laid_film(film, carriage(geared=3.0), np.array([45.0, 121.0, 122.5]))
    assert laid.breaks.tolist() == [False, False, True]


def test_unwind_tension_that_draws_film_before_the_slow_roller() -> None:
    assert stretch_before_roller(CURVE, AREA, 60.0) == 1.0
    assert stretch_before_roller(CURVE, AREA, 99.96) == pytest.approx(3.62, abs=5e-4)
    laid = laid_film(roll(), carriage(unwind=99.96, geared=1.5), 120.0)
    # The rollers multiply what comes in: 3.62 × 1.5 = 5.43.
    assert laid.delivered.stretch == pytest.approx(5.43, abs=1e-3)
    # Free to neck down before the roller, 508/√3.62 = 267.0 mm; the gap takes more of it.
    assert laid.width < 0.2670
    assert laid_film(roll(3.5), carriage(unwind=99.96, geared=1.5), 120.0).breaks


def test_slip_arc_lengthens_the_gap() -> None:
    with_arc = CarriageSetting(3.6, 0.04, GRIP, GRIP, 25.0, slow_radius=0.03)
    short, long = laid_film(roll(), carriage(), 45.0), laid_film(roll(), with_arc, 45.0)
    # ln([1 + .8660 × 14.9448/3.75]/3.6) = ln 1.23647 = .21226; 30/.6 × .21226 = 10.61 mm.
    assert long.neck_down.gap == pytest.approx(0.05061, abs=1e-5)
    assert short.neck_down.gap == 0.04
    # Each edge loses f = .2508 of those 10.61 mm more: 5.32 mm in all.
    assert short.width - long.width == pytest.approx(0.00532, abs=1e-5)


def test_law_beyond_what_it_was_fitted_to_is_marked() -> None:
    plain = laid_film(roll(), carriage(), 45.0).neck_down
    assert plain.is_steady
    assert plain.is_within_fit
    stiff = HawardCurve(20e6, 1.5e6, 80.0, 150e6)
    film = FilmRoll(0.508, 16e-6, 918.0, 400e6, stiff)
    beyond = laid_film(film, carriage(unwind=60.0, geared=2.2), 60.0).neck_down
    assert not beyond.is_steady
    assert not beyond.is_within_fit
