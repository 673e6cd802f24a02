"""Films in a browser: which of the shelf suits the carriage, a curve from a test, measure first."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from playwright.sync_api import Page, expect

from .conftest import accessible, in_order

DEMO = files("woold.demo").joinpath("files")


def test_film_is_tested_matched_and_taken(phone: Page, tmp_path: Path) -> None:
    plant, test = tmp_path / "plant.toml", tmp_path / "tensile-test.csv"
    for path in (plant, test):
        path.write_text(DEMO.joinpath(path.name).read_text(encoding="utf-8"), encoding="utf-8")
    phone.goto("/films")
    expect(phone.locator("#main")).not_to_have_attribute("inert", "")
    if phone.locator("#no-films").is_visible():
        accessible(phone)
        phone.get_by_role("link", name="Put a film on the shelf").click()
        expect(phone.locator("#add-kind")).to_have_value("films")
        phone.set_input_files("#shelf-file", plant)
        expect(phone.locator("#file-note")).to_contain_text("on the shelf")
        phone.goto("/films")
    expect(phone.locator("#match-state")).to_have_text("Up to date")
    expect(phone.locator("#match")).to_contain_text("thin film")
    phone.locator("#match-film").select_option("thin film")
    phone.get_by_role("button", name="Take it for the case on the bench").click()
    expect(phone.locator("#match-note")).to_contain_text("has @thin film now")

    # The file is asked for before anything is fitted; then the curve goes on the shelf.
    phone.get_by_role("button", name="Fit the curve").click()
    expect(phone.locator("#test-file-error")).to_contain_text("Choose the test's table")
    phone.set_input_files("#test-file", test)
    phone.get_by_role("button", name="Fit the curve").click()
    expect(phone.locator("#test-state")).to_have_text("Fitted")
    expect(phone.locator("#test tr", has_text="Film: yield stress")).to_contain_text("MPa")
    in_order(phone)
    phone.get_by_role("button", name="Put the curve into the case's film").click()
    expect(phone.locator("#curve-note")).to_contain_text("has this curve now")
    phone.locator("#curve-film").select_option("thin film")
    phone.get_by_role("button", name="Add it as the film's next version").click()
    expect(phone.locator("#curve-note")).to_contain_text("is on the shelf")
    phone.locator("#curve-note").get_by_role("link", name="What changed").click()
    expect(phone.locator("#thing-blocks")).to_contain_text("fitted to tensile-test.csv")


def test_test_that_cannot_be_read_says_why(watched: Page, tmp_path: Path) -> None:
    bad = tmp_path / "forces.csv"
    bad.write_text("extension [mm],force [N]\n0,0\n5,1\n10,2\n", encoding="utf-8")
    watched.goto("/films")
    expect(watched.locator("#main")).not_to_have_attribute("inert", "")
    watched.set_input_files("#test-file", bad)
    watched.get_by_role("button", name="Fit the curve").click()
    expect(watched.locator("#test-state")).to_have_text("Not fitted")
    expect(watched.locator("#test-problems, #test-form .error:visible").first).to_be_visible()
    watched.locator("#specimen > summary").click()
    watched.locator("#specimen_width").fill("15 kg")
    watched.get_by_role("button", name="Fit the curve").click()
    expect(watched.locator("#specimen_width-error")).to_contain_text("15 kg")
    expect(watched.locator("#specimen_width")).to_have_attribute("aria-invalid", "true")
    accessible(watched)


def test_bench_says_what_to_measure_first(watched: Page) -> None:
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    watched.locator("#measure-first > summary").click()
    expect(watched.locator("#measure-first-state")).to_have_text("Up to date", timeout=60_000)
    expect(watched.locator("#measure-first-answer tbody tr").first).to_contain_text("%")
    accessible(watched)
