"""Pages of what was measured: a release, learning, constants fitted to a trace, a real test."""

from __future__ import annotations

import importlib.resources
import json
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, in_order
from tests.browser.measures import MOST_SHIFT, SHIFTS

from woold.demo.dancer_traces import write_smooth_trace


def test_a_plan_of_which_machines_first(shown: Page) -> None:
    is_phone = (shown.viewport_size or {"width": 0})["width"] < 500
    shown.emulate_media(color_scheme="dark" if is_phone else "light")
    shown.add_init_script(SHIFTS)
    shown.goto("/line-release")
    expect(shown.locator("#release-source")).to_have_text("No file is open yet.")
    in_order(shown)
    shown.get_by_role("button", name="Make the plan").click()
    expect(shown.locator("#release-problems")).to_have_text("Open a release's files first.")
    shown.get_by_role("button", name="Look at the invented company").click()
    expect(shown.locator("#release-answer")).to_contain_text("Machines to change", timeout=90_000)
    in_order(shown)
    shown.reload()
    expect(shown.locator("#release-answer")).to_contain_text("Machines to change", timeout=30_000)
    assert shown.evaluate("window.shift") < MOST_SHIFT, shown.evaluate("window.shifted")
    with shown.expect_download(timeout=60_000) as waiting:
        shown.get_by_role("button", name="Download PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    with shown.expect_download() as waiting:
        shown.get_by_role("link", name="Download JSON").click()
    assert json.loads(Path(waiting.value.path()).read_bytes())["schema"] == "release"


def test_an_answer_that_the_server_lost_is_told(page: Page) -> None:
    """As after it was started anew; what was opened is kept."""
    kept = json.dumps({"isExample": True, "job": "0" * 32})
    page.add_init_script(f"localStorage.setItem('woold.release', '{kept}')")
    page.goto("/line-release")
    expect(page.locator("#release-state")).to_contain_text("ask once more")
    expect(page.locator("#release-source")).to_contain_text("The invented company")


def test_learning_without_a_trial_says_what_to_do(shown: Page) -> None:
    is_phone = (shown.viewport_size or {"width": 0})["width"] < 500
    shown.emulate_media(color_scheme="dark" if is_phone else "light")
    shown.add_init_script(SHIFTS)
    shown.goto("/learning")
    expect(shown.locator("#main")).not_to_have_attribute("inert", "")
    expect(shown.locator("#learning-case option")).not_to_have_count(0)
    in_order(shown)
    assert shown.evaluate("window.shift") < MOST_SHIFT, shown.evaluate("window.shifted")
    # A saving is one over something: that is told at its field.
    shown.get_by_label("Saving that is asked for").fill("3 %")
    if shown.locator("#no-trials").is_visible():
        shown.get_by_role("button", name="Learn").click()
        expect(shown.locator("#learning-problems .error")).to_contain_text("at least one trial")
        accessible(shown)
    shown.goto("/")
    shown.locator("#foretold > summary").click()
    expect(shown.locator("#foretold-answer")).to_contain_text("earn", timeout=30_000)


def test_constants_are_fitted_to_a_trace_and_put_into_the_case(shown: Page, tmp_path: Path) -> None:
    trace = tmp_path / "smooth.csv"
    demo = importlib.resources.files("woold.demo").joinpath("files/today.toml")
    write_smooth_trace(trace, Path(str(demo)))
    shown.goto("/dancer")
    expect(shown.locator("#cycle-state")).to_have_text("Up to date", timeout=60_000)
    invented = shown.get_by_role("button", name="Start from the invented dancer")
    if invented.is_visible():
        invented.click()
        expect(shown.locator("#cycle-state")).to_have_text("Up to date", timeout=60_000)
    shown.locator("#trace-file").set_input_files(trace)
    shown.locator("#trace-fit > summary").click()
    shown.locator("#trace-fit input[value=inertia]").check()
    shown.get_by_role("button", name="Judge").click()
    answer = shown.locator("#trace-answer")
    expect(answer).to_contain_text("Fitted to the trace", timeout=120_000)
    expect(answer.get_by_role("table", name="Fitted to the trace")).to_contain_text("kg m^2")
    shown.get_by_text("The trace with the simulation laid over it").click()
    expect(answer.locator("figure img")).to_be_visible()
    in_order(shown)


def test_a_recorded_trip_moves_the_load_on_the_bench(shown: Page, tmp_path: Path) -> None:
    trip = tmp_path / "trip.csv"
    rows = "".join(f"{0.02 * n:.2f},{4.0 if 10 <= n < 40 else 0.0}\n" for n in range(80))
    trip.write_text(f"time [s],acceleration [m/s^2]\n{rows}", encoding="utf-8")
    shown.goto("/")
    expect(shown.locator("#way-state")).to_have_text("Up to date", timeout=60_000)
    shown.locator("#way-real > summary").click()
    shown.locator("#way-recording").set_input_files(trip)
    expect(shown.locator("#way-recording-name")).to_have_text("Moved by trip.csv.")
    expect(shown.locator("#way-choice")).to_contain_text("0.408 g", timeout=60_000)
    shown.get_by_role("button", name="Calibrate").click()
    expect(shown.locator("#calibration-problems")).to_have_text("Open the slips first.")
    accessible(shown)
    shown.get_by_role("button", name="Leave it out again").click()
    expect(shown.locator("#way-choice")).not_to_contain_text("0.408 g", timeout=60_000)
