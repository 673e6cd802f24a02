"""Trials from the plan to the comparison in the browser; accounts; the interface's description."""

from __future__ import annotations

import importlib.resources
import json
import re
import urllib.request

from playwright.sync_api import Page, expect
from tests.browser.conftest import in_order
from tests.browser.test_trial_form import ask, trial_files


def save_case(base_url: str, name: str, title: str) -> None:
    """Keeps a case of the demo on the server, as Save on the bench does."""
    source = importlib.resources.files("woold.demo").joinpath("files", name)
    toml = re.sub(r'(?m)^title = ".*"', f'title = "{title}"', source.read_text(encoding="utf-8"))
    identity = re.sub(r"[^a-z0-9]+", "-", title.lower())
    ask(f"{base_url}/api/cases", {"id": f"case-{identity}", "title": title, "toml": toml})


def test_a_trial_starts_from_two_saved_cases(watched: Page, base_url: str) -> None:
    """By hand: two cases, a number that is asked about, undo over a reload, and the start."""
    one, other = "Before", "After"
    save_case(base_url, "today.toml", one)
    save_case(base_url, "next.toml", other)
    watched.goto(f"{base_url}/trial-plan")
    for side, title in (("Before: the baseline", one), ("After: the candidate", other)):
        watched.get_by_label(side).select_option(label=title)
    watched.get_by_role("button", name="Use these two").click()
    expect(watched.locator("#case-note")).to_contain_text("before.toml")
    expect(watched.locator('[data-field="key"] input')).to_have_value("after")
    # How many are wrapped in a year is in no case: asked for where it belongs.
    yearly = watched.locator('[data-field="load_types[0].loads_per_year"]')
    expect(yearly.locator(".error")).to_be_visible()
    expect(watched.get_by_role("button", name="Start this trial")).to_be_disabled()
    yearly.locator("input").fill("40000")
    expect(watched.locator("#plan .headline")).to_contain_text("loads of each treatment")
    in_order(watched)
    # Fewer loads than needed: what they can show is said, not only what was asked for.
    watched.get_by_label("Loads of each treatment, if fixed already").fill("4")
    expect(watched.locator("#plan .headline")).to_contain_text("4 loads of each treatment")
    watched.reload()
    expect(yearly.locator("input")).to_have_value("40000")
    watched.get_by_role("button", name="Undo").click()
    expect(watched.get_by_label("Loads of each treatment, if fixed already")).to_have_value("")
    watched.get_by_role("button", name="Redo").click()
    expect(watched.locator("#plan .headline")).to_contain_text("4 loads of each treatment")
    watched.get_by_role("button", name="Start this trial").click()
    expect(watched).to_have_url(f"{base_url}/trials/after")
    expect(watched.locator("#progress")).to_contain_text("0 of 8 planned loads wrapped")


def wrap_every_load(api: str) -> None:
    """Writes every load of the plan down, the candidate's with 9 g less film."""
    for load in ask(api)["order"]:
        mass = (
            180 - 9 * (load["treatment"] == "candidate") + 30 * (load["load_type"] == "tall jars")
        )
        row = {name: {"typed": load[name]} for name in ("treatment", "load_type", "block", "shift")}
        row["load"] = {"typed": str(load["number"])}
        row["film_mass"] = {"typed": f"{mass + load['number'] % 3}", "unit": "g"}
        body = urllib.request.Request(
            f"{api}/entries/entry-{load['number']:04d}",
            json.dumps({"load": row}).encode(),
            {"content-type": "application/json"},
            method="PUT",
        )
        urllib.request.urlopen(body, timeout=60).close()


def test_comparison_and_correction(watched: Page, base_url: str) -> None:
    key = "compared"
    api = f"{base_url}/api/trials/{key}"
    ask(f"{base_url}/api/trials", trial_files(key))
    wrap_every_load(api)
    watched.clock.install()
    watched.goto(f"{base_url}/trials/{key}")
    expect(watched.locator("#comparison .headline")).to_contain_text("less film per load")
    expect(watched.locator("#comparison .chart")).to_contain_text("film per load")
    in_order(watched)
    watched.get_by_text("Correct a record").click()
    watched.locator("#correct-load").select_option("3")
    watched.locator("#correct-field").select_option("film_mass")
    watched.get_by_label("Value with its unit").fill("200 in")
    watched.get_by_label("Reason", exact=True).fill("misread")
    # Half filled in, it stays of the load that was chosen: while others write down, over a reload.
    watched.locator("h1").click()
    with watched.expect_response(re.compile(r"/comparison$")):
        watched.clock.fast_forward(20_000)
    expect(watched.locator("#correct-load")).to_have_value("3")
    watched.reload()
    watched.get_by_text("Correct a record").click()
    expect(watched.get_by_label("Value with its unit")).to_have_value("200 in")
    for field, value in (("load", "3"), ("field", "film_mass")):
        expect(watched.locator(f"#correct-{field}")).to_have_value(value)
    watched.get_by_role("button", name="Correct it").click()
    expect(watched.locator("#correct-note")).to_contain_text("That is a length")
    watched.get_by_label("Value with its unit").fill("201 g")
    watched.get_by_role("button", name="Correct it").click()
    expect(watched.locator("#records")).to_contain_text("201")
    expect(watched.locator("#records")).to_contain_text("corrected: misread")
