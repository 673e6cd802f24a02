"""The command line as a user meets it: exit status, messages, JSON, pictures."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from rich.console import Console

from woold.case.file import starter_text
from woold.cli.blocks import print_blocks
from woold.rows.blocks import Table


def woold(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "woold", *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=cwd,
        env={**os.environ, "COLUMNS": "80"},
    )


@pytest.fixture
def case_path(tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    path.write_text(starter_text(), encoding="utf-8")
    return path


def test_help_names_the_commands() -> None:
    done = woold("--help")
    assert done.returncode == 0
    assert "predict" in done.stdout


def test_predict_prints_json_and_nothing_else(case_path: Path) -> None:
    done = woold("predict", str(case_path), "--json", "--sensitivity")
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["film_mass_kg"] > 0
    assert document["sensitivity"][0]["field"]
    assert {"height_m", "layers_min", "force_n"} <= set(document["containment_profile"][0])


def test_predict_shows_both_units_and_cautions(case_path: Path) -> None:
    shown = woold("predict", str(case_path)).stdout
    mass = json.loads(woold("predict", str(case_path), "--json").stdout)["film_mass_kg"]
    ounces = f"{mass / 0.028349523:.2f} oz"  # avoirdupois
    assert f"({ounces})" in shown
    assert "measured by nobody here" in shown
    assert "Take care" in shown
    assert max(len(line) for line in shown.splitlines()) <= 80
    trade = woold("predict", str(case_path), "--units", "trade").stdout
    assert ounces in trade
    assert "162 g" not in trade


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_picture(case_path: Path, tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"picture.{ending}"
    assert woold("predict", str(case_path), "--plot", str(target)).returncode == 0
    if ending == "svg":
        text = "".join(ET.parse(target).getroot().itertext())
        assert "containment force" in text or target.stat().st_size > 20_000
    else:
        assert target.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('"45 N"', '"45 in"'), "program.force_to_load: '45 in'"),
        (("thickness =", "thicknes ="), 'Did you mean "thickness"?'),
        (('"1.5 m"  ', '"0.5 m"  '), "machine.exit_distance"),
        (('top_overlap = "75 mm"', 'top_overlap = "-75 mm"'), "never covers the top"),
        (('rise_per_turn = "200 mm"', 'rise_per_turn = "1 mm"'), "usual: 15 to 900 mm"),
        (('# neck_down = "..."', 'neck_down = "21 in"'), "carriage.neck_down"),
        (('prestretch = "260 %"', 'prestretch = "790 %"'), "carriage.prestretch"),
        (("[plant]", "[plant]]"), "not TOML"),
    ],
)
def test_bad_input_ends_with_2_and_one_message(
    case_path: Path, change: tuple[str, str], words: str
) -> None:
    text = case_path.read_text(encoding="utf-8")
    assert change[0] in text
    # The exit distance stands after the load's height, which has the same text.
    head, _, tail = text.rpartition(change[0])
    case_path.write_text(head + change[1] + tail, encoding="utf-8")
    done = woold("predict", str(case_path), "--json")
    assert done.returncode == 2
    document = json.loads(done.stdout)
    assert document["schema"] == "errors"
    assert any(words in each["message"] for each in document["errors"])
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_rating_below_the_setting_is_a_warning(case_path: Path) -> None:
    text = case_path.read_text(encoding="utf-8")
    case_path.write_text(text.replace('"300 %"', '"200 %"'), encoding="utf-8")
    done = woold("predict", str(case_path), "--json")
    assert done.returncode == 0
    codes = [each["code"] for each in json.loads(done.stdout)["findings"]]
    assert codes == ["prestretch_above_rating"]


def test_case_new_never_replaces_a_file(tmp_path: Path) -> None:
    assert woold("case", "new", "a.toml", cwd=tmp_path).returncode == 0
    before = (tmp_path / "a.toml").read_text(encoding="utf-8")
    done = woold("case", "new", "a.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "Nothing was written" in done.stderr
    assert (tmp_path / "a.toml").read_text(encoding="utf-8") == before


def test_case_check_shows_origins(case_path: Path) -> None:
    document = json.loads(woold("case", "check", str(case_path), "--json").stdout)
    rows = {each["field"]: each for each in document["inputs"]}
    assert rows["film.reload_modulus"]["is_placeholder"]
    assert not rows["load.height"]["is_placeholder"]
    assert rows["load.height"]["unit"] == "m"


@pytest.mark.parametrize("words", [("prdict",), ("predict",), ("predict", "none.toml"), ("case",)])
def test_wrong_words(words: tuple[str, ...]) -> None:
    done = woold(*words)
    assert done.returncode == 2
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_plot_ending_is_checked_before_anything_is_written(case_path: Path) -> None:
    done = woold("predict", str(case_path), "--plot", str(case_path.with_suffix(".bmp")))
    assert done.returncode == 2
    assert not case_path.with_suffix(".bmp").exists()


@pytest.mark.parametrize("width", [60, 80, 100, 250])
def test_no_word_of_a_table_is_cut(width: int) -> None:
    out = Console(file=io.StringIO(), width=width, force_terminal=False)
    name = "tipping of the whole pallet on the vehicle that it goes on"
    where = "0.3 to 1.3 m above the deck, worst at 0.432 m"
    cells = ((name, where, "116.4 %", "holds"),)
    heads = ("part", "where", "share", "verdict")
    print_blocks(out, [Table("Parts", heads, cells, words=(0, 1, 3))])
    shown = out.file.getvalue()  # type: ignore[attr-defined]
    for word in f"{name} {where} 116.4 % holds".split():
        assert word in shown
    assert max(map(len, shown.splitlines())) <= width


@pytest.mark.parametrize("words", [("case", "new"), ("case", "check", "{case}", "--json"), ("-h",)])
def test_a_reader_that_has_gone_is_no_fault(case_path: Path, words: tuple[str, ...]) -> None:
    """As after `| head -1`; POSIX has it that writing then fails with EPIPE."""
    read, write = os.pipe()
    os.close(read)
    line = [sys.executable, "-m", "woold", *(each.format(case=case_path) for each in words)]
    done = subprocess.run(line, stdout=write, stderr=subprocess.PIPE, check=False, timeout=60)
    os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_standard_output_that_is_closed_is_no_fault() -> None:
    line = f"{sys.executable} -m woold case new >&-"
    done = subprocess.run(line, shell=True, capture_output=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (0, b"")
