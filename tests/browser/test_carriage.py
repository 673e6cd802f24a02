"""The carriage page in a browser: rollers moved by keys and pointer, answers that follow."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from .conftest import accessible, no_sideways_scroll


def _open(page: Page) -> None:
    page.goto("/carriage")
    for state in ("#base-state", "#candidate-state", "#comparison-state"):
        expect(page.locator(state)).to_have_text("Up to date")


def _roller(arm: str, name: str) -> str:
    return f"#{arm}-drawing .roller[aria-label^='{name} ']"


def test_roller_moves_with_the_arrow_keys(shown: Page) -> None:
    _open(shown)
    numbers = shown.locator("#candidate-numbers")
    before = numbers.inner_text()
    saving = shown.locator("#saving .headline").inner_text()
    fast = shown.locator(_roller("candidate", "fast"))
    fast.focus()
    place = fast.get_attribute("transform")
    for _ in range(6):
        shown.keyboard.press("ArrowRight")
    assert fast.get_attribute("transform") != place
    expect(shown.locator("#candidate-state")).to_have_text("Up to date")
    expect(numbers).not_to_have_text(before, use_inner_text=True)
    expect(shown.locator("#saving .headline")).not_to_have_text(saving)
    no_sideways_scroll(shown)


def test_roller_moves_with_the_pointer_in_the_units_typed(watched: Page) -> None:
    _open(watched)
    slow = watched.locator(_roller("base", "slow"))
    box = slow.locator(".face").bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    watched.mouse.move(*middle)
    watched.mouse.down()
    watched.mouse.move(middle[0] - 20, middle[1] - 10, steps=4)
    watched.mouse.up()
    expect(watched.locator("#base-state")).to_have_text("Up to date")
    x = watched.locator("[data-field='carriage.rollers[2].x'] input").first.input_value()
    assert x.endswith(" mm")
    assert float(x.split()[0]) < 315


def test_lacing_that_cannot_be_is_told_and_marked_old(watched: Page) -> None:
    _open(watched)
    watched.locator(_roller("candidate", "fast")).focus()
    for _ in range(4):
        watched.keyboard.press("ArrowUp")
    expect(watched.locator("#candidate-panel")).to_have_attribute("data-state", "stale")
    expect(watched.locator("#candidate-problems")).to_contain_text("roller")
    expect(watched.locator("#candidate-drawing .lacing")).to_have_class("lacing is-old")
    accessible(watched)


def test_page_is_accessible(shown: Page) -> None:
    _open(shown)
    accessible(shown)
    no_sideways_scroll(shown)


def test_candidate_goes_to_the_bench(watched: Page) -> None:
    _open(watched)
    gap = watched.locator("#candidate-numbers dd").nth(3).inner_text()
    watched.locator("#take-candidate").click()
    expect(watched.locator("#base-numbers dd").nth(3)).to_have_text(gap, use_inner_text=True)
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    expect(watched.locator("#numbers")).to_contain_text("260 %")
