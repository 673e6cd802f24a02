"""Undo, unsaved work, two tabs and two people: nothing that was typed is lost on the bench."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from tests.browser.conftest import accessible, in_order


def field(page: Page, path: str) -> Any:
    return page.locator(f'#inputs [data-field="{path}"] input').first


def open_bench(page: Page, base_url: str) -> None:
    page.goto(base_url)
    expect(page.locator("#state")).to_have_text("Up to date")


def type_mass(page: Page, text: str) -> None:
    field(page, "load.mass").fill(text)
    expect(page.locator("#state")).to_have_text("Up to date")


def settle_steps(page: Page) -> None:
    """Longer than what makes two changes one step."""
    page.wait_for_timeout(900)


def test_undo_and_redo_over_reload(phone: Page, base_url: str) -> None:
    open_bench(phone, base_url)
    first = field(phone, "load.mass").input_value()
    type_mass(phone, "510 kg")
    settle_steps(phone)
    type_mass(phone, "520 kg")
    phone.reload()
    expect(phone.locator("#state")).to_have_text("Up to date")
    expect(field(phone, "load.mass")).to_have_value("520 kg")
    field(phone, "load.mass").focus()
    phone.keyboard.press("Control+z")
    expect(field(phone, "load.mass")).to_have_value("510 kg")
    expect(field(phone, "load.mass")).to_be_focused()
    phone.get_by_role("button", name="Undo").click()
    expect(field(phone, "load.mass")).to_have_value(first)
    expect(phone.get_by_role("button", name="Undo")).to_have_attribute("aria-disabled", "true")
    phone.keyboard.press("Control+Shift+z")
    phone.keyboard.press("Control+y")
    expect(field(phone, "load.mass")).to_have_value("520 kg")
    expect(phone.locator("#state")).to_have_text("Up to date")
    in_order(phone)


def test_undo_on_the_other_pages(watched: Page, base_url: str) -> None:
    open_bench(watched, base_url)
    type_mass(watched, "510 kg")
    watched.goto(f"{base_url}/design")
    asked = watched.locator('#asked-form [data-field="hold.after"] input').first
    before = asked.input_value()
    watched.locator("#asked-form summary").first.click()
    asked.fill("8 h")
    watched.get_by_role("button", name="Undo").click()
    expect(asked).to_have_value(before)
    watched.goto(f"{base_url}/carriage")
    expect(watched.locator("#candidate-state")).to_have_text("Up to date")
    candidate = watched.locator('#candidate-form [data-field="carriage.friction"] input').first
    kept = candidate.input_value()
    settle_steps(watched)
    candidate.fill("0.44")
    settle_steps(watched)
    base = watched.locator('#base-form [data-field="carriage.friction"] input').first
    base.fill("0.55")
    watched.keyboard.press("Control+z")
    expect(base).not_to_have_value("0.55")
    expect(candidate).to_have_value("0.44")
    watched.keyboard.press("Control+z")
    expect(candidate).to_have_value(kept)
    watched.goto(f"{base_url}/dancer")
    expect(watched.locator("#cycle-state")).to_have_text("Up to date")
    watched.get_by_role("button", name="Undo").click()  # the height that was typed on the bench
    watched.goto(base_url)
    expect(field(watched, "load.mass")).not_to_have_value("510 kg")


def test_unsaved_work_is_asked_about(watched: Page, base_url: str) -> None:
    open_bench(watched, base_url)
    type_mass(watched, "510 kg")
    asked = watched.get_by_role("dialog", name="Save it first?")
    watched.locator("#new").click()
    expect(asked).to_be_visible()
    accessible(watched)
    asked.get_by_role("button", name="Leave it as it is").click()
    expect(field(watched, "load.mass")).to_have_value("510 kg")
    watched.locator("#new").click()
    watched.keyboard.press("Escape")
    expect(field(watched, "load.mass")).to_have_value("510 kg")
    watched.locator("#new").click()
    asked.get_by_role("button", name="Go on without saving").click()
    expect(field(watched, "load.mass")).not_to_have_value("510 kg")
    expect(watched.locator("#file-note")).to_have_text("A new case to start from.")
    watched.keyboard.press("Control+z")
    expect(field(watched, "load.mass")).to_have_value("510 kg")
    watched.locator("#new").click()
    asked.get_by_role("button", name="Save it").first.click()
    # Such a title may be in the list from before: the new case comes once this one is saved.
    expect(field(watched, "load.mass")).not_to_have_value("510 kg")
    expect(watched.locator("#saved-cases")).to_contain_text("Invented plant")
    # What is as it was opened or saved goes without a question.
    watched.locator("#new").click()
    expect(asked).to_be_hidden()


def test_tabs_keep_their_own_case(context: BrowserContext, base_url: str) -> None:
    one, other = context.new_page(), context.new_page()
    open_bench(one, base_url)
    open_bench(other, base_url)
    type_mass(one, "510 kg")
    type_mass(other, "530 kg")
    for page, mass in ((one, "510 kg"), (other, "530 kg")):
        page.reload()
        expect(field(page, "load.mass")).to_have_value(mass)
    third = context.new_page()
    open_bench(third, base_url)
    expect(field(third, "load.mass")).to_have_value("530 kg")  # what was in hand last


def test_a_copied_tab_gets_a_name_of_its_own(context: BrowserContext, base_url: str) -> None:
    one = context.new_page()
    open_bench(one, base_url)
    type_mass(one, "510 kg")
    tab = one.evaluate("sessionStorage.getItem('woold.tab')")
    copy = context.new_page()
    copy.add_init_script(
        f"sessionStorage.setItem('woold.tab', sessionStorage.getItem('woold.tab') ?? '{tab}')"
    )
    open_bench(copy, base_url)
    expect(field(copy, "load.mass")).to_have_value("510 kg")
    type_mass(copy, "530 kg")
    type_mass(one, "520 kg")
    for page, mass in ((one, "520 kg"), (copy, "530 kg")):
        page.reload()
        expect(field(page, "load.mass")).to_have_value(mass)


def _save_as(page: Page, title: str) -> None:
    name = page.locator('#inputs [data-field="title"] input')
    name.fill(title)
    page.locator("#save").click()
    expect(page.locator("#file-note")).to_have_text("Saved.")


def _open_saved(page: Page, base_url: str, title: str) -> None:
    open_bench(page, base_url)
    page.locator("#saved-cases").select_option(label=title)
    expect(page.locator("#file-note")).to_have_text(f"Opened {title}.")


@pytest.mark.parametrize("answer", ["as one", "as a new case"])
def test_the_second_to_save_is_told_and_chooses(
    browser: Browser, base_url: str, answer: str
) -> None:
    title = f"Two people save {answer}"
    with browser.new_context() as his, browser.new_context() as hers:
        _second_to_save(his.new_page(), hers.new_page(), base_url, title, answer)


def _second_to_save(one: Page, other: Page, base_url: str, title: str, answer: str) -> None:
    open_bench(one, base_url)
    one.locator("#inputs summary").first.click()
    _save_as(one, title)
    _open_saved(other, base_url, title)
    type_mass(one, "510 kg")
    field(one, "load.width").fill("0.98 m")
    one.locator("#save").click()
    expect(one.locator("#file-note")).to_have_text("Saved.")
    type_mass(other, "530 kg")
    field(other, "load.tiers").fill("5")
    other.locator("#save").click()
    dialog = other.get_by_role("dialog", name="Two changed the same case")
    expect(dialog).to_contain_text("Load: width")
    expect(dialog).to_contain_text("510 kg")
    accessible(other)
    if answer == "as one":
        dialog.get_by_label("what stands in Load: mass").select_option("theirs")
        dialog.get_by_role("button", name="as one").click()
    else:
        dialog.get_by_role("button", name="Keep both").click()
    expect(other.locator("#save-state")).to_have_text("Saved")
    values = [field(other, f"load.{name}").input_value() for name in ("mass", "width", "tiers")]
    if answer == "as one":
        assert values == ["510 kg", "0.98 m", "5"]
    else:
        assert values == ["530 kg", "1.0 m", "5"]
        _open_saved(one, base_url, title)
        expect(field(one, "load.mass")).to_have_value("510 kg")


def _dropped(page: Page, name: str, text: str) -> None:
    given = page.evaluate_handle(
        "([name, text]) => { const given = new DataTransfer();"
        " given.items.add(new File([text], name)); return given; }",
        [name, text],
    )
    page.locator("#inputs").dispatch_event("drop", {"dataTransfer": given})


def test_an_answer_that_is_lost_makes_no_second_person(page: Page, base_url: str) -> None:
    """Kept by the server, and the line broke; then changed and saved again. And a file dropped."""
    open_bench(page, base_url)
    page.locator("#inputs summary").first.click()
    _save_as(page, "A lost answer")
    type_mass(page, "510 kg")

    def lose(route: Route) -> None:
        if route.request.method == "PUT":
            route.fetch()
            route.abort()
            page.unroute("**/api/cases/*")
        else:
            route.continue_()

    page.route("**/api/cases/*", lose)
    page.locator("#save").click()
    expect(page.locator("#file-note")).to_contain_text("no answer")
    type_mass(page, "520 kg")
    page.locator("#save").click()
    expect(page.locator("#file-note")).to_have_text("Saved.")
    assert page.get_by_role("dialog").count() == 0
    _dropped(page, "none.toml", "no [case")
    expect(page.locator("#file-note")).to_contain_text("not TOML")
    expect(field(page, "load.mass")).to_have_value("520 kg")
    # Such as a folder, whose content no page can read.
    page.evaluate(
        "() => { Blob.prototype.arrayBuffer = () => Promise.reject(new Error('no file')); }"
    )
    _dropped(page, "folder", "")
    expect(page.get_by_role("alert").filter(has_text="folder cannot be read")).to_be_visible()


def test_a_saved_case_goes_back(watched: Page, base_url: str) -> None:
    open_bench(watched, base_url)
    watched.locator("#inputs summary").first.click()
    _save_as(watched, "A case with a past")
    before = field(watched, "load.mass").input_value()
    type_mass(watched, "510 kg")
    watched.locator("#save").click()
    expect(watched.locator("#save-state")).to_have_text("Saved")
    watched.locator("#history").click()
    dialog = watched.get_by_role("dialog", name="What was saved")
    expect(dialog).to_contain_text("Load: mass")
    accessible(watched)
    dialog.get_by_role("radio").nth(1).check()
    dialog.get_by_role("button", name="Go back to the one chosen").click()
    expect(field(watched, "load.mass")).to_have_value(before)
    expect(watched.locator("#save-state")).to_have_text("Changes not saved yet")
    watched.locator("#save").click()
    expect(watched.locator("#save-state")).to_have_text("Saved")
    watched.keyboard.press("Control+z")
    watched.keyboard.press("Control+z")
    expect(field(watched, "load.mass")).to_have_value("510 kg")


def test_where_nothing_is_kept_the_bench_works(watched: Page, base_url: str) -> None:
    """A browser that refuses storage throws at the very name of it."""
    for name in ("localStorage", "sessionStorage"):
        watched.add_init_script(
            f"Object.defineProperty(window, '{name}', {{get() {{ throw new Error('denied'); }}}})"
        )
    open_bench(watched, base_url)
    before = field(watched, "load.mass").input_value()
    type_mass(watched, "510 kg")
    watched.keyboard.press("Control+z")
    expect(field(watched, "load.mass")).to_have_value(before)
    watched.goto(f"{base_url}/trial-plan")
    expect(watched.locator('[data-field="key"] input')).to_have_value("line-1-carriage")
