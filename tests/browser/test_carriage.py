"""The carriage page in a browser: rollers moved by keys and pointer, answers that follow."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from .conftest import accessible, in_order


def _open(page: Page) -> None:
    page.goto("/carriage")
    for state in ("#base-state", "#candidate-state", "#comparison-state"):
        expect(page.locator(state)).to_have_text("Up to date")


def _roller(arm: str, name: str) -> str:
    return f"#{arm}-drawing .roller[aria-label^='{name} ']"


def test_roller_moves_with_the_arrow_keys(watched: Page) -> None:
    _open(watched)
    numbers = watched.locator("#candidate-numbers")
    before = numbers.inner_text()
    saving = watched.locator("#saving .headline").inner_text()
    fast = watched.locator(_roller("candidate", "fast"))
    fast.focus()
    place = fast.get_attribute("transform")
    for _ in range(6):
        watched.keyboard.press("ArrowRight")
    assert fast.get_attribute("transform") != place
    expect(watched.locator("#candidate-state")).to_have_text("Up to date")
    expect(numbers).not_to_have_text(before, use_inner_text=True)
    expect(watched.locator("#saving .headline")).not_to_have_text(saving)
    in_order(watched)


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
