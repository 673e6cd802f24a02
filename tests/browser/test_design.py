"""The design page in a browser: a search with progress, cancel, a front to pick from."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from .conftest import accessible, no_sideways_scroll

SEARCH = 90_000
"""The first search on a new machine compiles its kernels [ms]."""


def _search(page: Page) -> None:
    page.goto("/design")
    page.get_by_role("button", name="Search").click()
    expect(page.locator("#design-state")).to_have_text("Up to date", timeout=SEARCH)


def test_least_film_is_found_and_goes_to_the_bench(shown: Page) -> None:
    _search(shown)
    headline = shown.locator("#design-answer .headline").last.inner_text()
    found = re.search(r"([\d.]+) % (?:less|more) film \(([\d.]+)\sg", headline)
    assert found, headline
    accessible(shown)
    no_sideways_scroll(shown)
    shown.get_by_role("button", name="Put these settings on the bench").click()
    expect(shown.locator("#design-panel")).to_have_attribute("data-state", "stale")
    shown.get_by_role("link", name="To the bench", exact=True).click()
    expect(shown.locator("#state")).to_have_text("Up to date")
    grams = float(shown.locator("#figures dd").first.inner_text().split()[0])
    assert grams == float(found[2])


def test_program_is_picked_from_the_front_by_keyboard(watched: Page) -> None:
    _search(watched)
    picks = watched.locator(".pick")
    assert picks.count() >= 2
    picks.nth(1).focus()
    watched.keyboard.press("Enter")
    expect(picks.nth(1)).to_be_focused()
    expect(picks.nth(1)).to_have_attribute("aria-pressed", "true")
    label = picks.nth(1).get_attribute("aria-label") or ""
    expect(watched.locator("#front table")).to_contain_text(label.split(" of film")[0])
    accessible(watched)


def test_search_is_cancelled(watched: Page) -> None:
    watched.goto("/design")
    watched.locator("#profiled").check()
    watched.get_by_role("button", name="Search").click()
    cancel = watched.get_by_role("button", name="Cancel")
    expect(cancel).to_be_enabled()
    expect(watched.locator("#progress")).to_be_visible()
    cancel.click()
    expect(watched.locator("#design-state")).to_contain_text("Cancelled")
    expect(watched.get_by_role("button", name="Search")).to_be_enabled()
    expect(watched.locator("#design-answer")).to_be_empty()


def test_problem_of_the_case_is_told_before_the_search(watched: Page) -> None:
    watched.goto("/design")
    watched.locator("#probability").fill("200 %")
    watched.get_by_role("button", name="Search").click()
    expect(watched.locator("#design-state")).to_contain_text("probability")
    expect(watched.locator("#design-problems")).to_contain_text("50 to 99 %")
