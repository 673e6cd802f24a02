"""Many sites into a claim, and watching that a saving stays, by hand in the browser."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.browser.conftest import accessible, no_sideways_scroll

from cycle_tables import cycles


def in_order(page: Page) -> None:
    no_sideways_scroll(page)
    accessible(page)


def answer_all(page: Page, problems: str, done: Locator) -> None:
    """Says of everything that is asked about that it is right."""
    asked = page.locator(problems).get_by_role("button", name="It is right")
    expect(done.or_(asked).first).to_be_visible(timeout=60_000)
    while asked.count():
        before = page.locator(problems).inner_text()
        asked.first.click()
        expect(page.locator(problems)).not_to_have_text(before, timeout=60_000)
        expect(done.or_(asked).first).to_be_visible(timeout=60_000)


@pytest.fixture
def sites(tmp_path: Path) -> Path:
    path = tmp_path / "sites.csv"
    path.write_text(
        "site,saving,standard_error,carriage,machine,film\n"
        + "".join(
            f"site {n},{4 + n % 3}.5 %,0.8 %,short gap,line 1,63 gauge\n" for n in range(1, 8)
        ),
        encoding="utf-8",
    )
    return path


def test_sites_to_a_claim(shown: Page, base_url: str, sites: Path) -> None:
    shown.goto(f"{base_url}/sites")
    expect(shown.locator("#sites-state")).to_contain_text("Open a table of sites")
    in_order(shown)
    shown.locator("#sites-file").set_input_files(sites)
    expect(shown.locator("#sites-source")).to_contain_text("sites.csv")
    claim = shown.get_by_label("What somebody wants to say, in English")
    claim.fill("20 % at every site")
    claim.press("Enter")
    verdict = shown.locator("#sites-answer .verdict")
    answer_all(shown, "#sites-problems", verdict)
    expect(verdict).to_contain_text("do not support this claim")
    expect(shown.locator("#sites-answer")).to_contain_text("What may be said")
    expect(shown.locator("#sites-answer figure img")).to_be_visible()
    in_order(shown)
    claim.fill("at least 3 % on average")
    claim.press("Enter")
    expect(verdict).to_contain_text("The sites support this claim.")
    # Words that are not understood are refused, never guessed.
    claim.fill("it is the best")
    claim.press("Enter")
    expect(shown.locator("#sites-problems .error").first).to_be_visible()
    shown.reload()
    expect(claim).to_have_value("it is the best")
    expect(shown.locator("#sites-source")).to_contain_text("sites.csv")


def test_watch_machines_and_the_fleet(shown: Page, base_url: str, tmp_path: Path) -> None:
    for name, jump in (("line 1", 0.0), ("line 2", 12.0)):
        path = tmp_path / f"{name}.csv"
        path.write_text(cycles(1200, jump, name), encoding="utf-8")
    shown.goto(f"{base_url}/watch")
    expect(shown.locator("#records-note")).to_contain_text("No records are chosen yet")
    shown.get_by_role("button", name="Watch the machines").click()
    expect(shown.locator("#watch-problems .error").first).to_be_visible()
    in_order(shown)
    shown.locator("#records-files").set_input_files(
        [tmp_path / "line 1.csv", tmp_path / "line 2.csv"]
    )
    expect(shown.locator("#records-note")).to_contain_text("line 1.csv, line 2.csv")
    shown.get_by_role("button", name="Watch the machines").click()
    verdict = shown.locator("#watch-answer .verdict")
    answer_all(shown, "#watch-problems", verdict)
    expect(verdict).to_contain_text("Alarms on 1 of 2 machines.")
    expect(shown.locator("#watch-answer figure img").first).to_be_visible()
    in_order(shown)
    with shown.expect_download(timeout=90_000) as waiting:
        shown.get_by_role("button", name="Download as PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    shown.get_by_role("button", name="Overview of the fleet").click()
    fleet = shown.locator("#watch-answer", has_text="Machines, the largest loss of film first: 2")
    answer_all(shown, "#watch-problems", fleet)
    in_order(shown)


def test_the_log_and_the_store(shown: Page, base_url: str) -> None:
    shown.goto(f"{base_url}/people")
    expect(shown.locator("#copies")).to_contain_text("No copy of the store is made")
    shown.get_by_role("button", name="See whether it is sound").click()
    expect(shown.locator("#store-answer .verdict")).to_contain_text("The store is sound.")
    in_order(shown)
    shown.get_by_label("Only lines with").fill("no such line")
    expect(shown.locator("#only-note")).to_contain_text("0 of")
