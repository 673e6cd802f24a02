"""Reports: both renderings say what the analysis says, nothing in a record is read as markup."""

from __future__ import annotations

import dataclasses
import datetime
import functools
import importlib.resources
import itertools
import re
from typing import Any

import numpy as np
import pytest

from report_makers import (
    AWKWARD,
    TIME,
    Page,
    demo_case,
    making,
    pdf_pages,
    pdf_picture,
    pdf_sizes,
    pdf_text,
    plain,
)
from unusual import unusual_case
from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.shelf import read_shelf
from woold.case.things import ShelfFilm
from woold.dancer.cycle import simulate_cycle
from woold.design.result import DesignResult, Obstacle, Robustness
from woold.design.rows import design_blocks
from woold.design.settings import SETTING_NAMES, settings_text
from woold.design.study import design_program
from woold.design.task import DesignTask
from woold.prediction.predict import predict
from woold.report import prediction_report as prediction_module
from woold.report import setup_sheet as sheet_module
from woold.report.carriages_report import carriages_report
from woold.report.design_report import design_report
from woold.report.html import report_html
from woold.report.making import source_of
from woold.report.model import Report
from woold.report.pdf import report_pdf
from woold.rows.blocks import Facts, Table, block_texts
from woold.rows.wording import Wording

# How results are told is what is tested here: each is computed once for all its papers.
pytestmark = [pytest.mark.xdist_group("reports"), pytest.mark.usefixtures("dear_once")]


# The intervals are the same code however many draws stand behind them.
prediction_report = functools.partial(prediction_module.prediction_report, draws=25)
setup_sheet = functools.partial(sheet_module.setup_sheet, draws=25)


@pytest.fixture
def awkward_case(table: dict[str, Any]) -> Case:
    table["title"] = AWKWARD
    table["notes"] = AWKWARD
    table["film"]["thickness"] = {"value": "63 gauge", "origin": AWKWARD, "low": "60 gauge",
                                  "high": "66 gauge"}  # fmt: skip
    table["machine"]["panel"] = [{"setting": "force to load", "label": AWKWARD[:60]}]
    return case_from_table(table)


@pytest.mark.parametrize("build", [prediction_report, setup_sheet])
def test_text_of_a_case_is_never_markup(awkward_case: Case, build: Any) -> None:
    report = build(awkward_case, making(), with_figures=False)
    page = Page(report_html(report))
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "b", "link", "iframe", "img", "object"}
    assert "{{ 7 * 7 }}" in page.text
    assert plain(AWKWARD) in plain(page.text)
    printed = plain(pdf_text(report_pdf(report)))
    for part in ("<script>alert(", "{{ 7 * 7 }}", '#panic("x")', "$x^2$ *bold* _it_ @ref `raw`"):
        assert part in printed


def test_page_asks_for_nothing_from_outside(case: Case) -> None:
    page = Page(report_html(prediction_report(case, making())))
    for _, attributes in page.tags:
        for name in ("src", "href", "xlink:href", "action", "srcset"):
            target = attributes.get(name) or ""
            assert target.startswith(("#", "data:image/png;base64,")) or not target
        assert not [name for name in attributes if name.startswith("on")]
    policy = [each for tag, each in page.tags if each.get("http-equiv")]
    assert "default-src 'none'" in str(policy[0]["content"])


def test_page_has_language_headings_in_order_and_alt_texts(case: Case) -> None:
    page = Page(report_html(prediction_report(case, making())))
    assert ("html", {"lang": "en"}) in page.tags
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    pictures = [each for tag, each in page.tags if each.get("role") == "img"]
    assert len(pictures) == 1
    assert "layers" in str(pictures[0]["aria-label"])
    ids = [each["id"] for _, each in page.tags if "id" in each]
    assert len(ids) == len(set(ids))


def test_page_and_paper_show_the_predicted_numbers(case: Case) -> None:
    p, say = predict(case), Wording()
    report = prediction_report(case, making())
    page, printed = Page(report_html(report)).text, pdf_text(report_pdf(report))
    expected = [
        say.amount(p.film_mass_kg, "small_mass"),
        say.amount(p.film_length_m, "film_length"),
        say.amount(p.film_width_on_load_m, "small_length"),
        say.amount(p.stretch_on_load, "elongation"),
        say.amount(p.containment_min_n, "force"),
        say.amount(p.containment_later_min_n, "force"),
        say.amount(p.cycle_time_s, "time"),
        say.amount(p.film_mass_per_year_kg, "mass"),
        f"{p.film_cost_per_year:,.0f} USD",
    ]
    expected += [say.amount(point.film_length_m, "film_length") for point in p.parts]
    for text in expected:
        assert text in page
        assert text in printed
    # Every text of the report is on the page, every cell on paper.
    squeezed, printed_squeezed = ("".join(text.split()) for text in (page, printed))
    for text in block_texts(report.blocks):
        assert "".join(text.split()) in squeezed
    for block in report.blocks:
        if isinstance(block, Facts | Table):
            for row in block.rows:
                for cell in row:
                    assert "".join(cell.split()) in printed_squeezed


def test_intervals_hold_the_prediction_and_come_from_the_seed(case: Case) -> None:
    first, second = (prediction_report(case, making(), with_figures=False) for _ in range(2))
    assert first == second
    facts = next(b for b in first.blocks if isinstance(b, Facts) and b.caption == "Film")
    rows = {row.label: row.value for row in facts.rows}
    value, low, high = map(
        float,
        re.match(r"([\d.]+) g .*?range ([\d.]+) to ([\d.]+) g", rows["film per load"]).groups(),  # type: ignore[union-attr]
    )
    assert low < value < high


def test_same_time_same_bytes(case: Case) -> None:
    report = setup_sheet(case, making())
    again = setup_sheet(case, making())
    assert report_pdf(report) == report_pdf(again)
    assert report_html(report) == report_html(again)
    later = dataclasses.replace(report, made_at=TIME + datetime.timedelta(minutes=1))
    assert report_pdf(later) != report_pdf(report)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_paper_sizes(case: Case, paper: Any, size: tuple[int, int]) -> None:
    report = prediction_report(case, making(paper), with_figures=False)
    assert pdf_sizes(report_pdf(report)) == {size}
    assert f"size: {paper}" in report_html(report)


def _crowded(table: dict[str, Any]) -> None:
    """Long names, many findings, every part of the program in use."""
    table["title"] = "Überseekartonagenpalette mit Kantenschutzwinkeln und Zwischenlagen, " * 2
    table["notes"] = "Supercalifragilistic" * 60
    table["film"]["rated_prestretch"] = "200 %"
    table["load"] |= {"pallet_length": "1.1 m", "pallet_width": "0.9 m"}
    table["hold"] = {"edge_load_limit": "10 N/m"}
    table["machine"]["carriage_speed_limit"] = "1 mm/s"
    table["machine"]["panel"] = [
        {"setting": name, "label": "Folienspannung am Vorstreckwagen", "reading": "Stufe 12,5"}
        for name in ("force to load", "turning speed", "top wraps", "rise per turn")
    ]
    table["program"]["bands"] = [{"height": f"{h}00 mm", "wraps": 1} for h in range(1, 5)]
    table["program"]["ropes"] = [{"first_turn": 0, "last_turn": 1, "width": "60 mm"}]
    table["program"]["pauses"] = [{"before": "top wraps", "time": "10 s"}] * 4


@pytest.mark.parametrize("crowded", [False, True], ids=["plain", "crowded"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_set_up_sheet_is_one_page(table: dict[str, Any], paper: Any, crowded: bool) -> None:
    if crowded:
        _crowded(table)
    report = setup_sheet(unusual_case(table), making(paper))
    pages = pdf_pages(report_pdf(report))
    assert len(pages) == 1
    for words in ("Take care", "lock out the machine", "Set by:", "Wrap three"):
        assert words in pages[0]


def test_set_up_sheet_says_the_settings_in_the_panels_words(table: dict[str, Any]) -> None:
    table["machine"]["panel"] = [
        {"setting": "force to load", "label": "Film pull", "reading": "4.5"}
    ]
    report = setup_sheet(case_from_table(table), making(units="si"))
    printed = pdf_text(report_pdf(report))
    assert "force to load Film pull 4.5 (45 N)" in printed
    assert "rise per turn 200 mm" in printed
    # 0.2 m a turn at 12 turns a minute
    assert "carriage speed up 0.04 m/s" in printed


def test_lacing_is_drawn_where_the_case_lists_rollers() -> None:
    case = demo_case("today.toml")
    report = setup_sheet(case, making())
    page = Page(report_html(report))
    alt = [str(each["aria-label"]) for _, each in page.tags if each.get("role") == "img"]
    assert len(alt) == 1
    assert re.search(r"inlet \(on the film's left\).*slow \(on the film's right\).*fast", alt[0])
    assert "Lacing seen from above" in pdf_text(report_pdf(report))


def test_grey_print_keeps_every_word_dark_on_light(case: Case) -> None:
    """Printed in grey, a page is light paper with dark ink and no large dark field."""
    shades = np.asarray(pdf_picture(report_pdf(setup_sheet(case, making()))))
    assert np.mean(shades > 230) > 0.8
    assert np.mean(shades < 100) > 0.01
    assert np.mean(shades < 100) < 0.2


def test_decimal_comma_leaves_no_point_in_a_number(case: Case) -> None:
    report = prediction_report(case, making(decimal_comma=True, units="si"))
    facts = [each for each in report.blocks if isinstance(each, Facts)]
    rows = [text for each in facts if each.caption != "Made with" for text in block_texts(each)]
    assert not [cell for cell in rows if re.search(r"\d\.\d", cell)]
    assert any(re.search(r"\d,\d", cell) for cell in rows)
    assert any("\N{NARROW NO-BREAK SPACE}" in cell for cell in rows)
    svg = next(block.svg for block in report.blocks if hasattr(block, "svg"))
    labels = re.findall(r">(-?\d[\d.,]*)<", svg)
    assert "0,0" in labels
    assert not [label for label in labels if "." in label]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("1,234.5 kg (2,721.6 lb)", "1 234,5 kg (2 721,6 lb)"),
        ("-0.5 to 0.5 N", "-0,5 to 0,5 N"),
        ("carriage.rollers[2].x of v0.1.0", "carriage.rollers[2].x of v0.1.0"),
        ("EN 12195-1:2010 asks 0.8 g.", "EN 12195-1:2010 asks 0,8 g."),
    ],
)
def test_decimal_comma_in_sentences(given: str, said: str) -> None:
    spoken = Wording(decimal_comma=True).sentence(given)
    assert spoken.replace("\N{NARROW NO-BREAK SPACE}", " ") == said
    assert Wording().sentence(given) == given


def test_report_of_two_carriages_shows_the_comparison() -> None:
    # Less film is worth something only where nothing is asked, or the load holds.
    base, candidate = demo_case("today.toml"), demo_case("candidate.toml")
    comparison = compare_carriages(base, candidate, draws=500)
    assert comparison.is_saving
    report = carriages_report(base, candidate, comparison, making())
    page, printed = Page(report_html(report)).text, pdf_text(report_pdf(report))
    say, per_year = Wording(), 160 * 500
    saved = comparison.saving * comparison.base.film_mass_kg * per_year
    low, high = (
        each * comparison.base.film_mass_kg * per_year
        for each in (comparison.saving_interval.low, comparison.saving_interval.high)
    )
    # Days of 2026-01-31 to 2027-01-30 before and from 2026-07-01: 151 at 220, 214 at 240 USD/t.
    tax = (151 * 0.220 + 214 * 0.240) / 365
    for text in (
        f"uses {100 * comparison.saving:.1f} % less film",
        say.amount(saved, "mass"),
        say.span(low, high, "mass"),
        f"{2.2 * saved:,.0f} USD",
        f"{tax * saved:,.0f} USD",
        f"{2.4 * saved:,.0f} kg CO2e",
        f"{2.1 * low:,.0f} to {2.8 * high:,.0f} kg CO2e",
        f"{14500 / ((2.2 + tax) * saved):.1f} years",
        f"{14500 / ((2.2 + tax) * high):.1f} years to {14500 / ((2.2 + tax) * low):.1f} years",
        "Source: invented: supplier's declaration.",
        "220.00 USD/t",
    ):
        assert text in page
        assert text in printed


def test_every_finding_and_placeholder_is_listed(table: dict[str, Any]) -> None:
    table["film"]["rated_prestretch"] = "200 %"
    case = case_from_table(table)
    p = predict(case)
    printed = pdf_text(report_pdf(prediction_report(case, making(), with_figures=False)))
    assert p.findings
    for finding in p.findings:
        assert plain(finding.message) in printed
    for each in p.rests_on:
        assert each.field in printed
    for caution in p.cautions:
        assert caution in printed


def test_report_cites_what_it_used_and_nothing_else(table: dict[str, Any]) -> None:
    table["carriage"]["neck_down"] = "60 mm"
    measured = prediction_report(case_from_table(table), making(), with_figures=False)
    del table["carriage"]["neck_down"]
    modelled = prediction_report(case_from_table(table), making(), with_figures=False)
    assert "J2 deformation theory" in " ".join(block_texts(modelled))
    assert "J2 deformation theory" not in " ".join(block_texts(measured))
    with pytest.raises(ValueError, match="no source"):
        source_of(plain)


@pytest.fixture(scope="module")
def designed() -> tuple[Case, DesignResult, Report]:
    case = demo_case("today.toml")
    shelf = _shelf()
    result = design_program(case, shelf, DesignTask(front=True))
    return case, result, design_report(case, result, making())


def _shelf() -> tuple[ShelfFilm, ...]:
    source = importlib.resources.files("woold.demo").joinpath("files", "films.toml")
    with importlib.resources.as_file(source) as path:
        return read_shelf(path).films


def test_design_report_shows_the_design(designed: tuple[Case, DesignResult, Report]) -> None:
    case, result, report = designed
    page, printed = Page(report_html(report)).text, pdf_text(report_pdf(report))
    say, chosen = Wording(), result.chosen
    assert chosen is not None
    assert result.film_saved is not None
    assert result.bound is not None
    assert result.machine_bound is not None
    assert result.gap is not None
    loads = case.plant.loads_per_shift * case.plant.shifts_per_year
    saved = (result.today.film_mass_kg - chosen.film_mass_kg) * loads
    expected = [
        f"{abs(100 * result.film_saved):.1f} % {'less' if result.film_saved > 0 else 'more'} film"
        f" ({say.amount(chosen.film_mass_kg, 'small_mass')} instead of",
        f"{result.bound:.3f} USD, travelling at most",
        f"{result.machine_bound:.3f} USD, with one rise and one fall",
        f"this one is {100 * result.gap:.1f} % above",
        say.amount(saved, "mass"),
        result.cautions[0],
        *(each.message for each in result.binding),
    ]
    # The first line: money, film and hold against today.
    assert result.objective == "cost"
    assert result.cost_saved is not None
    expected.append(f"{result.cost_saved:.2f} USD a load cheaper")
    # What the saving is worth: each film at its own price, and the cycle at 60 USD an hour.
    prices = {each.name: each.price for each in _shelf()}
    price = prices.get(chosen.settings.film) or case.film.price
    assert price is not None
    film = (2.2 * result.today.film_mass_kg - price.amount * chosen.film_mass_kg) * loads
    time = (result.today.cycle_time_s - chosen.cycle_time_s) / 60.0 * loads
    for name, value in (("film, each at its own price", film), ("machine time", time)):
        expected.append(f"{name} {say.money(value, 'USD')}")
    expected += [settings_text(chosen.settings, name, "both") for name in SETTING_NAMES]
    for text in expected:
        assert plain(text) in page
        assert plain(text) in printed
    assert len(re.findall("<svg", report_html(report))) == 1


def test_design_report_says_what_stands_in_the_way(
    designed: tuple[Case, DesignResult, Report],
) -> None:
    case, result, _ = designed
    obstacle = Obstacle("edge", "hold.edge_load_limit", 900.0, 500.0, "N/m", "It is crushed.")
    impossible = dataclasses.replace(
        result, chosen=None, possible=False, obstacles=(obstacle,), front=()
    )
    report = design_report(case, impossible, making())
    printed = pdf_text(report_pdf(report))
    assert "No program within the limits holds what is asked" in printed
    assert "What it must hold: what a corner bears It is crushed." in printed
    assert "What the saving is worth" not in printed


def test_a_probability_that_is_not_reached_is_not_told_as_an_impossible_task(
    designed: tuple[Case, DesignResult, Report],
) -> None:
    _, result, _ = designed
    robustness = Robustness(0.95, False, 200, 0.1, 0.5, 0.15, 0.5, 0.43, 0.57, ("film.gap",))
    missed = dataclasses.replace(result, possible=False, robustness=robustness)
    told = " ".join(block_texts(tuple(design_blocks(missed, Wording("si"), Wording("si")))))
    assert "No program was found that holds in 95 % of the draws" in told
    assert "No program within the limits" not in told
    assert "50 % (95 % interval 43 % to 57 %), asked for 95 %" in told


def test_sheet_names_spring_and_hole_and_the_simulated_swing() -> None:
    case = demo_case("today.toml")
    study = simulate_cycle(case)[0]
    printed = pdf_text(report_pdf(setup_sheet(case, making(units="si"), with_figures=False)))
    spring, steady, say = case.dancer.springs[study.spring - 1], study.steady, Wording("si")  # type: ignore[union-attr]
    assert f"no. {study.spring}: {say.amount(spring.rate, 'stiffness')}, 180 mm long" in printed
    assert f"hole, from the pivot {say.amount(study.hole_m, 'small_length')}" in printed
    assert say.span(steady.arm_angle_low_rad, steady.arm_angle_high_rad, "angle") in printed
    assert say.span(steady.tension_low_n, steady.tension_peak_n, "force") in printed
    assert "relieve it before you unhook it" in printed
