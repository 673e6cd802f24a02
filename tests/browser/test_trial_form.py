"""The phone form: nothing typed is lost, and everything reaches the server once."""

from __future__ import annotations

import importlib.resources
import json
import re
import subprocess
import sys
import tomllib
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import argon2
import pytest
from playwright.sync_api import BrowserContext, BrowserType, Page, expect
from tests.browser.conftest import SIZES, accessible, no_sideways_scroll

from woold.store import Store
from woold.store.accounts import Accounts
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

FILES = importlib.resources.files("woold.demo").joinpath("files")
CASES = ("today.toml", "next.toml", "today-tall.toml", "next-tall.toml")
PASSWORD = "some words in a row"
NAME = "woold.plant.test"
PICTURE = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c489"
    "0000000d49444154789c626001000000ffff03000006000557bfabd40000000049454e44ae426082"
)


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
    return {"toml": text, "cases": cases, "loads_per_treatment": 8}


@pytest.fixture
def trial(base_url: str, request: pytest.FixtureRequest) -> str:
    """A new trial of its own for each test; its address."""
    key = re.sub(r"[^a-z0-9]+", "-", request.node.name.lower()).strip("-")[:60].strip("-")
    return f"{base_url}/trials/{ask(f'{base_url}/api/trials', trial_files(key))['key']}"


def records(trial: str, kind: str = "load") -> list[dict[str, Any]]:
    every = ask(trial.replace("/trials/", "/api/trials/") + "/records")["records"]
    return [each for each in every if each["kind"] == kind]


@pytest.fixture
def phone(watched: Page) -> Page:
    width, height = SIZES["phone"]
    watched.set_viewport_size({"width": width, "height": height})
    return watched


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


def test_write_a_load_down(shown: Page, trial: str) -> None:
    open_form(shown, trial)
    expect(shown.locator(".load-head h2")).to_have_text("Load 1")
    shown.get_by_label("unit of film on the scale").select_option("oz")
    weigh(shown, "6,2")
    assert weighed(shown) == "6.2"
    shown.get_by_label("pull reading, bottom, front").fill("31.5")
    shown.get_by_label("time since wrapping", exact=True).fill("20")
    no_sideways_scroll(shown)
    accessible(shown)
    save(shown, 1)
    state(shown).to_have_text("Everything is sent.")
    expect(shown.locator(".load-head h2")).to_have_text("Load 2")
    expect(shown.locator("#outbox-place")).to_contain_text("Load 1 sent")
    # Units and the time since wrapping are remembered; what was measured is not.
    expect(shown.get_by_label("unit of film on the scale")).to_have_value("oz")
    expect(shown.get_by_label("time since wrapping", exact=True)).to_have_value("20")
    assert weighed(shown) == ""
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
        """() => [...document.querySelectorAll(`.phone input, .phone select,
            .phone button, .phone summary, .phone textarea, #save`)]
          .filter((node) => node.checkVisibility() && !node.closest('.pick, .photo-button'))
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


def test_killed_tab_loses_nothing(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], trial: str, tmp_path: Path
) -> None:
    """The whole browser is killed while something is typed, and started again."""
    profile = str(tmp_path / "profile")
    first = browser_type.launch_persistent_context(profile, **browser_type_launch_args)
    page = first.pages[0]
    open_form(page, trial)
    weigh(page, "175.5")
    save(page, 1)
    state(page).to_have_text("Everything is sent.")
    weigh(page, "181")
    expect(page.locator("#typed-state")).to_contain_text("Kept on this phone")
    number = (Path(profile) / "SingletonLock").readlink().name.rpartition("-")[2]
    subprocess.run(["kill", "-9", number], check=True)
    second = browser_type.launch_persistent_context(profile, **browser_type_launch_args)
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
    accessible(phone)
    refused.get_by_role("button", name="Open in the form").click()
    expect(phone.locator(".load-head h2")).to_have_text("Load 1")
    phone.get_by_label("unit of film on the scale").select_option("g")
    weigh(phone, "9")
    save(phone, 1)
    phone.get_by_role("button", name="It is right: send as typed").click()
    state(phone).to_have_text("Everything is sent.")
    assert records(trial)[0]["cells"]["film_mass"][:2] == ["9", "g"]


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server where people sign in, by a name and plain http; its address."""
    path = str(tmp_path_factory.mktemp("plant") / "store.sqlite")
    store = Store(path)
    cheap = argon2.PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    accounts = Accounts(store.engine, cheap)
    accounts.set("anna", "manage", PASSWORD, by="test")
    accounts.set("ben", "record", PASSWORD, by="test")
    for key in ("signed", "plain"):
        files = trial_files(key)
        cases = {name: tomllib.loads(text) for name, text in files["cases"].items()}
        setup = trial_from_tables(tomllib.loads(files["toml"]), cases)
        start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "test")
    store.close()
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", path]
    command += ["--address", f"http://{NAME}"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        found = re.search(r":(\d+)/", server.stdout.readline())
        assert found
        yield f"http://{NAME}:{found[1]}"
        server.terminate()
        server.wait(10)


@pytest.fixture
def visitor(browser_type: BrowserType, browser_type_launch_args: dict[str, Any]) -> Iterator[Page]:
    """A phone that knows the plant's name, which is not this computer's own."""
    rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
    arguments = [*browser_type_launch_args["args"], rules]
    with browser_type.launch(**{**browser_type_launch_args, "args": arguments}) as browser:
        yield browser.new_context(viewport={"width": 390, "height": 844}).new_page()


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
