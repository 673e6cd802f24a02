"""The page of a quote: five facts, the answer, its paper; what cannot be is told at its field."""

from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, in_order
from tests.browser.measures import MOST_SHIFT, SHIFTS, troubles


def test_a_quote_from_five_facts(phone: Page) -> None:
    phone.emulate_media(color_scheme="dark")
    phone.add_init_script(SHIFTS)
    phone.goto("/quote")
    # What an earlier form of the page kept in another shape is as at first.
    old = {"facts": None, "offered": 5, "sites": [1]}
    phone.evaluate("old => localStorage.setItem('woold.quote', JSON.stringify(old))", old)
    phone.reload()
    expect(phone.locator("#main")).not_to_have_attribute("inert", "")
    expect(phone.locator("#quote-offered option")).not_to_have_count(0)
    assert phone.evaluate("window.shift") < MOST_SHIFT, phone.evaluate("window.shifted")
    in_order(phone)
    ask = phone.get_by_role("button", name="See what may be saved")
    ask.click()
    expect(phone.locator("#quote-length-error")).to_be_visible()
    accessible(phone)
    for name, text in (
        ("length", "1.2 m"),
        ("width", "1.0 m"),
        ("height", "1.5 m"),
        ("loads-per-year", "80000"),
        ("roll-width", "20 in"),
        ("thickness", "63 gauge"),
        ("film-per-load", "2 kg"),
    ):
        phone.locator(f"#quote-{name}").fill(text)
    phone.get_by_label("Physics alone, whatever was tried").check()
    ask.click()
    # A question, at its field; mended there.
    expect(phone.locator("#quote-film-per-load-error")).to_contain_text("usual", timeout=60_000)
    phone.locator("#quote-film-per-load").fill("260 g")
    ask.click()
    answer = phone.locator("#quote-answer")
    expect(answer).to_contain_text("of the film", timeout=60_000)
    expect(answer).to_contain_text("no trial of a carriage is behind it")
    expect(phone.locator("#answer-state")).to_have_text("Up to date")
    assert troubles(phone, columns=False) == []
    # The answer's own cautions, and the page's that it does not have, in one line.
    care = answer.locator("details.care")
    assert "guarded knife" in care.inner_html()
    in_order(phone)
    with phone.expect_download(timeout=60_000) as waiting:
        phone.get_by_role("button", name="Download PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    with phone.expect_download(timeout=60_000) as waiting:
        phone.get_by_role("button", name="Download JSON").click()
    assert json.loads(Path(waiting.value.path()).read_bytes())["schema"] == "quote"
    # What was typed is there after a reload.
    phone.reload()
    expect(phone.locator("#quote-film-per-load")).to_have_value("260 g")
