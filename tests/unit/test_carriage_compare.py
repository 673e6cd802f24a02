"""Two carriages on one load: the saving adds up, spends both ways, and its range is honest."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from woold.carriages.compare import at_same_overlap, compare_carriages
from woold.carriages.comparison import CarriageComparison
from woold.carriages.comparison_rows import comparison_blocks
from woold.carriages.saving import CarriageOnLoad, drawn_savings, shared_unknowns
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import InputError
from woold.prediction.predict import predict
from woold.rows.wording import Wording
from woold.uncertainty.draws import draw_unknowns

BASE = {"gap": "75 mm", "contact_angle_slow": "125 deg", "contact_angle_fast": "130 deg"}
CANDIDATE = {"gap": "35 mm", "contact_angle_slow": "180 deg", "contact_angle_fast": "180 deg"}


def carriage(table: dict[str, Any], **changes: Any) -> Case:
    known = {
        name: {"value": text, "origin": "measured"}
        for name, text in changes.items()
        if isinstance(text, str)
    }
    table = table | {"carriage": table["carriage"] | changes | known}
    return case_from_table(table)


@pytest.fixture
def pair(table: dict[str, Any]) -> tuple[Case, Case]:
    return carriage(table, **BASE), carriage(table, **CANDIDATE)


@pytest.fixture
def comparison(pair: tuple[Case, Case]) -> CarriageComparison:
    return compare_carriages(*pair, draws=2000)


def test_parts_add_up_to_the_saving(comparison: CarriageComparison) -> None:
    stretch, width, both = comparison.causes
    assert stretch.share + width.share == pytest.approx(both.share, abs=1e-15)
    assert both.share == both.alone == comparison.saving
    assert comparison.saving == pytest.approx(
        1 - comparison.candidate.film_mass_kg / comparison.base.film_mass_kg
    )


def test_one_cause_alone_is_what_a_prediction_with_only_it_says(
    pair: tuple[Case, Case], comparison: CarriageComparison
) -> None:
    base, _ = pair
    before = predict(base)
    # Neck-down alone: the base with the candidate's width, at the base's stretch and overlap.
    narrow = base.with_values(
        {"carriage.film_width_on_load": comparison.candidate.film_width_on_load_m}
    )
    after = predict(at_same_overlap(narrow, before))
    assert comparison.causes[1].alone == pytest.approx(
        1 - after.film_mass_kg / before.film_mass_kg, rel=1e-9
    )


def test_same_overlap_and_containment(
    pair: tuple[Case, Case], comparison: CarriageComparison
) -> None:
    del pair
    assert comparison.candidate.overlap_up == pytest.approx(comparison.base.overlap_up)
    assert comparison.candidate.turns < comparison.base.turns
    assert comparison.candidate.layers_min == comparison.base.layers_min
    assert comparison.candidate.cycle_time_s < comparison.base.cycle_time_s


def test_the_two_ways_to_spend_are_the_same_film(
    pair: tuple[Case, Case], comparison: CarriageComparison
) -> None:
    base, candidate = pair
    spending = comparison.spending
    assert spending.overlap_at_equal_film is not None
    swapped = base.with_section_of("carriage", candidate).with_values(
        {
            "program.overlap": spending.overlap_at_equal_film,
            "program.rise_per_turn": None,
            "program.fall_per_turn": None,
        }
    )
    richer = predict(swapped)
    assert richer.film_mass_kg == pytest.approx(comparison.base.film_mass_kg, rel=1e-9)
    assert richer.layers_mean == spending.layers_mean_at_equal_film
    assert richer.layers_mean > comparison.base.layers_mean
    per_turn = comparison.candidate.film_mass_kg / comparison.candidate.film_length_m * 4.4
    assert spending.extra_turns * per_turn == pytest.approx(spending.film_saved_kg)
    assert spending.film_saved_kg == pytest.approx(
        comparison.base.film_mass_kg - comparison.candidate.film_mass_kg
    )


def test_the_same_carriage_saves_nothing(pair: tuple[Case, Case]) -> None:
    base, _ = pair
    same = compare_carriages(base, base, draws=500)
    assert same.saving == pytest.approx(0.0, abs=1e-14)
    assert same.saving_interval.low == same.saving_interval.high == 0.0
    # Measured values apart, what is unknown is unknown alike in both.
    assert not [name for name in same.varied if name.startswith(("base.", "candidate."))]


def test_exchanged_carriages_lose_what_was_saved(pair: tuple[Case, Case]) -> None:
    # With a typed overlap both directions wrap alike.
    overlap = {
        "program.overlap": 0.55,
        "program.rise_per_turn": None,
        "program.fall_per_turn": None,
    }
    base, candidate = (case.with_values(overlap) for case in pair)
    there = compare_carriages(base, candidate, draws=500)
    back = compare_carriages(candidate, base, draws=500)
    assert back.saving == pytest.approx(1 - 1 / (1 - there.saving))
    assert back.spending.extra_turns < 0
    assert back.candidate_uses_less_share < 0.5


def test_seed_decides_the_draws(pair: tuple[Case, Case], comparison: CarriageComparison) -> None:
    assert compare_carriages(*pair, draws=2000) == comparison
    other = compare_carriages(*pair, draws=2000, seed=2)
    assert other.saving == comparison.saving
    assert other.saving_interval != comparison.saving_interval


@pytest.mark.parametrize("fall", [0.2, 0.3])
def test_draws_agree_with_whole_predictions(pair: tuple[Case, Case], fall: float) -> None:
    """The vectorised draws, one by one through the whole prediction."""
    base, candidate = (case.with_values({"program.fall_per_turn": fall}) for case in pair)
    before = predict(base)
    other = at_same_overlap(base.with_section_of("carriage", candidate), before)
    unknowns, names = shared_unknowns(base, other)
    carriages = (
        CarriageOnLoad(base, before, before),
        CarriageOnLoad(other, predict(other), before),
    )
    shares = drawn_savings(carriages, unknowns, names, 100, 5, None, None)
    drawn = draw_unknowns(unknowns, 100, np.random.default_rng(5))
    for index in range(0, 100, 9):
        masses = []
        for case, own in zip((base, other), names, strict=True):
            values = {field: float(drawn[name][index]) for field, name in own.items()}
            masses.append(predict(at_same_overlap(case.with_values(values), before)).film_mass_kg)
        # Lengths are read between 129 widths.
        assert shares["both"][index] == pytest.approx(1 - masses[1] / masses[0], abs=2e-6)


def test_draws_in_which_film_tears_do_not_count(table: dict[str, Any]) -> None:
    """Pre-stretch of 260 %, 240 % at least and 320 % at most, of film that tears at 300 %.

    PERT from 3.4 to 4.2 with its peak at 3.6 is a beta distribution of 2 and 4; three quarters of
    the range lie below 4.0, above which 1/4⁵ + 5 × 3/4 × 1/4⁴ = 1.5625 % are. With either carriage
    alone, so that the worse of both decides.
    """
    drawn = {"value": "260 %", "origin": "counted teeth", "low": "240 %", "high": "320 %"}
    at_break = {"value": "300 %", "origin": "measured"}
    table["film"] |= {"elongation_at_break": at_break, "rated_prestretch": "290 %"}
    table["carriage"]["friction"] = 0.9
    plain, spread = carriage(table), carriage(table, prestretch=drawn)
    for base, other in ((plain, spread), (spread, plain)):
        before = predict(base)
        carriages = tuple(CarriageOnLoad(each, predict(each), before) for each in (base, other))
        unknowns, names = shared_unknowns(base, other)
        (name,) = [each.name for each in unknowns if each.name.endswith("prestretch")]
        assert name.startswith("base." if base is spread else "candidate.")
        found = drawn_savings(carriages, unknowns, names, 2000, 1, None, None)
        # Three standard errors of 2000 draws are 0.8 %.
        assert found["both"].size / 2000 == pytest.approx(1 - 0.015625, abs=0.008)


def test_correlation_moves_the_interval(table: dict[str, Any]) -> None:
    base = carriage(table, **BASE, friction={"value": 0.6, "origin": "a", "low": 0.4, "high": 0.8})
    other = carriage(
        table, **CANDIDATE, friction={"value": 0.6, "origin": "b", "low": 0.4, "high": 0.8}
    )
    pair = ("base.carriage.friction", "base.carriage.unwind_tension")
    spans = []
    base = base.with_section_of("carriage", _measured_unwind(base))
    for value in (-0.95, 0.95):
        found = compare_carriages(base, other, draws=4000, correlations={pair: value})
        spans.append(found.saving_interval.high - found.saving_interval.low)
    # Friction and tension that go together make the grip more uncertain.
    assert spans[1] > spans[0] * 1.05


def _measured_unwind(case: Case) -> Case:
    from woold.case.origin import Origin

    origin = Origin("measured", is_placeholder=False, low=15.0, high=35.0)
    return case.with_origins({**case._stated, "carriage.unwind_tension": origin})


def test_other_sections_are_named_and_not_used(table: dict[str, Any]) -> None:
    base = carriage(table, **BASE)
    table["load"]["height"] = "1.1 m"
    found = compare_carriages(base, carriage(table, **CANDIDATE), draws=200)
    assert ("section_not_compared", "load") in {(each.code, each.field) for each in found.findings}


def test_measured_width_wins(table: dict[str, Any]) -> None:
    base = carriage(table, **BASE, film_width_on_load="430 mm")
    candidate = carriage(table, **CANDIDATE, film_width_on_load="430 mm")
    found = compare_carriages(base, candidate, draws=200)
    assert found.causes[1].share == 0.0
    assert found.causes[0].share > 0.0


@pytest.mark.parametrize(
    ("correlations", "words"),
    [
        ({("film.yield_stress", "film.colour"): 0.5}, "film.colour"),
        ({("film.yield_stress", "film.yield_stress"): 0.5}, "two inputs"),
        ({("film.yield_stress", "film.reload_modulus"): 1.5}, "-1 to 1"),
        (
            {
                ("film.yield_stress", "film.hardening_modulus"): 0.9,
                ("film.yield_stress", "film.reload_modulus"): 0.9,
                ("film.hardening_modulus", "film.reload_modulus"): -0.9,
            },
            "cannot all hold at once",
        ),
    ],
)
def test_correlations_that_cannot_be(
    pair: tuple[Case, Case], correlations: dict[tuple[str, str], float], words: str
) -> None:
    with pytest.raises(InputError) as raised:
        compare_carriages(*pair, draws=200, correlations=correlations)
    assert words in str(raised.value)


def test_too_few_draws_are_refused(pair: tuple[Case, Case]) -> None:
    with pytest.raises(InputError, match="--draws: 10"):
        compare_carriages(*pair, draws=10)


def test_what_contact_on_the_slow_roller_costs(table: dict[str, Any]) -> None:
    """35 mm radius at friction .6, ln 1.2365 = .2123: .3538 rad or 20.27°, 12.38 mm of arc.

    Each edge loses .2508 of it: 6.21 mm of width. An inch is 25.4/(2 × .2508) = 50.65 mm of gap.
    """
    base, other = copy.deepcopy(table), copy.deepcopy(table)
    base["carriage"]["gap"] = "90.65 mm"
    for each in (base, other):
        each["carriage"]["slow_roller_diameter"] = "70 mm"
    found = compare_carriages(case_from_table(base), case_from_table(other), draws=100)
    assert found.inch.gap_m == pytest.approx(0.05065, abs=2e-5)
    assert found.inch.arc_angle_rad == pytest.approx(0.3538, abs=2e-4)
    assert found.inch.arc_neck_down_m == pytest.approx(0.00621, abs=2e-5)
    # 90.65 less 40 mm of gap: an inch, within what the law bends at a quarter of the roll width.
    wider = found.candidate.film_width_on_load_m - found.base.film_width_on_load_m
    assert wider == pytest.approx(0.0254, rel=5e-3)
    # About 5 % of film for it (common practice, no source), here only by width.
    assert found.saving == pytest.approx(0.05, abs=0.01)
    say = Wording(units="si")
    width = comparison_blocks(found, say, say)[-1]
    text = " ".join(str(row) for row in getattr(width, "rows", ()))
    assert "50.6 mm" in text
    assert "20.3°" in text
    assert "6.21 mm" in text
