"""Things kept once and by name: cases made of them, versions that are only ever added."""

from __future__ import annotations

import json
import sqlite3
import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.unit.test_store import any_store, any_url, server

from woold.case.file import case_from_table, read_case
from woold.case.shelf import Shelf, hash_of, read_shelf, reference, shelf_from_table
from woold.case.text import toml_from_table
from woold.errors import ConflictError, InputError
from woold.prediction.predict import predict
from woold.shelf.kept import KeptShelf, shelf_table
from woold.shelf.since import changed_since
from woold.shelf.starter import starter_text
from woold.store import Store

__all__ = ["any_store", "any_url", "server"]

FILM = {
    "name": "thin film",
    "roll_width": "20 in",
    "thickness": "47 gauge",
    "rated_prestretch": "300 %",
}
LOAD = {"length": "1.2 m", "width": "1 m", "height": "1.5 m", "mass": "600 kg"}
PROGRAM = {"force_to_load": "45 N", "rise_per_turn": "200 mm"}
MACHINE = {"kind": "turntable", "speed": "12 rpm", "exit_distance": "1.5 m"}
CARRIAGE = {"prestretch": "260 %", "gap": "25 mm", "unwind_tension": "25 N"}
DANCER: dict[str, Any] = {
    "holes": ["80 mm", "110 mm"],
    "springs": [{"rate": "0.6 N/mm", "free_length": "180 mm", "preload": "10 N"}] * 2,
}
SHELF: dict[str, Any] = {
    "films": [FILM, FILM | {"version": 2, "thickness": "45 gauge", "lots": [{"number": "17"}]}],
    "carriages": [{"name": "short gap", "carriage": CARRIAGE, "dancer": DANCER}],
    "machine_models": [{"name": "turntable", "machine": MACHINE}],
    "machines": [
        {
            "name": "line 1",
            "model": "@turntable",
            "carriage": "@short gap#1",
            "spring": 2,
            "hole": "110 mm",
        }
    ],
    "loads": [{"name": "jars", "load": LOAD, "hold": {"targets": [{"force": "60 N"}]}}],
    "recipes": [{"name": "jars, thin", "program": PROGRAM, "film": "@thin film"}],
}
NAMED = {
    "load": "@jars",
    "film": "@thin film",
    "machine": "@line 1",
    "program": "@jars, thin",
}
WRITTEN_OUT = {
    "load": LOAD,
    "hold": {"targets": [{"force": "60 N"}]},
    "film": {key: each for key, each in FILM.items() if key != "name"} | {"thickness": "45 gauge"},
    "carriage": CARRIAGE,
    "dancer": DANCER | {"spring": 2, "hole": "110 mm"},
    "machine": MACHINE,
    "program": PROGRAM,
}


def shelf(**changes: Any) -> Shelf:
    return shelf_from_table(SHELF | changes)


def problem(error: pytest.ExceptionInfo[InputError]) -> str:
    assert all(each.todo for each in error.value.problems)
    return str(error.value)


def test_a_case_of_names_is_the_case_written_out() -> None:
    named = case_from_table(NAMED, shelf=shelf())
    out = case_from_table(WRITTEN_OUT)
    assert named.model_dump(exclude={"made_of"}) == out.model_dump(exclude={"made_of"})
    assert predict(named).film_mass_kg == predict(out).film_mass_kg
    made = {(each.kind, each.name): each.version for each in named.made_of}
    assert made == {
        ("films", "thin film"): 2,
        ("loads", "jars"): 1,
        ("recipes", "jars, thin"): 1,
        ("machines", "line 1"): 1,
        ("machine_models", "turntable"): 1,
        ("carriages", "short gap"): 1,
    }


def test_a_version_that_is_not_the_latest() -> None:
    # 47 gauge is 47/4 um: 100 gauge = 1 mil = 25.4 um, so 11.938 um.
    case = case_from_table(NAMED | {"film": "@thin film#1"}, shelf=shelf())
    assert case.film.thickness == pytest.approx(11.938e-6, rel=1e-9)


def test_what_is_written_out_stands() -> None:
    own = DANCER | {"spring": 1, "hole": "80 mm"}
    hold = {"after": "1 h"}
    case = case_from_table(NAMED | {"dancer": own, "hold": hold}, shelf=shelf())
    assert case.dancer is not None
    assert (case.dancer.spring, case.dancer.hole) == (1, 0.08)
    assert case.hold.targets == ()
    other = CARRIAGE | {"gap": "60 mm"}
    assert case_from_table(NAMED | {"carriage": other}, shelf=shelf()).carriage.gap == 0.06


def test_a_model_of_machine_brings_no_carriage() -> None:
    table = NAMED | {"machine": "@turntable", "carriage": "@short gap"}
    case = case_from_table(table, shelf=shelf())
    assert case.dancer is not None
    assert case.dancer.spring is None
    with pytest.raises(InputError, match="carriage: nothing"):
        case_from_table(NAMED | {"machine": "@turntable"}, shelf=shelf())


def test_a_file_names_its_shelf(tmp_path: Path) -> None:
    (tmp_path / "plant").mkdir()
    (tmp_path / "plant/shelf.toml").write_text(toml_from_table(SHELF, Shelf), encoding="utf-8")
    case = tmp_path / "case.toml"
    case.write_text(toml_from_table({"shelf": "plant/shelf.toml", **NAMED}), encoding="utf-8")
    assert (
        predict(read_case(case)).film_mass_kg == predict(case_from_table(WRITTEN_OUT)).film_mass_kg
    )


def test_what_was_asked_about_comes_along() -> None:
    heavy = [{"name": "jars", "load": LOAD | {"mass": "9000 kg"}}]
    with pytest.raises(InputError, match="--as-typed"):
        shelf(loads=heavy)
    confirmed = shelf(loads=heavy, as_typed=["loads[0].load.mass"])
    assert case_from_table(NAMED, shelf=confirmed).as_typed == ("load.mass",)
    thick = [FILM | {"thickness": "0.2 mm"}]
    confirmed = shelf(films=thick, as_typed=["films[0].thickness"])
    assert "film.thickness" in case_from_table(NAMED, shelf=confirmed).as_typed


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"film": "@thick film"}, '"@thin film"'),
        ({"film": "@thin film#9"}, '"@thin film#1", "@thin film#2"'),
        ({"film": "thin film"}, "Write @ and the name."),
        ({"film": "@"}, "Write @ and the name."),
        ({"film": "@thin film#"}, "Write @ and the name."),
        ({"film": "@thin film#two"}, "Write @ and the name."),
        ({"film": "@thin film#" + "9" * 5000}, "Write @ and the name."),
        ({"machine": "@line 9"}, '"@turntable"'),
        ({"load": "@thin film"}, '"@jars"'),
        ({"carriage": "@short gap#2"}, '"@short gap#1"'),
    ],
)
def test_names_that_lead_nowhere(change: dict[str, str], said: str) -> None:
    with pytest.raises(InputError) as error:
        case_from_table(NAMED | change, shelf=shelf())
    assert said in problem(error)


def test_every_name_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(InputError) as error:
        case_from_table(dict.fromkeys(NAMED, "@nothing"), shelf=shelf())
    assert {each.field for each in error.value.problems} == set(NAMED)


def test_names_without_a_shelf() -> None:
    with pytest.raises(InputError) as error:
        case_from_table(NAMED)
    assert 'shelf = "plant.toml"' in problem(error)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"films": [FILM, FILM]}, "twice in version 1"),
        ({"films": [FILM | {"name": "a@b"}]}, 'a name without "@"'),
        ({"films": [FILM | {"name": " thin"}]}, 'a name without "@"'),
        ({"films": [FILM | {"name": "x\ny"}]}, 'a name without "@"'),
        ({"films": [FILM | {"version": 0}]}, "1 or more"),
        ({"films": [FILM | {"colour": "clear"}]}, 'unknown key "colour"'),
        ({"machines": [{"name": "line 1", "model": "@ring"}]}, '"@turntable"'),
        ({"machines": [{"name": "line 1"}]}, "machines[0].model"),
        ({"recipes": [{"name": "x", "program": PROGRAM, "loads": ["@tins"]}]}, '"@jars"'),
        ({"loads": [{"name": "jars", "load": LOAD, "machines": ["@line 7"]}]}, '"@line 1"'),
        ({"loads": [{"name": "jars", "load": LOAD | {"mass": "-1 kg"}}]}, "loads[0].load.mass"),
    ],
)
def test_shelves_that_are_refused(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError) as error:
        shelf(**changes)
    assert said in str(error.value)


def test_an_empty_shelf_is_refused() -> None:
    with pytest.raises(InputError, match="at least one thing"):
        shelf_from_table({})


def test_machine_and_model_of_one_name() -> None:
    twin = [{"name": "turntable", "model": "@turntable"}]
    with pytest.raises(InputError, match="both a machine and a model"):
        case_from_table(NAMED | {"machine": "@turntable"}, shelf=shelf(machines=twin))


def test_a_reference_is_a_name_and_perhaps_a_version() -> None:
    assert reference("@thin film", "x") == ("thin film", None)
    assert reference("@thin film#12", "x") == ("thin film", 12)


def test_the_mark_hangs_on_what_was_typed_alone() -> None:
    """SHA-256 of the JSON text below, first 12 digits, from coreutils' sha256sum."""
    assert hash_of({"b": "2 mm", "a": [1, "x"]}) == hash_of({"a": [1, "x"], "b": "2 mm"})
    assert hash_of({"thickness": "47 gauge"}) == "ae40abe549e6"


def test_round_trip_through_file_and_store(any_store: Store, tmp_path: Path) -> None:
    first = shelf(as_typed=["films[1].thickness"])
    kept = KeptShelf(any_store.engine)
    assert kept.shelf() is None
    assert len(kept.add(first, "anna")) == 7
    assert kept.add(first, "ben") == ()
    again = kept.shelf()
    assert again is not None
    assert list(again.things()) == list(first.things())
    text = toml_from_table(shelf_table(tuple(again.things())), Shelf)
    assert list(shelf_from_table(tomllib.loads(text)).things()) == list(first.things())
    (tmp_path / "shelf.toml").write_text(text, encoding="utf-8")
    assert list(read_shelf(tmp_path / "shelf.toml").things()) == list(first.things())
    assert {each.by for each in kept.versions()} == {"anna"}


def test_versions_are_only_ever_added(any_store: Store) -> None:
    kept = KeptShelf(any_store.engine)
    kept.add(shelf(), "anna")
    changed = [FILM | {"version": 2, "thickness": "44 gauge"}, FILM | {"version": 3}]
    with pytest.raises(ConflictError) as error:
        kept.add(shelf(films=changed), "ben")
    assert "version = 3" in str(error.value)
    assert len(kept.versions()) == 7  # nothing of the batch was kept
    assert len(kept.add(shelf(films=[*SHELF["films"], FILM | {"version": 3}]), "ben")) == 1
    # A later file may hold new things alone, and name what is kept already.
    recipe = [{"name": "more", "program": PROGRAM, "film": "@thin film", "loads": ["@jars"]}]
    with pytest.raises(InputError, match="recipes"):
        shelf_from_table({"recipes": recipe})
    later = shelf_from_table({"recipes": recipe}, beside=kept.shelf())
    assert [each.name for each in kept.add(later, "ben")] == ["more"]


def test_rows_of_things_cannot_be_changed(tmp_path: Path) -> None:
    path = tmp_path / "store.sqlite"
    store = Store(str(path))
    KeptShelf(store.engine).add(shelf(), "anna")
    store.close()
    with sqlite3.connect(path) as connection:
        for change in ("UPDATE thing SET name = 'x'", "DELETE FROM thing"):
            with pytest.raises(sqlite3.IntegrityError, match="only ever added"):
                connection.execute(change)


def test_what_changed_since() -> None:
    case = case_from_table(NAMED | {"film": "@thin film#1"}, shelf=shelf())
    states = {each.name: each for each in changed_since(case, shelf())}
    assert states["thin film"].state == "newer"
    assert [(each.field, each.before, each.after) for each in states["thin film"].changes] == [
        ("films.thickness", "47 gauge", "45 gauge"),
        ("films.lots[0].number", "", "17"),
    ]
    assert states["jars"].state == "as it was"
    rewritten = [FILM | {"thickness": "48 gauge"}]
    now = changed_since(case, shelf(films=rewritten, loads=[{"name": "tins", "load": LOAD}]))
    found = {each.name: each.state for each in now}
    assert (found["thin film"], found["jars"]) == ("rewritten", "gone")


def test_the_commands(tmp_path: Path, woold: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    store = ("--store", "store.sqlite")
    assert "nothing" not in woold("shelf", "new", "plant.toml").stdout
    assert "@thin film" in woold("shelf", "check", "plant.toml").stdout
    assert "6 things are new" in woold("shelf", "keep", "plant.toml", *store).stdout
    shown = json.loads(woold("shelf", "show", *store, "--json").stdout)
    assert {each["kind"] for each in shown["things"]} == set(SHELF)
    assert "47 gauge" in woold("shelf", "show", "@thin film", *store).stdout
    woold("shelf", "write", "again.toml", *store)
    again = read_shelf("again.toml")
    assert {each.hash for each in again.things()} == {each["hash"] for each in shown["things"]}
    named = {"shelf": "again.toml", **NAMED, "program": "@jars in thin film"}
    Path("case.toml").write_text(toml_from_table(named), encoding="utf-8")
    assert "@thin film" in woold("case", "check", "case.toml").stdout
    assert woold("predict", "case.toml").returncode == 0
    assert woold("shelf", "since", "case.toml", *store).returncode == 0
    text = starter_text().replace("version = 1", "version = 2").replace("47 gauge", "45 gauge")
    Path("new.toml").write_text(text, encoding="utf-8")
    assert "1 thing is new" in woold("shelf", "keep", "new.toml", *store).stdout
    later = woold("shelf", "since", "case.toml", *store)
    assert later.returncode == 1
    assert "47 gauge" in later.stdout
    nothing = woold("shelf", "show", "--store", "other.sqlite")
    assert nothing.returncode == 2
    assert "woold shelf keep" in nothing.stderr
