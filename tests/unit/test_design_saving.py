"""What a design saves, with its range: against full predictions of every draw."""

from __future__ import annotations

import importlib.resources
from typing import Any

import numpy as np
import pytest

from unusual import unusual_case
from woold.case.file import read_case
from woold.case.model import Case
from woold.case.shelf import read_shelf
from woold.case.things import ShelfFilm
from woold.design.costs import Costs
from woold.design.saving import saving_over_ranges
from woold.design.settings import Settings, settings_of, with_settings
from woold.design.study import design_program
from woold.prediction.predict import predict
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.uncertainty.draws import draw_unknowns
from woold.uncertainty.spread import unknown_inputs
from woold.units import Money

SECTIONS = ("load.", "film.", "carriage.", "machine.", "program.", "plant.")
DRAWS = 60


def demo_case() -> Case:
    source = importlib.resources.files("woold.demo").joinpath("files", "today.toml")
    with importlib.resources.as_file(source) as path:
        return read_case(path)


def new_settings(case: Case) -> Settings:
    today = settings_of(case)
    return Settings(
        today.film, today.prestretch, 60.0, 3.0, 0.31, 2.0, 0.27, (), today.speed_rad_per_s
    )


def predicted(case: Case, settings: Settings) -> dict[str, np.ndarray]:
    """Saving in every draw by two full predictions, 60 USD an hour and 2.2 USD/kg by hand."""
    unknowns = unknown_inputs(case, SECTIONS)
    drawn = draw_unknowns(unknowns, DRAWS, np.random.default_rng(1))
    rows = []
    for index in range(DRAWS):
        today = case.with_values({name: float(each[index]) for name, each in drawn.items()})
        new = with_settings(today, today.film, settings)
        a, b = predict(today), predict(new)
        standing = today.machine.rethread_time / 60.0
        breaks = today.plant.breaks_per_1000_loads / 1000.0
        mass = a.film_mass_kg - b.film_mass_kg
        parts = (
            2.2 * mass,
            (a.cycle_time_s - b.cycle_time_s) / 60.0,
            standing * mass / today.film.roll_mass,
            standing * breaks * (1.0 - b.turns / a.turns),
        )
        rows.append((mass, mass / a.film_mass_kg, *parts, sum(parts)))
    names = ("film_mass_kg", "film_share", "film", "machine_time", "roll_changes", "breaks")
    return dict(zip((*names, "total"), np.array(rows).T, strict=True))


VARIED: dict[str, dict[str, dict[str, str]]] = {
    "film alone": {},
    "load and program too": {
        "program.start_height": {"value": "-50 mm", "low": "-80 mm", "high": "-20 mm"},
        "load.height": {"value": "1.5 m", "low": "1.45 m", "high": "1.56 m"},
        "machine.ramp_up": {"value": "3 s", "low": "2 s", "high": "5 s"},
    },
    "a roller too": {
        "carriage.rollers[1].diameter": {"value": "60 mm", "low": "56 mm", "high": "63 mm"},
    },
}


@pytest.mark.parametrize("varied", VARIED)
def test_ranges_are_those_of_full_predictions_of_the_same_draws(varied: str) -> None:
    case = demo_case()
    stated = {name: each | {"origin": "tape"} for name, each in VARIED[varied].items()}
    case = case.change(stated) if stated else case
    of_rollers = [each.name for each in unknown_inputs(case, SECTIONS) if "rollers" in each.name]
    assert bool(of_rollers) is (varied == "a roller too")
    settings = new_settings(case)
    new = with_settings(case, case.film, settings)
    costs = Costs(case, (case.film,), predict(case).turns)
    found = saving_over_ranges(case, new, (0, 0), costs, DRAWS)
    assert found.draws == DRAWS
    middle = predict(case).film_mass_kg - predict(new).film_mass_kg
    assert found.film_mass_kg.value == pytest.approx(middle, rel=1e-9)
    for name, values in predicted(case, settings).items():
        each = getattr(found, name)
        low, high = np.percentile(values, [5.0, 95.0])
        # Lengths between evenly set widths are straight lines: a part in ten thousand at most.
        near = 1e-4 * max(abs(low), abs(high))
        assert each.low == pytest.approx(low, abs=near), name
        assert each.high == pytest.approx(high, abs=near), name
    assert found.film_mass_kg.low < found.film_mass_kg.value < found.film_mass_kg.high


@pytest.mark.parametrize("varied", ["film alone", "load too"])
def test_draws_whose_film_ends_before_the_pre_stretch_do_not_count(varied: str) -> None:
    """Gent (1996): film that locks at 1 + 260 % has 3.6² + 2/3.6 - 3 = 10.5; with less it ends."""
    stated: dict[str, Any] = {"film.extensibility": {"value": 20.0, "low": 6.0, "high": 60.0}}
    if varied != "film alone":
        stated["load.height"] = {"value": "1.5 m", "low": "1.45 m", "high": "1.56 m"}
    case = demo_case().change({name: each | {"origin": "tape"} for name, each in stated.items()})
    new = with_settings(case, case.film, new_settings(case))
    found = saving_over_ranges(
        case, new, (0, 0), Costs(case, (case.film,), predict(case).turns), DRAWS
    )
    drawn = draw_unknowns(unknown_inputs(case, SECTIONS), DRAWS, np.random.default_rng(1))
    can_be = drawn["film.extensibility"] > 3.6**2 + 2 / 3.6 - 3
    assert 5 < can_be.sum() < DRAWS - 1
    assert found.draws == can_be.sum()


def test_without_ranges_a_saving_has_none(table: dict[str, Any]) -> None:
    case = unusual_case(table)
    known = case.with_drawn({each.name: each.value for each in unknown_inputs(case, SECTIONS)})
    new = with_settings(known, known.film, new_settings(known))
    found = saving_over_ranges(known, new, (0, 0), Costs(known, (known.film,), 10.0))
    assert found.draws == 0
    mass = found.film_mass_kg
    assert mass.low == mass.value == mass.high
    assert found.total is None  # no price of machine time
    assert found.film is not None


def test_another_film_is_drawn_too_and_priced_at_its_own_price() -> None:
    case = demo_case()
    thin = ShelfFilm(**{**dict(case.film), "name": "thin", "thickness": 0.8 * case.film.thickness})
    other = with_settings(case, thin, new_settings(case))
    same = with_settings(case, case.film, new_settings(case))
    costs = Costs(case, (case.film, thin), predict(case).turns)
    found = saving_over_ranges(case, other, (0, 1), costs, 400)
    alike = saving_over_ranges(case, same, (0, 0), costs, 400)
    spread = [each.film_share.high - each.film_share.low for each in (found, alike)]
    # Two thicknesses that are not known are less sure to differ than one film from itself.
    assert spread[0] > spread[1]


def test_films_of_two_currencies_are_not_taken_from_each_other() -> None:
    case = demo_case()
    priced = case.film.price
    assert priced is not None
    price = Money(priced.amount, "EUR")
    euro = ShelfFilm(**{**dict(case.film), "name": "euro", "price": price})
    costs = Costs(case, (case.film, euro), predict(case).turns)
    new = with_settings(case, euro, new_settings(case))
    found = saving_over_ranges(case, new, (0, 1), costs, 20)
    assert found.film is None
    assert found.total is None
    assert costs.parts(1, 0.2, 90.0, 10.0) is None


def test_the_answer_shows_money_and_film_with_their_ranges() -> None:
    result = design_program(demo_case())
    saving, say = result.saving, Wording("si")
    assert saving is not None
    assert saving.total is not None
    assert result.cost_saved == pytest.approx(saving.total.value, rel=1e-9)
    assert result.film_saved == pytest.approx(saving.film_share.value, rel=1e-9)
    assert saving.total.low < saving.total.value < saving.total.high
    texts = block_texts(tuple(result.blocks("si")))
    year = [each * result.loads_per_year for each in (saving.total.low, saving.total.high)]
    share = f"{100 * saving.film_share.low:.1f} to {100 * saving.film_share.high:.1f} %"
    answer = next(each for each in texts if "Against today's program" in each)
    assert f"90 % range {year[0]:,.0f} to {year[1]:,.0f} USD" in answer
    assert f"90 % range {share}" in answer
    assert say.money_span(*year, "USD") in texts


def test_the_shelf_of_the_demo_can_be_designed_for() -> None:
    source = importlib.resources.files("woold.demo").joinpath("files", "films.toml")
    with importlib.resources.as_file(source) as path:
        shelf = read_shelf(path).films
    result = design_program(demo_case(), shelf)
    assert result.saving is not None
    assert result.saving.draws > 900
