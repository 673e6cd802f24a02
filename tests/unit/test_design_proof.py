"""Branch and bound: boxes against helices, and against programs that are known to hold."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import Any

import numpy as np
import pytest

from design_cases import random_case
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.things import ShelfFilm
from woold.design.choices import Choices, allowed_choices
from woold.design.costs import Costs
from woold.design.proof import any_that_holds, prove, proven_best
from woold.design.refined import best_between
from woold.design.result import NEAR_ENOUGH, DesignResult
from woold.design.rows import answer_blocks, design_blocks, nearness_text
from woold.design.search import Search
from woold.design.settings import Settings, with_settings
from woold.design.study import design_program
from woold.design.targets import targets_of
from woold.design.verified import best_verified, verify
from woold.physics import layer_count, pattern
from woold.physics.helix_boxes import (
    BoxFilm,
    fewest_tier_wraps,
    fewest_wraps_of_boxes,
    most_layers_of_boxes,
)
from woold.physics.tier_wraps import tiers_stand
from woold.prediction.film_on_load import film_on_load
from woold.prediction.predict import predict
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording


def task(case: Case) -> tuple[Search, Choices]:
    assert case.design is not None
    search = Search(case, (case.film,), targets_of(case, predict(case)), case.design)
    return search, allowed_choices(case, (case.film,), case.design)


def helix_layers(
    film: BoxFilm, width: float, rise: float, fall: float, heights: np.ndarray
) -> np.ndarray:
    """Least layers of one helix up and down, as the prediction counts them."""
    legs = pattern.wrap_path(
        pattern.WrapProgram(
            load_height=film.top, film_width=width, start_height=film.lowest_edge,
            bottom_wraps=0.0, rise_per_turn=rise, top_overlap=0.0, top_wraps=0.0,
            fall_per_turn=fall or rise, closing_wraps=0.0, ends_at_top=fall == 0.0,
        )
    )  # fmt: skip
    least, _ = layer_count.weighted_layers(legs, [[1.0] * len(legs)], heights)
    return np.asarray(least[0])


def layers_of(boxes: list[list[float]], film: BoxFilm, heights: np.ndarray) -> np.ndarray:
    layers = np.empty((len(boxes), heights.size))
    most_layers_of_boxes(np.array(boxes), film, heights, layers)
    return layers


def test_boxes_by_hand() -> None:
    # 0.5 m film up and down at 0.25 m a turn: every pass of a height lasts 2 turns in the middle.
    film = BoxFilm(0.0, 2.0, 0.5, 0.5)
    heights = np.array([0.75, 1.0, 1.2])
    assert layers_of([[0.25, 0.25, 0.25, 0.25]], film, heights).tolist() == [[4.0, 4.0, 4.0]]
    assert layers_of([[0.25, 0.25, 0.0, 0.0]], film, heights).tolist() == [[2.0, 2.0, 2.0]]
    # Some rise from 0.2 to 0.25 m lays no more than the 2.5 turns of the gentlest.
    assert layers_of([[0.2, 0.25, 0.0, 0.0]], film, heights).max() <= 3.0
    # Three layers wanted all over: one band at each of four film widths of height, or 1 + 1 at the
    # ends where the middle has enough.
    need, wraps = np.array([3.0, 2.0, 3.0]), np.empty((1, 3))
    at = np.array([0.1, 1.0, 1.9])
    given = (0.0, 0.0, 5.0, 5.0)
    fewest_wraps_of_boxes(need, at, np.full((1, 3), 2.0), film, given, False, wraps)
    assert wraps.tolist() == [[2.0, 1.0, 1.0]]
    fewest_wraps_of_boxes(need + 1.0, at, np.full((1, 3), 2.0), film, given, False, wraps)
    assert math.isinf(wraps[0, 0])  # the middle is out of reach of both ends
    fewest_wraps_of_boxes(need + 1.0, at, np.full((1, 3), 2.0), film, given, True, wraps)
    assert wraps.tolist() == [[5.0, 0.0, 0.0]]


def test_no_helix_of_a_box_lays_more_than_the_box() -> None:
    rng = np.random.default_rng(4)
    heights = np.linspace(0.0, 1.5, 61)
    for _ in range(40):
        width = rng.uniform(0.3, 0.7)
        film = BoxFilm(rng.uniform(-0.1, 0.0), 1.5 + rng.uniform(0.0, 0.2), width, 1.02 * width)
        rise, fall = rng.uniform(0.08, 0.4, 2)
        size = rng.choice([0.0, 1e-3, 0.05])
        one_way = rng.random() < 0.3
        falls = [0.0, 0.0] if one_way else [fall, fall + size]
        (box,) = layers_of([[rise, rise + size, *falls]], film, heights)
        for _ in range(8):
            some = rng.uniform(width, 1.02 * width) if size else width
            fall_made = 0.0 if one_way else fall + size * rng.random()
            made = helix_layers(film, some, rise + size * rng.random(), fall_made, heights)
            assert (made <= box + 1e-9).all()
        if size == 0.0:
            exact = BoxFilm(film.lowest_edge, film.top, width, width)
            (point,) = layers_of([[rise, rise, *falls]], exact, heights)
            assert np.abs(point - made).max() <= 1e-9


@pytest.mark.parametrize("seed", [2, 14, 26])
def test_fewest_tier_wraps_equal_trying_every_choice(seed: int) -> None:
    _, case = random_case(seed)
    search, _ = task(case)
    tiers = search.targets.tiers
    assert tiers is not None
    tables = tiers.tables(case, film_on_load(case), 0.0, 1.0)
    rng, m = np.random.default_rng(seed), case.load.tiers
    for _ in range(12):
        base = rng.integers(1, 9, m).astype(float)
        sets = (rng.random((3, m)) < 0.6).astype(float)
        found = fewest_tier_wraps(tables, base, np.arange(m), sets, 6)
        tried = [
            sum(wraps)
            for wraps in itertools.product(range(7), repeat=3)
            if sum(wraps) <= 6 and tiers_stand(tables, base + np.array(wraps) @ sets, True)
        ]
        assert found == min(tried, default=7)


@pytest.mark.parametrize("seed", [0, 2, 4, 5, 9])
def test_the_bound_lies_below_every_program_near_and_far(seed: int) -> None:
    _, case = random_case(seed)
    search, steps = task(case)
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    assert best is not None
    proof = prove(search, choices, "film", best.candidate.score)
    assert proof is not None
    assert proof.is_closed
    assert best.candidate.score <= (1.0 + NEAR_ENOUGH) * proof.bound
    rng, limit = np.random.default_rng(seed), case.hold.edge_load_limit
    made, lightest = best.candidate.settings, math.inf
    for _ in range(150):
        near = rng.random() < 0.7
        rises = [
            float(np.clip(each * (1.0 + 0.02 * rng.standard_normal()), 0.08, 0.4))
            if near
            else float(rng.uniform(0.08, 0.4))
            for each in (made.rise_per_turn_m, made.fall_per_turn_m or 0.1)
        ]
        force = float(np.clip(made.force_to_load_n + rng.uniform(-2, 0.5), 20.0, 100.0))
        settings = Settings(
            made.film, made.prestretch, force, max(made.bottom_wraps + rng.integers(-1, 2), 1.0),
            rises[0], max(made.top_wraps + rng.integers(-1, 2), 1.0),
            None if made.fall_per_turn_m is None else rises[1], (), made.speed_rad_per_s,
        )  # fmt: skip
        tried = with_settings(case, case.film, settings)
        p = predict(tried)
        peak = search.limits.tension_peak * force / p.drawing_force_n
        too_hard = limit is not None and (p.corner_force_max_n_per_m or 0.0) > limit
        if peak <= 0.9 and not too_hard and not search.targets.shortfalls(tried, p):
            lightest = min(lightest, p.film_mass_kg)
    assert lightest >= proof.bound * (1.0 - 1e-9)


@pytest.mark.parametrize("seed", [11, 38])
def test_narrow_room_between_layers_and_corners_or_friction_is_proven(seed: int) -> None:
    # 11: what six layers hold below, and corners bear above, lie 2 % of the force apart.
    # 38: film pulls no tier back, since friction keeps it.
    _, case = random_case(seed)
    search, steps = task(case)
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    if best is None:
        best, choices = any_that_holds(search, choices, "film")
    assert best is not None
    best, choices, proof = proven_best(search, choices, "film", best)
    assert proof is not None
    assert proof.is_closed
    assert proof.bound <= best.candidate.score <= (1.0 + NEAR_ENOUGH) * proof.bound


def test_what_cannot_be_proven_is_looked_at_and_bettered() -> None:
    _, case = random_case(7)
    search, steps = task(case)
    # A search that knows the ends of the ranges alone misses what lies between.
    ends = (min(steps.rises), max(steps.rises))
    coarse = dataclasses.replace(steps, rises=ends, falls=ends if steps.falls else ())
    first, _ = best_verified(search, coarse, "film")
    assert first is not None
    best, choices, proof = proven_best(search, coarse, "film", first)
    assert proof is not None
    assert best.candidate.score < 0.98 * first.candidate.score
    assert proof.bound <= best.candidate.score
    assert verify(search, best.candidate) is not None
    assert best.candidate.settings.rise_per_turn_m in choices.rises


def known_to_hold(seed: int) -> tuple[Case, float] | None:
    """A case that asks for what a random program of it holds, and that program's film [kg]."""
    _, case = random_case(seed)
    rng = np.random.default_rng(1000 + seed)
    returns = case.program.ends_at != "top"
    search, choices = task(case)
    settings = Settings(
        search.films.names[0], choices.prestretches[0], float(rng.uniform(30.0, 60.0)),
        float(rng.integers(1, 9)), float(rng.uniform(0.08, 0.3)), float(rng.integers(1, 9)),
        float(rng.uniform(0.08, 0.3)) if returns else None, (), choices.speeds[0],
    )  # fmt: skip
    case = case.with_values({"hold.edge_load_limit": None})
    made = with_settings(case, case.film, settings)
    p = predict(made)
    if case.transport is not None:
        search, _ = task(case)
        return None if search.targets.shortfalls(made, p) else (case, p.film_mass_kg)
    points = p.containment_profile
    targets = tuple(
        zone.model_copy(
            update={
                "force": (1.0 - 1e-6)
                * min(
                    each.force_later_low_n
                    for each in points
                    if zone.low <= each.height_m <= (zone.high or case.load.height)
                )
            }
        )
        for zone in case.hold.targets
    )
    return case.with_values({"hold.targets": targets}), p.film_mass_kg


@pytest.mark.parametrize("seed", [0, 1, 3, 4, 5, 6, 7, 9, 10])
def test_what_a_program_is_known_to_hold_is_never_called_impossible(seed: int) -> None:
    known = known_to_hold(seed)
    assert known is not None
    case, mass = known
    search, steps = task(case)
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    assert best is not None
    best, _, _ = proven_best(search, choices, "film", best)
    assert best.candidate.film_mass <= 1.01 * mass


def test_transport_that_a_program_is_known_to_stand_is_never_called_impossible() -> None:
    stood = 0
    for seed in range(2, 200, 6):
        known = known_to_hold(seed)
        if known is None:
            continue
        stood += 1
        case, mass = known
        search, steps = task(case)
        grid, _ = best_verified(search, steps, "film")
        best, choices = best_between(search, steps, "film", grid)
        assert best is not None, seed
        if best.candidate.film_mass > 1.01 * mass:
            best, _, _ = proven_best(search, choices, "film", best)
        assert best.candidate.film_mass <= 1.01 * mass
        if stood == 4:
            break
    assert stood == 4


def test_cost_of_a_load_by_hand(table: dict[str, Any]) -> None:
    table["plant"] = {"standstill_price": "60 USD/h", "breaks_per_1000_loads": 5}
    table["film"] |= {"price": "2 USD/kg", "roll_mass": "16 kg"}
    table["machine"]["rethread_time"] = "3 min"
    case = case_from_table(table)
    costs = Costs(case, (case.film,), turns_today=20.0)
    parts = costs.parts(0, mass=0.2, time=90.0, turns=10.0)
    assert parts is not None
    assert parts.film == pytest.approx(0.40)  # 0.2 kg at 2 USD
    assert parts.machine_time == pytest.approx(1.50)  # 90 s at 1 USD a minute
    assert parts.roll_changes == pytest.approx(0.0375)  # 80 loads a roll, 3 USD a change
    assert parts.breaks == pytest.approx(0.0075)  # 2.5 breaks in 1000 loads, 3 USD each
    assert costs.per_load(0, 0.2, 90.0, 10.0) == pytest.approx(parts.total)
    assert parts.total == pytest.approx(1.945)


def test_the_answer_says_the_proven_gap(table: dict[str, Any]) -> None:
    from woold.case.file import case_from_table

    table["hold"] = {"targets": [{"force": "100 N"}]}
    result = design_program(case_from_table(table))
    assert result.machine_gap is not None
    assert 0.0 <= result.machine_gap <= NEAR_ENOUGH
    assert result.boxes_bounded > 0
    share = math.ceil(1e3 * result.machine_gap) / 10
    text = nearness_text(result, Wording("si"))
    assert f"within {max(share, 0.1):.1f} % of the best that this machine can run" in text


def told(result: DesignResult) -> list[str]:
    say = Wording("si")
    return block_texts(tuple(design_blocks(result, say, say)))


def test_the_first_line_says_that_today_does_not_hold(table: dict[str, Any]) -> None:
    table["hold"] = {"targets": [{"force": "150 N"}]}
    table["plant"] = {"standstill_price": "60 USD/h"}
    result = design_program(case_from_table(table))
    assert result.today.verdict.fails
    assert result.chosen is not None
    say = Wording("si")
    first, second = (block_texts((each,)) for each in list(answer_blocks(result, say))[:2])
    assert "does not hold" in first[0]
    # Money, film and hold against today, each from the two programs.
    cost = result.today.cost - result.chosen.cost  # type: ignore[operator]
    film = 1.0 - result.chosen.film_mass_kg / result.today.film_mass_kg
    assert f"{abs(cost):.2f} USD a load {'cheaper' if cost > 0 else 'dearer'}" in second[0]
    assert f"{abs(100 * film):.1f} % {'less' if film > 0 else 'more'} film" in second[0]
    assert f"{100 * result.chosen.share_of_targets:.0f} % of what is asked held" in second[0]
    assert result.chosen.share_of_targets == result.chosen.verdict.share


def test_a_proposal_that_does_not_hold_is_not_shown(table: dict[str, Any]) -> None:
    table["hold"] = {"targets": [{"force": "100 N"}]}
    result = design_program(case_from_table(table))
    assert result.chosen is not None
    shown = " ".join(told(result))
    assert "Settings for least film" in shown
    fails = dataclasses.replace(result.chosen.verdict, holds=False)
    chosen = dataclasses.replace(result.chosen, verdict=fails, holds=False)
    hidden = " ".join(told(dataclasses.replace(result, chosen=chosen)))
    assert "Settings for least film" not in hidden
    assert "not known to hold" in hidden


def test_today_is_kept_where_nothing_better_holds(table: dict[str, Any]) -> None:
    table["hold"] = {"targets": [{"force": "60 N"}]}
    result = design_program(case_from_table(table))
    assert result.today.holds
    assert "keep it" not in " ".join(told(result))
    assert "keep it" in " ".join(told(dataclasses.replace(result, keep_today=True)))


def test_of_two_equal_films_todays_is_kept(table: dict[str, Any]) -> None:
    table["hold"] = {"targets": [{"force": "100 N"}]}
    case = case_from_table(table)
    twin = ShelfFilm(**{**dict(case.film), "name": "twin", "elongation_at_break": 6.0})
    result = design_program(case, [twin])
    assert result.chosen is not None
    assert result.chosen.settings.film == result.today.settings.film
    assert "film" not in result.changed


def test_films_without_a_price_are_left_out_of_the_least_cost(table: dict[str, Any]) -> None:
    table["plant"] = {"standstill_price": "60 USD/h"}
    case = case_from_table(table)
    free = ShelfFilm(**{**dict(case.film), "name": "free", "price": None, "thickness": 12e-6})
    result = design_program(case, [free])
    assert result.objective == "cost"
    assert result.chosen is not None
    assert result.chosen.settings.film != "free"
    (finding,) = (each for each in result.findings if each.code == "films_without_price")
    assert "free" in finding.message
