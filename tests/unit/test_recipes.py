"""The fewest recipes of a machine and film: against every set, by hand, and predicted anew."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from woold.case.file import read_case
from woold.case.model import Case
from woold.case.program import Program
from woold.case.text import toml_from_table
from woold.errors import InputError
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.line_file import LineFile, read_line
from woold.line.recipe_cases import recipe_cases
from woold.line.recipe_cover import fewest_recipes, least_film_with
from woold.line.recipe_programs import tried_programs
from woold.line.recipes import RecipesAsked, line_recipes
from woold.line.things import LineChoice, case_of, recipe_for
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.rows.blocks import block_texts
from woold.verdict.verdict import verdict_of


@pytest.mark.parametrize("seed", range(16))
def test_recipes_are_the_fewest_of_every_set_there_is(seed: int) -> None:
    draw = np.random.default_rng(seed)
    loads, programs = 9, 7
    film = draw.uniform(1.0, 3.0, (loads, programs))
    serves = draw.random((loads, programs)) < 0.5
    loss = (0.0, 0.05, 0.15, 0.4)[seed % 4]
    can = serves.any(axis=1)
    costs = np.where(serves, film, np.inf)[can]
    limit = costs.min(axis=1).sum() * (1 + loss) * (1 + 1e-9)
    by_count = {
        count: min(
            float(costs[:, list(each)].min(axis=1).sum())
            for each in itertools.combinations(range(programs), count)
        )
        for count in range(1, programs + 1)
    }
    least = min(count for count, spent in by_count.items() if spent <= limit)
    cover = fewest_recipes(film, serves, loss)
    assert (len(cover.programs), cover.fewest, cover.is_exact) == (least, least, True)
    assert cover.film == pytest.approx(by_count[least])
    for load in range(loads):
        program = int(cover.program_of[load])
        assert (program >= 0) == bool(can[load])
        assert program < 0 or serves[load, program]
    for count in range(1, least + 2):
        chosen = least_film_with(film, serves, count)
        if np.isfinite(by_count[count]):
            assert chosen is not None
            assert costs[:, list(chosen)].min(axis=1).sum() == pytest.approx(by_count[count])
        else:
            assert chosen is None


def test_two_recipes_by_hand() -> None:
    """Three loads: 10, 10 and 20 kg by their own; the first program on all takes 10, 14 and 20."""
    film = np.array([[10.0, 11.0], [14.0, 10.0], [20.0, 30.0]])
    serves = np.ones((3, 2), bool)
    one = fewest_recipes(film, serves, 0.10)  # 44 over 40 is 10 %
    assert (one.programs, one.film) == ((0,), 44.0)
    two = fewest_recipes(film, serves, 0.09)
    assert (two.programs, two.film) == ((0, 1), 40.0)
    serves[1, 0] = False
    only = fewest_recipes(film, serves, 0.10)
    assert only.program_of.tolist() == [0, 1, 0]
    nothing = fewest_recipes(film, np.zeros((3, 2), bool), 0.10)
    assert (nothing.programs, nothing.film) == ((), 0.0)


def test_programs_that_are_tried() -> None:
    today = Program(force_to_load=45.0, overlap=0.55)
    tried = tried_programs([("today", today)])
    # 5 forces, 5 overlaps, 3 numbers of wraps, and today's own, whose overlap is none of them.
    assert len(tried) == 5 * 5 * 3 + 1
    assert tried[0].in_use == "today"
    assert {each.program.force_to_load for each in tried} == {31.0, 38.0, 45.0, 52.0, 58.0}
    rises = tried_programs([("", Program(force_to_load=40.0, rise_per_turn=0.2))], (40.0,))
    assert {each.program.rise_per_turn for each in rises} == {0.28, 0.24, 0.2, 0.16, 0.13}


def small_line(folder: Path) -> tuple[LineFile, Catalogue]:
    """One carriage, machine and film; loads of three heights, each asking for less or more."""
    text = """title = "Small"
[catalogue]
file = "loads.csv"
[[films]]
name = "thin"
roll_width = "20 in"
thickness = "63 gauge"
rated_prestretch = "300 %"
[[carriages]]
name = "one"
[carriages.carriage]
prestretch = "250 %"
gap = "30 mm"
friction = 0.9
unwind_tension = "25 N"
[[machine_models]]
name = "T12"
[machine_models.machine]
speed = "12 rpm"
exit_distance = "1.5 m"
panel = [{ setting = "force to load", label = "dial F" }]
[[machines]]
name = "hall 1"
model = "@T12"
carriage = "@one"
[[recipes]]
name = "plain"
[recipes.program]
force_to_load = "45 N"
overlap = "50 %"
"""
    (folder / "line.toml").write_text(text, encoding="utf-8")
    rows = "load,length [m],width [m],height [m],mass [kg],hold [N],loads_per_year,machine\n"
    number = 0
    for height in (0.9, 1.4, 1.9):
        for hold in ("", 40, 75, 110, 1900):
            number += 1
            rows += f"L{number},1.2,1.0,{height},600,{hold},{100 * number},hall 1\n"
    (folder / "loads.csv").write_text(rows, encoding="utf-8")
    line = read_line(folder / "line.toml")
    return line, read_catalogue(line)


def test_recipes_never_break_a_hold(tmp_path: Path) -> None:
    """Every load predicted anew, alone, by its recipe; film of a year and losses by those."""
    line, catalogue = small_line(tmp_path)
    asked = RecipesAsked(loss=0.05, margin=0.05)
    result = line_recipes(line, catalogue, asked)
    (cell,) = result.machines
    things = line.things
    by_name = {each.name: each for each in catalogue.loads}
    carriage, model, film = things.candidates[0], things.models[0], things.films[0]
    programs = tried_programs([("plain", things.recipes[0].program)])

    def predicted(load: str, program: Program) -> tuple[Case, Prediction]:
        recipe = things.recipes[0].model_copy(update={"program": program})
        case = case_of(things, LineChoice(carriage, model, film, recipe), by_name[load])
        return case, predict(case)

    def set_by(name: str) -> Program:
        (sheet,) = [each for each in cell.recipes if each.recipe == name]
        (found,) = [
            each.program
            for each in programs
            if (each.program.force_to_load, each.program.overlap, each.program.bottom_wraps)
            == (sheet.force_n, sheet.overlap, sheet.bottom_wraps)
        ]
        return found

    assert {each.load for each in cell.unserved} == {"L5", "L10", "L15"}  # 1900 N
    assert {each.limit for each in cell.unserved} == {"hold"}
    film_of_year, best_of_year = 0.0, 0.0
    for sheet in cell.recipes:
        assert sheet.loads == len(sheet.names)
        spent, shares = 0.0, []
        for name in sheet.names:
            load = by_name[name]
            case, found = predicted(name, set_by(sheet.recipe))
            if load.hold.targets:
                verdict = verdict_of(case, found)
                assert verdict.holds is True
                (target,) = [each for each in verdict.parts if each.limit == "target"]
                least = target.share or 0.0
                assert least >= 1.05 * (1 - 1e-9)
            else:
                _, today = predicted(name, things.recipes[0].program)
                least = found.containment_later_low_n / today.containment_later_low_n
                assert least >= 1.0 - 1e-9
            shares.append(least)
            spent += found.film_mass_kg * (load.loads_per_year or 0.0)
        assert sheet.film_mass_per_year_kg == pytest.approx(spent)
        assert sheet.hold_share == pytest.approx(min(shares))
        film_of_year += spent
    assert cell.film_mass_per_year_kg == pytest.approx(film_of_year)
    best_of_year = cell.film_mass_least_kg
    assert cell.loss == pytest.approx(film_of_year / best_of_year - 1.0)
    assert cell.loss <= 0.05 + 1e-9
    assert sum(each.loads for each in cell.recipes) == 12
    words = " ".join(block_texts(tuple(result.blocks())))
    assert "dial F" in words
    assert "Served by no program that was tried: 3 kinds of load" in words
    # Where nothing is served there is no film to tell, and no loss of 0 %.
    none = replace(result, machines=(replace(cell, recipes=(), counts=()),))
    words = " ".join(block_texts(tuple(none.blocks())))
    assert "Film in a year" in " ".join(block_texts(tuple(result.blocks())))
    assert "Film in a year" not in words


def test_groups_and_today_by_hand(tmp_path: Path) -> None:
    """Loads L1 to L15, 100 to 1500 a year, heights 0.9, 1.4 and 1.9 m, five of each."""
    line, catalogue = small_line(tmp_path)
    (cell,) = line_recipes(line, catalogue, RecipesAsked(loss=1.0)).machines
    served = [each for each in catalogue.loads if each.name not in {"L5", "L10", "L15"}]
    assert sum(each.loads_per_year for each in cell.recipes) == sum(
        100.0 * int(each.name[1:]) for each in served
    )
    by_name = {each.name: each.load.height for each in served}
    for sheet in cell.recipes:
        heights = [by_name[each] for each in sheet.names]
        assert (sheet.shortest_m, sheet.tallest_m) == (min(heights), max(heights))
    # 45 N in two layers or more holds 40 N everywhere and 1900 N nowhere.
    assert cell.today_fails >= 3
    assert cell.film_mass_today_kg is None
    some = Catalogue("few", 3, tuple(each for each in catalogue.loads if not each.hold.targets), ())
    (cell,) = line_recipes(line, some).machines
    assert cell.today_fails == 0
    things = line.things
    choice = LineChoice(things.candidates[0], things.models[0], things.films[0], things.recipes[0])
    today = sum(
        predict(case_of(things, choice, each)).film_mass_kg * (each.loads_per_year or 0.0)
        for each in some.loads
    )
    assert cell.film_mass_today_kg == pytest.approx(today)


def test_more_loss_never_needs_more_recipes(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    counts = []
    for loss in (0.0, 0.02, 0.2, 1.0):
        (cell,) = line_recipes(line, catalogue, RecipesAsked(loss=loss)).machines
        assert cell.is_exact
        assert cell.counts[len(cell.recipes) - 1].loss == pytest.approx(cell.loss, abs=1e-6)
        counts.append(len(cell.recipes))
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1]


def test_a_force_that_may_be_set(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    (cell,) = line_recipes(line, catalogue, RecipesAsked(forces=(40.0,))).machines
    assert {each.force_n for each in cell.recipes} <= {40.0, 45.0}


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        (RecipesAsked(machine="T99"), "--machine"),
        (RecipesAsked(film="none"), "--film"),
        (RecipesAsked(carriage="two"), "--carriage"),
    ],
)
def test_names_that_the_line_does_not_have(tmp_path: Path, asked: RecipesAsked, word: str) -> None:
    line, catalogue = small_line(tmp_path)
    with pytest.raises(InputError, match=word):
        line_recipes(line, catalogue, asked)


def test_a_machine_whose_carriage_nobody_states(tmp_path: Path) -> None:
    line, _ = small_line(tmp_path)
    path = tmp_path / "line.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('carriage = "@one"\n', ""), "utf-8")
    line = read_line(path)
    catalogue = read_catalogue(line)
    with pytest.raises(InputError, match="--carriage"):
        line_recipes(line, catalogue)
    assert line_recipes(line, catalogue, RecipesAsked(carriage="one")).machines
    assert (
        recipe_for(
            line.things, line.things.models[0], line.things.films[0], catalogue.loads[0]
        ).name
        == "plain"
    )


def test_the_case_of_a_recipe_is_predicted_as_the_recipe_was(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    result = line_recipes(line, catalogue, RecipesAsked(loss=0.0))
    (cell,) = result.machines
    written = dict(recipe_cases(line, catalogue, result))
    assert list(written) == [f"t12-thin-{number}.toml" for number in range(1, len(written) + 1)]
    for table, sheet in zip(written.values(), cell.recipes, strict=True):
        (tmp_path / "one.toml").write_text(toml_from_table(table), encoding="utf-8")
        case = read_case(tmp_path / "one.toml")
        assert case.program.force_to_load == sheet.force_n
        assert case.program.overlap == sheet.overlap
        assert sheet.hardest_load in case.title
        if case.hold.targets:
            verdict = verdict_of(case, predict(case))
            (target,) = [each for each in verdict.parts if each.limit == "target"]
            assert target.share == pytest.approx(sheet.hold_share)
