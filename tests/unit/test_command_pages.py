"""Every command of the terminal has its page in the browser, or a reason why not."""

from __future__ import annotations

import html
import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer
from fastapi.testclient import TestClient

from woold.cli.main import _COMMANDS
from woold.web.app import create_app
from woold.web.command_pages import COMMAND_PAGES, NO_PAGE
from woold.web.pages import PAGES
from woold.web.settings import WebSettings

FRONT_END = Path(__file__).parents[2] / "frontend/src"


def _commands() -> Iterator[str]:
    for name, (module, _) in _COMMANDS.items():
        command = typer.main.get_command(importlib.import_module(module).app)
        inner = getattr(command, "commands", None)
        yield from (f"{name} {each}" for each in inner) if inner else (name,)


def test_every_command_has_a_page_or_a_reason() -> None:
    assert sorted([*COMMAND_PAGES, *NO_PAGE]) == sorted(_commands())


@pytest.mark.parametrize("command", COMMAND_PAGES)
def test_its_page_is_one_of_the_pages(command: str) -> None:
    assert COMMAND_PAGES[command][0] in PAGES


def test_its_page_says_it_at_its_place(tmp_path: Path) -> None:
    """As a heading or a button: in the page itself, or among the words that its script brings."""
    app = create_app(WebSettings(store=str(tmp_path / "store.sqlite")))
    with TestClient(app, base_url="http://localhost") as client:
        pages = {
            path: html.unescape(client.get(path.replace("{key}", "any")).text)
            for path in {path for path, _ in COMMAND_PAGES.values()}
        }
    left = {
        command: where
        for command, (path, where) in COMMAND_PAGES.items()
        if f"{where}<" not in pages[path] and where not in _scripts_words(path)
    }
    assert left == {}


def _scripts_words(path: str) -> str:
    name = {"/": "bench"}.get(path, path.strip("/"))
    own = FRONT_END / "pages" / f"{name}.ts"
    return own.read_text(encoding="utf-8") if own.exists() else ""


def test_the_table_can_be_read_where_the_interface_is_described(tmp_path: Path) -> None:
    app = create_app(WebSettings(store=str(tmp_path / "store.sqlite")))
    with TestClient(app, base_url="http://localhost") as client:
        page = client.get("/docs").text
    for command in (*COMMAND_PAGES, *NO_PAGE):
        assert f"<code>woold {command}</code>" in page
    assert '<a href="/films"><code>/films</code></a>' in page


def test_the_page_of_documentation_lists_the_same() -> None:
    text = (Path(__file__).parents[2] / "docs/pages.md").read_text(encoding="utf-8")
    rows = dict(
        line.strip("| ").split(" | ", 1) for line in text.splitlines() if line.startswith("| `")
    )
    assert rows == {
        f"`woold {name}`": f"`{path}`: {where}" for name, (path, where) in COMMAND_PAGES.items()
    } | {f"`woold {name}`": why for name, why in NO_PAGE.items()}
