"""Pages of what was measured: a release, learning, constants fitted to a trace, a real test."""

from __future__ import annotations

import importlib.resources
import json
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, in_order
from tests.browser.measures import MOST_SHIFT, SHIFTS

from woold.demo.dancer_traces import write_smooth_trace


def test_a_plan_of_which_machines_first(watched: Page) -> None:
    watched.add_init_script(SHIFTS)
    watched.goto("/line-release")
    expect(watched.locator("#release-source")).to_have_text("No file is open yet.")
    in_order(watched)
    watched.get_by_role("button", name="Make the plan").click()
    expect(watched.locator("#release-problems")).to_have_text("Open a release's files first.")
    watched.get_by_role("button", name="Look at the invented company").click()
    expect(watched.locator("#release-answer")).to_contain_text("Machines to change", timeout=90_000)
    in_order(watched)
    watched.reload()
    expect(watched.locator("#release-answer")).to_contain_text("Machines to change", timeout=30_000)
    assert watched.evaluate("window.shift") < MOST_SHIFT, watched.evaluate("window.shifted")
    with watched.expect_download(timeout=60_000) as waiting:
        watched.get_by_role("button", name="Download PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    with watched.expect_download() as waiting:
        watched.get_by_role("link", name="Download JSON").click()
    assert json.loads(Path(waiting.value.path()).read_bytes())["schema"] == "release"


def test_an_answer_that_the_server_lost_is_told(page: Page) -> None:
    """As after it was started anew; what was opened is kept."""
    kept = json.dumps({"isExample": True, "job": "0" * 32})
    page.add_init_script(f"localStorage.setItem('woold.release', '{kept}')")
    page.goto("/line-release")
    expect(page.locator("#release-state")).to_contain_text("ask once more")
    expect(page.locator("#release-source")).to_contain_text("The invented company")


def test_learning_without_a_trial_says_what_to_do(phone: Page) -> None:
    phone.emulate_media(color_scheme="dark")
    phone.add_init_script(SHIFTS)
    phone.goto("/learning")
    expect(phone.locator("#main")).not_to_have_attribute("inert", "")
    expect(phone.locator("#learning-case option")).not_to_have_count(0)
    in_order(phone)
    assert phone.evaluate("window.shift") < MOST_SHIFT, phone.evaluate("window.shifted")
    # A saving is one over something: that is told at its field.
    phone.get_by_label("Saving that is asked for").fill("3 %")
    if phone.locator("#no-trials").is_visible():
        phone.get_by_role("button", name="Learn").click()
        expect(phone.locator("#learning-problems .error")).to_contain_text("at least one trial")
        accessible(phone)
    # Trials in files instead: a trial file alone lacks its sheets.
    demo = importlib.resources.files("woold.demo").joinpath("files")
    names = ("trial.toml", "today.toml", "next.toml", "today-tall.toml", "next-tall.toml")
    phone.locator("#learning-files").set_input_files([str(demo.joinpath(each)) for each in names])
    expect(phone.locator("#learning-files-note")).to_contain_text("trial.toml")
    phone.get_by_role("button", name="Learn", exact=True).click()
    expect(phone.locator("#learning-problems .error")).to_contain_text("no filled sheet")
    in_order(phone)
    accessible(phone)
    phone.get_by_role("button", name="Back to the store's trials").click()
    expect(phone.locator("#learning-files-note")).to_be_empty()
    phone.goto("/")
    phone.locator("#foretold > summary").click()
    expect(phone.locator("#foretold-answer")).to_contain_text("earn", timeout=30_000)


def test_constants_are_fitted_to_a_trace_and_put_into_the_case(phone: Page, tmp_path: Path) -> None:
    trace = tmp_path / "smooth.csv"
    demo = importlib.resources.files("woold.demo").joinpath("files/today.toml")
    write_smooth_trace(trace, Path(str(demo)))
    phone.goto("/dancer")
    expect(phone.locator("#cycle-state")).to_have_text("Up to date", timeout=60_000)
    invented = phone.get_by_role("button", name="Start from the invented dancer")
    if invented.is_visible():
        invented.click()
        expect(phone.locator("#cycle-state")).to_have_text("Up to date", timeout=60_000)
    phone.locator("#trace-file").set_input_files(trace)
    phone.locator("#trace-fit > summary").click()
    phone.locator("#trace-fit input[value=inertia]").check()
    phone.get_by_role("button", name="Judge").click()
    answer = phone.locator("#trace-answer")
    expect(answer).to_contain_text("Fitted to the trace", timeout=120_000)
    expect(answer.get_by_role("table", name="Fitted to the trace")).to_contain_text("kg m^2")
    phone.get_by_text("The trace with the simulation laid over it").click()
    expect(answer.locator("figure img")).to_be_visible()
    in_order(phone)


def test_a_recorded_trip_moves_the_load_on_the_bench(watched: Page, tmp_path: Path) -> None:
    trip = tmp_path / "trip.csv"
    rows = "".join(f"{0.02 * n:.2f},{4.0 if 10 <= n < 40 else 0.0}\n" for n in range(80))
    trip.write_text(f"time [s],acceleration [m/s^2]\n{rows}", encoding="utf-8")
    watched.goto("/")
    expect(watched.locator("#way-state")).to_have_text("Up to date", timeout=60_000)
    watched.locator("#way-real > summary").click()
    watched.locator("#way-recording").set_input_files(trip)
    expect(watched.locator("#way-recording-name")).to_have_text("Moved by trip.csv.")
    expect(watched.locator("#way-choice")).to_contain_text("0.408 g", timeout=60_000)
    watched.get_by_role("button", name="Calibrate").click()
    expect(watched.locator("#calibration-problems")).to_have_text("Open the slips first.")
    accessible(watched)
    watched.get_by_role("button", name="Leave it out again").click()
    expect(watched.locator("#way-choice")).not_to_contain_text("0.408 g", timeout=60_000)
