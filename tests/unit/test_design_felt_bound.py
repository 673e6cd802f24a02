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
from woold.design.felt_bound import felt_film_bound
from woold.design.search import Search
from woold.design.settings import Stop, settings_of, with_settings
from woold.design.targets import targets_of
from woold.design.varying import best_varying
from woold.design.verified import best_verified
from woold.errors import WooldError
from woold.physics.felt_patch import felt_zone
from woold.prediction.film_on_load import film_on_load
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.verdict.verdict import holds_all


def task(case: Case) -> tuple[Search, Choices, Prediction]:
    today, limits = predict(case), case.design or Design()
    search = Search(case, (case.film,), targets_of(case, today), limits)
    return search, allowed_choices(case, (case.film,), limits), today


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
    # a hand feels as more than 1.7; at the top likewise. A patch is touched by 2 passes, and 2
    # passes may touch both: no less than 2 turns is what holds over patches.
    case = low_load()
    search, choices, today = task(case)
    sheet = film_on_load(case)
    a_turn = sheet.mass_per_metre * search.around.load
    tails = sheet.mass_per_metre * search.tails
    exact = search.bound(choices, "film")
    assert exact is not None
    assert exact.bound == pytest.approx(4.0 * a_turn + tails, rel=0.02)
    felt = felt_film_bound(search, choices, today.felt, exact.bound)
    # Less two places of 50 mm at which the film begins and ends.
    places = round(search.around.load / 0.05)
    assert felt == pytest.approx((2.0 - 2.0 / places) * a_turn + tails, rel=1e-6)
    three = replace(settings_of(case), bands=(Stop(0.010, 1.0, "up"),))
    made = with_settings(case, case.film, three)
    p = predict(made)
    assert p.turns == pytest.approx(3.0, abs=0.2)
    assert felt < p.film_mass_kg < exact.bound
    assert holds_all(made, p) is True
    assert search.targets.shortfalls(made, p)  # a point of it holds less


@pytest.mark.parametrize("seed", [1, 10, 23])
def test_what_is_chosen_holds_by_the_verdict_and_no_near_program_lies_below(seed: int) -> None:
    """Programs near the best that hold by the verdict, whose points may hold less."""
    _, case = random_case(seed)
    search, choices, today = task(case)
    chosen, _ = best_verified(search, choices, "film")
    assert chosen is not None
    assert holds_all(chosen.case, chosen.prediction) is True
    exact = search.bound(choices, "film")
    assert exact is not None
    felt = felt_film_bound(search, choices, today.felt, exact.bound)
    varying = best_varying(search, choices, "film", chosen)
    assert felt is not None
    assert varying is not None
    assert 0.85 * exact.bound < felt <= exact.bound
    rng, best, held = np.random.default_rng(seed), varying.candidate.settings, 0
    for _ in range(60):
        rise = min(best.rise_per_turn_m * rng.uniform(0.95, 1.1), max(choices.rises))
        bands = tuple(
            replace(each, wraps=each.wraps * rng.uniform(0.9, 1.0)) for each in best.bands
        )
        tried = with_settings(case, case.film, replace(best, rise_per_turn_m=rise, bands=bands))
        try:
            p = predict(tried)
        except WooldError:
            continue
        if holds_all(tried, p):
            held += 1
            assert p.film_mass_kg >= felt
    assert held > 0


def test_a_zone_lower_than_a_patch_is_held_as_it_is_judged() -> None:
    # 12 mm are judged by patches of 25 mm that reach out of it, so all of that is laid.
    _, case = random_case(0)
    asked = 2.5 * layer_force_later(case, is_safe=True)
    zone = HoldTarget(low=0.303, high=0.315, force=asked)
    case = case.with_values({"hold.targets": (zone,)})
    search, choices, _ = task(case)
    (wanted,) = search.targets.zones
    assert wanted.low <= 0.303 - 0.005
    assert wanted.high >= 0.315 + 0.005
    chosen, _ = best_verified(search, choices, "film")
    assert chosen is not None
    assert holds_all(chosen.case, chosen.prediction) is True
    felt = chosen.prediction.felt
    least = felt_zone(felt.patches, felt.step, (0.303, 0.315)).least * felt.worse_share
    assert least >= asked * (1.0 - 1e-7)
