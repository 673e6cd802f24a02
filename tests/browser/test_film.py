"""A film of the dancer in a browser: looked at before it is sent, sent, judged, deleted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from arm_motion import Motion
from film_maker import Scene, write_film

from .conftest import in_order


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Nine seconds in the one coding that every free build of the browser plays."""
    path = tmp_path_factory.mktemp("films") / "dancer.webm"
    scene = Scene(width=480, height=270, length=9, motion=Motion(period=1.5))
    # As a phone writes it: at once, not as small as it could be.
    at_once = {"deadline": "realtime", "cpu-used": "8"}
    write_film(path, scene, codec="libvpx-vp9", encoder=at_once)
    return path


def test_film_is_looked_at_sent_and_judged(phone: Page, film: Path) -> None:
    phone.goto("/dancer#film-panel")
    phone.locator("#film-file").set_input_files(film)
    expect(phone.locator("#film-look")).to_contain_text("seen in 3 of 3", timeout=60_000)
    expect(phone.locator("#film-picture")).to_be_visible()
    phone.locator("#film-case").uncheck()
    phone.get_by_role("button", name="Send the film").click()
    expect(phone.locator("#film-answer .verdict")).to_be_visible(timeout=120_000)
    expect(phone.locator("#film-state")).to_contain_text("the film is deleted")
    expect(phone.locator("#film-answer .film-still")).to_be_visible()
    assert "no person in the picture" in phone.locator("#film-panel .warn").inner_text()
    care = phone.locator(".care li").all_text_contents()
    assert any("Lock out the machine while you stick tags on" in each for each in care)
    in_order(phone)


def test_two_points_are_asked_for(watched: Page, film: Path) -> None:
    watched.goto("/dancer#film-panel")
    watched.locator("#film-file").set_input_files(film)
    expect(watched.locator("#film-look")).to_contain_text("seen in", timeout=60_000)
    watched.locator("#film-points").check()
    watched.get_by_role("button", name="Send the film").click()
    expect(watched.locator("#film-state")).to_contain_text("Pick the pivot")


def test_film_chosen_before_the_page_is_ready_is_looked_at(watched: Page, film: Path) -> None:
    """A browser may fill the form in again on a reload, before anything listens."""
    held: list[Route] = []
    watched.route("**/api/fields", lambda route: held.append(route))
    with watched.expect_request("**/api/fields"):
        watched.goto("/dancer#film-panel")
    watched.locator("#film-file").set_input_files(film)
    watched.locator("#film-points").evaluate("box => { box.checked = true; }")
    expect(watched.locator("#main")).to_have_attribute("inert", "")
    expect(watched.locator("#film-look")).to_be_empty()
    for each in held:
        each.continue_()
    expect(watched.locator("#film-look")).to_contain_text("seen in", timeout=60_000)
    for at in ((60, 60), (120, 60)):
        watched.locator("#film-picture").click(position={"x": at[0], "y": at[1]})
    with watched.expect_response(re.compile("/judge"), timeout=40_000) as answer:
        watched.get_by_role("button", name="Send the film").click()
    asked = answer.value.request.post_data_json
    assert asked["pivot"][0] < asked["arm"][0]
    expect(watched.locator("#film-form button")).to_be_enabled()
