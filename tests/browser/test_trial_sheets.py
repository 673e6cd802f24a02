"""A trial's worksheet, studies and report in the browser, by hand from the file to the paper."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import in_order
from tests.browser.test_trial_form import CASES, FILES, ask, trial_files

from woold.demo.wrapped_trial import written_worksheet
from woold.trial.plan import plan_trial
from woold.trial.setup import TrialSetup, read_trial


@pytest.fixture
def filled(base_url: str, tmp_path: Path) -> tuple[str, Path]:
    """A started trial of the demo under a key of its own, and its filled worksheet."""
    key = "sheet"
    ask(f"{base_url}/api/trials", trial_files(key))
    setup = demo_setup_of(tmp_path, key)
    plan = plan_trial(setup.trial, setup.trial.aim, 8)
    path = tmp_path / "filled.xlsx"
    path.write_bytes(written_worksheet(setup, plan.order))
    return key, path


def demo_setup_of(folder: Path, key: str) -> TrialSetup:
    text = FILES.joinpath("trial.toml").read_text(encoding="utf-8")
    (folder / "trial.toml").write_text(text.replace("invented-line-1", key), encoding="utf-8")
    for name in CASES:
        (folder / name).write_bytes(FILES.joinpath(name).read_bytes())
    return read_trial(folder / "trial.toml")


def test_from_the_worksheet_to_the_report(
    watched: Page, base_url: str, filled: tuple[str, Path], tmp_path: Path
) -> None:
    key, path = filled
    watched.goto(f"{base_url}/trials/{key}/report")
    # Before anything is weighed the page says why there is no report, and what to do.
    expect(watched.locator("#why-not .error").first).to_be_visible()
    expect(watched.get_by_role("button", name="Print")).to_be_disabled()
    in_order(watched)
    watched.get_by_role("link", name="Back to the trial").click()

    book = openpyxl.load_workbook(path)
    good = book["Loads"]["H4"].value
    book["Loads"]["H4"] = "190 in"
    book.save(tmp_path / "bad.xlsx")
    watched.locator("#sheet-file").set_input_files(tmp_path / "bad.xlsx")
    expect(watched.locator("#sheet-state")).to_contain_text("Nothing of bad.xlsx was taken")
    cell = watched.locator("td.bad-cell", has_text="190 in")
    expect(cell).to_be_visible()
    expect(watched.locator(".sheet-problems")).to_contain_text("Loads!H4")
    in_order(watched)
    expect(watched.locator("#no-records")).to_be_visible()

    book["Loads"]["H4"] = good
    book.save(tmp_path / "mended.xlsx")
    watched.locator("#sheet-file").set_input_files(tmp_path / "mended.xlsx")
    # The invented people's odd load is asked about: it is right.
    kept = watched.locator("#sheet-state", has_text="Taken into the records")
    asked = watched.locator("#sheet-answer").get_by_role("button", name="It is right")
    expect(kept.or_(asked).first).to_be_visible()
    while asked.count():
        before = watched.locator("#sheet-answer").inner_text()
        asked.first.click()
        expect(watched.locator("#sheet-answer")).not_to_have_text(before)
        expect(kept.or_(asked).first).to_be_visible()
    expect(watched.locator("#sheet-answer")).to_contain_text("16 new loads")
    expect(watched.locator("#comparison .headline")).to_be_visible()
    expect(watched.locator("#progress")).to_contain_text("16 of 16")

    watched.get_by_role("button", name="Judge the gauges of this trial").click()
    expect(watched.locator("#gauge-answer")).to_contain_text("scale [g]", timeout=120_000)
    # One value is as good as four to see that it is fitted, shown and kept.
    for other in ("carriage.friction", "film.width_loss", "film.force_loss_per_decade"):
        watched.locator(f"#calibrate-fields input[value='{other}']").uncheck()
    watched.get_by_role("button", name="Fit them").click()
    expect(watched.locator("#calibrated-cases")).to_contain_text("today.toml", timeout=240_000)
    watched.get_by_role("button", name="Keep as a saved case").first.click()
    expect(watched.locator("#calibrated-cases")).to_contain_text("Kept among the saved cases")
    watched.get_by_text("Who wrote what, and when").click()
    expect(watched.locator("#trial-history")).to_contain_text("written down")
    in_order(watched)

    watched.get_by_role("link", name="Report", exact=True).click()
    expect(watched.locator("#report-kind")).to_contain_text("Trial report", timeout=90_000)
    expect(watched.locator("#report-blocks figure img").first).to_be_visible()
    in_order(watched)
    with watched.expect_download(timeout=90_000) as waiting:
        watched.get_by_role("link", name="Download as PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
