"""What must hold for any film and any gap."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import elementwise, minimize_scalar

from woold.errors import InputError
from woold.physics.film import (
    film_area,
    film_thickness_at,
    force_loss_per_decade,
    mass_per_metre,
    nominal_stress,
    retained_force_fraction,
)
from woold.physics.film_curve import HawardCurve
from woold.physics.film_points import PointsCurve
from woold.physics.neck_down import (
    film_width_after_gap,
    measured_width_loss_factor,
    width_loss_factor,
)
from woold.physics.numeric import bracketed_root
from woold.physics.stretch import stretch_from_mass_balance, stretch_on_load

stretches = st.floats(1.0, 8.0)
gaps = st.floats(0.0, 1e3)
ratios = st.floats(0.0, 20.0)
limits = st.floats(2.0, 500.0)
haward_curves = st.builds(
    lambda flow, hardening, locking, factor: HawardCurve(
        flow, hardening, locking, factor * (flow + hardening)
    ),
    st.floats(1e6, 30e6),
    st.floats(0.2e6, 20e6),
    st.floats(2.0, 500.0),
    st.floats(5.0, 50.0),
)


@given(st.floats(0.05, 2.0), gaps, stretches, ratios, limits)
def test_width_lies_between_its_limits(
    roll_width: float, gap: float, stretch: float, ratio: float, limit: float
) -> None:
    factor = width_loss_factor(stretch, ratio, limit)
    width = film_width_after_gap(roll_width, gap, stretch, factor)
    assert np.isfinite(factor)
    assert factor >= 0
    slack = 1e-12 * roll_width
    assert roll_width * stretch**-0.5 - slack <= width <= roll_width + slack
    # Never wider than the short-gap line says, by more than rounding.
    assert width >= roll_width - 2 * factor * gap - slack


@given(gaps, gaps, stretches, ratios)
def test_longer_gap_never_gives_wider_film(
    gap: float, other: float, stretch: float, ratio: float
) -> None:
    widths = film_width_after_gap(
        0.5, np.sort([gap, other]), stretch, width_loss_factor(stretch, ratio, 80.0)
    )
    # Between the roll and a strip that is free at its sides.
    assert 0.5 * stretch**-0.5 - 1e-15 <= widths[1] <= widths[0] + 1e-15 <= 0.5 + 1e-15


@given(st.floats(1.01, 8.0), ratios, st.floats(0.0, 0.4))
def test_a_measured_width_comes_back(stretch: float, ratio: float, gap: float) -> None:
    factor = width_loss_factor(stretch, ratio, 80.0)
    width = film_width_after_gap(0.5, gap, stretch, factor)
    if 0.5 - width < 1e-9 or width - 0.5 * stretch**-0.5 < 1e-9:
        return  # next to a limit the width says nothing of the factor
    learnt = measured_width_loss_factor(0.5, width, gap, stretch)
    assert film_width_after_gap(0.5, gap, stretch, learnt) == pytest.approx(width, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"gap": -1e-3}, "gap"),
        ({"stretch": 0.9}, "stretch"),
        ({"roll_width": 0.0}, "roll_width"),
        ({"factor": -0.1}, "factor"),
    ],
)
def test_width_refuses_what_cannot_be(change: dict[str, float], field: str) -> None:
    given_values = {"roll_width": 0.5, "gap": 0.04, "stretch": 3.6, "factor": 0.25}
    with pytest.raises(InputError) as raised:
        film_width_after_gap(**given_values | change)
    assert raised.value.problems[0].field == field


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"yield_ratio": -1.0}, "yield_ratio"),
        ({"extensibility": 0.0}, "extensibility"),
        ({"stretch": np.nan}, "stretch"),
    ],
)
def test_loss_factor_refuses_what_cannot_be(change: dict[str, float], field: str) -> None:
    given_values = {"stretch": 3.6, "yield_ratio": 3.75, "extensibility": 80.0}
    with pytest.raises(InputError) as raised:
        width_loss_factor(**given_values | change)
    assert raised.value.problems[0].field == field


@given(haward_curves, st.floats(0.0, 1e10))
def test_stretch_held_by_a_stress(curve: HawardCurve, stress: float) -> None:
    stretch = curve.stretch_at(stress)
    assert 1.0 <= stretch <= curve.largest_stretch
    # Below the drawing stress the film stays on its elastic part, above it on the even part.
    assert (stretch >= curve.natural_draw_stretch * (1 - 1e-9)) or stress < curve.drawing_stress


@given(haward_curves, st.floats(0.0, 0.98))
def test_stretch_and_stress_are_inverse_on_the_even_part(curve: HawardCurve, part: float) -> None:
    low, high = curve.natural_draw_stretch, curve.largest_stretch
    stretch = low + part * (high - low)
    stress = curve.nominal_stress(stretch)
    # Stress, and not stretch, is compared: on the plateau many stretches share one stress.
    assert curve.nominal_stress(curve.stretch_at(stress)) == pytest.approx(stress, rel=1e-7)


@given(haward_curves)
def test_stretch_held_rises_with_stress(curve: HawardCurve) -> None:
    held = curve.stretch_at(np.linspace(0.0, 5.0, 200) * curve.yield_stress)
    assert np.all(np.diff(held) >= -1e-9)


@given(haward_curves)
def test_natural_draw_is_the_minimum_of_the_drawn_part(curve: HawardCurve) -> None:
    drawn = (curve.yield_stress, curve.hardening_modulus, curve.extensibility)
    lowest = minimize_scalar(
        lambda stretch: nominal_stress(stretch, *drawn),
        bounds=(1.0, curve.largest_stretch * (1 - 1e-9)),
        method="bounded",
        options={"xatol": 1e-9},
    )
    if curve.natural_draw_stretch > 1.0:
        assert curve.drawing_stress == pytest.approx(lowest.fun, rel=1e-5)
        assert lowest.x == pytest.approx(curve.natural_draw_stretch, rel=1e-3)
    else:  # elastic past the minimum, or no minimum: the joined curve never falls
        joined = curve.nominal_stress(np.linspace(1.0, 0.99 * curve.largest_stretch, 2000))
        assert np.all(np.diff(joined) >= 0)


def test_haward_curve_is_in_one_piece() -> None:
    film = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
    stresses = film.nominal_stress(np.linspace(1.0, 6.0, 100_001))
    # Below 6 the steepest part is the elastic one, E per unit of stretch.
    assert np.max(np.abs(np.diff(stresses))) < 1.01 * 150e6 * 5.0 / 100_000
    # Near locking the elastic line would be the lower one again; it must not come back.
    assert film.nominal_stress(8.9) > 150e6 * np.log(8.9) / 8.9


def test_parameters_may_be_arrays() -> None:
    many = HawardCurve(np.array([7e6, 9e6, 11e6]), 2.4e6, 80.0, 150e6)
    each = [HawardCurve(y, 2.4e6, 80.0, 150e6) for y in (7e6, 9e6, 11e6)]
    np.testing.assert_allclose(many.stretch_at(12e6), [one.stretch_at(12e6) for one in each])
    np.testing.assert_allclose(
        many.natural_draw_stretch, [one.natural_draw_stretch for one in each]
    )
    assert many.natural_draw_stretch[0] == 1.0  # 7 MPa is below 3 x 2.4 MPa: it never falls


def test_points_give_back_the_curve_they_were_taken_from() -> None:
    film = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
    stretches = np.concatenate(([1.0, 1.03, 1.07], np.linspace(1.1, 5.0, 60)))
    points = PointsCurve(tuple(stretches), tuple(film.nominal_stress(stretches)))
    stresses = np.linspace(9e6, 15e6, 20)
    np.testing.assert_allclose(points.stretch_at(stresses), film.stretch_at(stresses), rtol=2e-3)
    assert points.natural_draw_stretch == pytest.approx(film.natural_draw_stretch, abs=0.07)
    assert points.stretch_at(1e9) == points.largest_stretch == 5.0
    assert points.stretch_at(2e6) == pytest.approx(film.stretch_at(2e6), rel=1e-2)


@given(st.lists(st.floats(0.01, 1.0), min_size=3, max_size=12), st.data())
def test_points_curve_never_gives_nan(steps: list[float], data: st.DataObject) -> None:
    stretches = 1.0 + np.cumsum(steps)
    stresses = data.draw(
        st.lists(st.floats(1e3, 1e8), min_size=len(steps), max_size=len(steps)), label="stresses"
    )
    stresses[-1] = max(stresses) * 1.5
    curve = PointsCurve(tuple(stretches), tuple(stresses))
    held = curve.stretch_at(np.linspace(0.0, 2 * stresses[-1], 60))
    assert np.all((held >= 1.0) & (held <= curve.largest_stretch))
    assert np.all(np.diff(held) >= -1e-9)


@pytest.mark.parametrize(
    ("stretches", "stresses", "said"),
    [
        ((1.5, 2.0), (8e6, 9e6), "points: 3"),
        ((1.2, 2.0, 3.0, 4.0), (9e6, 8e6, 9e6, 8e6), "rises to its end"),
        ((1.2, 3.0, 2.0, 4.0), (9e6, 8e6, 9e6, 9.5e6), "rising stretches"),
        ((1.0, 2.0, 3.0, 4.0), (5e6, 8e6, 9e6, 9.5e6), "stress 0"),
        ((1.2, 2.0, 3.0, 4.0), (9e6, 8e6, float("nan"), 9.5e6), "finite"),
        ((1.2, 2.0, 3.0), (9e6, 8e6), "one stress for each"),
    ],
)
def test_points_curve_refuses(
    stretches: tuple[float, ...], stresses: tuple[float, ...], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        PointsCurve(stretches, stresses)


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_haward_curve_refuses(value: float) -> None:
    with pytest.raises(InputError, match="yield_stress"):
        HawardCurve(value, 2.4e6, 80.0, 150e6)


def test_haward_curve_refuses_an_elastic_part_that_never_meets_the_flow_stress() -> None:
    with pytest.raises(InputError, match=r"elastic_modulus: 2e\+07.*5.7e\+07"):
        HawardCurve(9e6, 2.4e6, 80.0, 20e6)
    with pytest.raises(InputError, match="extensibility: 1;"):
        HawardCurve(9e6, 2.4e6, 1.0, 150e6)


@given(st.floats(0.0, 1e9), st.floats(0.0, 1e9), st.floats(250.0, 330.0))
def test_force_is_only_ever_lost(time: float, other: float, temperature: float) -> None:
    early, late = sorted((time, other))
    loss = force_loss_per_decade(temperature)
    kept = retained_force_fraction(np.array([0.0, early, late]), loss)
    assert kept[0] == 1.0
    assert 0.0 <= kept[2] <= kept[1] <= 1.0


@given(haward_curves, st.floats(0.01, 0.97), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_more_force_to_load_never_leaves_less_stretch(
    curve: HawardCurve, part: float, share: float, other: float
) -> None:
    low, high = curve.natural_draw_stretch, curve.largest_stretch
    stretch, area = low + part * (high - low), 8e-6
    force = curve.nominal_stress(stretch) * area
    reload_modulus = 20 * (curve.yield_stress + curve.hardening_modulus) * stretch
    held = stretch_on_load(
        stretch, force, np.sort([share, other]) * force, reload_modulus, area, curve
    )
    assert 1.0 <= held[0] <= held[1] <= curve.largest_stretch


@given(stretches, st.floats(1.0, 500.0))
def test_mass_balance_gives_the_stretch_back(stretch: float, length: float) -> None:
    area = film_area(0.508, 16e-6)
    mass = length * mass_per_metre(918.0, area, stretch)
    assert stretch_from_mass_balance(918.0, area, length, mass) == pytest.approx(stretch)


@given(stretches, st.floats(0.01, 1.0))
def test_thickness_keeps_the_volume(stretch: float, width_ratio: float) -> None:
    thickness = film_thickness_at(16e-6, stretch, width_ratio)
    assert thickness * width_ratio * stretch == pytest.approx(16e-6)


def test_bracketed_root_agrees_with_scipy() -> None:
    shift = np.linspace(0.01, 30.0, 500)

    def function(x: np.ndarray, shift: np.ndarray) -> np.ndarray:
        return x**3 + np.exp(x) - shift - 1.0

    ours = bracketed_root(lambda x: function(x, shift), 0.0, 4.0)
    theirs = elementwise.find_root(function, (0.0, 4.0), args=(shift,))
    # Both stop at floating-point width of the bracket.
    np.testing.assert_allclose(ours, theirs.x, rtol=1e-14)
    # One at a time takes another way through the code.
    single = [bracketed_root(lambda x, each=each: function(x, each), 0.0, 4.0) for each in shift]
    np.testing.assert_allclose(single, theirs.x, rtol=1e-14)


@pytest.mark.parametrize("shape", [(), (2,)])
def test_bracketed_root_at_its_ends(shape: tuple[int, ...]) -> None:
    low = np.zeros(shape)
    assert np.all(bracketed_root(lambda x: x, low, 1.0) == 0.0)
    assert np.all(bracketed_root(lambda x: x - 1.0, low, 1.0) == 1.0)
    # No change of sign: the end that is nearer to a root by value.
    assert np.all(bracketed_root(lambda x: x + 1.0, low, 1.0) == 0.0)
    # Infinite at an end.
    with np.errstate(divide="ignore"):
        found = bracketed_root(lambda x: 1.0 / np.subtract(1.0, x) - 4.0, low, 1.0)
    np.testing.assert_allclose(found, 0.75)
