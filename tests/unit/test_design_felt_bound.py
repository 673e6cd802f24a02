"""Design and verdict agree over patches: by hand, and against programs that know nothing of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from design_cases import random_case
from woold.case.design import Design
from woold.case.hold import HoldTarget
from woold.case.model import Case
from woold.design.choices import Choices, allowed_choices
from woold.design.search import Search
from woold.design.settings import Stop, settings_of, with_settings
from woold.design.targets import targets_of
from woold.design.varying import best_varying
from woold.design.verified import best_verified
from woold.errors import WooldError
from woold.physics.felt_boxes import felt_layers_of_boxes
from woold.physics.felt_patch import felt_containment, felt_zone
from woold.physics.helix_boxes import BoxFilm
from woold.physics.pattern import WrapProgram, wrap_path
from woold.prediction.film_on_load import film_on_load
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.predict import predict
from woold.verdict.verdict import holds_all


def task(case: Case) -> tuple[Search, Choices]:
    limits = case.design or Design()
    search = Search(case, (case.film,), targets_of(case, predict(case)), limits)
    return search, allowed_choices(case, (case.film,), limits)


def low_load() -> Case:
    """A load 20 mm higher than its film is wide, that 1.7 layers hold."""
    _, case = random_case(0)
    width = film_on_load(case).width
    case = case.with_values(
        {
            "load.height": width + 0.020,
            "program.start_height": 0.0,
            "program.top_overlap": 0.0,
            "program.closing_wraps": 0.0,
            "program.ends_at": "top",
            "program.bottom_wraps": 1.0,
            "program.top_wraps": 1.0,
            "hold.after": 0.0,
            "design": Design(force_least=case.program.force_to_load,
                             force_most=case.program.force_to_load),
        }
    )  # fmt: skip
    force = 1.7 * layer_force_later(case, is_safe=True)
    return case.with_values({"hold.targets": (HoldTarget(low=0.0, high=None, force=force),)})


def test_a_load_a_little_higher_than_the_film_by_hand() -> None:
    # At its lowest and highest point 1.7 layers are 2, and no pass reaches both: 4 turns, at every
    # point. A turn at the bottom, one 10 mm up and one at the top are 3. Of the lowest 25 mm the
    # first covers all, the second 15 mm and the third 5 mm: (25 + 15 + 5)/25 = 1.8 layers, which
    # a hand feels as more than 1.7; at the top likewise. Two passes are not enough: the one leaves
    # 0.7 of a layer of the lowest patch to the other, which so lies no higher than 7.5 mm, and of
    # the highest patch the two have (5 + 5 + 7.5)/25 = 0.7 layers. Passes are whole but for the
    # patch in which film begins and the one in which it ends.
    case = low_load()
    search, choices = task(case)
    sheet = film_on_load(case)
    a_turn = sheet.mass_per_metre * search.around.load
    tails = sheet.mass_per_metre * search.tails
    bound = search.bound(choices, "film")
    assert bound is not None
    turns = 3.0 - 2.0 / round(search.around.load / 0.050)
    assert bound.bound == pytest.approx(turns * a_turn + tails, rel=1e-6)
    three = replace(settings_of(case), bands=(Stop(0.010, 1.0, "up"),))
    made = with_settings(case, case.film, three)
    p = predict(made)
    assert p.turns == pytest.approx(3.0, abs=0.2)
    assert bound.bound < p.film_mass_kg < 4.0 * a_turn + tails
    assert holds_all(made, p) is True
    assert not search.targets.shortfalls(made, p)
    (asked,) = case.hold.targets
    on_load = [each for each in p.containment_profile if each.height_m >= 0.0]
    assert min(each.force_later_low_n for each in on_load) < 0.6 * asked.force  # at a point


@pytest.mark.parametrize("seed", [1, 10, 23])
def test_what_is_chosen_holds_by_the_verdict_and_no_near_program_lies_below(seed: int) -> None:
    """Programs near the best that hold by the verdict, whose points may hold less."""
    _, case = random_case(seed)
    search, choices = task(case)
    chosen, _ = best_verified(search, choices, "film")
    assert chosen is not None
    assert holds_all(chosen.case, chosen.prediction) is True
    bound = search.bound(choices, "film")
    assert bound is not None
    varying = best_varying(search, choices, "film", chosen)
    assert varying is not None
    assert 0.85 * varying.candidate.film_mass < bound.bound <= varying.candidate.film_mass
    rng, best, held = np.random.default_rng(seed), varying.candidate.settings, 0
    for _ in range(60):
        rise = min(best.rise_per_turn_m * rng.uniform(0.95, 1.02), max(choices.rises))
        bands = tuple(
            replace(each, wraps=each.wraps * rng.uniform(0.95, 1.1)) for each in best.bands
        )
        tried = with_settings(case, case.film, replace(best, rise_per_turn_m=rise, bands=bands))
        try:
            p = predict(tried)
        except WooldError:
            continue
        if holds_all(tried, p):
            held += 1
            assert p.film_mass_kg >= bound.bound
    assert held > 0


@pytest.mark.parametrize("closing", [0.0, 0.4])
@pytest.mark.parametrize("ends_at", ["top", "bottom"])
def test_no_helix_of_a_box_lays_more_over_its_barest_patch_than_the_box(
    ends_at: str, closing: float
) -> None:
    _, case = random_case(3)
    case = case.with_values({"program.ends_at": ends_at, "program.closing_wraps": closing})
    search, _ = task(case)
    grid, low, height = search.grid, case.program.start_height, case.load.height
    top = height + case.program.top_overlap
    rng, width = np.random.default_rng(7), film_on_load(case).width
    rows = (grid.bottoms, grid.patch, float(grid.around))
    for _ in range(30):
        rise, fall = rng.uniform(0.06, 0.4, 2)
        size = 10.0 ** rng.uniform(-6.0, -0.5)
        wide = width * (1.0 + 0.1 * size)
        falls = (0.0, 0.0) if ends_at == "top" else (fall, fall * (1.0 + size))
        boxes = np.array([[rise, rise * (1.0 + size), *falls]])
        most = np.empty((1, grid.rows))
        felt_layers_of_boxes(boxes, BoxFilm(low, top, width, wide, closing), rows, most)
        share, at = rng.uniform(0.0, 1.0, 2)
        made = width + share * (wide - width)
        legs = wrap_path(WrapProgram(
            load_height=height, film_width=made, start_height=low, bottom_wraps=0.0,
            rise_per_turn=rise * (1.0 + at * size), top_overlap=case.program.top_overlap,
            top_wraps=0.0, fall_per_turn=fall * (1.0 + (1.0 - at) * size),
            closing_wraps=closing, ends_at_top=ends_at == "top",
        ))  # fmt: skip
        felt = felt_containment(legs, [[1.0] * len(legs)], search.around.load, height)
        assert (felt.least_round[0] <= most[0] + 1e-9).all()
        if size < 1e-5:
            # Where nothing is left open it is nearly what the barest patch holds.
            assert np.median(most[0] - felt.least_round[0]) < 0.06


def test_a_zone_lower_than_a_patch_is_held_as_it_is_judged() -> None:
    # 12 mm are judged by patches of 25 mm that reach out of it, so all of that is laid.
    _, case = random_case(0)
    asked = 2.5 * layer_force_later(case, is_safe=True)
    zone = HoldTarget(low=0.303, high=0.315, force=asked)
    case = case.with_values({"hold.targets": (zone,)})
    search, choices = task(case)
    (wanted,) = search.targets.zones
    assert wanted.low <= 0.303 - 0.005
    assert wanted.high >= 0.315 + 0.005
    chosen, _ = best_verified(search, choices, "film")
    assert chosen is not None
    assert holds_all(chosen.case, chosen.prediction) is True
    felt = chosen.prediction.felt
    least = felt_zone(felt.patches, felt.step, (0.303, 0.315)).least * felt.worse_share
    assert least >= asked * (1.0 - 1e-7)
