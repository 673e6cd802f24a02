"""The phone form: nothing typed is lost, and everything reaches the server once."""

from __future__ import annotations

import contextlib
import importlib.resources
import io
import json
import os
import re
import signal
import subprocess
import sys
import time
import tomllib
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import argon2
import numpy as np
import pytest
import trustme
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page, Route, expect
from tests.browser.conftest import CHROMIUM, SIZES, accessible, in_order

from small_pictures import small_picture
from woold.store import Store
from woold.store.accounts import Accounts
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

FILES = importlib.resources.files("woold.demo").joinpath("files")
CASES = ("today.toml", "next.toml", "today-tall.toml", "next-tall.toml")
PASSWORD = "some words in a row"
NAME = "woold.plant.test"
PLANT_STORE: dict[str, str] = {}
"""File of the store behind an address."""
PICTURE = small_picture()


def ask(address: str, body: Any = None) -> Any:
    """JSON of the interface."""
    data = None if body is None else json.dumps(body).encode()
    headers = {"content-type": "application/json"}
    with urllib.request.urlopen(urllib.request.Request(address, data, headers), timeout=60) as got:
        return json.loads(got.read())


def trial_files(key: str) -> dict[str, Any]:
    text = FILES.joinpath("trial.toml").read_text(encoding="utf-8")
    text = re.sub(r'(?m)^key = ".*"', f'key = "{key}"', text)
    cases = {name: FILES.joinpath(name).read_text(encoding="utf-8") for name in CASES}
    return {"trial": tomllib.loads(text), "cases": cases, "loads_per_treatment": 8}


@pytest.fixture
def trial(base_url: str, request: pytest.FixtureRequest) -> str:
    """A new trial of its own for each test; its address."""
    key = re.sub(r"[^a-z0-9]+", "-", request.node.name.lower()).strip("-")[:60].strip("-")
    return f"{base_url}/trials/{ask(f'{base_url}/api/trials', trial_files(key))['key']}"


def records(trial: str, kind: str = "load") -> list[dict[str, Any]]:
    every = ask(trial.replace("/trials/", "/api/trials/") + "/records")["records"]
    return [each for each in every if each["kind"] == kind]


@pytest.fixture
def rough(page: Page) -> Page:
    """A phone whose network fails, which the browser logs as errors."""
    width, height = SIZES["phone"]
    page.set_viewport_size({"width": width, "height": height})
    return page


def open_form(page: Page, trial: str) -> None:
    page.goto(f"{trial}/form")
    expect(page.locator("#entry")).to_be_visible()


def weigh(page: Page, text: str) -> None:
    page.get_by_label("film on the scale", exact=True).fill(text)


def weighed(page: Page) -> str:
    return page.get_by_label("film on the scale", exact=True).input_value()


def save(page: Page, load: int) -> None:
    page.get_by_role("button", name=f"Save load {load}").click()
    expect(page.locator("#saved-note")).to_have_text(f"Load {load} is saved.")


def state(page: Page) -> Any:
    return expect(page.locator("#sync"))


def test_write_a_load_down(phone: Page, trial: str) -> None:
    open_form(phone, trial)
    expect(phone.locator(".load-head h2")).to_have_text("Load 1")
    phone.get_by_label("unit of film on the scale").select_option("oz")
    weigh(phone, "6,2")
    assert weighed(phone) == "6.2"
    phone.get_by_label("pull reading, bottom, front").fill("31.5")
    phone.get_by_label("time since wrapping", exact=True).fill("20")
    no_picture = {"name": "a.png", "mimeType": "image/png", "buffer": b"no picture"}
    phone.locator("#photo").set_input_files([no_picture])
    expect(phone.locator("#typed-state")).to_contain_text("no JPEG, PNG or WebP picture: a.png")
    expect(phone.locator("#photos img")).to_have_count(0)
    in_order(phone)
    save(phone, 1)
    state(phone).to_have_text("Everything is sent.")
    expect(phone.locator(".load-head h2")).to_have_text("Load 2")
    expect(phone.locator("#outbox-place")).to_contain_text("Load 1 sent")
    # Units and the time since wrapping are remembered; what was measured is not.
    expect(phone.get_by_label("unit of film on the scale")).to_have_value("oz")
    expect(phone.get_by_label("time since wrapping", exact=True)).to_have_value("20")
    assert weighed(phone) == ""
    (record,) = records(trial)
    assert record["cells"]["film_mass"][:2] == ["6.2", "oz"]
    (pull,) = records(trial, "pull")
    assert pull["cells"]["height"][:2] == ["250", "mm"]
    assert pull["cells"]["force"][:2] == ["31.5", "N"]


def test_targets_fit_gloves(phone: Page, trial: str) -> None:
    """At least 44 CSS pixels each way, as WCAG 2.2's stricter target size (2.5.5) asks."""
    open_form(phone, trial)
    for group in phone.locator(".entry-group").all():
        group.evaluate("node => { node.open = true; }")
    small = phone.evaluate(
        """() => [...document.querySelectorAll(`input, select, button, summary, textarea, a`)]
          .filter((node) => node.checkVisibility() && !node.closest('.pick, .photo-button, .skip'))
          .map((node) => [node.outerHTML.slice(0, 60), node.getBoundingClientRect()])
          .filter(([, box]) => box.height < 44 || box.width < 44)
          .map(([html, box]) => `${html} ${box.width} x ${box.height}`)"""
    )
    assert small == []


def test_offline_entry_then_sync(page: Page, trial: str, context: BrowserContext) -> None:
    """Out of reach the form opens, takes loads and photos, survives reloads, and sends later."""
    width, height = SIZES["phone"]
    page.set_viewport_size({"width": width, "height": height})
    open_form(page, trial)
    expect(page.locator("#offline")).to_contain_text("also opens while the server is out of reach")
    context.set_offline(True)
    page.reload()
    expect(page.locator("#entry")).to_be_visible()
    weigh(page, "175.5")
    files = [{"name": "load.png", "mimeType": "image/png", "buffer": PICTURE}]
    page.locator("#photo").set_input_files(files)
    expect(page.locator("#photos img")).to_have_count(1)
    save(page, 1)
    state(page).to_contain_text("1 load not sent yet, kept on this phone")
    weigh(page, "181")
    page.reload()
    expect(page.locator("#entry")).to_be_visible()
    assert weighed(page) == "181"
    expect(page.locator(".load-head h2")).to_have_text("Load 2")
    state(page).to_contain_text("1 load not sent yet")
    # What was tried in vain goes after what was not: once both were, the order is theirs.
    with page.expect_event("requestfailed", lambda each: "181" in (each.post_data or "")):
        save(page, 2)
    state(page).to_contain_text("2 loads not sent yet")
    assert records(trial) == []
    context.set_offline(False)
    state(page).to_have_text("Everything is sent.")
    assert [each["key"] for each in records(trial)] == ["1", "2"]
    assert [each["cells"]["load"][0] for each in records(trial, "photo")] == ["1"]


def test_reload_and_closed_tab_lose_nothing(phone: Page, trial: str) -> None:
    open_form(phone, trial)
    weigh(phone, "175.5")
    phone.reload()
    expect(phone.locator("#entry")).to_be_visible()
    assert weighed(phone) == "175.5"
    other = phone.context.new_page()
    phone.goto("about:blank")
    open_form(other, trial)
    assert weighed(other) == "175.5"
    other.close()


def _process_of(profile: str) -> int:
    """Number of the browser, the parent of all its processes, that keeps this profile."""
    for each in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            words = each.read_bytes().decode().split("\0")
            if f"--user-data-dir={profile}" in words and not any(
                "--type=" in word for word in words
            ):
                return int(each.parent.name)
    raise AssertionError("no browser keeps this profile")


def test_killed_tab_loses_nothing(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], trial: str, tmp_path: Path
) -> None:
    """The whole browser is killed while something is typed, and started again."""
    profile = str(tmp_path / "profile")
    whole = browser_type_launch_args | {"executable_path": CHROMIUM}
    first = browser_type.launch_persistent_context(profile, **whole)
    page = first.pages[0]
    open_form(page, trial)
    weigh(page, "175.5")
    save(page, 1)
    state(page).to_have_text("Everything is sent.")
    weigh(page, "181")
    expect(page.locator("#typed-state")).to_contain_text("Kept on this phone")
    os.kill(_process_of(profile), signal.SIGKILL)
    second = browser_type.launch_persistent_context(profile, **whole)
    try:
        page = second.pages[0]
        open_form(page, trial)
        assert weighed(page) == "181"
        expect(page.locator("#outbox-place")).to_contain_text("Load 1 sent")
    finally:
        second.close()


def test_double_tap_saves_once(phone: Page, trial: str) -> None:
    open_form(phone, trial)
    weigh(phone, "175.5")
    phone.locator("#save").evaluate("node => { for (let i = 0; i < 5; i += 1) node.click(); }")
    expect(phone.locator("#saved-note")).to_have_text("Load 1 is saved.")
    state(phone).to_have_text("Everything is sent.")
    expect(phone.locator(".load-head h2")).to_have_text("Load 2")
    assert [each["key"] for each in records(trial)] == ["1"]


def test_two_tabs(phone: Page, trial: str) -> None:
    """Each types a load of its own; the same load from both is asked about, not overwritten."""
    open_form(phone, trial)
    weigh(phone, "175.5")
    other = phone.context.new_page()
    open_form(other, trial)
    expect(other.locator(".load-head h2")).to_have_text("Load 2")
    weigh(other, "181")
    save(other, 2)
    save(phone, 1)
    state(phone).to_have_text("Everything is sent.")
    state(other).to_have_text("Everything is sent.")
    assert {each["key"] for each in records(trial)} == {"1", "2"}
    other.get_by_text("Another load, treatment or type").click()
    other.get_by_label("load", exact=True).fill("1")
    expect(other.locator(".load-head")).to_contain_text("is on record already")
    weigh(other, "190")
    save(other, 1)
    refused = other.locator(".outbox .refused")
    expect(refused).to_contain_text("which is on record")
    refused.get_by_label("Reason for correcting the record").fill("misread the scale")
    refused.get_by_role("button", name="Correct the record").click()
    state(other).to_have_text("Everything is sent.")
    first = next(each for each in records(trial) if each["key"] == "1")
    assert (first["cells"]["film_mass"][0], first["reason"]) == ("190", "misread the scale")
    other.close()


def test_a_doubtful_value_is_asked_about_twice(phone: Page, trial: str) -> None:
    """At once where it is typed, and by the server; it can be mended or confirmed."""
    open_form(phone, trial)
    phone.get_by_label("unit of film on the scale").select_option("kg")
    weigh(phone, "175.5")
    expect(phone.locator(".doubt:visible")).to_contain_text("in the right unit?")
    save(phone, 1)
    refused = phone.locator(".outbox .refused")
    expect(refused).to_contain_text("175.5 g would fit")
    expect(refused.get_by_role("heading")).to_have_text(re.compile(r"^Load \S+: not taken yet$"))
    accessible(phone)
    refused.get_by_role("button", name="Open in the form").click()
    expect(phone.locator(".load-head h2")).to_have_text("Load 1")
    phone.get_by_label("unit of film on the scale").select_option("g")
    weigh(phone, "9")
    save(phone, 1)
    phone.get_by_role("button", name="It is right: send as typed").click()
    state(phone).to_have_text("Everything is sent.")
    assert records(trial)[0]["cells"]["film_mass"][:2] == ["9", "g"]


def test_a_load_belongs_to_its_trial_for_ever(phone: Page, base_url: str) -> None:
    """Refused in one trial, opened from the form of another: it goes back to its own."""
    first = f"{base_url}/trials/{ask(f'{base_url}/api/trials', trial_files('own-a'))['key']}"
    second = f"{base_url}/trials/{ask(f'{base_url}/api/trials', trial_files('own-b'))['key']}"
    open_form(phone, first)
    phone.get_by_label("unit of film on the scale").select_option("kg")
    weigh(phone, "176")
    save(phone, 1)
    expect(phone.locator(".outbox .refused")).to_contain_text("176 g would fit")
    open_form(phone, second)
    refused = phone.locator(".outbox .refused")
    expect(refused.locator(".of-trial")).to_contain_text("Trial: ")
    refused.get_by_role("button", name="Open in the form").click()
    expect(phone).to_have_url(f"{first}/form")
    expect(phone.locator(".load-head h2")).to_have_text("Load 1")
    assert weighed(phone) == "176"
    phone.get_by_label("unit of film on the scale").select_option("g")
    save(phone, 1)
    state(phone).to_have_text("Everything is sent.")
    assert [each["key"] for each in records(first)] == ["1"]
    assert records(second) == []


def test_two_phones_that_write_the_same_load_are_asked(browser: Browser, trial: str) -> None:
    """Out of sight of one another; one weighed the load, the other counted its turns."""
    phones = [browser.new_context(viewport={"width": 390, "height": 844}) for _ in range(2)]
    one, two = (context.new_page() for context in phones)
    for page in (one, two):
        open_form(page, trial)
        expect(page.locator(".load-head h2")).to_have_text("Load 1")
    weigh(one, "175.5")
    two.locator("#group-cycle > summary").click()
    two.get_by_label("turns", exact=True).fill("17.5")
    save(one, 1)
    state(one).to_have_text("Everything is sent.")
    save(two, 1)
    refused = two.locator(".outbox .refused")
    expect(refused).to_contain_text("Is it the same load?")
    assert "turns" not in records(trial)[0]["cells"]
    refused.get_by_role("button", name="It is right: send as typed").click()
    state(two).to_have_text("Everything is sent.")
    (record,) = records(trial)
    cells = record["cells"]
    assert (cells["film_mass"][0], cells["turns"][0]) == ("175.5", "17.5")
    for context in phones:
        context.close()


def test_a_shared_phone_changes_person_in_two_taps(phone: Page, trial: str) -> None:
    open_form(phone, trial)
    phone.get_by_text("Who types?").click()
    phone.get_by_label("another name").fill("Anna")
    phone.get_by_role("button", name="Use this name").click()
    weigh(phone, "175.5")
    save(phone, 1)
    state(phone).to_have_text("Everything is sent.")
    phone.get_by_text("Typed by Anna").click()
    phone.get_by_label("another name").fill("Ben")
    phone.get_by_role("button", name="Use this name").click()
    phone.get_by_text("Typed by Ben").click()
    phone.get_by_role("button", name="Anna", exact=True).click()
    expect(phone.get_by_text("Typed by Anna")).to_be_visible()
    phone.get_by_text("Typed by Anna").click()
    phone.get_by_role("button", name="Ben", exact=True).click()
    weigh(phone, "176.5")
    save(phone, 2)
    state(phone).to_have_text("Everything is sent.")
    found = {each["key"]: each for each in records(trial)}
    assert [found[key]["typed_by"] for key in ("1", "2")] == ["Anna", "Ben"]
    assert all(each["typed_at"] <= each["at"] for each in found.values())


def big_photo() -> bytes:
    """Noise, which no codec makes small: as large as a phone's photo."""
    stream = io.BytesIO()
    noise = np.random.default_rng(1).integers(0, 255, (1500, 2000, 3), dtype=np.uint8)
    Image.fromarray(noise).save(stream, "JPEG", quality=90)
    return stream.getvalue()


def test_a_photo_on_a_slow_link_holds_no_load_up(
    phone: Page, trial: str, context: BrowserContext
) -> None:
    """At 1 Mbit/s numbers arrive at once, and the photo afterwards, in pieces."""
    open_form(phone, trial)
    photo = big_photo()
    assert len(photo) > 1_500_000
    slow = context.new_cdp_session(phone)
    slow.send("Network.enable")
    conditions = {"offline": False, "latency": 100}
    for way in ("uploadThroughput", "downloadThroughput"):
        conditions[way] = 125_000
    slow.send("Network.emulateNetworkConditions", conditions)
    files = [{"name": "load.jpg", "mimeType": "image/jpeg", "buffer": photo}]
    phone.locator("#photo").set_input_files(files)
    expect(phone.locator("#photos img")).to_have_count(1)
    weigh(phone, "175.5")
    save(phone, 1)
    state(phone).to_contain_text("photos")
    weigh(phone, "176.5")
    save(phone, 2)
    until = time.monotonic() + 10
    while len(records(trial)) < 2 and time.monotonic() < until:
        time.sleep(0.1)
    assert {each["key"] for each in records(trial)} == {"1", "2"}
    assert records(trial, "photo") == []
    assert "out of reach" not in phone.locator("#sync").inner_text()
    # It is on its way: what is left of it need not take its twelve seconds.
    quick = dict.fromkeys(("uploadThroughput", "downloadThroughput"), -1)
    slow.send("Network.emulateNetworkConditions", {"offline": False, "latency": 0, **quick})
    expect(phone.locator("#sync")).to_have_text("Everything is sent.", timeout=60_000)
    assert [each["cells"]["load"][0] for each in records(trial, "photo")] == ["1"]


def test_a_photo_goes_on_where_the_line_broke(rough: Page, trial: str) -> None:
    open_form(rough, trial)
    starts: list[int] = []

    def piece(route: Route) -> None:
        starts.append(int(route.request.url.rpartition("/")[2]))
        if len(starts) == 3:
            route.abort()
        else:
            route.continue_()

    rough.route(re.compile(r"/api/photos/uploads/[^/]+/\d+$"), piece)
    files = [{"name": "load.jpg", "mimeType": "image/jpeg", "buffer": big_photo()}]
    rough.locator("#photo").set_input_files(files)
    expect(rough.locator("#photos img")).to_have_count(1)
    weigh(rough, "175.5")
    save(rough, 1)
    expect(rough.locator("#sync")).to_have_text("Everything is sent.", timeout=60_000)
    assert len(records(trial, "photo")) == 1
    # The third piece was sent again from its own start, and nothing before it.
    assert starts[2] == starts[3] > starts[1]
    assert starts.count(0) == 1


def test_one_load_that_the_server_cannot_take_holds_no_other_up(rough: Page, trial: str) -> None:
    open_form(rough, trial)
    seen: list[str] = []

    def stuck(route: Route) -> None:
        name = route.request.url.rpartition("/")[2]
        if not seen:
            seen.append(name)
        if name == seen[0] and len(seen) < 3:
            if name == seen[-1]:
                seen.append(name)
            route.abort()
        else:
            route.continue_()

    rough.route(re.compile(r"/entries/"), stuck)
    rough.context.set_offline(True)
    for load in (1, 2):
        weigh(rough, f"175.{load}")
        save(rough, load)
    rough.context.set_offline(False)
    state(rough).to_have_text("Everything is sent.")
    assert {each["key"] for each in records(trial)} == {"1", "2"}


DENIED = "Object.defineProperty(window, 'indexedDB', {get() { throw new Error('denied'); }});"
FULL = """
const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (...given) {
  if (!window.hasRoom) throw new DOMException('no room', 'QuotaExceededError');
  return put.apply(this, given);
};
const set = Storage.prototype.setItem;
Storage.prototype.setItem = function (...given) {
  if (!window.hasRoom) throw new DOMException('no room', 'QuotaExceededError');
  return set.apply(this, given);
};
"""


@pytest.mark.parametrize(
    ("script", "words"), [(DENIED, "keeps nothing"), (FULL, "memory is full")], ids=["no", "full"]
)
def test_where_nothing_is_kept(
    phone: Page, trial: str, script: str, words: str, tmp_path: Path
) -> None:
    phone.add_init_script(script)
    open_form(phone, trial)
    weigh(phone, "175.5")
    expect(phone.locator("#keeping")).to_contain_text(words)
    assert weighed(phone) == "175.5"
    accessible(phone)
    with phone.expect_download() as waiting:
        phone.get_by_role("button", name="Save what is not sent to a file").click()
    waiting.value.save_as(tmp_path / "unsent.json")
    saved = json.loads((tmp_path / "unsent.json").read_text("utf-8"))
    assert saved["entries"][0]["body"]["load"]["film_mass"] == {"typed": "175.5", "unit": "g"}
    phone.locator("#save").click()
    expect(phone.locator("#saved-note")).to_contain_text("until it is sent")
    state(phone).to_have_text("Everything is sent.")
    assert [each["cells"]["film_mass"][0] for each in records(trial)] == ["175.5"]


def test_a_file_of_what_was_not_sent_reaches_the_server(
    rough: Page, trial: str, base_url: str, tmp_path: Path
) -> None:
    open_form(rough, trial)
    expect(rough.locator("#offline")).to_contain_text("also opens")
    rough.context.set_offline(True)
    files = [{"name": "load.png", "mimeType": "image/png", "buffer": PICTURE}]
    rough.locator("#photo").set_input_files(files)
    weigh(rough, "175.5")
    save(rough, 1)
    with rough.expect_download() as waiting:
        rough.get_by_role("button", name="Save what is not sent to a file").click()
    waiting.value.save_as(tmp_path / "unsent.json")
    content = (tmp_path / "unsent.json").read_bytes()
    answer = urllib.request.urlopen(f"{base_url}/api/entries", content, timeout=60)
    assert json.loads(answer.read())["taken"] == 1
    assert [each["key"] for each in records(trial)] == ["1"]
    assert len(records(trial, "photo")) == 1
    # The phone sends it later all the same, and nothing is there twice.
    rough.context.set_offline(False)
    rough.get_by_role("button", name="Send now").click()
    state(rough).to_have_text("Everything is sent.")
    assert len(records(trial)) == 1


def test_a_server_that_keeps_nothing_says_so_and_gets_it_later(rough: Page, trial: str) -> None:
    open_form(rough, trial)
    full = {
        "schema": "errors",
        "errors": [
            {
                "field": "store", "given": "the disk is full", "allowed": "room", "todo": "",
                "message": "", "kind": "error",
            }
        ],
    }  # fmt: skip
    rough.route(
        re.compile(r"/entries/"),
        lambda route: route.fulfill(status=503, json=full),
    )
    weigh(rough, "175.5")
    save(rough, 1)
    state(rough).to_contain_text("the disk is full")
    assert "out of reach" not in rough.locator("#sync").inner_text()
    rough.unroute(re.compile(r"/entries/"))
    state(rough).to_have_text("Everything is sent.")


def test_a_wrong_clock_is_said_and_set_right(browser: Browser, trial: str) -> None:
    """A phone that is three hours ahead."""
    context = browser.new_context()
    context.add_init_script(
        "const now = Date.now; const ahead = 3 * 3600e3; const Real = Date;"
        "window.Date = class extends Real {"
        " constructor(...given) { if (given.length) super(...given); else super(now() + ahead); }"
        " static now() { return now() + ahead; } };"
    )
    page = context.new_page()
    open_form(page, trial)
    expect(page.locator("#clock")).to_contain_text("180 min ahead")
    weigh(page, "175.5")
    save(page, 1)
    state(page).to_have_text("Everything is sent.")
    (record,) = records(trial)
    assert record["clock_s"] == pytest.approx(3 * 3600, abs=30)
    assert record["typed_at"] <= record["at"]
    context.close()


def test_it_can_stand_on_the_home_screen(phone: Page, trial: str, base_url: str) -> None:
    """What installing asks for. Source: W3C, "Web Application Manifest"."""
    open_form(phone, trial)
    manifest = ask(base_url + str(phone.locator('link[rel="manifest"]').get_attribute("href")))
    assert (manifest["display"], manifest["start_url"]) == ("standalone", "/trials")
    assert {"192x192", "512x512"} <= {each["sizes"] for each in manifest["icons"]}
    for each in manifest["icons"]:
        with urllib.request.urlopen(base_url + each["src"], timeout=30) as answer:
            assert answer.headers["content-type"] == each["type"]


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server where people sign in, by a name and plain http; its address."""
    path = str(tmp_path_factory.mktemp("plant") / "store.sqlite")
    store = Store(path)
    cheap = argon2.PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    accounts = Accounts(store.engine, cheap)
    accounts.set("anna", "manage", PASSWORD, by="test")
    for name in ("ben", "carla", "dora"):
        accounts.set(name, "record", PASSWORD, by="test")
    for key in ("signed", "plain", "roles"):
        files = trial_files(key)
        cases = {name: tomllib.loads(text) for name, text in files["cases"].items()}
        setup = trial_from_tables(files["trial"], cases)
        start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "test")
    store.close()
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", path]
    command += ["--address", f"http://{NAME}"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        found = re.search(r":(\d+)/", server.stdout.readline())
        assert found
        address = f"http://{NAME}:{found[1]}"
        PLANT_STORE[address] = path
        yield address
        server.terminate()
        server.wait(10)


@pytest.fixture(scope="module")
def from_outside(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any]
) -> Iterator[Browser]:
    """A browser that knows the plant's name, which is not this computer's own."""
    rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
    arguments = [*browser_type_launch_args["args"], rules]
    with browser_type.launch(**{**browser_type_launch_args, "args": arguments}) as browser:
        yield browser


@pytest.fixture
def visitor(from_outside: Browser) -> Iterator[Page]:
    """A phone in that browser."""
    with from_outside.new_context(viewport={"width": 390, "height": 844}) as context:
        yield context.new_page()


def sign_in(page: Page, name: str, password: str = PASSWORD) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_a_session_that_ends_while_records_wait(visitor: Page, plant: str) -> None:
    visitor.goto(f"{plant}/trials")
    expect(visitor).to_have_url(f"{plant}/sign-in?next=/trials")
    accessible(visitor)
    sign_in(visitor, "ben", "wrong words in a row")
    expect(visitor.get_by_role("alert")).to_contain_text("do not go together")
    sign_in(visitor, "ben")
    expect(visitor.get_by_role("heading", name="Trials")).to_be_visible()
    open_form(visitor, f"{plant}/trials/signed")
    weigh(visitor, "175.5")
    visitor.context.clear_cookies()
    save(visitor, 1)
    visitor.get_by_role("link", name="Sign in to send").click()
    sign_in(visitor, "ben")
    state(visitor).to_have_text("Everything is sent.")
    found = visitor.evaluate("fetch('/api/trials/signed/records').then((got) => got.json())")
    assert [(each["key"], each["by"]) for each in found["records"]] == [("1", "ben")]
    visitor.goto(f"{plant}/people")
    expect(visitor.locator("#page-error")).to_contain_text("manage")
    visitor.get_by_role("button", name="Sign out").click()
    expect(visitor.get_by_role("heading", name="Sign in")).to_be_visible()
    visitor.goto(f"{plant}/trials")
    expect(visitor).to_have_url(f"{plant}/sign-in?next=/trials")


def test_a_role_that_is_taken_away_is_said_and_sent_once_it_is_back(
    visitor: Page, plant: str
) -> None:
    visitor.goto(f"{plant}/trials")
    sign_in(visitor, "carla")
    expect(visitor.get_by_role("heading", name="Trials")).to_be_visible()
    open_form(visitor, f"{plant}/trials/roles")
    accounts = Accounts(Store(PLANT_STORE[plant]).engine)
    accounts.set_role("carla", "view", "test")
    weigh(visitor, "175.5")
    save(visitor, 1)
    state(visitor).to_contain_text("You may not write loads down at the moment")
    visitor.reload()
    expect(visitor.locator("#may-not")).to_be_visible()
    expect(visitor.locator("#save")).to_be_disabled()
    accounts.set_role("carla", "record", "test")
    state(visitor).to_have_text("Everything is sent.")


def test_ones_own_account(visitor: Page, plant: str) -> None:
    visitor.goto(f"{plant}/account")
    sign_in(visitor, "dora")
    expect(visitor.locator("#who-am-i")).to_contain_text("dora")
    accessible(visitor)
    expect(visitor.locator("#sessions")).to_contain_text("this one")
    typed = {
        "Password as it is": "wrong words in a row",
        "New password": "new words in a row",
        "The new one again": "new words in a row",
    }
    for label, words in typed.items():
        visitor.get_by_label(label).fill(words)
    visitor.get_by_role("button", name="Change password").click()
    expect(visitor.locator("#password-note")).to_contain_text("your password as it is")
    visitor.get_by_label("Password as it is").fill(PASSWORD)
    visitor.get_by_role("button", name="Change password").click()
    expect(visitor.locator("#password-note")).to_have_text("Done.")


def test_plain_http_says_what_it_cannot_do_and_loses_nothing(visitor: Page, plant: str) -> None:
    """Browsers keep service workers from plain http under any but the computer's own name."""
    visitor.goto(f"{plant}/trials")
    expect(visitor.get_by_text("anybody on the network can read the password")).to_be_visible()
    sign_in(visitor, "anna")
    expect(visitor.get_by_role("heading", name="Trials")).to_be_visible()
    open_form(visitor, f"{plant}/trials/plain")
    assert not visitor.evaluate("window.isSecureContext")
    expect(visitor.locator("#offline")).to_contain_text("This address is plain http")
    accessible(visitor)
    weigh(visitor, "175.5")
    visitor.reload()
    expect(visitor.locator("#entry")).to_be_visible()
    assert weighed(visitor) == "175.5"
    visitor.context.set_offline(True)
    save(visitor, 1)
    state(visitor).to_contain_text("1 load not sent yet")
    visitor.context.set_offline(False)
    state(visitor).to_have_text("Everything is sent.")


@pytest.fixture
def https_address(tmp_path: Path) -> Iterator[str]:
    """A server with a certificate of an authority that no browser here knows."""
    path = str(tmp_path / "store.sqlite")
    with contextlib.closing(Store(path)) as store:
        files = trial_files("hidden")
        cases = {name: tomllib.loads(text) for name, text in files["cases"].items()}
        setup = trial_from_tables(files["trial"], cases)
        start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "test")
    made = trustme.CA().issue_cert("127.0.0.1")
    made.private_key_pem.write_to_path(tmp_path / "key.pem")
    for each in made.cert_chain_pems:
        each.write_to_path(tmp_path / "certificate.pem", append=True)
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", path]
    command += [
        "--certificate",
        str(tmp_path / "certificate.pem"),
        "--key",
        str(tmp_path / "key.pem"),
    ]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        found = re.search(r"https://\S+:\d+", server.stdout.readline())
        assert found
        yield found[0]
        server.terminate()
        server.wait(10)


def test_a_certificate_that_is_not_trusted_is_named(https_address: str, browser: Browser) -> None:
    """Somebody went on past the browser's warning: the page opens, the service worker does not."""
    with browser.new_context(
        viewport={"width": 390, "height": 844}, ignore_https_errors=True
    ) as context:
        page = context.new_page()
        open_form(page, f"{https_address}/trials/hidden")
        expect(page.locator("#offline")).to_contain_text("does not trust the server's certificate")
        weigh(page, "175.5")
        save(page, 1)
        state(page).to_have_text("Everything is sent.")
