"""Reports and set-up sheets as they are printed: measured on the PDF by a library of its own."""

from __future__ import annotations

import dataclasses
import functools
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from paper_measures import blank_boxes, cut_letters, letters, pages_of, smallest_type
from report_makers import Page, demo_case, making
from trial_makers import demo_setup, wrapped
from unusual import unusual_case
from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.report.carriages_report import carriages_report
from woold.report.html import report_html
from woold.report.model import Report
from woold.report.pdf import report_pdf
from woold.report.prediction_report import prediction_report
from woold.report.setup_sheet import setup_sheet
from woold.report.trial_report import trial_report
from woold.rows.blocks import Heading, Table, block_texts, with_texts
from woold.rows.tied import breakable, in_lines, tied
from woold.rows.typeset import PAPERS, Paper
from woold.rows.wording import Wording
from woold.trial.analysis import analyse

# How results are told is what is tested here: each is computed once for all its papers.
pytestmark = [pytest.mark.xdist_group("reports"), pytest.mark.usefixtures("dear_once")]


HERE = "To make this report again"
"""Behind this heading stand versions, hashes and the command: codes, and no numbers."""


@functools.cache
def _comparison() -> Any:
    return compare_carriages(demo_case("today.toml"), demo_case("candidate.toml"), draws=100)


def _carriages(paper: Paper, comma: bool = False) -> Report:
    cases = demo_case("today.toml"), demo_case("candidate.toml")
    return carriages_report(*cases, _comparison(), making(paper, comma))


def _prediction(paper: Paper, comma: bool = False) -> Report:
    return prediction_report(demo_case("today.toml"), making(paper, comma), draws=25)


def _sheet(paper: Paper, comma: bool = False) -> Report:
    return setup_sheet(demo_case("today.toml"), making(paper, comma), draws=25)


@pytest.fixture(scope="module")
def wrapped_trial(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder = tmp_path_factory.mktemp("trial")
    records = wrapped(demo_setup(folder), Path(folder), loads=8)
    return records, analyse(records, resamples=1000)


@pytest.fixture
def report_of(wrapped_trial: Any) -> Any:
    def build(kind: str, paper: Paper, comma: bool = False) -> Report:
        if kind == "trial":
            return trial_report(*wrapped_trial, making(paper, comma))
        return {"carriages": _carriages, "prediction": _prediction, "sheet": _sheet}[kind](
            paper, comma
        )

    return build


LONG = ("carriages", "prediction", "trial")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", LONG)
def test_a_report_can_be_read_on_paper(report_of: Any, kind: str, paper: Paper) -> None:
    """Figures in 7 pt or more, all else in 8 pt or more; nothing runs off the page."""
    report = report_of(kind, paper)
    pdf = report_pdf(report)
    assert smallest_type(pdf) >= 7.0
    for page in pages_of(pdf):
        # The text is 18 mm from the edge; a figure's last label may reach into that by a hair.
        assert cut_letters(page, 17.0, has_rules=False) == []
    blocks = tuple(block for block in report.blocks if not hasattr(block, "svg"))
    assert smallest_type(report_pdf(dataclasses.replace(report, blocks=blocks))) >= 8.0


NAME_IN_FILE = re.compile(r"(?<![\w./\[])[a-z]+(?:\[\d+\])?(?:[._][a-z]+(?:\[\d+\])?)+(?![\w/.])")
"""How a case file names its fields, and no sentence its things: carriage.rollers[2].teeth."""


@pytest.mark.parametrize("kind", [*LONG, "sheet"])
def test_no_paper_names_a_field_as_a_file_does(report_of: Any, kind: str) -> None:
    report = report_of(kind, "a4")
    found: list[str] = []

    def look(text: str) -> str:
        found.extend(each for each in NAME_IN_FILE.findall(text) if not each.endswith("toml"))
        return text

    for block in report.blocks:
        if getattr(block, "text", "") == HERE:
            break
        with_texts(block, look)
    assert found == []
    assert NAME_IN_FILE.findall("put film.reload_modulus or dancer.springs[0].rate, e.g. at 0.5 m")


def _german(table: dict[str, Any]) -> None:
    """Words as long as German makes them, and every part of a program in use."""
    table["title"] = "Überseekartonagenpalette mit Kantenschutzwinkeln und Zwischenlagen"
    table["notes"] = "Palettenumwickelgeschwindigkeit " * 30
    table["machine"]["panel"] = [
        {"setting": name, "label": "Folienspannung am Vorstreckwagen", "reading": "Stufe 12,5"}
        for name in ("force to load", "turning speed", "top wraps", "rise per turn")
    ]
    table["program"]["bands"] = [{"height": f"{h}00 mm", "wraps": 1} for h in range(1, 4)]
    table["program"]["pauses"] = [{"before": "top wraps", "time": "10 s"}] * 2


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("change", [None, _german], ids=["plain", "german"])
@pytest.mark.parametrize("units", ["both", "trade"])
def test_a_sheet_has_boxes_of_9_mm_and_type_of_9_pt_on_one_page(
    table: dict[str, Any], paper: Paper, change: Any, units: str
) -> None:
    if change is not None:
        change(table)
    case = demo_case("today.toml") if change is None else unusual_case(table)
    report = setup_sheet(case, making(paper, units=units), draws=25)
    (page,) = pages_of(report_pdf(report))
    assert cut_letters(page, 9.0, has_rules=False) == []
    boxes = [box for box in blank_boxes(page) if box.width < 40.0]
    # Film, width, marks, pull, time and turns are found out.
    assert len(boxes) == 6
    assert min(box.height for box in boxes) >= 9.0
    assert min(box.width for box in boxes) >= 20.0
    plain = [block for block in report.blocks if not hasattr(block, "svg")]
    without = setup_sheet(case, making(paper, units=units), with_figures=False, draws=25)
    assert plain
    assert smallest_type(report_pdf(without)) >= 9.0
    assert smallest_type(report_pdf(report)) >= 7.0


def test_what_does_not_fit_on_a_sheet_goes_to_a_second_page(table: dict[str, Any]) -> None:
    """Rather than that print gets too small to read, or that a setting or caution is left out."""
    table["machine"]["panel"] = [
        {"setting": name, "label": "W" * 60, "reading": "8" * 40}
        for name in ("force to load", "turning speed", "top wraps", "rise per turn")
    ]
    table["program"]["bands"] = [{"height": f"{h}0 mm", "wraps": 1} for h in range(1, 20)]
    pdf = report_pdf(setup_sheet(unusual_case(table), making(), draws=5))
    assert len(pages_of(pdf)) == 2
    assert smallest_type(pdf) >= 9.0
    text = "".join(each.text for page in pages_of(pdf) for each in letters(page))
    assert text.count("W" * 60) == 4
    assert "lockoutthemachine" in text


_UNITS = r"%|mm|m|kg|g|N|lbf|in|lb|oz|h|s|ft|MPa|psi|USD"


@pytest.mark.parametrize("kind", [*LONG, "sheet"])
def test_no_line_ends_between_a_number_and_its_unit(report_of: Any, kind: str) -> None:
    broken = re.compile(rf"\d\s*\r?\n\s*({_UNITS})(?![\w.-])")
    report = report_of(kind, "a4")
    for page in pages_of(report_pdf(report)):
        text = page.get_textpage().get_text_range()
        # Columns of tables are read one after the other: a cell ends where a line does not.
        assert [found[0] for found in broken.finditer(text)] == []
    told = re.sub(r"<svg.*?</svg>|aria-label=\"[^\"]*\"", "", report_html(report), flags=re.S)
    assert not [
        words for words in Page(told).words if re.search(rf"\d ({_UNITS})(?![\w.-])", words)
    ]


@pytest.mark.parametrize(
    ("text", "broken"),
    [
        ("0.3 % to 4.7 %", "0.3~% to 4.7~%"),
        ("69.9 N (15.7 lbf) of 60 N", "69.9~N (15.7~lbf) of 60~N"),
        ("918 kg/m³, 2.2 USD/kg", "918~kg/m³, 2.2~USD/kg"),
        ("16 of 116 loads", "16 of 116 loads"),
        ("12 turns of 5 s", "12 turns of 5~s"),
        ("1 674 kg CO2e", "1 674~kg~CO2e"),
        ("load 5 Newtown", "load 5 Newtown"),
    ],
)
def test_a_number_is_tied_to_its_unit(text: str, broken: str) -> None:
    shown = tied(text).replace("\N{NO-BREAK SPACE}", "~").replace("\N{WORD JOINER}", "")
    assert shown == broken


def test_no_line_of_a_terminal_ends_between_them() -> None:
    text = "At the same hold it takes 2.5 % less per load (0.3 % to 4.7 %), or 69.9 N of 60 N."
    for width in range(12, 80):
        lines = in_lines(text, width).splitlines()
        assert " ".join(lines) == text
        assert max(map(len, lines)) <= width
        assert not [line for line in lines if re.match(rf"({_UNITS})(?![\w.-])", line)]


def test_a_doi_stands_in_one_line(table: dict[str, Any]) -> None:
    """Long ones too, wherever they fall in a line (form of a DOI: ISO 26324)."""
    found = {
        f"https://doi.org/10.1234/very-long.suffix/of_a-paper.2026.01.{filler:04}": "x" * filler
        for filler in range(0, 60, 7)
    }
    said = (f"{filler} measured as {doi} describes it." for doi, filler in found.items())
    table["notes"] = " ".join(said)
    report = prediction_report(case_from_table(table), making(), with_figures=False, draws=5)
    pages = pages_of(report_pdf(report))
    lines = "\n".join(page.get_textpage().get_text_range() for page in pages).splitlines()
    page = report_html(report)
    for doi in found:
        assert any(doi in line for line in lines)
        assert f'<span class="whole">{doi}</span>' in page


def test_long_words_break_behind_their_marks() -> None:
    assert breakable("carriage.contact_angle_slow", 18).split("\u200b") == [
        "carriage.", "contact_", "angle_", "slow"
    ]  # fmt: skip
    assert breakable("a" * 17, 18) == "a" * 17
    assert breakable("doi:10.1234/abcdefghijklmnopqrstuvwxyz", 18).count("\u200b") == 0


@pytest.mark.parametrize("kind", [*LONG, "sheet"])
def test_decimal_comma_is_everywhere(report_of: Any, kind: str) -> None:
    """No number of a report, its raw records or figures keeps a point; dates and codes do."""
    report = report_of(kind, "a4", True)
    ends = (HERE, "Sources")
    stop = next(
        (
            place
            for place, each in enumerate(report.blocks)
            if isinstance(each, Heading) and each.text in ends
        ),
        None,
    )
    texts = [text for block in report.blocks[:stop] for text in block_texts(block)]
    points = [re.findall(r"(?<![\w.])\d+\.\d+(?![\w.])", text) for text in texts]
    panel = (
        ["4.5"] if kind == "sheet" else []
    )  # what the machine's panel shows is no number of ours
    assert [each for found in points for each in found] == panel
    drawn = [svg for block in report.blocks for svg in [getattr(block, "svg", "")] if svg]
    labels = [label for svg in drawn for label in re.findall(r">([^<>]*\d[^<>]*)<", svg)]
    assert not [label for label in labels if re.search(r"\d\.\d", label)]
    # And none has a comma where nothing asks for it.
    point = report_of(kind, "a4")
    texts = [text for block in point.blocks[:stop] for text in block_texts(block)]
    assert not [text for text in texts if re.search(r"\b\d+,\d{1,2}\b", text)]


@pytest.mark.parametrize(
    ("typed", "comma", "shown"),
    [
        ("29.8", True, "29,8"),
        ("29,8", False, "29.8"),
        ("29,8", True, "29,8"),
        ("29.80", True, "29,80"),
        ("1,234", False, "1,234"),
        ("312 g", True, "312 g"),
        ("-0.5", True, "-0,5"),
        ("R12.5b", True, "R12.5b"),
        ("corner 3.5 slipped", True, "corner 3.5 slipped"),
    ],
)
def test_what_was_typed_is_shown_digit_by_digit(typed: str, comma: bool, shown: str) -> None:
    assert Wording(decimal_comma=comma).typed(typed) == shown


def test_every_value_of_an_appendix_has_a_unit() -> None:
    report = _prediction("a4")
    (inputs,) = [each for each in report.blocks if isinstance(each, Table)
                 and each.caption == "Inputs and where they are from"]  # fmt: skip
    values = {row[3]: row[1] for row in inputs.rows}
    bare = [name for name, value in values.items() if re.fullmatch(r"[-\d.,]+", value)]
    assert bare == []
    assert values["carriage.friction"] == "0.6 [-]"
    assert values["carriage.rollers[2].teeth"] == "36 [teeth]"
    assert values["program.bottom_wraps"] == "2 [turns]"
    assert values["transport.acceleration"] == "0.4 [times gravity]"
    labels = {row[3]: row[0] for row in inputs.rows}
    assert labels["carriage.rollers[2].teeth"] == "Rollers, 3: teeth of its wheel"
    assert labels["film.neck_down_error"] == "Film: doubt of the neck-down"


@pytest.mark.parametrize("columns", [3, 8, 13])
def test_long_words_of_a_wide_table_stay_in_their_columns(columns: int) -> None:
    """Words of 17 letters in every cell: more than a line holds."""
    words = ["Spätschichtwochen", "Kantenschutzwinkl", "Umwickelprogramme"]
    rows = tuple(tuple(words[(row + at) % 3] for at in range(columns)) for row in range(4))
    table = Table("Words", tuple(f"column {n}" for n in range(columns)), rows, is_small=True)
    report = dataclasses.replace(_sheet("a4"), blocks=(table,), is_sheet=False)
    (page,) = pages_of(report_pdf(report))
    assert cut_letters(page, 17.0, has_rules=False) == []
    printed = "".join(each.text for each in letters(page))
    assert "Spät" in printed
    assert "column" in printed
    # No letter lies on another one.
    ends = np.unique([each[2:] for each in letters(page)], axis=0)  # "fi" is one letter
    left, bottom, right, top = ends.T
    across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    along = np.minimum(top[:, None], top) - np.maximum(bottom[:, None], bottom)
    lies_on = (across > 0.5 * (right - left)) & (along > 0.5 * (top - bottom))
    assert lies_on.sum() == len(ends), "each lies on itself alone"
