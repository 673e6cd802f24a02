"""Case files: what is read, what is refused and in which words, and where values come from."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from woold.case.file import case_from_table, read_case, starter_text
from woold.case.model import Case
from woold.errors import InputError

Table = dict[str, Any]


def test_starter_is_a_case_that_can_be_predicted() -> None:
    from woold.prediction.predict import predict

    case = case_from_table(tomllib.loads(starter_text()))
    assert predict(case).film_mass_kg > 0


def test_every_commented_line_of_the_starter_can_be_taken_up() -> None:
    """Without the "# ", each line that has a default still makes the same case."""
    lines = starter_text().splitlines()
    opened = []
    for line in lines[6:]:
        is_default = line.startswith("# ") and " = " in line and "..." not in line
        opened.append(line[2:] if is_default else line)
    opened = [line[2:] if line.startswith("# [") else line for line in opened]
    case = case_from_table(tomllib.loads("\n".join(opened)))
    plain = case_from_table(tomllib.loads(starter_text()))
    assert case.film == plain.film
    assert len(case.program.bands) == len(case.program.ropes) == len(case.program.pauses) == 1
    assert case.transport is not None
    assert case.design is not None


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("film.thicknes", "63 gauge", 'Did you mean "thickness"?'),
        ("flim", {}, 'Did you mean "film"?'),
        ("program.force_to_load", "45 in", "That is a length"),
        ("film.thickness", "-3 um", "more than"),
        ("load.height", "90 m", "at most 20 m"),
        ("load.tiers", 0, "1 or more"),
        ("load.tiers", 2.5, "whole number"),
        ("machine.kind", "carousel", "turntable"),
        ("machine.speed", "nan rpm", "Start with a number"),
        ("program.overlap", "50 %", "one of the two"),
        ("load.diameter", "1 m", "one of the three"),
        ("load.width", None, "one of the three"),
        ("film.roll_width", None, "20 in"),
        ("film", None, "[film]"),
        ("film", "thin", "a table of fields"),
        ("program.bottom_wraps", "many", "number"),
        ("carriage.neck_down", "1 in", "not both"),
        ("film.thickness", {"value": "63 gauge"}, "where it came from"),
        ("film.thickness", {"value": "63 gauge", "orign": "x"}, 'Did you mean "origin"?'),
        ("plant", {"standstill_price": "60 EUR/h"}, "one currency"),
        ("load.footprint", [["0 m", "0 m"]] * 2, "at least 3 corners"),
    ],
)
def test_refused(table: Table, path: str, value: object, words: str) -> None:
    if path == "carriage.neck_down":
        table["carriage"]["film_width_on_load"] = "450 mm"
    *tables, name = path.split(".")
    inner = table
    for each in tables:
        inner = inner[each]
    if value is None:
        del inner[name]
    else:
        inner[name] = value
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert words in str(caught.value)
    assert path.split(".")[0] in str(caught.value)


def test_all_problems_are_named_at_once(table: Table) -> None:
    table["film"]["thickness"] = "thin"
    table["machine"]["speed"] = "-12 rpm"
    table["load"]["hieght"] = "1 m"
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert {each.field for each in caught.value.problems} == {
        "film.thickness",
        "machine.speed",
        "load.hieght",
    }


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\x00\xff\xfe binary", "not UTF-8"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
        (b"a = 1\na = 2\n", "not TOML"),
        (b"x" * 1_000_001, "more than 1 MB"),
        (b"", "film"),
    ],
)
def test_unusable_files(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words):
        read_case(path)


def test_huge_file_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    with path.open("wb") as stream:
        stream.truncate(200_000_000)
    with pytest.raises(InputError, match="more than 1 MB"):
        read_case(path)


def test_folder_and_missing_file(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.toml"):
        with pytest.raises(InputError, match="woold case new"):
            read_case(path)


def test_placeholder_until_an_origin_is_stated(table: Table) -> None:
    def placeholders() -> set[str]:
        return {each.field for each in case_from_table(table).placeholders()}

    assert {"film.reload_modulus", "film.density", "machine.ramp_up"} <= placeholders()
    table["film"]["reload_modulus"] = {
        "value": "380 MPa",
        "origin": "cut-and-weigh",
        "low": "350 MPa",
        "high": "410 MPa",
    }
    assert "film.reload_modulus" not in placeholders()
    case = case_from_table(table)
    assert case.range_of("film.reload_modulus") == pytest.approx((350e6, 410e6))
    assert case.range_of("film.roll_width") == (0.508, 0.508)


def test_range_follows_a_typed_value_outside_of_it(table: Table) -> None:
    table["film"]["reload_modulus"] = "900 MPa"
    low, high = case_from_table(table).range_of("film.reload_modulus")
    assert low < 900e6 < high


def test_values_are_replaced_by_dotted_name(case: Case) -> None:
    changed = case.with_values({"film.thickness": 1e-5, "machine.speed": 1.0})
    assert (changed.film.thickness, changed.machine.speed) == (1e-5, 1.0)
    assert case.film.thickness == pytest.approx(16.002e-6)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_marks_at_the_beginning_of_a_file_are_read(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "case.toml"
    path.write_text(starter_text(), encoding=encoding)
    assert read_case(path).film.thickness == pytest.approx(16.002e-6)


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * 30_000 + " = 1",
        "\n".join("a." * 100 + f"b{number} = 1" for number in range(400)),
        "[" + ".".join(["a"] * 5000) + "]",
        '"a"' + '."a"' * 5000 + " = 1",
        "a = " + "{a = " * 5000 + "1" + "}" * 5000,
        "a = " + "[" * 90_000,
    ],
)
def test_deep_keys_cost_no_memory(tmp_path: Path, text: str) -> None:
    import tracemalloc

    path = tmp_path / "case.toml"
    path.write_text(text, encoding="utf-8")
    tracemalloc.start()
    with pytest.raises(InputError, match="at most 8 parts"):
        read_case(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20_000_000


@pytest.mark.parametrize("name", ["starter", "today.toml", "candidate.toml", "next-tall.toml"])
def test_a_round_trip_changes_nothing(name: str) -> None:
    from importlib.resources import files

    from woold.case.text import table_from_toml, toml_from_table

    text = starter_text()
    if name != "starter":
        text = files("woold.demo").joinpath(f"files/{name}").read_text(encoding="utf-8")
    table = table_from_toml(text) | {"as_typed": ["load.mass", "film.price"]}
    written = toml_from_table(table)
    again = table_from_toml(written)
    assert again == {key: each for key, each in table.items() if each != {}}
    assert toml_from_table(again) == written
    assert case_from_table(again) == case_from_table(table)
    assert case_from_table(again).as_typed == ("load.mass", "film.price")
