"""Work that people come for, done by the keyboard alone: does it hold, what saves, least film."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect


def _tab_to(page: Page, selector: str) -> None:
    """Goes on by Tab until the focus is where it shall be."""
    for _ in range(120):
        if page.evaluate("s => document.activeElement?.matches(s) ?? false", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no Tab leads to {selector}")


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_does_it_hold(watched: Page, width: int) -> None:
    watched.set_viewport_size({"width": width, "height": 800})
    watched.goto("/start")
    expect(watched.locator("#missing")).not_to_be_empty()
    watched.keyboard.press("Alt+Shift+KeyI")
    for text in ("1.2 m", "1.0 m", "1.5 m", "600 kg", "6"):
        watched.keyboard.type(text)
        watched.keyboard.press("Tab")
    expect(watched.locator("#glance .glance-verdict dd")).to_contain_text("no")
    _tab_to(watched, "#to-bench")
    watched.keyboard.press("Enter")
    expect(watched.locator("#state")).to_have_text("Up to date")
    expect(watched.locator("#glance .glance-verdict dd")).to_contain_text("no")


@pytest.mark.parametrize("width", [1440, 390])
def test_why_does_it_save(watched: Page, width: int) -> None:
    watched.set_viewport_size({"width": width, "height": 800})
    watched.goto("/carriage")
    expect(watched.locator("#comparison-state")).to_have_text("Up to date", timeout=60_000)
    watched.keyboard.press("Alt+Shift+KeyA")
    expect(watched.locator("#answer")).to_be_focused()
    expect(watched.locator("#glance .glance-time dd")).to_contain_text("%")
    expect(watched.locator("#saving")).to_contain_text("Where the saving comes from")


def test_a_candidate_that_cannot_be_saves_nothing(watched: Page) -> None:
    watched.goto("/carriage")
    expect(watched.locator("#comparison-state")).to_have_text("Up to date", timeout=60_000)
    entry = watched.locator("#candidate-form [data-field='carriage.unwind_tension'] > input")
    entry.fill("much")
    expect(watched.locator("#glance .glance-verdict dd")).to_contain_text("no saving")
    expect(watched.locator("#glance .glance-time dd")).to_have_text("–")
    expect(watched.locator("#saving")).not_to_contain_text("%")
    expect(watched.locator("#take-candidate")).to_be_disabled()
    entry.fill("25 N")
    expect(watched.locator("#glance .glance-time dd")).to_contain_text("%", timeout=60_000)
    expect(watched.locator("#take-candidate")).to_be_enabled()


def test_a_field_without_effect_says_why(watched: Page) -> None:
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    # The example's slow and fast rollers have teeth.
    row = watched.locator("[data-field='carriage.prestretch']")
    expect(row.locator(".idle")).to_contain_text("the teeth of the slow and the fast roller")


def test_least_film_is_found_and_kept_over_a_reload(watched: Page) -> None:
    watched.goto("/design")
    expect(watched.locator("#design-empty")).to_be_visible()
    expect(watched.locator(".put")).to_have_count(0)
    # Told by the page's script, once it listens.
    expect(watched.locator("#glance")).to_contain_text("then search")
    watched.keyboard.press("Alt+Shift+KeyR")
    expect(watched.locator("#design-state")).to_have_text("Up to date", timeout=120_000)
    film = watched.locator("#glance .glance-film dd").inner_text()
    dots = watched.locator("#front .pick[role=button]").count()
    assert dots > 0
    watched.reload()
    expect(watched.locator("#design-state")).to_contain_text("Found earlier")
    assert watched.locator("#glance .glance-film dd").inner_text() == film
    assert watched.locator("#front .pick[role=button]").count() == dots
    watched.locator("#asked-form summary").first.click()
    watched.locator("#profiled").check()
    expect(watched.locator("#glance .glance-verdict dd")).to_contain_text("search again")
    expect(watched.locator(".put").first).to_be_disabled()
