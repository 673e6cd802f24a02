"""The line in a browser: opened, asked, its map led down to a case on the bench, found again."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Page, Route, expect
from tests.browser.conftest import accessible, in_order
from tests.browser.measures import MOST_SHIFT, SHIFTS

from small_line import write_small_line


def test_a_line_from_its_file_to_a_case_on_the_bench(phone: Page, tmp_path: Path) -> None:
    line, loads = write_small_line(tmp_path)
    phone.emulate_media(color_scheme="dark")
    phone.add_init_script(SHIFTS)
    phone.goto("/line")
    expect(phone.locator("#line-source")).to_have_text("No line is open yet.")
    in_order(phone)
    run = phone.get_by_role("button", name="Work it out")
    run.click()
    expect(phone.locator("#ask-problems")).to_have_text("Open a line first.")
    # Without the table of loads that it names, the page says what to choose.
    phone.set_input_files("#line-files", line)
    error = phone.locator("#line-problems .error")
    # The first that a new server is asked waits for its workers.
    expect(error).to_contain_text("line-loads.csv", timeout=60_000)
    phone.set_input_files("#line-files", [line, loads])
    expect(phone.locator("#line-source")).to_have_text("line.toml: 96 combinations.")
    run.click()
    expect(phone.locator(".heat-cell")).to_have_count(4, timeout=60_000)
    assert phone.evaluate("window.shift") < MOST_SHIFT, phone.evaluate("window.shifted")
    phone.locator("#heat-carriage").select_option("one for all")
    cell = phone.locator(".heat-cell").first
    expect(cell).to_contain_text("%")
    expect(cell).to_contain_text("load ")
    in_order(phone)

    # Found again after a reload; then by keyboard to the place, its worst load, and the bench.
    phone.reload()
    expect(phone.locator(".heat-cell")).to_have_count(4, timeout=30_000)
    assert phone.evaluate("window.shift") < MOST_SHIFT, phone.evaluate("window.shifted")
    # The list of earlier lines leads back to the same answer, and says who asked.
    phone.get_by_label("The fewest recipes").check()
    expect(phone.locator("#heat-part")).to_be_hidden()
    phone.get_by_text("Earlier lines").click()
    row = phone.locator("#line-list tbody tr").first
    expect(row).to_contain_text("line.toml")
    in_order(phone)
    row.get_by_role("button", name="What works where").click()
    expect(phone.locator("#heat-part")).to_be_visible(timeout=30_000)
    phone.locator("#heat-carriage").select_option("one for all")
    cell.focus()
    cell.press("Enter")
    first = phone.locator("#place-loads tbody tr").first
    expect(first).to_be_visible()
    first.get_by_role("button").click()
    expect(phone.locator("#load-answer")).to_contain_text("What every limit says")
    in_order(phone)
    with phone.expect_download() as waiting:
        phone.get_by_role("link", name="All cells (Parquet)").click()
    assert Path(waiting.value.path()).read_bytes()[:4] == b"PAR1"
    title = first.get_by_role("button").inner_text()
    phone.get_by_role("button", name="Put this case on the bench").click()
    phone.locator("#bench-note").get_by_role("link", name="To the bench").click()
    expect(phone.locator('[data-field="title"] input')).to_have_value(re.compile(title))


def test_recipes_and_wear_with_what_they_ask(watched: Page, tmp_path: Path) -> None:
    watched.goto("/line")
    watched.set_input_files("#line-files", list(write_small_line(tmp_path)))
    expect(watched.locator("#line-source")).to_contain_text("combinations", timeout=60_000)
    run = watched.get_by_role("button", name="Work it out")
    watched.get_by_label("The fewest recipes").check()
    watched.locator("#line-machine").select_option("T12")
    watched.locator("#line-film").select_option("63 gauge")
    loss = watched.get_by_label("Film that fewer recipes may cost")
    loss.fill("3 bananas")
    run.click()
    expect(watched.locator("#line-loss-error")).to_contain_text("3 bananas")
    expect(loss).to_have_attribute("aria-invalid", "true")
    accessible(watched)
    loss.fill("3 %")
    watched.get_by_label("Forces that may be set").fill("45 N, 60 N")
    run.click()
    sheets = watched.locator("#sheets li")
    expect(sheets.first).to_be_visible(timeout=60_000)
    in_order(watched)
    with watched.expect_download(timeout=60_000) as waiting:
        sheets.first.get_by_role("button", name="Set-up sheet (PDF)").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    # Another question has its own answer; the first one comes back with it.
    watched.get_by_label("Parts, rolls and wear with one carriage").check()
    expect(watched.locator("#no-answer")).to_be_visible()
    watched.locator("#line-carriage").select_option("one for all")
    run.click()
    expect(watched.locator("#line-answer")).to_contain_text("Duty of the drive", timeout=60_000)
    in_order(watched)
    watched.get_by_label("The fewest recipes").check()
    expect(sheets.first).to_be_visible(timeout=30_000)


def test_a_line_that_is_opened_early_stays_open(watched: Page, tmp_path: Path) -> None:
    """The list of earlier lines comes late, as from a busy server."""
    held: list[Route] = []

    def late(route: Route) -> None:
        if route.request.method == "GET" and not held:
            held.append(route)
        else:
            route.continue_()

    watched.route("**/api/line", late)
    watched.goto("/line")
    watched.set_input_files("#line-files", list(write_small_line(tmp_path)))
    source = watched.locator("#line-source")
    expect(source).to_contain_text("combinations", timeout=60_000)
    with watched.expect_response(lambda each: each.url.endswith("/api/line")):
        held[0].continue_()
    watched.evaluate("() => new Promise(done => setTimeout(done, 200))")
    expect(source).to_contain_text("combinations")
