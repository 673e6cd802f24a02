"""Reports in a browser: axe-core finds nothing, no request leaves the page, print is light."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from paper_measures import blank_boxes, cut_letters, pages_of, smallest_type
from report_makers import demo_case, making
from trial_makers import demo_setup, wrapped
from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.demo.invented_records import write_cycles
from woold.design.study import design_program
from woold.design.task import DesignTask
from woold.report.carriages_report import carriages_report
from woold.report.design_report import design_report
from woold.report.html import report_html
from woold.report.model import Report
from woold.report.prediction_report import prediction_report
from woold.report.setup_sheet import setup_sheet
from woold.report.trial_report import trial_report
from woold.report.watch_report import watch_report
from woold.rows.typeset import PAPERS, Paper
from woold.trial.analysis import analyse
from woold.watch.machine import watch_machine
from woold.watch.records import read_records
from woold.watch.settings import WatchSettings

from .conftest import accessible, in_order


def _carriages() -> Report:
    base, candidate = demo_case("today.toml"), demo_case("candidate.toml")
    return carriages_report(
        base, candidate, compare_carriages(base, candidate, draws=200), making()
    )


def _trial() -> Report:
    with tempfile.TemporaryDirectory() as name:
        records = wrapped(demo_setup(Path(name)), Path(name), loads=8)
        return trial_report(records, analyse(records, resamples=1000), making())


def _design() -> Report:
    case = demo_case("today.toml")
    return design_report(case, design_program(case, task=DesignTask(front=True)), making())


def _watch() -> Report:
    with tempfile.TemporaryDirectory() as name:
        write_cycles(Path(name) / "cycles.csv")
        records = read_records([Path(name) / "cycles.csv"])
    parts = records.frame.partition_by("machine", maintain_order=True)
    machines = [watch_machine(part, WatchSettings(), None) for part in parts]
    return watch_report(machines, WatchSettings(), records.findings, making())


REPORTS = {
    "watch": _watch,
    "design": _design,
    "prediction": lambda: prediction_report(demo_case("today.toml"), making(), draws=25),
    "sheet": lambda: setup_sheet(demo_case("today.toml"), making(), draws=25),
    "carriages": _carriages,
    "trial": _trial,
}


@pytest.fixture(scope="module", params=sorted(REPORTS))
def page_file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / f"{request.param}.html"
    path.write_text(report_html(REPORTS[request.param]()), encoding="utf-8")
    return path


def test_page_stays_by_itself_and_print_is_light(watched: Page, page_file: Path) -> None:
    asked: list[str] = []
    watched.on("request", lambda request: asked.append(request.url))
    watched.goto(page_file.as_uri())
    in_order(watched)
    style = "getComputedStyle(document.body)"
    colours = f"[{style}.backgroundColor, {style}.color]"
    watched.emulate_media(color_scheme="dark", media="screen")
    accessible(watched)
    assert watched.evaluate(colours)[0] == "rgb(18, 24, 31)"
    watched.emulate_media(color_scheme="dark", media="print")
    assert watched.evaluate(colours) == ["rgb(255, 255, 255)", "rgb(31, 42, 54)"]
    assert asked
    assert all(url.startswith(("file:", "data:")) for url in asked)


def _german(case: dict[str, Any]) -> dict[str, Any]:
    """Words as long as German makes them."""
    case["title"] = "Überseekartonagenpalette mit Kantenschutzwinkeln und Zwischenlagen"
    case["machine"]["panel"] = [
        {"setting": name, "label": "Folienspannung am Vorstreckwagen", "reading": "Stufe 12,5"}
        for name in ("force to load", "turning speed", "top wraps", "rise per turn")
    ]
    return case


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("is_german", [False, True], ids=["plain", "german"])
def test_a_sheet_keeps_to_one_page_from_the_browser(
    watched: Page, tmp_path: Path, paper: Paper, is_german: bool, table: dict[str, Any]
) -> None:
    case = case_from_table(_german(table)) if is_german else demo_case("today.toml")
    file = tmp_path / "sheet.html"
    file.write_text(report_html(setup_sheet(case, making(paper), draws=25)), encoding="utf-8")
    watched.goto(file.as_uri())
    pdf = watched.pdf(prefer_css_page_size=True)
    (page,) = pages_of(pdf)
    assert [each / 72 * 25.4 for each in page.get_size()] == pytest.approx(
        {"a4": (210, 297), "letter": (215.9, 279.4)}[paper], abs=0.5
    )
    assert cut_letters(page, 8.0, has_rules=False) == []
    boxes = [box for box in blank_boxes(page) if box.width < 40.0]
    assert len(boxes) == 6
    assert min(box.height for box in boxes) >= 9.0
    file.write_text(
        report_html(setup_sheet(case, making(paper), with_figures=False, draws=25)),
        encoding="utf-8",
    )
    watched.goto(file.as_uri())
    # Browsers count in 1/96 in: 9 pt are 12 of them.
    assert smallest_type(watched.pdf(prefer_css_page_size=True)) >= 8.99
