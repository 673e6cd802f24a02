"""What must hold for any grip: the delivered stretch, the power balance, the air film."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woold.errors import InputError
from woold.physics.carriage import CarriageSetting, FilmRoll, KnownWidth, laid_film
from woold.physics.film_curve import HawardCurve
from woold.physics.film_points import PointsCurve
from woold.physics.grip import (
    GOVERNS,
    DeliveredStretch,
    RollerGrip,
    air_film_thickness,
    air_traction_fraction,
    delivered_stretch,
    drawing_force,
    grip_limit,
    least_tension_that_holds,
    roller_power,
    stretch_with_less_grip,
)

FILM = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
AREA = 0.508 * 16e-6

frictions = st.floats(0.05, 2.0)
angles = st.floats(0.0, 6.0)
forces = st.floats(0.0, 300.0)
grips = st.builds(RollerGrip, frictions, angles, st.floats(0.0, 100.0))
geared = st.floats(1.2, 6.0)


def deliver(
    stretch: float, slow: RollerGrip, fast: RollerGrip, unwind: float, load: float
) -> DeliveredStretch:
    return delivered_stretch(FILM, AREA, stretch, slow, fast, unwind, load)


@given(geared, grips, grips, forces, forces)
def test_delivered_stretch_is_what_both_rollers_hold(
    stretch: float, slow: RollerGrip, fast: RollerGrip, unwind: float, load: float
) -> None:
    found = deliver(stretch, slow, fast, unwind, load)
    entry = found.entry_stretch
    assert 1.0 <= entry <= found.stretch <= stretch * entry
    # An unwind tension below the film's drawing force does not stretch it.
    assert (entry > 1.0) == (unwind > FILM.drawing_stress * AREA)
    assert entry == 1.0 or entry >= 1.2
    weakest = min(grip_limit(unwind, slow), grip_limit(load, fast))
    # The film's own force at the delivered stretch is never more than the weaker roller holds,
    # or the unwind tension that it brought along.
    bound = max(weakest, unwind if entry > 1.0 else 0.0)
    assert drawing_force(FILM, AREA, found.stretch) <= bound * (1 + 1e-9) + 1e-12
    if found.governs_name() == "gears":
        assert found.stretch == stretch * entry
        assert min(found.margin_slow, found.margin_fast) >= 1 - 1e-9
    elif found.governs_name() == "film":
        assert stretch * entry > found.stretch >= FILM.largest_stretch
    else:
        assert found.stretch < stretch * entry
        assert found.governs_name() == (
            "slow roller" if found.limit_slow <= found.limit_fast else "fast roller"
        )


@given(geared, grips, grips, forces, forces, forces)
def test_more_force_to_load_never_gives_less_prestretch(
    stretch: float, slow: RollerGrip, fast: RollerGrip, unwind: float, load: float, other: float
) -> None:
    low, high = sorted((load, other))
    assert (
        deliver(stretch, slow, fast, unwind, low).stretch
        <= deliver(stretch, slow, fast, unwind, high).stretch + 1e-9
    )


@given(forces, grips)
def test_least_tension_is_the_inverse_of_the_limit(force: float, grip: RollerGrip) -> None:
    needed = least_tension_that_holds(force, grip)
    held = grip_limit(needed, grip)
    assert held == pytest.approx(max(force, 2 * grip.friction * grip.nip_force), abs=1e-9)


def test_not_held_at_all_is_elastic_and_said() -> None:
    weak = RollerGrip(0.3, math.radians(40.0))
    found = deliver(3.6, weak, weak, 10.0, 20.0)
    assert not found.is_drawn
    assert found.governs_name() == "slow roller"
    # Elastic: E ln(lambda) A0/lambda carries exactly what the roller holds.
    carried = 150e6 * math.log(found.stretch) / found.stretch * AREA
    assert carried == pytest.approx(float(found.limit_slow))


def test_plateau_a_tenth_less_grip_costs_much_stretch() -> None:
    left = stretch_with_less_grip(FILM, AREA, 3.6)
    assert FILM.nominal_stress(left) == pytest.approx(0.9 * FILM.nominal_stress(3.6))
    assert 3.6 - left > 0.3


def test_curve_that_ends_before_the_geared_stretch() -> None:
    film = PointsCurve((1.1, 1.5, 2.5, 3.2), (9e6, 8.5e6, 9.5e6, 11e6))
    strong = RollerGrip(1.0, math.pi)
    found = delivered_stretch(film, AREA, 3.6, strong, strong, 50.0, 50.0)
    assert found.stretch == 3.2
    assert GOVERNS[found.governs] == "film"
    assert found.margin_slow == 0.0


@given(geared, grips, grips, forces, forces, st.floats(0.1, 5.0))
def test_power_balance(
    stretch: float,
    slow: RollerGrip,
    fast: RollerGrip,
    unwind: float,
    load: float,
    speed: float,
) -> None:
    found = deliver(stretch, slow, fast, unwind, load)
    power = roller_power(found, stretch, unwind, load, 0.1, 0.12, speed)
    assert power.speed_fast == pytest.approx(stretch * power.speed_slow)
    assert power.power_slow == pytest.approx(power.torque_slow * power.speed_slow / 0.05)
    assert power.power_fast == pytest.approx(power.torque_fast * power.speed_fast / 0.06)
    if found.governs_name() == "gears":
        # What the drive gives is what the film takes: work of stretching plus what the ends carry.
        slow_speed = speed / stretch
        taken = found.drawing_force * (speed - slow_speed) - load * speed + unwind * slow_speed
        assert power.power_drive == pytest.approx(taken, abs=1e-9)


@given(st.floats(1e-7, 1e-4), st.floats(1e-7, 1e-4), st.floats(1e-7, 1e-4))
def test_air_only_takes_traction_away(air: float, other: float, roughness: float) -> None:
    thin, thick = sorted((air, other))
    kept = air_traction_fraction(np.array([0.0, thin, thick]), roughness)
    assert kept[0] == 1.0
    assert 0.0 <= kept[2] <= kept[1] <= 1.0
    assert air_traction_fraction(roughness * 2, roughness) == pytest.approx(0.5)
    assert air_film_thickness(0.05, 100.0, 1.0, 1.0) < air_film_thickness(0.05, 100.0, 2.0, 1.0)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"friction": 0.0}, "friction"),
        ({"friction": -0.1}, "friction"),
        ({"contact_angle": -1.0}, "contact_angle"),
        ({"nip_force": float("nan")}, "nip_force"),
    ],
)
def test_grip_refuses(change: dict[str, float], field: str) -> None:
    with pytest.raises(InputError) as raised:
        RollerGrip(**{"friction": 0.6, "contact_angle": 3.0, "nip_force": 0.0} | change)
    assert raised.value.problems[0].field == field


@pytest.mark.parametrize("stretch", [1.0, 0.5, float("nan"), float("inf")])
def test_ratio_of_one_or_less_is_refused(stretch: float) -> None:
    grip = RollerGrip(0.6, 3.0)
    with pytest.raises(InputError, match="prestretch"):
        deliver(stretch, grip, grip, 25.0, 45.0)


def test_arrays_give_what_single_cases_give() -> None:
    tensions, friction = np.array([0.0, 8.0, 15.0, 40.0]), np.array([[0.4], [0.8]])
    slow, fast = RollerGrip(friction, 3.1), RollerGrip(0.6, 2.5)
    film = FilmRoll(0.508, 16e-6, 918.0, 400e6, FILM)
    many = laid_film(film, CarriageSetting(3.6, 0.04, slow, fast, 25.0), tensions)
    for i, mu in enumerate((0.4, 0.8)):
        for j, tension in enumerate(tensions):
            setting = CarriageSetting(3.6, 0.04, RollerGrip(mu, 3.1), fast, 25.0)
            one = laid_film(film, setting, float(tension))
            assert many.width[i, j] == pytest.approx(one.width, rel=1e-12)
            assert many.stretch[i, j] == pytest.approx(one.stretch, rel=1e-9)
            assert many.delivered.governs[i, j] == one.delivered.governs


def test_measured_width_wins() -> None:
    grip = RollerGrip(1.0, 3.1)
    film = FilmRoll(0.508, 16e-6, 918.0, 400e6, FILM)
    found = laid_film(film, CarriageSetting(3.6, 0.04, grip, grip, 25.0), 45.0, KnownWidth(0.44))
    assert found.width == 0.44
    # Volume of a metre is kept whatever the width.
    assert found.thickness * found.width * 918.0 == pytest.approx(found.mass_per_metre)
