"""The bench in a browser: the main stream on both sizes, problems at fields, files, speed."""

from __future__ import annotations

import contextlib
import gzip
import re
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Error, Page, Response, Route, expect

from .conftest import accessible, in_order


def _open(page: Page) -> None:
    page.goto("/")
    expect(page.locator("#state")).to_have_text("Up to date")


def _field(page: Page, path: str) -> None:
    """Opens the groups round a field."""
    page.evaluate(
        "path => { for (let each = document.querySelector(`[data-field='${path}']`); each; "
        "each = each.parentElement) if (each.tagName === 'DETAILS') each.open = true; }",
        path,
    )


def _type(page: Page, path: str, text: str) -> None:
    _field(page, path)
    page.locator(f"[data-field='{path}'] > :is(input, select, textarea)").fill(text)


def test_change_is_predicted_anew(watched: Page) -> None:
    _open(watched)
    # The example's slow and fast rollers have teeth: a field without effect says why.
    row = watched.locator("[data-field='carriage.prestretch']")
    expect(row.locator(".idle")).to_contain_text("the teeth of the slow and the fast roller")
    before = watched.locator("#figures dd").first.inner_text()
    _type(watched, "film.thickness", "126 gauge")
    expect(watched.locator("#figures dd").first).not_to_have_text(before)
    expect(watched.locator("#state")).to_have_text("Up to date")
    grams = float(watched.locator("#figures dd").first.inner_text().split()[0])
    # More than twice: thicker film also springs back less.
    assert grams > 2.0 * float(before.split()[0])
    in_order(watched)


def test_all_that_opens_is_in_order(phone: Page) -> None:
    _open(phone)
    phone.get_by_label("Layers", exact=True).check()
    phone.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    in_order(phone)


def test_problem_stands_at_its_field_and_old_results_are_marked(phone: Page) -> None:
    _open(phone)
    _type(phone, "film.thickness", "63 parsnips")
    expect(phone.locator("#state")).to_contain_text("results shown are of an earlier case")
    row = phone.locator("[data-field='film.thickness']")
    expect(row.locator(".error")).to_contain_text("parsnips")
    expect(row.locator("input").first).to_have_attribute("aria-invalid", "true")
    expect(phone.locator("body")).to_have_attribute("data-state", "stale")
    # Of the earlier case nothing is left that looks like an answer.
    phone.locator("#why > summary").click()
    struck = "each => getComputedStyle(each).textDecorationLine"
    assert phone.locator("#verdict .headline").first.evaluate(struck) == "line-through"
    accessible(phone)
    _type(phone, "film.thickness", "63 gauge")
    expect(phone.locator("#state")).to_have_text("Up to date")
    expect(row.locator(".error")).to_be_hidden()


def test_results_are_marked_old_from_the_moment_of_a_change(watched: Page) -> None:
    """The server is held back; meanwhile nothing shown may look fresh."""
    _open(watched)
    held: list[Route] = []
    watched.route("**/api/predict?*", lambda route: held.append(route))
    _type(watched, "load.height", "1.6 m")
    expect(watched.locator("body")).to_have_attribute("data-state", "asking")
    expect(watched.locator("#state")).to_have_text("Calculating …")
    watched.wait_for_timeout(400)
    expect(watched.locator("body")).to_have_attribute("data-state", "asking")
    assert len(held) == 1
    held[0].continue_()
    expect(watched.locator("#state")).to_have_text("Up to date")


def test_late_answer_to_an_earlier_case_is_not_shown(watched: Page) -> None:
    _open(watched)
    held: list[Route] = []

    def hold_the_earlier(route: Route) -> None:
        if "0.6 m" in (route.request.post_data or ""):
            held.append(route)
        else:
            route.continue_()

    watched.route("**/api/predict?*", hold_the_earlier)
    with watched.expect_request(lambda asked: "0.6 m" in (asked.post_data or "")):
        _type(watched, "load.height", "0.6 m")
    watched.wait_for_timeout(400)
    assert len(held) == 1
    _type(watched, "load.height", "1.5 m")
    expect(watched.locator("#state")).to_have_text("Up to date")
    right = watched.locator("#figures").inner_text()
    with contextlib.suppress(Error):  # the page has given that question up already
        held[0].continue_()
    watched.wait_for_timeout(400)
    assert watched.locator("#figures").inner_text() == right


def test_film_builds_up_turn_by_turn(phone: Page) -> None:
    _open(phone)
    expect(phone.locator("#scene")).to_have_attribute("data-ready", "true")
    canvas = phone.locator("#scene canvas")
    phone.locator("#turn").focus()
    phone.keyboard.press("Home")
    expect(phone.locator("#turn-words")).to_contain_text("turn 0.0 of")
    bare = canvas.screenshot()
    phone.keyboard.press("End")
    words = phone.locator("#turn").get_attribute("aria-valuetext") or ""
    assert "closing wraps" in words
    assert canvas.screenshot() != bare
    phone.locator("#pace").select_option("12")
    phone.locator("#play").click()
    expect(phone.locator("#play")).to_have_text("Pause")
    expect(phone.locator("#turn-words")).to_contain_text("rise")
    phone.locator("#play").click()
    expect(phone.locator("#play")).to_have_text("Play")


def test_case_survives_reload_and_goes_to_the_same_file(watched: Page, tmp_path: Path) -> None:
    _open(watched)
    _type(watched, "load.height", "58 in")
    expect(watched.locator("#state")).to_have_text("Up to date")
    watched.reload()
    expect(watched.locator("[data-field='load.height'] input").first).to_have_value("58 in")
    with watched.expect_download() as download:
        watched.locator("#download").click()
    path = tmp_path / "case.toml"
    download.value.save_as(path)
    assert tomllib.loads(path.read_text(encoding="utf-8"))["load"]["height"] == "58 in"
    watched.locator("#new").click()
    expect(watched.locator("[data-field='load.height'] input").first).to_have_value("1.5 m")
    watched.locator("#open-file").set_input_files(path)
    expect(watched.locator("[data-field='load.height'] input").first).to_have_value("58 in")


def test_case_is_saved_duplicated_and_opened_again(watched: Page) -> None:
    _open(watched)
    _type(watched, "title", "Bottles for the browser test")
    watched.locator("#save").click()
    expect(watched.locator("#save-state")).to_have_text("Saved")
    watched.locator("#duplicate").click()
    expect(watched.locator("#saved-cases option")).to_contain_text(
        ["Saved cases", "Bottles for the browser test (copy)", "Bottles for the browser test"]
    )
    _type(watched, "load.tiers", "3")
    expect(watched.locator("#save-state")).to_have_text("Changes not saved yet")
    watched.locator("#saved-cases").select_option(label="Bottles for the browser test")
    watched.get_by_role("button", name="Go on without saving").click()
    _field(watched, "title")
    expect(watched.locator("[data-field='title'] input")).to_have_value(
        "Bottles for the browser test"
    )


def test_stated_origin_ends_the_placeholder(watched: Page) -> None:
    _open(watched)
    _field(watched, "film.reload_modulus")
    _type(watched, "film.reload_modulus", "380 MPa")
    row = watched.locator("[data-field='film.reload_modulus']")
    expect(row.locator(".unmeasured")).to_contain_text("nobody measured")
    row.get_by_text("Where it is from").click()
    row.get_by_label("measured how").fill("cut-and-weigh")
    expect(row.locator(".unmeasured")).to_have_text("From: cut-and-weigh")
    expect(watched.locator("#state")).to_have_text("Up to date")
    expect(watched.locator("#numbers")).not_to_contain_text("film.reload_modulus")


def test_units_of_results_are_the_readers(watched: Page) -> None:
    _open(watched)
    watched.locator("#units").select_option("trade")
    expect(watched.locator("#figures dd").first).to_contain_text("oz")
    watched.locator("#units").select_option("si")
    expect(watched.locator("#figures dd").first).not_to_contain_text("oz")


def test_keyboard_reaches_inputs_first(watched: Page) -> None:
    _open(watched)
    watched.keyboard.press("Tab")
    expect(watched.locator(".skip")).to_be_focused()
    watched.keyboard.press("Enter")
    expect(watched.locator("#main")).to_be_focused()


def test_first_load_is_small_and_from_here_alone(watched: Page, base_url: str) -> None:
    """All but the chunk of three dimensions in less than 200 kB, as gzip sends it."""
    answers: list[Response] = []
    watched.on("response", lambda response: answers.append(response))
    _open(watched)
    expect(watched.locator("#scene")).to_have_attribute("data-ready", "true")
    sizes = {each.url: len(gzip.compress(each.body())) for each in answers}
    assert all(url.startswith(base_url) for url in sizes)
    chunk = [url for url in sizes if "/scene-" in url]
    assert len(chunk) == 1
    assert sum(size for url, size in sizes.items() if url not in chunk) < 200_000


def test_page_works_without_three_dimensions(watched: Page) -> None:
    watched.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    expect(watched.locator("#scene")).to_contain_text("draws nothing in three dimensions")


def _slipping(page: Page) -> None:
    """The starter's load at a level that makes its tiers slide, moved over time."""
    _open(page)
    _type(page, "transport.acceleration", "0.7")
    expect(page.locator("#way-choice option")).to_have_text("EUMOS 40509, any direction, 0.7 g")
    expect(page.locator("#way-state")).to_have_text("Up to date")


def _clock(page: Page) -> float:
    return float(page.locator("#way-clock").inner_text().split()[0])


def test_the_stack_is_played_and_scrubbed(phone: Page) -> None:
    _slipping(phone)
    play, slider, tiers = (
        phone.locator(each) for each in ("#way-play", "#way-time", ".stack-tiers")
    )
    # It stands at its end first: 0.05 s up, 1 s of the level, 0.05 s down and a second of rest.
    assert _clock(phone) == pytest.approx(2.1)
    fallen = tiers.get_attribute("d")
    phone.locator("#way-pace").select_option("0.1")
    play.click()
    expect(play).to_have_text("Pause")
    expect(phone.locator("#way-clock")).not_to_have_text(re.compile(r"^(0\.00|2\.10) s$"))
    play.click()
    expect(play).to_have_text("Play")
    stopped, drawn = _clock(phone), tiers.get_attribute("d")
    assert 0.0 < stopped < 2.1
    assert drawn != fallen
    phone.wait_for_timeout(200)
    assert (_clock(phone), tiers.get_attribute("d")) == (stopped, drawn)
    slider.press("End")
    assert (_clock(phone), tiers.get_attribute("d")) == (2.1, fallen)
    expect(slider).to_have_attribute("aria-valuetext", "2.10 s")
    slider.press("Home")
    assert _clock(phone) == 0.0
    # Nothing has moved yet: where it stands is where it stood.
    rest = phone.locator(".stack-rest").get_attribute("d")
    at_start = phone.locator(".stack-pallet").get_attribute("d")
    assert rest == f"{at_start}{tiers.get_attribute('d')}"
    slider.press("ArrowRight")
    assert 0.0 < _clock(phone) < 0.02
    expect(phone.locator("#way-moved")).to_contain_text("it falls after")
    # What has fallen is drawn to its end, not cut off at the edge.
    slider.press("End")
    picture, moved = phone.locator(".stack-picture").bounding_box(), tiers.bounding_box()
    assert picture is not None
    assert moved is not None
    assert picture["x"] <= moved["x"]
    assert moved["x"] + moved["width"] <= picture["x"] + picture["width"] + 1
    in_order(phone)


def test_stills_for_who_wants_no_motion(watched: Page) -> None:
    watched.emulate_media(reduced_motion="reduce")
    _slipping(watched)
    watched.locator("#way-pace").select_option("0.25")
    watched.locator("#way-play").click()
    seen = set()
    for _ in range(20):
        seen.add(_clock(watched))
        watched.wait_for_timeout(50)
    watched.locator("#way-play").click()
    # A picture each quarter of a second of the load's time; by hand it goes to any moment.
    assert all(each % 0.25 == 0.0 for each in seen - {2.1}), seen
    assert len(seen) >= 2
    watched.locator("#way-time").press("Home")
    watched.locator("#way-time").press("ArrowRight")
    assert 0.0 < _clock(watched) < 0.02


def test_an_unusual_value_is_asked_about_at_its_field(phone: Page) -> None:
    _open(phone)
    _type(phone, "load.mass", "4000 kg")
    row = phone.locator("[data-field='load.mass']")
    expect(row.locator(".error")).to_contain_text("usual: 10 to 2500 kg")
    expect(phone.locator("#state")).to_contain_text("results shown are of an earlier case")
    row.get_by_role("button", name="It is right").click()
    expect(phone.locator("#state")).to_have_text("Up to date")
    expect(phone.locator("#findings")).to_contain_text("4000 kg")
    # Another value is asked about again.
    _type(phone, "load.mass", "5000 kg")
    expect(row.locator(".error")).to_contain_text("5000 kg")
    in_order(phone)
