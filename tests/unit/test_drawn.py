"""Draws predicted at once against the same draws predicted one by one."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from importlib.resources import files

import numpy as np
import pytest

from random_lines import random_load, random_program, with_random_machine
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import PhysicsError, WooldError
from woold.physics.pattern import Rope, WrapProgram, wrap_path
from woold.prediction.drawn import DrawnPrediction, predict_draws
from woold.prediction.predict import predict
from woold.uncertainty.draws import Unknown, draw_unknowns
from woold.uncertainty.spread import unknown_inputs

_DRAWS = 12
_SECTIONS = ("load.", "film.", "carriage.", "machine.", "program.", "hold.", "plant.")


@pytest.fixture(scope="module")
def today() -> Case:
    text = files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
    return case_from_table(tomllib.loads(text))


def drawn_of(case: Case, seed: int) -> dict[str, np.ndarray]:
    """The case's own ranges, and of what is mostly known: machine, program, load and hold."""
    fell = case.program.fall_per_turn
    more = {
        "machine.speed": case.machine.speed,
        "machine.end_time": 3.0,
        "machine.exit_distance": 1.2,
        "program.force_to_load": case.program.force_to_load,
        "program.top_overlap": 0.08,
        "program.end_tail": 0.5,
        "load.height": case.load.height,
        "load.mass": 500.0,
        "hold.after": 3600.0,
        **({} if fell is None else {"program.fall_per_turn": fell}),
    }
    given = [Unknown(name, v, 0.8 * v, 1.25 * v) for name, v in more.items()]
    unknowns = {each.name: each for each in [*unknown_inputs(case, _SECTIONS), *given]}
    return draw_unknowns(list(unknowns.values()), _DRAWS, np.random.default_rng(seed))


@pytest.mark.parametrize("seed", range(8))
def test_draws_are_what_they_are_one_by_one(seed: int, today: Case) -> None:
    """Any program, gathered turns among it, on any rigid load; the law that refuses is the same."""
    draw = np.random.default_rng(seed)
    load, hold = random_load(draw)
    rigid = load.model_copy(update={"hoop_stiffness": None})
    program = random_program(draw)
    if seed % 2:
        program = program.model_copy(update={"ropes": today.program.ropes})
    case = with_random_machine(today, draw).with_values(
        {"program": program, "load": rigid, "hold": hold}
    )
    at_once = 0
    for drawn, found in predict_draws(case, drawn_of(case, seed), _DRAWS):
        try:
            single = predict(drawn)
        except WooldError:
            assert found is None
            continue
        assert found is not None
        at_once += isinstance(found, DrawnPrediction)
        for each in fields(DrawnPrediction):
            expected = getattr(single, each.name)
            value = getattr(found, each.name)
            assert (value is None) == (expected is None), each.name
            if expected is not None:
                assert value == pytest.approx(expected, rel=1e-9, abs=1e-12), each.name
    if seed == 1:
        assert at_once == _DRAWS


def test_what_rollers_and_teeth_say_is_not_drawn(today: Case) -> None:
    """A typed number that the listed rollers stand in for moves nothing, as in a prediction."""
    text = files("woold.demo").joinpath("files/candidate.toml").read_text(encoding="utf-8")
    rollers = case_from_table(tomllib.loads(text)).carriage
    assert rollers.rollers
    case = today.with_values({"carriage": rollers})
    base = predict(case)
    draws = {"carriage.gap": np.array([0.5, 0.9]), "carriage.prestretch": np.array([1.5, 2.0])}
    for drawn, found in predict_draws(case, draws, 2):
        single = predict(drawn)
        assert found is not None
        assert found.film_width_on_load_m == pytest.approx(single.film_width_on_load_m, rel=1e-12)
        assert found.film_width_on_load_m == pytest.approx(base.film_width_on_load_m, rel=1e-12)


@pytest.mark.parametrize(("neck_down", "width"), [(0.4, 0.108), (0.507, 0.001), (0.509, None)])
def test_no_film_is_narrower_than_nothing(
    neck_down: float, width: float | None, today: Case
) -> None:
    """A roll of 508 mm of which 509 mm are lost: refused, as one by one."""
    plain = today.program.model_copy(
        update={"overlap": None, "rise_per_turn": 0.2, "fall_per_turn": 0.2, "ropes": ()}
    )
    assert today.film.roll_width == pytest.approx(0.508)
    case = today.with_values({"program": plain, "carriage.neck_down": 0.05})
    draws = {"carriage.neck_down": np.array([neck_down])}
    ((_, found),) = predict_draws(case, draws, 1)
    assert (found is None) == (width is None)
    if found is not None:
        assert found.film_width_on_load_m == pytest.approx(width)


def test_a_soft_load_is_predicted_draw_by_draw(today: Case) -> None:
    soft = today.with_values({"load.hoop_stiffness": 2e4})
    draws = {"program.force_to_load": np.array([30.0, 50.0])}
    for drawn, found in predict_draws(soft, draws, 2):
        assert found == predict(drawn)


def test_film_may_be_gathered_twice_alike() -> None:
    """At the bottom and again at the top, to one width: neither is wider than what it gathers."""
    plain = {
        "load_height": 1.0, "film_width": 0.4, "start_height": 0.0, "bottom_wraps": 2.0,
        "rise_per_turn": 0.2, "top_overlap": 0.0, "top_wraps": 2.0, "fall_per_turn": 0.2,
        "closing_wraps": 0.0,
    }  # fmt: skip
    ropes = (Rope(0.0, 1.0, 0.06, "lower"), Rope(6.0, 7.0, 0.06, "upper"))
    legs = wrap_path(WrapProgram(**plain, ropes=ropes))
    narrow = [(leg.first_turn, leg.last_turn) for leg in legs if leg.width == 0.06]
    assert narrow == [(0.0, 1.0), (6.0, 7.0)]
    with pytest.raises(PhysicsError, match="width"):
        wrap_path(WrapProgram(**plain, ropes=(ropes[0], Rope(0.5, 1.0, 0.06, "lower"))))
