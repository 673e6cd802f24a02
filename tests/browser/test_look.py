"""How pages look on every width: nothing jumps, no letter is too small, no column is cut off."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, Route, expect

from .conftest import accessible, no_sideways_scroll
from .measures import MOST_SHIFT, SHIFTS, shifted, troubles
from .test_trial_form import ask, trial_files

# The last is 1440 by 900 at 200 %: room for half as many pixels each way.
WIDTHS = {1440: 900, 1024: 768, 390: 844, 720: 450}

TRIAL = "/trials/looked-at"

PAGES = {
    "/": "body[data-state=fresh]",
    "/start": "#missing:not(:empty)",
    "/carriage": "#comparison[data-state=fresh]",
    "/design": "#design-empty",
    "/dancer": "#cycle-panel[data-state=fresh]",
    "/films": "#match-take",
    "/reports": "#report-form",
    "/shelf": "#kept",
    "/sites": "#estimator option",
    "/watch": "#watch-fields .group",
    "/people": "#changes tr",
    "/account": "#who-am-i:not(:empty)",
    "/trials": "#trials li",
    "/trial-plan": "#plan .headline",
    TRIAL: "#comparison .headline",
    f"{TRIAL}/form": "#entry",
    f"{TRIAL}/report": "#why-not .error",
    "/docs": "h1",
    "/sign-in": "h1",
}
"""Each page, and what is there once it is through."""


@pytest.fixture(scope="module", autouse=True)
def trial(base_url: str) -> None:
    """A trial that has begun, so that lists are not empty."""
    ask(f"{base_url}/api/trials", trial_files(TRIAL.rpartition("/")[2]))


def _opened(page: Page, address: str) -> None:
    page.goto(address)
    expect(page.locator("main")).not_to_have_attribute("inert", "")
    expect(page.locator(PAGES[address]).first).to_be_attached(timeout=60_000)
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => setTimeout(done, 50)))")


@pytest.mark.parametrize("address", PAGES)
def test_nothing_jumps_and_all_can_be_read(watched: Page, address: str) -> None:
    """One visit: each width, and a narrow one; then light, dark and high contrast."""
    watched.add_init_script(SHIFTS)
    found = []
    for width, height in WIDTHS.items():
        watched.set_viewport_size({"width": width, "height": height})
        _opened(watched, address)
        total, moved = shifted(watched)
        if total >= MOST_SHIFT:
            found.append(f"{width}: shift {total:.3f} of {moved}")
        found += [f"{width}: {each}" for each in troubles(watched, columns=width >= 1024)]
    assert found == []
    # WCAG 2.2, 1.4.10: nothing scrolls both ways at 320 px.
    watched.set_viewport_size({"width": 320, "height": 256})
    no_sideways_scroll(watched)
    watched.set_viewport_size({"width": 1440, "height": 900})
    accessible(watched)
    for look in ({"color_scheme": "dark"}, {"contrast": "more"}):
        watched.emulate_media(**look)  # type: ignore[arg-type]
        accessible(watched, only_colours=True)


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
    page.add_init_script(SHIFTS)
    _opened(page, "/")
    expect(page.locator("#saved-cases option")).not_to_have_count(1)
    total, moved = shifted(page)
    assert total < MOST_SHIFT, moved
    context.close()


KEPT_PRESS = {
    "/design": ("Alt+Shift+KeyR", "#cancel:enabled, #design-panel[data-state=fresh]"),
    "/watch": ("Alt+Shift+KeyR", "#watch-problems .error"),
    "/films": ("Alt+Shift+KeyR", "#test-file-error:not(:empty)"),
}
"""Pages with something to run, the key that runs it, and what it brings about."""


@pytest.mark.parametrize("address", KEPT_PRESS)
def test_a_key_that_is_pressed_too_early_is_kept(watched: Page, address: str) -> None:
    """The server is slow: until the script has what it wires the page with, no press is lost."""
    keys, brought = KEPT_PRESS[address]
    held: list[Route] = []
    is_slow = True

    def slow(route: Route) -> None:
        if is_slow:
            held.append(route)
        else:
            route.continue_()

    watched.route("**/api/**", slow)
    watched.goto(address)
    expect(watched.locator("main")).to_have_attribute("inert", "")
    watched.keyboard.press(keys)
    is_slow = False
    for each in held:
        each.continue_()
    expect(watched.locator(brought).first).to_be_visible()


_SHORTENED = """
[...document.querySelectorAll('.glance dd, .pane')]
  .filter(each => each.checkVisibility() && each.scrollHeight > each.clientHeight + 3)
  .map(each => each.textContent)
"""


def test_what_is_printed_is_the_answer_alone(watched: Page) -> None:
    _opened(watched, "/")
    watched.emulate_media(media="print")
    expect(watched.locator("#figures dd").first).to_be_visible()
    for each in ("header.top", ".filebar", ".foot", "#welcome", "#play"):
        expect(watched.locator(each).first).to_be_hidden()
    no_sideways_scroll(watched)
    # No room is kept, nothing is shortened, and finer fields of a form stay folded.
    assert watched.evaluate(_SHORTENED) == []
    expect(watched.locator("#inputs details.more input").first).to_be_hidden()
    expect(watched.locator("#why table").first).to_be_visible()
