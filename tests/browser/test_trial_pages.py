"""Trials from the plan to the comparison in the browser; accounts; the interface's description."""

from __future__ import annotations

import importlib.resources
import json
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.browser.conftest import accessible, no_sideways_scroll
from tests.browser.test_trial_form import CASES, ask, trial_files


def in_order(page: Page) -> None:
    no_sideways_scroll(page)
    accessible(page)


def test_plan_and_start_a_trial(shown: Page, size: str, base_url: str, tmp_path: Path) -> None:
    key = f"planned-{size}"
    files = trial_files(key)
    (tmp_path / "trial.toml").write_text(files["toml"], encoding="utf-8")
    source = importlib.resources.files("woold.demo").joinpath("files")
    for name in CASES:
        (tmp_path / name).write_bytes(source.joinpath(name).read_bytes())
    shown.goto(f"{base_url}/trials")
    shown.get_by_role("link", name="Plan a trial").click()
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
