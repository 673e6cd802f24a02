"""A page names its own fields and buttons, never an option, a command or a table of a file."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

import polib
import pytest
from fastapi.testclient import TestClient

from pseudo_words import CATALOGUE
from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.errors import InputError
from woold.transport.screen import transport_of
from woold.web.app import create_app
from woold.web.page_words import ON_PAGES
from woold.web.settings import WebSettings

TABLES = "load film films carriage carriages dancer machine machines program hold transport zones"
TABLES += " order design site loads drive load_types catalogue"
TERMINAL = re.compile(
    r"(?<![\w-])--[a-z]|\bwoold (?:account|carriage|case|dancer|demo|design|film|learn|line|predict"
    r"|report|serve|shelf|sites|store|transport|trial|watch)\b|pip install"
    rf"|\[\[?(?:[a-z_]+\.)*(?:{'|'.join(TABLES.split())})(?:\.[a-z_]+)*\]\]?|\[\[\{{"
)
NO_PAGE = re.compile(
    r"^(?:typer|woold|woold\.web|--help)$"
    r"|src/woold/cli/|starter\.py|demo/|web/(?:command_pages|watching)\.py"
    r"|tables/schema"
)
"""What is said in the terminal alone, to programs, or in a file that is written there."""

IN_ORDER = {
    "No copy of the store is made by this server. Start it with --backup FOLDER, on another disk."
}
"""Said to whoever runs the server."""


def test_no_text_that_reaches_a_page_names_what_the_terminal_has() -> None:
    left = []
    for entry in polib.pofile(str(CATALOGUE)):
        places = [place for place, _ in entry.occurrences]
        if "--help" in places or all(NO_PAGE.search(place) for place in places):
            continue
        if TERMINAL.search(entry.msgid) and entry.msgid not in {*ON_PAGES, *IN_ORDER}:
            left.append(f"{places[0]}: {entry.msgid}")
    assert left == []


def test_each_is_said_somewhere_and_keeps_its_values() -> None:
    known = {entry.msgid for entry in polib.pofile(str(CATALOGUE))}
    assert set(ON_PAGES) <= known
    for terminal, page in ON_PAGES.items():
        assert not TERMINAL.search(page), page
        names = [set(re.findall(r"\{(\w+)", each)) for each in (page, terminal)]
        assert names[0] <= names[1], page


def test_the_interface_says_it_and_the_terminal_does_not(tmp_path: Path) -> None:
    text = files("woold.demo").joinpath("files", "today.toml").read_text("utf-8")
    table = table_from_toml(text)
    del table["transport"]
    app = create_app(WebSettings(store=str(tmp_path / "store.sqlite"), hosts=()))
    with TestClient(app, base_url="http://plant") as client:
        answer = client.post("/api/transport", json={"case": table})
    assert answer.status_code == 422
    (problem,) = answer.json()["errors"]
    assert problem["allowed"] == "what the load meets on its way"
    with pytest.raises(InputError, match=r"a \[transport\] table"):
        transport_of(case_from_table(table))
