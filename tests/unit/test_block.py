"""A block of predictions against the same predictions one by one."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from importlib.resources import files

import numpy as np
import pytest

from random_lines import random_load, random_program, with_random_machine
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import WooldError
from woold.physics.felt_patch import felt_zone
from woold.prediction.block import BlockPrediction, predict_block
from woold.prediction.film_on_load import film_on_load
from woold.prediction.load_columns import load_columns
from woold.prediction.predict import predict

_BESIDE = ("can_be", "target_share", "corner_force_max_n_per_m")


@pytest.fixture(scope="module")
def today() -> Case:
    text = files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
    return case_from_table(tomllib.loads(text))


def assert_alike(block: float, single: float | None, name: str) -> None:
    expected = np.nan if single is None else single
    assert block == pytest.approx(expected, rel=1e-9, abs=1e-12, nan_ok=True), name


@pytest.mark.parametrize("seed", range(12))
def test_block_says_what_single_predictions_say(seed: int, today: Case) -> None:
    draw = np.random.default_rng(seed)
    case = with_random_machine(today, draw).with_values({"program": random_program(draw)})
    loads, holds = zip(*(random_load(draw) for _ in range(12)), strict=True)
    block = predict_block(case, film_on_load(case), load_columns(loads, holds))
    names = [each.name for each in fields(BlockPrediction) if each.name not in _BESIDE]
    for index, (load, hold) in enumerate(zip(loads, holds, strict=True)):
        try:
            single = predict(case.with_values({"load": load, "hold": hold}))
        except WooldError:
            assert not block.can_be[index]
            assert np.isnan(block.film_mass_kg[index])
            continue
        assert block.can_be[index]
        for name in names:
            assert_alike(getattr(block, name)[index], getattr(single, name), name)
        corner = single.corner_force_max_n_per_m
        assert_alike(block.corner_force_max_n_per_m[index], corner, "corner")
        for at, target in enumerate(hold.targets):
            high = load.height if target.high is None else target.high
            share = np.nan
            if high <= load.height:
                felt = felt_zone(single.felt.patches, single.felt.step, (target.low, high))
                share = felt.least * single.felt.worse_share / target.force
            assert_alike(block.target_share[index, at], share, "target")


def test_one_level_band_by_hand(today: Case) -> None:
    # Two turns at one height on a square of 1 m: 8 m of film, two layers, twice the film's force;
    # at 60 s a turn both turns last two minutes.
    case = today.with_values(
        {
            "program.bottom_wraps": 2.0,
            "program.top_wraps": 0.0,
            "program.closing_wraps": 0.0,
            "program.ends_at": "top",
            "program.start_height": 0.0,
            "program.top_overlap": 0.0,
            "program.start_tail": 0.0,
            "program.end_tail": 0.0,
            "program.ropes": (),
            "program.pauses": (),
            "machine.speed": 2.0 * np.pi / 60.0,
            "machine.ramp_up": 0.0,
            "machine.ramp_down": 0.0,
            "machine.end_time": 0.0,
            "film.force_loss_per_decade": 0.0,
        }
    )
    load = today.load.model_copy(
        update={"length": 1.0, "width": 1.0, "height": 0.3, "offset": (0.0, 0.0),
                "pallet_length": None, "pallet_width": None}
    )  # fmt: skip
    sheet = film_on_load(case)
    assert sheet.width > 0.3
    block = predict_block(case, sheet, load_columns([load], [today.hold]))
    assert block.film_length_m[0] == pytest.approx(8.0)
    assert block.layers_min[0] == pytest.approx(2.0)
    assert block.turns[0] == pytest.approx(2.0)
    assert block.cycle_time_s[0] == pytest.approx(120.0)
    assert block.containment_later_min_n[0] == pytest.approx(2.0 * case.program.force_to_load)
    assert block.film_speed_max_m_per_s[0] == pytest.approx(0.5 * np.sqrt(2.0) * 2.0 * np.pi / 60.0)


def test_program_that_cannot_be_run_is_marked(today: Case) -> None:
    case = today.with_values({"program.start_height": 1.0})
    low = today.load.model_copy(update={"height": 0.5})
    block = predict_block(
        case, film_on_load(case), load_columns([low, today.load], [today.hold] * 2)
    )
    assert block.can_be.tolist() == [False, True]
    assert np.isnan(block.cycle_time_s[0])
