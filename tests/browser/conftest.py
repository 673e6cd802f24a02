"""A real server and a real browser. Every page is watched: errors on the console fail the test."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import ConsoleMessage, Error, Page, expect

CHROMIUM = "/usr/bin/chromium"
# The same engine without a window of its own takes half the processor's time; it keeps no profile.
WINDOWLESS = f"{CHROMIUM}-headless-shell"

# A crowded machine may be slow; what never comes still fails.
expect.set_options(timeout=60_000)

SIZES = {"desktop": (1440, 900), "phone": (390, 844)}

AXE = Path(__file__).parents[2] / "frontend/node_modules/axe-core/axe.min.js"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All on one worker: they share one server, and two browsers would crowd the machine."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.xdist_group("browser"))


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    return {
        "executable_path": WINDOWLESS,
        "args": [
            "--no-sandbox",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-dev-shm-usage",
            "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader",
            "--disable-gpu-rasterization",
            "--disable-gpu-compositing",
        ],
    }


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, int]]:
    """Address and process of a running `woold serve` with a store of its own."""
    store = tmp_path_factory.mktemp("store") / "woold.db"
    with subprocess.Popen(
        [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", str(store)],
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        assert server.stdout is not None
        line = server.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line
        address = found[0].rstrip("/")
        _wait_for(address)
        yield address, server.pid
        server.terminate()
        server.wait(10)


@pytest.fixture(scope="session")
def base_url(served: tuple[str, int]) -> str:
    """Address of the server."""
    return served[0]


@contextmanager
def held_up(server: int) -> Iterator[None]:
    """Long work of a server stands still meanwhile: what is looked at cannot end before."""
    workers = _children(server)
    assert workers
    for each in workers:
        os.kill(each, signal.SIGSTOP)
    try:
        yield
    finally:
        for each in workers:
            os.kill(each, signal.SIGCONT)


def _children(process: int) -> list[int]:
    found = []
    for task in Path(f"/proc/{process}/task").iterdir():
        for each in map(int, (task / "children").read_text().split()):
            found += [each, *_children(each)]
    return found


def _wait_for(address: str) -> None:
    for _ in range(150):
        try:
            with urllib.request.urlopen(f"{address}/openapi.json", timeout=5):
                return
        except OSError:
            time.sleep(0.2)
    raise AssertionError(f"no answer from {address}")


@pytest.fixture
def watched(page: Page) -> Iterator[Page]:
    """A page whose errors fail the test."""
    page.set_default_timeout(60_000)
    problems: list[str] = []

    def on_console(message: ConsoleMessage) -> None:
        # A refusal of what was typed is an answer; the browser logs it as an error all the same.
        if message.type == "error" and "status of 422" not in message.text:
            problems.append(message.text)

    def on_error(error: Error) -> None:
        problems.append(str(error))

    page.on("console", on_console)
    page.on("pageerror", on_error)
    yield page
    assert problems == []


@pytest.fixture
def phone(watched: Page) -> Page:
    """A watched page of a phone's size."""
    width, height = SIZES["phone"]
    watched.set_viewport_size({"width": width, "height": height})
    return watched


def no_sideways_scroll(page: Page) -> None:
    """Nothing stands out over the right edge of the window."""
    wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide[0] <= wide[1]


def in_order(page: Page) -> None:
    """Nothing stands out over the right edge at either size; axe-core finds nothing at its own."""
    own = page.viewport_size
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        no_sideways_scroll(page)
    if own:
        page.set_viewport_size(own)
    accessible(page)


_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_OF_COLOURS = ["color-contrast", "link-in-text-block"]


def accessible(page: Page, *, only_colours: bool = False) -> None:
    """axe-core finds no violation of WCAG 2.2 A and AA, nor of its best practices.

    Args:
        page: as it stands.
        only_colours: nothing but colours has changed since it was looked at.
    """
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    # What has scrolled half under the fixed head is none the smaller for it.
    page.evaluate("scrollTo(0, 0)")
    asked = {"type": "rule", "values": _OF_COLOURS} if only_colours else _RULES
    found = page.evaluate(
        "asked => axe.run(document, {resultTypes: ['violations'], runOnly: asked})", asked
    )
    assert [
        (each["id"], [node["target"] for node in each["nodes"]]) for each in found["violations"]
    ] == []
