"""The design page in a browser: a search with progress, cancel, a front to pick from."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from .conftest import held_up, in_order

SEARCH = 90_000
"""The first search on a new machine compiles its kernels [ms]."""


def _search(page: Page) -> None:
    page.goto("/design")
    page.get_by_role("button", name="Search").click()
    expect(page.locator("#design-state")).to_have_text("Up to date", timeout=SEARCH)


def test_program_is_picked_by_keyboard_and_all_is_kept_over_a_reload(watched: Page) -> None:
    _search(watched)
    picks = watched.locator("#front .pick[role=button]")
    assert picks.count() >= 2
    picks.nth(1).focus()
    watched.keyboard.press("Enter")
    expect(picks.nth(1)).to_be_focused()
    expect(picks.nth(1)).to_have_attribute("aria-pressed", "true")
    label = picks.nth(1).get_attribute("aria-label") or ""
    expect(watched.locator("#front table")).to_contain_text(label.split(" of film")[0])
    in_order(watched)
    film = watched.locator("#glance .glance-film dd").inner_text()
    dots = picks.count()
    watched.reload()
    expect(watched.locator("#design-state")).to_contain_text("Found earlier")
    assert watched.locator("#glance .glance-film dd").inner_text() == film
    expect(picks).to_have_count(dots)
    watched.locator("#asked-form summary").first.click()
    watched.locator("#profiled").check()
    expect(watched.locator("#glance .glance-verdict dd")).to_contain_text("search again")
    expect(watched.locator(".put").first).to_be_disabled()


def test_search_is_cancelled(watched: Page, served: tuple[str, int]) -> None:
    watched.goto("/design")
    watched.locator("#profiled").check()
    watched.get_by_role("button", name="Search").click()
    cancel = watched.get_by_role("button", name="Cancel")
    expect(cancel).to_be_enabled()
    # Who leaves the page meanwhile finds the search again: it goes on.
    with held_up(served[1]):
        watched.reload()
        expect(watched.get_by_role("button", name="Search")).to_be_disabled()
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
    expect(watched.locator("#design-state")).to_contain_text("Hold this often over all ranges")
    expect(watched.locator("#design-problems")).to_contain_text("50 to 99 %")
