"""Makes pictures of every page in its states, to be looked at, and tells what can be measured.

    PYTHONPATH=.:src:tests python tools/page_pictures.py FOLDER [PART-OF-A-NAME ...]

Empty store, filled, refused, dark, high contrast and print; on a desk, a small screen and a phone.
"""

from __future__ import annotations

import importlib.resources
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright
from tests.browser.measures import SHIFTS, shifted, troubles
from tests.browser.test_trial_form import ask, trial_files
from tests.browser.test_trial_pages import wrap_every_load

from arm_motion import Motion
from cycle_tables import cycles
from film_maker import Scene, write_film
from paper_measures import smallest_type
from small_line import write_small_line
from woold.demo.dancer_traces import write_smooth_trace

DEMO = importlib.resources.files("woold.demo").joinpath("files")
LEAST_TYPE = 6.0
"""Of an exponent in a drawing [pt]."""
SIZES = {"desk": (1440, 900), "small": (1024, 768), "phone": (390, 844)}
Way = Callable[[Page, Path], None]


def _search(page: Page, _: Path) -> None:
    page.locator("#run").click()
    page.wait_for_selector("#design-panel[data-state=fresh]", timeout=120_000)
    page.locator(".pick").first.click()


def _sites(page: Page, folder: Path) -> None:
    rows = "".join(f"site {n},{4 + n % 3}.5 %,0.8 %,short gap,line 1,63 gauge\n" for n in range(8))
    (folder / "sites.csv").write_text(
        "site,saving,standard_error,carriage,machine,film\n" + rows, encoding="utf-8"
    )
    page.locator("#sites-file").set_input_files(folder / "sites.csv")
    page.locator("#claim").fill("20 % at every site")
    page.locator("#claim").press("Enter")
    _say_right(page, "#sites-problems", "#sites-answer .verdict")


def _watch(page: Page, folder: Path) -> None:
    for name, jump in (("line 1", 0.0), ("line 2", 12.0)):
        (folder / f"{name}.csv").write_text(cycles(1200, jump, name), encoding="utf-8")
    page.locator("#records-files").set_input_files([folder / "line 1.csv", folder / "line 2.csv"])
    page.locator("#watch").click()
    _say_right(page, "#watch-problems", "#watch-answer .verdict")


def _say_right(page: Page, problems: str, done: str) -> None:
    for _ in range(20):
        page.wait_for_selector(f"{done}, {problems} button", timeout=60_000)
        asked = page.locator(f"{problems} button")
        if page.locator(done).count() or not asked.count():
            return
        asked.first.click()
        page.wait_for_timeout(300)


def _start(page: Page, _: Path) -> None:
    values = {"length": "1.2 m", "width": "1 m", "height": "1.5 m", "mass": "600 kg", "tiers": "6"}
    for name, text in values.items():
        page.locator(f"#load-{name}").fill(text)
    page.wait_for_timeout(1500)


def _report(page: Page, _: Path) -> None:
    page.get_by_role("button", name="Make it").click()
    page.wait_for_selector("#report-title:not(:empty)", timeout=60_000)


def _typed(selector: str, text: str, press: str = "") -> Way:
    def act(page: Page, _: Path) -> None:
        page.locator("details").evaluate_all("all => all.forEach(each => each.open = true)")
        page.locator(selector).first.fill(text)
        if press:
            page.get_by_role("button", name=press).first.click()
        page.wait_for_timeout(1500)

    return act


def _pressed(*names: str) -> Way:
    def act(page: Page, _: Path) -> None:
        for name in names:
            page.get_by_role("button", name=name, exact=True).first.click()
            page.wait_for_timeout(1500)

    return act


def _line(page: Page, folder: Path) -> None:
    page.locator("#line-files").set_input_files(list(write_small_line(folder)))
    page.wait_for_selector("#line-source:has-text('combinations')")
    page.locator("#line-run").click()
    page.wait_for_selector(".heat-cell", timeout=90_000)
    page.locator(".heat-cell").first.click()
    page.locator("#place-loads tbody tr").first.get_by_role("button").click()
    page.wait_for_selector("#load-answer :first-child")


def _of_line(question: str, done: str) -> Way:
    def act(page: Page, folder: Path) -> None:
        page.locator("#line-files").set_input_files(list(write_small_line(folder)))
        page.wait_for_selector("#line-source:has-text('combinations')")
        page.get_by_label(question).check()
        page.locator("#line-run").click()
        page.wait_for_selector(done, timeout=90_000)

    return act


def _release(page: Page, _: Path) -> None:
    page.get_by_role("button", name="Look at the invented company").click()
    page.wait_for_selector("#release-answer :first-child", timeout=90_000)


def _learning(page: Page, _: Path) -> None:
    page.locator("#learning-trials input").first.check()
    page.locator("#learning-case").select_option(index=1)
    page.get_by_role("button", name="Learn").click()
    page.wait_for_selector("#learning-answer :first-child", timeout=400_000)


def _trace(page: Page, folder: Path) -> None:
    path = folder / "smooth.csv"
    write_smooth_trace(path, Path(str(DEMO.joinpath("today.toml"))))
    page.locator("#trace-file").set_input_files(path)
    page.locator("#trace-fit > summary").click()
    page.locator("#trace-fit input[value=inertia]").check()
    page.get_by_role("button", name="Judge").click()
    page.wait_for_selector("#trace-answer .verdict", timeout=90_000)


def _film(page: Page, folder: Path) -> None:
    path = folder / "dancer.webm"
    if not path.exists():
        scene = Scene(width=480, height=270, length=9, motion=Motion(period=1.5))
        write_film(path, scene, codec="libvpx-vp9")
    page.locator("#film-file").set_input_files(path)
    page.locator("#film-case").uncheck()
    page.wait_for_selector("#film-look:has-text('seen')")
    page.get_by_role("button", name="Send the film").click()
    page.wait_for_selector("#film-answer .verdict", timeout=120_000)


def _fitted(page: Page, folder: Path) -> None:
    path = folder / "tensile-test.csv"
    path.write_text(DEMO.joinpath(path.name).read_text(encoding="utf-8"), encoding="utf-8")
    page.locator("#test-file").set_input_files(path)
    page.get_by_role("button", name="Fit the curve").click()
    page.wait_for_selector("#test :first-child")


def _studied(page: Page, _: Path) -> None:
    page.get_by_role("button", name="Judge the gauges of this trial").click()
    page.get_by_role("button", name="Fit them").click()
    page.wait_for_selector(
        "#calibration-answer :first-child, #calibration-state.error", timeout=200_000
    )
    page.locator("details").evaluate_all("all => all.forEach(each => each.open = true)")
    page.wait_for_timeout(1500)


def _quote(page: Page, _: Path) -> None:
    typed = {
        "length": "1.2 m",
        "width": "1.0 m",
        "height": "1.5 m",
        "loads-per-year": "80000",
        "roll-width": "20 in",
        "thickness": "63 gauge",
        "film-per-load": "260 g",
        "film-price": "2.2 USD/kg",
        "price": "14500 USD",
    }
    for name, text in typed.items():
        page.locator(f"#quote-{name}").fill(text)
    page.locator("#quote-alone").check()
    page.get_by_role("button", name="See what may be saved").click()
    page.wait_for_selector("#quote-answer :first-child", timeout=90_000)


def _things(page: Page, _: Path) -> None:
    page.locator("#kept button").first.click()
    page.wait_for_timeout(800)


PAGES: dict[str, tuple[str, Way | None, Way | None]] = {
    "start": ("/start", _start, _typed("#load-height", "tall")),
    "bench": ("/", None, _typed("[data-field='film.thickness'] > input", "63 parsnips")),
    "design": ("/design", _search, _typed("#probability", "200 %", "Search")),
    "reports": ("/reports", _report, lambda page, _: _refused_report(page)),
    "carriage": (
        "/carriage",
        None,
        _typed("#candidate-form [data-field='carriage.friction'] > input", "much"),
    ),
    "dancer": ("/dancer", _pressed("Tune"), _typed("#speed", "fast")),
    "shelf": ("/shelf", _things, _pressed("Put it on the shelf")),
    "films": ("/films", _fitted, _pressed("Fit the curve")),
    "line": ("/line", _line, _pressed("Work it out")),
    "line-recipes": ("/line", _of_line("The fewest recipes", "#sheets li"), None),
    "line-carriage": (
        "/line",
        _of_line("One carriage for the whole line", "#line-answer > *"),
        None,
    ),
    "line-kits": ("/line", _of_line("The fewest springs and holes", "#line-answer > *"), None),
    "line-wear": ("/line", _of_line("Parts, rolls and wear", "#line-answer > *"), None),
    "quote": ("/quote", _quote, _pressed("See what may be saved")),
    "release": ("/line-release", _release, _pressed("Make the plan")),
    "learning": ("/learning", _learning, _typed("#learning-least", "much", "Learn")),
    "dancer-trace": ("/dancer", _trace, None),
    "dancer-film": ("/dancer", _film, None),
    "trials": ("/trials", None, None),
    "trial": ("/trials/pictured", _studied, lambda page, _: _refused_correction(page)),
    "trial-form": ("/trials/pictured/form", None, None),
    "trial-report": ("/trials/pictured/report", None, None),
    "trial-plan": ("/trial-plan", None, _typed('[data-field="aim.power"] input', "150 %")),
    "sites": ("/sites", _sites, _typed("#claim", "it is the best", "Judge")),
    "watch": ("/watch", _watch, _pressed("Watch the machines")),
    "people": ("/people", _pressed("See whether it is sound"), None),
    "account": ("/account", None, None),
    "sign-in": ("/sign-in", None, None),
    "docs": ("/docs", None, None),
}


def _refused_report(page: Page) -> None:
    page.locator("#report-kind").select_option("design")
    page.get_by_role("button", name="Make it").click()
    page.wait_for_timeout(800)


def _refused_correction(page: Page) -> None:
    page.locator("#correct-part > summary").click()
    page.locator("#correct-value").fill("1,200 parsnips")
    page.locator("#correct-reason").fill("misread")
    page.get_by_role("button", name="Correct it").click()
    page.wait_for_selector("#correct-note:not(:empty)")
    page.get_by_role("button", name="Judge the gauges of this trial").click()
    page.wait_for_selector("#gauge-state:not(:empty)")


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "woold", "serve", "--port", "0"]
    with subprocess.Popen(
        [*command, "--store", str(folder / "woold.db")], stdout=subprocess.PIPE, text=True
    ) as server:
        assert server.stdout is not None
        found = re.search(r"http://\S+", server.stdout.readline())
        assert found
        yield found[0].rstrip("/")
        server.terminate()


def _picture(browser: Browser, address: str, name: str, out: Path, state: str, size: str) -> None:
    path, filled, refused = PAGES[name]
    width, height = SIZES[size]
    looks: dict[str, Any] = {"viewport": {"width": width, "height": height}, "base_url": address}
    looks |= {
        "dark": {"color_scheme": "dark"},
        "contrast": {"contrast": "more"},
        "colours": {"forced_colors": "active"},
    }.get(state, {})
    context = browser.new_context(**looks)
    context.add_init_script("localStorage.setItem('woold.scene', 'folded')")
    page = context.new_page()
    page.add_init_script(SHIFTS)
    page.set_default_timeout(20_000)
    told: list[str] = []
    page.on("pageerror", lambda error: told.append(f"script: {error}"))
    page.goto(path)
    page.wait_for_selector("main:not([inert])")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(600)
    act = refused if state == "refused" else None if state == "empty" else filled
    if act:
        act(page, out)
    total, moved = shifted(page)
    if total >= 0.05:
        told.append(f"shift {total:.2f}: {moved}")
    told += troubles(page, columns=width >= 1000)
    if state == "print":
        page.emulate_media(media="print")
        pdf = page.pdf()
        (out / f"{name}-print.pdf").write_bytes(pdf)
        if smallest_type(pdf) < LEAST_TYPE:
            told.append(f"letters of {smallest_type(pdf):.1f} pt on paper")
    # What is fixed to the window stands once, at its place.
    page.screenshot(path=out / f"{name}-{state}-{size}.png", full_page=True)
    context.close()
    print(f"{name} {state} {size}: {'; '.join(told) or 'in order'}", flush=True)


def main(folder: str, *wanted: str) -> None:
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    shots = [
        (state, "desk") for state in ("filled", "refused", "dark", "contrast", "colours", "print")
    ]
    shots += [("filled", "small"), ("filled", "phone"), ("refused", "phone")]
    with sync_playwright() as driver, tempfile.TemporaryDirectory() as store:
        browser = driver.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        with _served(Path(store)) as address:
            all_shots = [("empty", "desk"), ("empty", "phone"), *shots]
            for state, size in all_shots:
                if state == "filled" and size == "desk":
                    _fill(address)
                for name, (path, _, refused) in PAGES.items():
                    label = f"{name}-{state}-{size}"
                    if wanted and not any(each in label for each in wanted):
                        continue
                    is_first = name in ("start", "bench") or name == path.strip("/")
                    if (state == "refused" and not refused) or (
                        state == "empty" and ("pictured" in path or ("-" in name and not is_first))
                    ):
                        continue
                    try:
                        _picture(browser, address, name, out, state, size)
                    except Exception as error:
                        print(f"{label}: no picture: {error}", flush=True)


def _fill(address: str) -> None:
    """A shelf, a trial with its records and a saved case."""
    ask(f"{address}/api/trials", trial_files("pictured"))
    wrap_every_load(f"{address}/api/trials/pictured")
    ask(f"{address}/api/shelf/file", {"toml": DEMO.joinpath("plant.toml").read_text("utf-8")})
    toml = DEMO.joinpath("today.toml").read_text("utf-8")
    ask(f"{address}/api/cases", {"id": "pictured", "title": "Pictured", "toml": toml})


if __name__ == "__main__":
    main(*sys.argv[1:])
