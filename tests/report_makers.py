"""What the tests of reports share: a fixed way to make one, and awkward texts."""

from __future__ import annotations

import html.parser
import importlib.resources
import tomllib
from datetime import UTC, datetime

import pypdfium2
from PIL import Image

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.report.making import Making
from woold.rows.typeset import Paper
from woold.rows.wording import Wording

TIME = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)

AWKWARD = (
    '<script>alert("x")</script> <b>&amp;</b> {{ 7 * 7 }} #panic("x") $x^2$ *bold* _it_ @ref `raw`'
    " \\ // [link](y) \"quoted\" 'single' ﻿Ünïcödé"
)
"""Text that would be markup in HTML, in a template or in typst, if any of them read it so."""


def demo_case(name: str) -> Case:
    """A case of the demo's invented scenario."""
    text = importlib.resources.files("woold.demo").joinpath("files", name).read_text("utf-8")
    return case_from_table(tomllib.loads(text))


def making(
    paper: Paper = "a4", decimal_comma: bool = False, units: str = "both", time: datetime = TIME
) -> Making:
    """A way to make a report at a fixed time."""
    voice = Wording(units, decimal_comma)  # type: ignore[arg-type]
    return Making(voice, time, paper, (), "woold report")


class Page(html.parser.HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.words += [value or "" for name, value in attrs if name == "aria-label"]

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).replace("\u2060", "").split())


def page_tags(page: str) -> set[str]:
    """Names of a page's tags."""
    return {tag for tag, _ in Page(page).tags}


def page_text(page: str) -> str:
    """Text of a page in one line."""
    return Page(page).text


def plain(text: str) -> str:
    """A text in one line, without the mark that pages drop."""
    return " ".join(text.replace("\ufeff", "").split())


def pdf_pages(pdf: bytes) -> list[str]:
    """Text of each page, in one line, with the breaks inside long words taken out."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        pages = []
        for index in range(len(document)):
            page = document[index]
            text = page.get_textpage()
            pages.append(
                " ".join(text.get_text_range().replace("\u200b", "").replace("\u2060", "").split())
            )
            text.close()
            page.close()
        return pages
    finally:
        document.close()


def pdf_text(pdf: bytes) -> str:
    """Text of the whole document in one line."""
    return " ".join(pdf_pages(pdf))


def pdf_sizes(pdf: bytes) -> set[tuple[int, int]]:
    """Sizes of the pages [pt]."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return {
            (round(document.get_page_size(i)[0]), round(document.get_page_size(i)[1]))
            for i in range(len(document))
        }
    finally:
        document.close()


def pdf_picture(pdf: bytes, page: int = 0) -> Image.Image:
    """One page, as printed in grey."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[page].render(scale=1.0, grayscale=True).to_pil().copy()
    finally:
        document.close()
