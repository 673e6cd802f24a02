"""The shelf in a browser: put there, taken on the bench, changed, and what changed told."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

from playwright.sync_api import Page, expect

from .conftest import accessible, in_order


def test_film_is_put_there_taken_changed_and_told(phone: Page) -> None:
    name = "line film"
    phone.goto("/shelf")
    expect(phone.locator("#main")).not_to_have_attribute("inert", "")

    # The film of the case on the bench is put there, and nothing of it is typed again.
    phone.get_by_role("button", name="Put it on the shelf").click()
    expect(phone.locator("#add-thing-error")).to_contain_text("Give it a name first")
    phone.locator("#add-kind").select_option(label="film")
    phone.locator("#add-thing").fill(name)
    # Half filled in it waits: while another kind is looked at, over a reload, until it is let go.
    thickness = phone.locator('[data-field="films.thickness"] > input')
    thickness.fill("70 gauge")
    phone.locator("#add-kind").select_option(index=1)
    expect(thickness).to_have_count(0)
    phone.locator("#add-kind").select_option(label="film")
    expect(thickness).to_have_value("70 gauge")
    phone.reload()
    expect(phone.locator("#add-thing")).to_have_value(name)
    expect(thickness).to_have_value("70 gauge")
    phone.get_by_role("button", name="Fill in from the case on the bench").click()
    dialog = phone.get_by_role("dialog", name="Put something else into the form?")
    dialog.get_by_role("button", name="Leave it as it is").click()
    expect(thickness).to_have_value("70 gauge")
    phone.get_by_role("button", name="Fill in from the case on the bench").click()
    dialog.get_by_role("button", name="Put it there").click()
    expect(thickness).not_to_have_value("70 gauge")
    phone.get_by_role("button", name="Put it on the shelf").click()
    expect(phone.locator("#add-note")).to_contain_text(f"@{name}, version 1, is on the shelf")
    expect(phone.locator("#thing-name")).to_have_text(f"@{name}")

    # On the bench the case takes it, and says which version it rests on.
    phone.goto("/")
    expect(phone.locator("#state")).to_have_text("Up to date")
    phone.locator("#from-shelf > summary").click()
    phone.locator("#take-films").select_option(label=f"@{name}")
    phone.get_by_role("button", name="Take version 1").click()
    expect(phone.locator("#from-shelf-state")).to_have_text("1 taken, all as on the shelf")

    # Somebody adds a version: a question stands at the field until it is answered.
    phone.goto(f"/shelf?kind=films&name={name}")
    phone.get_by_role("button", name="Change it: add a version").click()
    thickness.fill("thick")
    phone.get_by_role("button", name="Put it on the shelf").click()
    expect(phone.locator('[data-field="films.thickness"] .error')).to_contain_text("thick")
    expect(thickness).to_be_focused()
    thickness.fill("500 gauge")
    phone.get_by_role("button", name="Put it on the shelf").click()
    accessible(phone)
    phone.locator('[data-field="films.thickness"]').get_by_role(
        "button", name="It is right"
    ).click()
    phone.get_by_role("button", name="Put it on the shelf").click()
    expect(phone.locator("#add-note")).to_contain_text("version 2, is on the shelf")
    expect(phone.locator("#thing-blocks")).to_contain_text("Version 1 to 2")
    in_order(phone)

    # The bench tells it, shows what changed, takes it, and gives it back.
    phone.goto("/")
    expect(phone.locator("#from-shelf-state")).to_have_text("1 taken, 1 changed since")
    phone.locator("#from-shelf > summary").click()
    expect(phone.locator("#from-shelf-things")).to_contain_text("changed since: version 2 is there")
    phone.locator("#from-shelf-changes summary", has_text="What changed").click()
    expect(phone.locator("#from-shelf-changes")).to_contain_text("500 gauge")
    in_order(phone)
    phone.get_by_role("button", name="Take version 2 anew").click()
    expect(phone.locator("#from-shelf-state")).to_have_text("1 taken, all as on the shelf")
    film = phone.locator('[data-field="film.thickness"] > input')
    if not film.is_visible():
        phone.locator("#case-form details", has=film).first.locator("> summary").click()
    expect(film).to_have_value("500 gauge")
    film.fill("480 gauge")
    expect(phone.locator("#from-shelf-things")).to_contain_text("1 changed by hand")
    phone.get_by_role("button", name="Undo").click()
    expect(film).to_have_value("500 gauge")
    phone.get_by_role("button", name="Undo").click()
    expect(film).not_to_have_value("500 gauge")
    expect(phone.locator("#from-shelf-state")).to_have_text("1 taken, 1 changed since")


def test_shelf_file_fills_the_shelf_and_a_case_of_names_is_opened(
    watched: Page, tmp_path: Path
) -> None:
    watched.goto("/shelf")
    expect(watched.locator("#main")).not_to_have_attribute("inert", "")
    demo = files("woold.demo").joinpath("files")
    for name in ("plant.toml", "named.toml"):
        text = demo.joinpath(name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text, encoding="utf-8")
    watched.set_input_files("#shelf-file", tmp_path / "named.toml")
    expect(watched.locator("#file-problems")).not_to_be_empty()
    watched.set_input_files("#shelf-file", tmp_path / "plant.toml")
    # Tests before this one may have put them there: a version is new once.
    expect(watched.locator("#file-note")).to_contain_text("on the shelf")
    expect(watched.locator("#file-problems")).to_be_empty()
    watched.get_by_role("button", name="@line 1").press("Enter")
    expect(watched.locator("#thing-name")).to_be_focused()
    expect(watched.locator("#thing-blocks")).to_contain_text("@short gap")
    with watched.expect_download() as download:
        watched.get_by_role("link", name="Download the shelf").click()
    assert re.search(r"^name = \"jars\"$", download.value.path().read_text("utf-8"), re.MULTILINE)

    watched.goto("/")
    expect(watched.locator("#state")).to_have_text("Up to date")
    watched.set_input_files("#open-file", tmp_path / "named.toml")
    expect(watched.locator("#from-shelf-state")).to_have_text("6 taken, 1 changed since")
    expect(watched.locator("#state")).to_have_text("Up to date")
