"""Two ways to work on a page: with the mouse, and with the keyboard alone."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Protocol

from playwright.sync_api import Locator, Page, expect

__all__ = ["Hand", "Keyboard", "Mouse"]

_MOST_TABS = 400


def _asks(_: object) -> None:
    """Whoever gives files takes them from the page's own event."""


class Hand(Protocol):
    """What a person does; each act fails where it cannot be done that way."""

    def press(self, target: Locator) -> None:
        """Presses a button, or follows a link."""

    def write(self, target: Locator, text: str) -> None:
        """Types a text in the place of what stands in a field."""

    def choose(self, target: Locator, label: str | re.Pattern[str]) -> None:
        """Takes one of a list."""

    def give(self, target: Locator, *files: Path) -> None:
        """Gives files to what asks for them."""


class Mouse:
    """Points and clicks; what is typed is typed."""

    def __init__(self, page: Page) -> None:
        self.page = page
        # From the start: a press that comes before the browser hands its choice of files over is
        # lost.
        page.on("filechooser", _asks)

    def press(self, target: Locator) -> None:
        target.click()

    def write(self, target: Locator, text: str) -> None:
        target.click()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def choose(self, target: Locator, label: str | re.Pattern[str]) -> None:
        # What opens on a click is the system's own list, which no test can point at.
        target.select_option(_option(target, label))

    def give(self, target: Locator, *files: Path) -> None:
        # The label is what a pointer meets; the input lies under it.
        shown = target if target.is_visible() else target.locator("xpath=ancestor::label")
        with self.page.expect_file_chooser() as asked:
            shown.click()
        asked.value.set_files(list(files))


class Keyboard:
    """Goes on by Tab alone, presses Enter and Space, and never points at anything."""

    def __init__(self, page: Page) -> None:
        self.page = page
        # From the start: a press that comes before the browser hands its choice of files over is
        # lost.
        page.on("filechooser", _asks)

    def press(self, target: Locator) -> None:
        self._go(target)
        self.page.keyboard.press("Enter")

    def write(self, target: Locator, text: str) -> None:
        self._go(target)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def choose(self, target: Locator, label: str | re.Pattern[str]) -> None:
        self._go(target)
        wanted = _option(target, label)
        self.page.keyboard.press("Home")
        for _ in range(target.locator("option").count()):
            if target.locator("option:checked").inner_text() == wanted:
                return
            self.page.keyboard.press("ArrowDown")
        assert target.locator("option:checked").inner_text() == wanted

    def give(self, target: Locator, *files: Path) -> None:
        self._go(target)
        with self.page.expect_file_chooser() as asked:
            self.page.keyboard.press("Enter")
        asked.value.set_files(list(files))

    def _go(self, target: Locator) -> None:
        """On by Tab until the focus is where it shall be, and seen there."""
        expect(target).to_be_attached()
        for _ in range(_MOST_TABS):
            if target.evaluate("each => each === document.activeElement"):
                break
            self.page.keyboard.press("Tab")
        expect(target).to_be_focused()
        # What has the focus is seen: WCAG 2.2, 2.4.11.
        expect(target).to_be_in_viewport()


def _option(target: Locator, label: str | re.Pattern[str]) -> str:
    texts = target.locator("option").all_inner_texts()
    return next(each for each in texts if re.search(label, each))
