"""Trials from the plan to the comparison in the browser; accounts; the interface's description."""

from __future__ import annotations

import importlib.resources
import json
import re
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, no_sideways_scroll
from tests.browser.test_trial_form import CASES, ask, trial_files


def in_order(page: Page) -> None:
    no_sideways_scroll(page)
    accessible(page)


def test_plan_and_start_a_trial_of_a_file(
    shown: Page, size: str, base_url: str, tmp_path: Path
) -> None:
    key = f"planned-{size}"
    source = importlib.resources.files("woold.demo").joinpath("files")
    text = source.joinpath("trial.toml").read_text(encoding="utf-8")
    (tmp_path / "trial.toml").write_text(text.replace("invented-line-1", key), encoding="utf-8")
    for name in CASES:
        (tmp_path / name).write_bytes(source.joinpath(name).read_bytes())
    shown.goto(f"{base_url}/trials")
    shown.locator("#main").get_by_role("link", name="Plan a trial").first.click()
    shown.get_by_label("Loads of each treatment, if fixed already").fill("8")
    shown.locator("#trial-file").set_input_files(tmp_path / "trial.toml")
    # The trial file names case files that are not there yet: told, and nothing can be started.
    expect(shown.locator("#problems")).to_contain_text("today.toml")
    expect(shown.get_by_role("button", name="Start this trial")).to_be_disabled()
    shown.locator("#case-files").set_input_files([tmp_path / name for name in CASES])
    expect(shown.locator("#plan")).to_contain_text("8 loads of each treatment")
    in_order(shown)
    shown.get_by_role("button", name="Start this trial").click()
    expect(shown).to_have_url(f"{base_url}/trials/{key}")
    expect(shown.locator("#comparison")).to_contain_text("There is nothing to compare yet")
    in_order(shown)
    shown.goto(f"{base_url}/trials")
    expect(shown.get_by_text("0 of 16 loads wrapped").first).to_be_visible()
    in_order(shown)


def save_case(base_url: str, name: str, title: str) -> None:
    """Keeps a case of the demo on the server, as Save on the bench does."""
    source = importlib.resources.files("woold.demo").joinpath("files", name)
    toml = re.sub(r'(?m)^title = ".*"', f'title = "{title}"', source.read_text(encoding="utf-8"))
    identity = re.sub(r"[^a-z0-9]+", "-", title.lower())
    ask(f"{base_url}/api/cases", {"id": f"case-{identity}", "title": title, "toml": toml})


def test_a_trial_starts_from_two_saved_cases(shown: Page, size: str, base_url: str) -> None:
    """By hand: two cases, a number that is asked about, undo over a reload, and the start."""
    one, other = f"Before {size}", f"After {size}"
    save_case(base_url, "today.toml", one)
    save_case(base_url, "next.toml", other)
    shown.goto(f"{base_url}/trial-plan")
    for side, title in (("Before: the baseline", one), ("After: the candidate", other)):
        shown.get_by_label(side).select_option(label=title)
    shown.get_by_role("button", name="Use these two").click()
    expect(shown.locator("#case-note")).to_contain_text(f"before-{size}.toml")
    expect(shown.locator('[data-field="key"] input')).to_have_value(f"after-{size}")
    # How many are wrapped in a year is in no case: asked for where it belongs.
    yearly = shown.locator('[data-field="load_types[0].loads_per_year"]')
    expect(yearly.locator(".error")).to_be_visible()
    expect(shown.get_by_role("button", name="Start this trial")).to_be_disabled()
    yearly.locator("input").fill("40000")
    expect(shown.locator("#plan .headline")).to_contain_text("loads of each treatment")
    in_order(shown)
    # Fewer loads than needed: what they can show is said, not only what was asked for.
    shown.get_by_label("Loads of each treatment, if fixed already").fill("4")
    expect(shown.locator("#plan .headline")).to_contain_text("4 loads of each treatment")
    shown.reload()
    expect(yearly.locator("input")).to_have_value("40000")
    shown.get_by_role("button", name="Undo").click()
    expect(shown.get_by_label("Loads of each treatment, if fixed already")).to_have_value("")
    shown.get_by_role("button", name="Redo").click()
    expect(shown.locator("#plan .headline")).to_contain_text("4 loads of each treatment")
    shown.get_by_role("button", name="Start this trial").click()
    expect(shown).to_have_url(f"{base_url}/trials/after-{size}")
    expect(shown.locator("#progress")).to_contain_text("0 of 8 planned loads wrapped")


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


def test_comparison_and_correction(shown: Page, size: str, base_url: str) -> None:
    key = f"compared-{size}"
    api = f"{base_url}/api/trials/{key}"
    ask(f"{base_url}/api/trials", trial_files(key))
    wrap_every_load(api)
    shown.goto(f"{base_url}/trials/{key}")
    expect(shown.locator("#comparison .headline")).to_contain_text("less film per load")
    expect(shown.locator("#comparison .chart")).to_contain_text("film per load")
    in_order(shown)
    shown.get_by_text("Correct a record").click()
    shown.locator("#correct-load").select_option("1")
    shown.locator("#correct-field").select_option("film_mass")
    shown.get_by_label("Value with its unit").fill("200 in")
    shown.get_by_label("Reason", exact=True).fill("misread")
    shown.get_by_role("button", name="Correct it").click()
    expect(shown.locator("#correct-note")).to_contain_text("That is a length")
    shown.get_by_label("Value with its unit").fill("201 g")
    shown.get_by_role("button", name="Correct it").click()
    expect(shown.locator("#records")).to_contain_text("201")
    expect(shown.locator("#records")).to_contain_text("corrected: misread")


@pytest.mark.parametrize("path", ["/people", "/docs", "/sign-in", "/trial-plan"])
def test_other_pages(shown: Page, base_url: str, path: str) -> None:
    shown.goto(base_url + path)
    expect(shown.get_by_role("heading", level=1)).to_be_visible()
    shown.wait_for_load_state("networkidle")
    for part in shown.locator("details").all()[:3]:
        part.evaluate("node => { node.open = true; }")
    in_order(shown)
