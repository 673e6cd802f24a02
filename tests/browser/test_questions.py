"""A question about a value is answered on every page, also where its field does not stand."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from .conftest import accessible, in_order


def _heavy_load(page: Page) -> None:
    """A load of 4 t on the bench, kept in this browser and not said to be right."""
    page.goto("/")
    expect(page.locator("#state")).to_have_text("Up to date")
    field = page.locator("[data-field='load.mass']")
    page.evaluate("""() => {
      const field = document.querySelector("[data-field='load.mass']");
      for (let box = field.closest("details"); box; box = box.parentElement.closest("details"))
        box.open = true;
    }""")
    field.locator("input").first.fill("4000 kg")
    expect(field.locator(".error")).to_contain_text("usual")


@pytest.mark.parametrize(
    ("path", "problems", "panel"),
    [
        ("/dancer", "#cycle-problems", "#cycle-panel"),
        ("/carriage", "#candidate-problems", "#candidate-panel"),
    ],
)
def test_it_is_right_where_the_field_is_not_shown(
    watched: Page, path: str, problems: str, panel: str
) -> None:
    _heavy_load(watched)
    watched.goto(path)
    question = watched.locator(problems).filter(has_text="4000 kg")
    expect(question).to_contain_text("usual")
    accessible(watched)
    question.get_by_role("button", name="It is right: Load: mass").click()
    expect(watched.locator(panel)).to_have_attribute("data-state", "fresh", timeout=60_000)
    expect(watched.locator(problems)).not_to_contain_text("4000 kg")
    in_order(watched)


def test_a_search_goes_on_when_a_value_is_right(watched: Page) -> None:
    _heavy_load(watched)
    watched.goto("/design")
    watched.get_by_role("button", name="Search").click()
    question = watched.locator("#design-problems").filter(has_text="4000 kg")
    question.get_by_role("button", name="It is right: Load: mass").click()
    watched.get_by_role("button", name="Search").click()
    expect(watched.get_by_role("button", name="Cancel")).to_be_enabled()


def test_a_traces_speed_is_asked_about(watched: Page, tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    rows = "".join(f"{n / 50:.2f},{(n * 7) % 50}\n" for n in range(3000))
    path.write_text("time [s],dancer [deg]\n" + rows, encoding="utf-8")
    watched.goto("/dancer")
    watched.locator("#trace-file").set_input_files(path)
    watched.locator("#trace-speed").fill("0.5 rpm")
    watched.locator("#trace-form button[type=submit]").click()
    question = watched.locator("#trace-state").filter(has_text="0.5 rpm")
    question.get_by_role("button", name="It is right: speed").click()
    expect(watched.locator("#trace-state")).not_to_contain_text("usual", timeout=60_000)


def test_a_trials_question_is_answered_at_its_field(watched: Page) -> None:
    watched.goto("/trial-plan")
    power = watched.locator('[data-field="aim.power"]')
    power.locator("input").fill("99.5 %")
    expect(power.locator(".error")).to_contain_text("99.5 %; usual: 70 to 99 %")
    power.get_by_role("button", name="It is right: Aim: power").click()
    expect(power.locator(".error")).to_be_hidden()
    expect(watched.locator("#plan .headline")).to_contain_text("loads of each treatment")
