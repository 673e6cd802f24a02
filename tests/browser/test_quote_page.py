"""The page of a quote: five facts, the answer, its paper; what cannot be is told at its field."""

from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, in_order
from tests.browser.measures import MOST_SHIFT, SHIFTS


def test_a_quote_from_five_facts(shown: Page) -> None:
    is_phone = (shown.viewport_size or {"width": 0})["width"] < 500
    shown.emulate_media(color_scheme="dark" if is_phone else "light")
    shown.add_init_script(SHIFTS)
    shown.goto("/quote")
    expect(shown.locator("#main")).not_to_have_attribute("inert", "")
    expect(shown.locator("#quote-offered option")).not_to_have_count(0)
    assert shown.evaluate("window.shift") < MOST_SHIFT, shown.evaluate("window.shifted")
    in_order(shown)
    ask = shown.get_by_role("button", name="See what may be saved")
    ask.click()
    expect(shown.locator("#quote-length-error")).to_be_visible()
    accessible(shown)
    for name, text in (
        ("length", "1.2 m"),
        ("width", "1.0 m"),
        ("height", "1.5 m"),
        ("loads-per-year", "80000"),
        ("roll-width", "20 in"),
        ("thickness", "63 gauge"),
        ("film-per-load", "2 kg"),
    ):
        shown.locator(f"#quote-{name}").fill(text)
    shown.get_by_label("Physics alone, whatever was tried").check()
    ask.click()
    # A question, at its field; mended there.
    expect(shown.locator("#quote-film-per-load-error")).to_contain_text("usual", timeout=60_000)
    shown.locator("#quote-film-per-load").fill("260 g")
    ask.click()
    answer = shown.locator("#quote-answer")
    expect(answer).to_contain_text("of the film", timeout=60_000)
    expect(answer).to_contain_text("no trial of a carriage is behind it")
    expect(shown.locator("#answer-state")).to_have_text("Up to date")
    in_order(shown)
    with shown.expect_download(timeout=60_000) as waiting:
        shown.get_by_role("button", name="Download PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    with shown.expect_download(timeout=60_000) as waiting:
        shown.get_by_role("button", name="Download JSON").click()
    assert json.loads(Path(waiting.value.path()).read_bytes())["schema"] == "quote"
    # What was typed is there after a reload.
    shown.reload()
    expect(shown.locator("#quote-film-per-load")).to_have_value("260 g")
