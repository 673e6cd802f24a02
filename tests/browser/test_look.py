"""How pages look on three widths: nothing jumps, no letter is too small, no column is cut off."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from .conftest import accessible, no_sideways_scroll

WIDTHS = {1440: 900, 1024: 768, 390: 844}
PAGES = {
    "/": "#state",
    "/start": "#missing",
    "/carriage": "#comparison-state",
    "/design": "#design-state",
    "/dancer": "#cycle-state",
    "/trials": "#main",
}
"""Each page, and what has a text once it is there."""

MOST_SHIFT = 0.05
"""Less than half of what counts as good: 0.1, https://web.dev/articles/cls (from memory)."""

SMALLEST = 14.0

WATCH = """
window.shift = 0; window.shifted = [];
new PerformanceObserver(list => { for (const each of list.getEntries()) if (!each.hadRecentInput) {
  window.shift += each.value;
  window.shifted.push(...each.sources.map(one => one.node?.id || one.node?.className || ''));
} }).observe({type: 'layout-shift', buffered: true});
"""

SMALL = """
() => [...new Set([...document.querySelectorAll('body *')]
  .filter(each => each.checkVisibility()
    && [...each.childNodes].some(node => node.nodeType === 3 && node.data.trim()))
  .filter(each => parseFloat(getComputedStyle(each).fontSize)
    * (each.ownerSVGElement?.getScreenCTM()?.a ?? 1) < 13.9)
  .map(each => `${each.tagName} ${each.className.baseVal ?? each.className}`))]
"""

CUT = """
() => [...document.querySelectorAll('.scroll')]
  .filter(each => each.checkVisibility() && each.scrollWidth > each.clientWidth + 1)
  .map(each => each.getAttribute('aria-label'))
"""


def _opened(page: Page, address: str) -> None:
    page.goto(address)
    place = page.locator(PAGES[address])
    expect(place).not_to_be_empty()
    expect(place).not_to_contain_text("Calculating", timeout=60_000)
    page.wait_for_timeout(300)


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_jumps_and_all_can_be_read(watched: Page, width: int, address: str) -> None:
    watched.set_viewport_size({"width": width, "height": WIDTHS[width]})
    watched.add_init_script(WATCH)
    _opened(watched, address)
    moved = watched.evaluate("[window.shift, window.shifted.slice(0, 8)]")
    assert moved[0] < MOST_SHIFT, moved[1]
    no_sideways_scroll(watched)
    if width >= 1024:
        assert watched.evaluate(SMALL) == []
        assert watched.evaluate(CUT) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_names_of_saved_cases_move_nothing(watched: Page, width: int) -> None:
    watched.set_viewport_size({"width": width, "height": WIDTHS[width]})
    _opened(watched, "/")
    watched.locator("#save").click()
    expect(watched.locator("#file-note")).to_have_text("Saved.")
    fresh = watched.context.browser
    assert fresh is not None
    size = {"width": width, "height": WIDTHS[width]}
    context = fresh.new_context(base_url=watched.url, viewport=size)
    page = context.new_page()
    page.add_init_script(WATCH)
    _opened(page, "/")
    assert page.locator("#saved-cases option").count() > 1
    assert page.evaluate("window.shift") < MOST_SHIFT, page.evaluate("window.shifted")
    context.close()


@pytest.mark.parametrize("address", PAGES)
def test_every_page_is_accessible_in_the_dark(watched: Page, address: str) -> None:
    watched.emulate_media(color_scheme="dark")
    _opened(watched, address)
    accessible(watched)


@pytest.mark.parametrize("address", ["/", "/start", "/design"])
def test_a_page_at_twice_its_size_loses_nothing(watched: Page, address: str) -> None:
    # At 200 % a window of 1440 by 900 has room for half as many pixels each way.
    watched.set_viewport_size({"width": 720, "height": 450})
    _opened(watched, address)
    no_sideways_scroll(watched)
    expect(watched.locator("#glance dd").first).to_be_visible()
