"""What must stay, or move one way, when a case is told otherwise or changed in a known way."""

from __future__ import annotations

import copy
import importlib.resources
import math
import random
import tomllib
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from woold.carriages.match import match_films
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.shelf import read_shelf, shelf_from_table
from woold.errors import WooldError
from woold.prediction.film_on_load import lacing_of
from woold.prediction.predict import predict
from woold.prediction.result import Prediction

SOME = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
NUMBERS = (
    "film_mass_kg",
    "film_length_m",
    "prestretch_delivered",
    "stretch_on_load",
    "film_width_on_load_m",
    "turns",
    "layers_min",
    "layers_mean",
    "containment_min_n",
    "containment_later_min_n",
    "containment_point_min_n",
    "hoop_tension_max_n_per_m",
    "cycle_time_s",
    "loads_per_roll",
)


@st.composite
def cases(draw: st.DrawFn) -> dict[str, float]:
    """Numbers of a case, SI; angles in degrees, stretches in per cent, speeds in turns a minute."""

    def number(low: float, high: float, digits: int = 3) -> float:
        return round(draw(st.floats(low, high, allow_nan=False)), digits)

    return {
        "length": number(0.6, 1.4),
        "width": number(0.5, 1.2),
        "height": number(0.6, 2.2),
        "roll": number(0.3, 0.6),
        "thickness": number(10.0, 30.0, 1),
        "prestretch": number(120.0, 300.0, 1),
        "gap": number(0.01, 0.12),
        "angle": number(120.0, 220.0, 1),
        "friction": number(0.4, 1.2, 2),
        "unwind": number(10.0, 35.0, 1),
        "force": number(20.0, 60.0, 1),
        "overlap": number(10.0, 60.0, 1),
        "bottom": number(1.0, 3.0, 2),
        "top": number(1.0, 3.0, 2),
        "rpm": number(6.0, 20.0, 1),
    }


def table_of(v: dict[str, float]) -> dict[str, Any]:
    return {
        "load": {
            "length": f"{v['length']} m",
            "width": f"{v['width']} m",
            "height": f"{v['height']} m",
            "mass": "600 kg",
        },
        "film": {"roll_width": f"{v['roll']} m", "thickness": f"{v['thickness']} um"},
        "carriage": {
            "prestretch": f"{v['prestretch']} %",
            "gap": f"{v['gap']} m",
            "contact_angle_slow": f"{v['angle']} deg",
            "contact_angle_fast": f"{v['angle']} deg",
            "friction": f"{v['friction']}",
            "unwind_tension": f"{v['unwind']} N",
        },
        "machine": {"speed": f"{v['rpm']} rpm", "exit_distance": "1.8 m"},
        "program": {
            "force_to_load": f"{v['force']} N",
            "overlap": f"{v['overlap']} %",
            "bottom_wraps": v["bottom"],
            "top_wraps": v["top"],
        },
    }


def predicted(case: Case) -> Prediction:
    """Its prediction; cases that cannot be are left out."""
    try:
        return predict(case)
    except WooldError:
        assume(False)
        raise


def same(
    one: Prediction, other: Prediction, tolerance: float = 1e-9, but: tuple[str, ...] = ()
) -> None:
    for name in NUMBERS:
        if name not in but:
            assert getattr(other, name) == pytest.approx(getattr(one, name), rel=tolerance), name


@SOME
@given(cases())
def test_other_units_say_the_same(v: dict[str, float]) -> None:
    """An inch is 25.4 mm, a gauge .254 µm, a pound-force 4.4482216152605 N, all by definition."""
    si = table_of(v)
    trade = copy.deepcopy(si)
    for name in ("length", "width", "height"):
        trade["load"][name] = f"{v[name] / 0.0254!r} in"
    trade["film"] = {
        "roll_width": f"{v['roll'] / 0.0254!r} in",
        "thickness": f"{v['thickness'] / 0.254!r} gauge",
    }
    trade["carriage"] |= {
        "gap": f"{v['gap'] * 1000!r} mm",
        "contact_angle_slow": f"{math.radians(v['angle'])!r} rad",
        "unwind_tension": f"{v['unwind'] / 4.4482216152605!r} lbf",
    }
    trade["machine"] = {
        "speed": f"{v['rpm'] * math.tau / 60!r} rad/s",
        "exit_distance": f"{1.8 / 0.3048!r} ft",
    }
    trade["program"]["force_to_load"] = f"{v['force'] / 4.4482216152605!r} lbf"
    # A rounding may move an edge of film over a height at which it is counted, but no number.
    same(predicted(case_from_table(si)), predicted(case_from_table(trade)), 1e-6)


@SOME
@given(cases(), st.integers(1, 3), st.booleans())
def test_a_turned_or_mirrored_load_is_wrapped_alike(
    v: dict[str, float], quarters: int, mirrored: bool
) -> None:
    table = table_of(v)
    length, width = v["length"], v["width"]
    corner = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.2, width]])
    corner -= corner.mean(axis=0)

    def with_footprint(points: np.ndarray) -> Case:
        load = {
            "height": table["load"]["height"],
            "mass": "600 kg",
            "footprint": [[f"{x!r} m", f"{y!r} m"] for x, y in points.tolist()],
        }
        return case_from_table({**table, "load": load})

    angle = quarters * math.pi / 2
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    other = corner @ turn.T
    if mirrored:
        other = (other * [-1.0, 1.0])[::-1]
    same(predicted(with_footprint(corner)), predicted(with_footprint(other)), 1e-9)


@SOME
@given(cases(), st.floats(0.6, 1.6))
def test_a_load_and_its_film_in_scale_have_the_same_layers(
    v: dict[str, float], scale: float
) -> None:
    """All lengths grow, thickness shrinks: the same section, stretch, layers and forces."""
    table = table_of(v)
    case = case_from_table(table)
    carriage = {"carriage.gap": case.carriage.gap * scale}
    carriage["carriage.slow_roller_diameter"] = case.carriage.slow_roller_diameter * scale
    larger = case.with_values(
        {
            "load.length": case.load.length * scale,
            "load.width": case.load.width * scale,
            "load.height": case.load.height * scale,
            "film.roll_width": case.film.roll_width * scale,
            "film.thickness": case.film.thickness / scale,
            "machine.exit_distance": 3.5,
            "program.start_height": case.program.start_height * scale,
            "program.top_overlap": case.program.top_overlap * scale,
            **carriage,
        }
    )
    one, other = predicted(case), predicted(larger)
    assert other.layers_min == one.layers_min
    # The mean is taken over a grid of heights that does not scale.
    assert other.layers_mean == pytest.approx(one.layers_mean, rel=0.02)
    assert other.stretch_on_load == pytest.approx(one.stretch_on_load, rel=1e-9)
    assert other.turns == pytest.approx(one.turns, rel=1e-9)
    assert other.containment_point_min_n == pytest.approx(one.containment_point_min_n, rel=1e-6)
    assert other.film_width_on_load_m == pytest.approx(scale * one.film_width_on_load_m, rel=1e-9)
    assert other.film_length_m == pytest.approx(scale * one.film_length_m, rel=1e-9)


@SOME
@given(cases())
def test_twice_the_thickness_under_twice_the_forces_is_twice_the_mass(v: dict[str, float]) -> None:
    case = case_from_table(table_of(v))
    thick = case.with_values(
        {
            "film.thickness": 2 * case.film.thickness,
            "program.force_to_load": 2 * case.program.force_to_load,
            "carriage.unwind_tension": 2 * case.carriage.unwind_tension,
        }
    )
    one, other = predicted(case), predicted(thick)
    assert other.film_mass_kg == pytest.approx(2 * one.film_mass_kg, rel=1e-9)
    assert other.containment_min_n == pytest.approx(2 * one.containment_min_n, rel=1e-9)
    doubled = ("film_mass_kg", "loads_per_roll", "hoop_tension_max_n_per_m")
    held = ("containment_min_n", "containment_later_min_n", "containment_point_min_n")
    same(one, other, 1e-9, but=doubled + held)


@SOME
@given(cases(), st.floats(1.0, 2.0), st.floats(1.0, 1.5))
def test_more_friction_or_contact_never_delivers_less(
    v: dict[str, float], more: float, longer: float
) -> None:
    case = case_from_table(table_of(v))
    grips = case.with_values(
        {
            "carriage.friction": case.carriage.friction * more,
            "carriage.contact_angle_slow": case.carriage.contact_angle_slow * longer,
            "carriage.contact_angle_fast": case.carriage.contact_angle_fast * longer,
        }
    )
    one, other = predicted(case), predicted(grips)
    assert other.prestretch_delivered >= one.prestretch_delivered * (1 - 1e-12)
    assert other.grip_margin_slow >= one.grip_margin_slow * (1 - 1e-12)
    assert other.grip_margin_fast >= one.grip_margin_fast * (1 - 1e-12)


@SOME
@given(cases(), st.floats(0.0, 400.0), st.floats(0.0, 400.0), st.floats(23.0, 38.0))
def test_a_longer_or_warmer_hold_never_holds_more(
    v: dict[str, float], hours: float, more: float, celsius: float
) -> None:
    case = case_from_table(table_of(v)).with_values({"hold.after": 3600 * hours})
    later = case.with_values({"hold.after": 3600 * (hours + more)})
    warmer = later.with_values({"hold.temperature": 273.15 + celsius})
    forces = [predicted(each).containment_later_min_n for each in (case, later, warmer)]
    assert forces == sorted(forces, reverse=True)
    assert predicted(case).containment_min_n >= forces[0] - 1e-9


@SOME
@given(cases(), st.floats(1.0, 3.0))
def test_a_longer_gap_never_takes_less_film(v: dict[str, float], longer: float) -> None:
    case = case_from_table(table_of(v))
    one = predicted(case)
    other = predicted(case.with_values({"carriage.gap": case.carriage.gap * longer}))
    assert other.film_width_on_load_m <= one.film_width_on_load_m + 1e-12
    assert other.film_mass_kg >= one.film_mass_kg * (1 - 1e-9)
    assert other.turns >= one.turns - 1e-9


def demo_table() -> dict[str, Any]:
    text = importlib.resources.files("woold.demo").joinpath("files", "today.toml")
    return tomllib.loads(text.read_text(encoding="utf-8"))


@pytest.mark.parametrize("share", [0.35, 0.5, 0.65])
@pytest.mark.parametrize("span", range(4))
@pytest.mark.parametrize("side", ["left", "right"])
def test_an_idler_on_the_straight_path_changes_nothing(span: int, share: float, side: str) -> None:
    """It stands beside the film by a hair more than touching, on either side."""
    table = demo_table()
    path = lacing_of(case_from_table(table)).path
    assert path is not None
    free = path.spans[span]
    start, end = np.array(free.start), np.array(free.end)
    along = (end - start) / np.linalg.norm(end - start)
    across = np.array([-along[1], along[0]]) * (1.0 if side == "left" else -1.0)
    at = start + share * (end - start)
    radius = 0.002
    names = [each["name"] for each in table["carriage"]["rollers"]]
    place = names.index(free.end_name)
    for beside in (0.0, 1e-9, -1e-9):
        x, y = (at + (radius + beside) * across).tolist()
        idler = {
            "name": "new",
            "role": "idler",
            "x": f"{1000 * x!r} mm",
            "y": f"{1000 * y!r} mm",
            "diameter": f"{2000 * radius!r} mm",
            "side": side,
        }
        more = copy.deepcopy(table)
        more["carriage"]["rollers"].insert(place, idler)
        one, other = (predict(case_from_table(each)) for each in (table, more))
        same(one, other, 1e-5)
        assert other.gap_m == pytest.approx(one.gap_m, abs=1e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_films_of_a_shelf_in_any_order(seed: int) -> None:
    case = case_from_table(demo_table())
    with importlib.resources.as_file(
        importlib.resources.files("woold.demo").joinpath("files", "films.toml")
    ) as path:
        shelf = read_shelf(path)
    order = np.random.default_rng(seed).permutation(len(shelf.films))
    mixed = shelf.model_copy(update={"films": tuple(shelf.films[each] for each in order)})
    assert len(shelf.films) > 1
    assert match_films(case, mixed) == match_films(case, shelf)


@st.composite
def shelves(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Films of a shelf: some alike but for their names, some that end before the gears' stretch."""

    def film() -> dict[str, Any]:
        table: dict[str, Any] = {
            "roll_width": f"{draw(st.integers(300, 600))} mm",
            "thickness": f"{draw(st.integers(10, 30))} um",
            "price": f"{draw(st.integers(10, 40)) / 10} USD/kg",
        }
        if draw(st.booleans()):
            table["rated_prestretch"] = f"{draw(st.integers(100, 350))} %"
        if draw(st.booleans()):
            end = draw(st.integers(150, 450))
            table["test_elongations"] = ["0 %", "5 %", "10 %", "60 %", "100 %", f"{end} %"]
            table["test_stresses"] = ["0 MPa", "7 MPa", "8.5 MPa", "8.6 MPa", "9 MPa", "15 MPa"]
        return table

    films = [film() for _ in range(draw(st.integers(1, 4)))]
    films += copy.deepcopy(films[: draw(st.integers(0, len(films)))])
    return [{"name": f"film {index}"} | each for index, each in enumerate(films)]


@SOME
@given(cases(), shelves(), st.randoms(use_true_random=False))
def test_films_of_any_shelf_in_any_order(
    v: dict[str, float], films: list[dict[str, Any]], random: random.Random
) -> None:
    case = case_from_table(table_of(v))
    mixed = random.sample(films, len(films))
    found = []
    for each in (films, mixed):
        try:
            found.append(match_films(case, shelf_from_table({"films": each})))
        except WooldError:  # the carriage takes no film at all
            found.append(None)
    assert found[0] == found[1]
    assume(found[0] is not None)


@st.composite
def lacings(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Rollers that film runs round in an S, as far apart as carriages have them [mm]."""

    def number(low: int, high: int) -> float:
        return draw(st.integers(10 * low, 10 * high)) / 10

    slow, fast = number(60, 120), number(60, 120)
    lean = math.radians(number(-40, 40))
    apart = (slow + fast) / 2 + number(4, 60)
    x, y = number(280, 420), number(60, 160)
    places = [
        ("film roll", "roll", 0.0, 0.0, number(100, 250), "right"),
        ("inlet", "idler", 200.0, number(-30, 30), number(30, 60), "left"),
        ("slow", "slow", x, y, slow, "right"),
        ("fast", "fast", x + apart * math.cos(lean), y + apart * math.sin(lean), fast, "left"),
        ("outlet", "idler", x + apart + 70.0, y + number(150, 250), number(30, 60), "left"),
        ("way out", "load", x + apart + 70.0, y + 500.0, 0.0, "left"),
    ]
    kept = [each for each in places if each[1] != "idler" or draw(st.booleans())]
    return [roller(*each) for each in kept]


def roller(name: str, role: str, x: float, y: float, diameter: float, side: str) -> dict[str, Any]:
    """A roller of a case's table, from millimetres."""
    sizes = {"x": x, "y": y, "diameter": diameter}
    table = {"name": name, "role": role} | {key: f"{each!r} mm" for key, each in sizes.items()}
    return table if role == "load" else table | {"side": side}


@settings(SOME, max_examples=60)
@given(cases(), lacings(), st.integers(0, 4), st.floats(0.1, 0.9), st.sampled_from([-1.0, 1.0]))
def test_an_idler_on_any_straight_path_changes_nothing(
    v: dict[str, float], rollers: list[dict[str, Any]], span: int, share: float, side: float
) -> None:
    """A thin one that film just touches, in any span of carriages of many shapes."""
    table = table_of(v)
    table["carriage"] = {
        "prestretch": table["carriage"]["prestretch"],
        "friction": table["carriage"]["friction"],
        "unwind_tension": table["carriage"]["unwind_tension"],
        "rollers": rollers,
    }
    try:
        path = lacing_of(case_from_table(table)).path
    except WooldError:
        assume(False)
        raise
    assert path is not None
    assume(span < len(path.spans))
    free = path.spans[span]
    start, end = np.array(free.start), np.array(free.end)
    along = (end - start) / np.linalg.norm(end - start)
    diameter = 0.002
    at = start + share * (end - start) + side * diameter / 2 * np.array([-along[1], along[0]])
    for each in rollers:
        middle, size = (
            [float(each[k].split()[0]) for k in ks] for ks in (("x", "y"), ("diameter",))
        )
        assume(1000 * np.linalg.norm(at - np.array(middle) / 1000) > size[0] / 2 + 2.0)
    new = roller(
        "new", "idler", *(1000 * at).tolist(), 1000 * diameter, "left" if side > 0 else "right"
    )
    place = [each["name"] for each in rollers].index(free.end_name)
    more = copy.deepcopy(table)
    more["carriage"]["rollers"].insert(place, new)
    one, other = predicted(case_from_table(table)), predict(case_from_table(more))
    same(one, other, 1e-5)
    assert other.gap_m == pytest.approx(one.gap_m, abs=1e-6)
