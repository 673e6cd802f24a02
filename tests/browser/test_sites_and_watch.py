"""Many sites into a claim, and watching that a saving stays, by hand in the browser."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.browser.conftest import in_order

from cycle_tables import cycles

from .measures import MOST_SHIFT, SHIFTS, shifted


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


def test_sites_to_a_claim(watched: Page, base_url: str, sites: Path) -> None:
    watched.goto(f"{base_url}/sites")
    expect(watched.locator("#sites-state")).to_contain_text("Open a table of sites")
    watched.locator("#sites-file").set_input_files(sites)
    expect(watched.locator("#sites-source")).to_contain_text("sites.csv")
    claim = watched.get_by_label("What somebody wants to say, in English")
    claim.fill("20 % at every site")
    claim.press("Enter")
    verdict = watched.locator("#sites-answer .verdict")
    answer_all(watched, "#sites-problems", verdict)
    expect(verdict).to_contain_text("do not support this claim")
    expect(watched.locator("#sites-answer")).to_contain_text("What may be said")
    expect(watched.locator("#sites-answer figure img")).to_be_visible()
    in_order(watched)
    claim.fill("at least 3 % on average")
    claim.press("Enter")
    expect(verdict).to_contain_text("The sites support this claim.")
    claim.fill("at least 4 % on average")
    expect(watched.locator("#sites-state")).to_contain_text("Changed since")
    # Words that are not understood are refused, never guessed.
    claim.fill("it is the best")
    claim.press("Enter")
    expect(watched.locator("#sites-problems .error").first).to_be_visible()
    watched.reload()
    expect(claim).to_have_value("it is the best")
    expect(watched.locator("#sites-source")).to_contain_text("sites.csv")


def test_watch_machines_and_the_fleet(phone: Page, base_url: str, tmp_path: Path) -> None:
    for name, jump in (("line 1", 0.0), ("line 2", 12.0)):
        path = tmp_path / f"{name}.csv"
        path.write_text(cycles(1200, jump, name), encoding="utf-8")
    phone.add_init_script(SHIFTS)
    phone.goto(f"{base_url}/watch")
    expect(phone.locator("#records-note")).to_contain_text("No records are chosen yet")
    phone.get_by_role("button", name="Watch the machines").click()
    expect(phone.locator("#watch-problems .error").first).to_be_visible()
    in_order(phone)
    phone.locator("#records-files").set_input_files(
        [tmp_path / "line 1.csv", tmp_path / "line 2.csv"]
    )
    expect(phone.locator("#records-note")).to_contain_text("line 1.csv, line 2.csv")
    phone.get_by_role("button", name="Watch the machines").click()
    verdict = phone.locator("#watch-answer .verdict")
    answer_all(phone, "#watch-problems", verdict)
    expect(verdict).to_contain_text("Alarms on 1 of 2 machines.")
    total, moved = shifted(phone)
    assert total < MOST_SHIFT, moved
    expect(phone.locator("#watch-answer figure img").first).to_be_visible()
    in_order(phone)
    with phone.expect_download(timeout=90_000) as waiting:
        phone.get_by_role("button", name="Download as PDF").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    phone.locator("#since").fill("2026-01-05")
    expect(phone.locator("#watch-state")).to_contain_text("Changed since")
    expect(phone.get_by_role("button", name="Download as PDF")).to_be_disabled()
    phone.get_by_role("button", name="Undo").click()
    phone.get_by_role("button", name="Overview of the fleet").click()
    fleet = phone.locator("#watch-answer", has_text="Machines, the largest loss of film first: 2")
    answer_all(phone, "#watch-problems", fleet)
    in_order(phone)


def test_the_log_and_the_store(watched: Page, base_url: str) -> None:
    watched.goto(f"{base_url}/people")
    expect(watched.locator("#copies")).to_contain_text("No copy of the store is made")
    watched.get_by_role("button", name="See whether it is sound").click()
    expect(watched.locator("#store-answer .verdict")).to_contain_text("The store is sound.")
    in_order(watched)
    watched.get_by_label("Only lines with").fill("no such line")
    expect(watched.locator("#only-note")).to_contain_text("0 of")
