"""Reports in a browser: axe-core finds nothing, no request leaves the page, print is light."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from playwright.sync_api import Page

from report_makers import demo_case, making
from trial_makers import demo_setup, wrapped
from woold.carriages.compare import compare_carriages
from woold.design.study import design_program
from woold.design.task import DesignTask
from woold.report.carriages_report import carriages_report
from woold.report.design_report import design_report
from woold.report.html import report_html
from woold.report.model import Report
from woold.report.prediction_report import prediction_report
from woold.report.setup_sheet import setup_sheet
from woold.report.trial_report import trial_report
from woold.trial.analysis import analyse

from .conftest import accessible, no_sideways_scroll


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


REPORTS = {
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


def test_page_is_accessible_and_stays_by_itself(watched: Page, page_file: Path) -> None:
    asked: list[str] = []
    watched.on("request", lambda request: asked.append(request.url))
    for scheme in ("light", "dark"):
        watched.emulate_media(color_scheme=scheme)
        watched.goto(page_file.as_uri())
        accessible(watched)
    assert asked
    assert all(url.startswith(("file:", "data:")) for url in asked)


def test_print_is_light_even_where_the_screen_is_dark(watched: Page, page_file: Path) -> None:
    style = "getComputedStyle(document.body)"
    colours = f"[{style}.backgroundColor, {style}.color]"
    watched.goto(page_file.as_uri())
    watched.emulate_media(color_scheme="dark", media="screen")
    assert watched.evaluate(colours)[0] == "rgb(18, 24, 31)"
    watched.emulate_media(color_scheme="dark", media="print")
    assert watched.evaluate(colours) == ["rgb(255, 255, 255)", "rgb(31, 42, 54)"]


def test_page_never_scrolls_sideways(shown: Page, page_file: Path) -> None:
    shown.goto(page_file.as_uri())
    no_sideways_scroll(shown)
