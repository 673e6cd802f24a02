"""The dancer page in a browser: springs, motion against the turning load, a trace judged."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from woold.demo.dancer_traces import write_bouncing_trace

from .conftest import in_order


@pytest.fixture(scope="module")
def trace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented trace of a dancer that bounces at 3.2 Hz."""
    path = tmp_path_factory.mktemp("traces") / "bouncing.csv"
    write_bouncing_trace(path)
    return path


def _open(page: Page) -> None:
    page.goto("/dancer")
    for state in ("#springs-state", "#cycle-state"):
        # The first simulation on a new machine compiles its kernel.
        expect(page.locator(state)).to_have_text("Up to date", timeout=60_000)


def test_spring_and_hole_are_tried_in_motion(phone: Page) -> None:
    _open(phone)
    words = phone.locator("#cycle-words").inner_text()
    phone.locator("#springs button[aria-pressed='false']").first.click()
    expect(phone.locator("#cycle-words")).not_to_have_text(words)
    expect(phone.locator("#cycle-state")).to_have_text("Up to date")
    expect(phone.locator("#springs button[aria-pressed='true']")).to_have_count(1)
    place = phone.locator(".plan-load").get_attribute("transform")
    phone.locator("#time").focus()
    phone.keyboard.press("Home")
    phone.keyboard.press("PageUp")
    assert phone.locator(".plan-load").get_attribute("transform") != place
    assert "tension" in (phone.locator("#time").get_attribute("aria-valuetext") or "")
    in_order(phone)


def test_trace_is_judged(watched: Page, trace: Path) -> None:
    _open(watched)
    watched.locator("#trace-file").set_input_files(trace)
    watched.get_by_role("button", name="Judge").click()
    expect(watched.locator("#trace-answer .verdict")).to_contain_text("bounces", timeout=60_000)
    expect(watched.locator("#trace-answer")).to_contain_text("3.2")
    expect(watched.locator("#trace-answer")).to_contain_text("Try first:")
    # What to mind stands once, whatever is shown.
    expect(watched.locator(".care")).to_have_count(1)
    care = watched.locator(".care li").all_text_contents()
    assert any("spring is loaded" in each for each in care)
    assert len(care) == len(set(care)) > 3
    in_order(watched)


def test_unreadable_trace_is_told_by_its_own_name(watched: Page, tmp_path: Path) -> None:
    _open(watched)
    path = tmp_path / "notes.csv"
    path.write_text("time [s],dancer [deg]\n0,one\n", encoding="utf-8")
    watched.locator("#trace-file").set_input_files(path)
    watched.get_by_role("button", name="Judge").click()
    expect(watched.locator("#trace-state")).to_contain_text("notes.csv")
    assert "/tmp" not in watched.locator("#trace-state").inner_text()
    # What is typed beside the case waits for whoever comes back.
    watched.locator("#tune-slowest").fill("4 rpm")
    watched.locator("#trace-reverse").check()
    watched.reload()
    expect(watched.locator("#tune-slowest")).to_have_value("4 rpm")
    expect(watched.locator("#trace-reverse")).to_be_checked()
    with watched.expect_download(timeout=60_000) as waiting:
        watched.get_by_role("link", name="Tags to print (A4)").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"


def test_case_without_dancer_offers_the_invented_one(watched: Page) -> None:
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    watched.locator("#new").click()
    watched.goto("/dancer")
    watched.get_by_role("button", name="Start from the invented dancer").click()
    expect(watched.locator("#cycle-state")).to_have_text("Up to date")
