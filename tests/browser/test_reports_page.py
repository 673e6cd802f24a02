"""Reports from the browser: shown, printed, taken away; and why one cannot be made."""

from __future__ import annotations

import re

import pypdfium2
from playwright.sync_api import Page, expect

from .conftest import accessible, in_order

MADE = 90_000
"""A report's random draws take seconds; on a crowded machine, many of them [ms]."""


def _made(page: Page) -> None:
    page.get_by_role("button", name="Make it").click()
    expect(page.locator("#report-state")).to_contain_text("Made.", timeout=MADE)


def test_report_is_shown_printed_and_taken_away(phone: Page) -> None:
    phone.goto("/")
    expect(phone.locator("#state")).to_have_text("Up to date")
    grams = phone.locator("#figures dd").first.inner_text().split()[0]
    phone.get_by_role("link", name="Report or set-up sheet").click()
    expect(phone.locator("#main")).not_to_have_attribute("inert", "")
    _made(phone)
    expect(phone.locator("#report-title")).to_be_focused()
    expect(phone.locator("#report")).to_contain_text(f"{grams} g")
    in_order(phone)
    with phone.expect_download(timeout=MADE) as download:
        phone.get_by_role("button", name="Download PDF").click()
    pdf = pypdfium2.PdfDocument(download.value.path())
    text = " ".join(pdf[0].get_textpage().get_text_range().split())
    assert f"{grams} g" in text
    with phone.expect_download(timeout=MADE) as download:
        phone.get_by_role("button", name="Download page").click()
    assert download.value.suggested_filename.endswith("prediction-report.html")
    # On paper stands the report, and nothing that is pressed or typed into.
    phone.emulate_media(media="print")
    expect(phone.locator("#report-title")).to_be_visible()
    for each in ("#asked-panel", "#report-print", "header.top"):
        expect(phone.locator(each)).to_be_hidden()


def test_set_up_sheet_states_what_the_bench_says(watched: Page) -> None:
    watched.goto("/reports")
    watched.locator("#report-kind").select_option("sheet")
    _made(watched)
    expect(watched.locator("#report-subtitle")).to_have_text("Set-up sheet for the operator")
    with watched.expect_download(timeout=MADE) as download:
        watched.get_by_role("button", name="Download PDF").click()
    assert len(pypdfium2.PdfDocument(download.value.path())) == 1
    watched.locator("#report-paper").select_option("letter")
    expect(watched.locator("#report-state")).to_contain_text("Make it anew")


def test_report_that_cannot_be_made_says_why_and_where_to_mend_it(watched: Page) -> None:
    watched.goto("/reports?of=design")
    watched.get_by_role("button", name="Make it").click()
    problems = watched.locator("#report-problems")
    expect(problems).to_contain_text("Search on the design page, then come back.")
    expect(watched.get_by_role("link", name="To the design page")).to_be_visible()
    accessible(watched)
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    watched.locator('[data-field="load.height"] > input').fill("tall")
    expect(watched.locator("#state")).to_contain_text("1 value needs mending")
    watched.goto("/reports")
    watched.get_by_role("button", name="Make it").click()
    expect(problems).to_contain_text("Load: height")
    expect(problems).to_contain_text("tall")
    watched.get_by_role("link", name="Mend it on the bench").click()
    expect(watched).to_have_url(re.compile(r"/$"))


def test_report_of_two_carriages_and_of_the_way(watched: Page) -> None:
    watched.goto("/reports?of=carriages")
    watched.get_by_role("button", name="Make it").click()
    expect(watched.locator("#report-problems")).to_contain_text("no carriage to compare with")
    watched.get_by_role("link", name="To the carriage page").click()
    expect(watched.locator("#comparison-state")).to_contain_text("Up to date", timeout=MADE)
    watched.locator("#candidate-start").select_option(index=2)
    expect(watched.locator("#comparison-state")).to_contain_text("Up to date", timeout=MADE)
    watched.locator("#comparison").get_by_role("link", name="Report").click()
    _made(watched)
    expect(watched.locator("#report-subtitle")).to_have_text("Comparison of two film carriages")
    watched.locator("#report-kind").select_option("transport")
    _made(watched)
    expect(watched.locator("#report-subtitle")).to_have_text("Transport of a wrapped load")
    expect(watched.locator("#report figure img")).to_have_count(2)
