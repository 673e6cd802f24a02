"""A quote over HTTP: what the page and its paper say is what the terminal says."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from paper_measures import pages_of, printed_words
from web_client import page_client, sent
from woold.case.file import starter_text
from woold.demo.invented_records import write_sites
from woold.quote.document import quote_document
from woold.quote.expected import TriedSites
from woold.quote.facts import facts_from_texts
from woold.quote.quote import quote_of
from woold.quote.rows import quote_blocks
from woold.rows.wording import Wording
from woold.sites.read_sites import read_sites
from woold.web.block_data import sent as as_data
from woold.web.made_lately import MadeLately
from woold.web.page_words import ON_PAGES
from woold.words import ENGLISH, speaking

KNOWN = {
    "length": "48 in",
    "width": "40 in",
    "height": "60 in",
    "loads_per_year": "80,000",
    "roll_width": "20 in",
    "thickness": "63 gauge",
    "film_per_load": "240 g",
    "rolls_per_week": "",
    "carriage": "rollers",
}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with page_client(tmp_path_factory.mktemp("quote") / "trial.db", "/quote") as client:
        yield client


def test_the_page_says_what_the_terminal_says(client: TestClient, tmp_path: Path) -> None:
    write_sites(tmp_path / "sites.csv")
    body = {"facts": KNOWN, "sites": sent(tmp_path / "sites.csv")}
    found = client.post("/api/quote", json=body, params={"units": "si"})
    assert found.status_code == 200, found.text
    table = read_sites(tmp_path / "sites.csv")
    facts = facts_from_texts({name: text for name, text in KNOWN.items() if text})
    # But for options, in whose place a page names its own fields.
    with speaking(ENGLISH, ON_PAGES):
        tried = TriedSites(table.effects, table.standard_errors)
        ours = quote_document(quote_of(facts, sites=tried), facts)
        blocks = as_data(quote_blocks(ours, Wording("si")))
        wanted = [each.model_dump(mode="json") for each in blocks]
    assert found.json()["blocks"] == wanted
    assert "--" not in found.text
    assert found.json()["sites"] == len(table.sites)
    document = client.post("/api/quote/document", json=body)
    assert document.json() == json.loads(json.dumps(ours.to_dict()))
    assert 'filename="quote.json"' in document.headers["content-disposition"]
    paper = client.post("/api/quote/paper/pdf", json=body, params={"units": "si"})
    assert len(pages_of(paper.content)) == 1
    said = wanted[0]["text"].replace(" ", "").replace("\N{NO-BREAK SPACE}", "")
    assert said in printed_words(paper.content)
    assert b"<html" in client.post("/api/quote/paper/html", json=body).content


def test_what_is_taken_away_is_what_was_shown(client: TestClient) -> None:
    """The paper is that of the quote which was kept, here one that nothing else could make."""
    body = {"facts": KNOWN, "alone": True}
    at = client.post("/api/quote", json=body).json()["made_at"]
    made: MadeLately = client.app.state.made  # type: ignore[attr-defined]
    (key, kept) = next(reversed(made._made.items()))
    made.keep(key, replace(kept, facts=kept.facts.model_copy(update={"loads_per_year": 12345.0})))
    shown = body | {"at": at}
    assert "12,345 loads a year" in client.post("/api/quote/paper/html", json=shown).text
    document = client.post("/api/quote/document", json=shown).json()
    assert document["facts"]["loads_per_year"] == 12345.0
    # Of another time nothing is kept: it is made anew, and states its own.
    anew = client.post("/api/quote/paper/html", json=body | {"at": "2026-01-31T12:00Z"}).text
    assert "80,000 loads a year" in anew
    assert "2026-01-31" not in anew


def test_what_is_right_as_typed_counts_in_sites_and_in_the_offered_case(
    client: TestClient, tmp_path: Path
) -> None:
    """Questions about cells of the sites and about the offered case end when they are answered;
    how a table of semicolons was read is told, as in the terminal.
    """
    (tmp_path / "tried.csv").write_text(
        "site;saving;standard_error\nA;62 %;2 %\nB;5 %;2 %\nC;4 %;2 %\n", encoding="utf-8"
    )
    case = tomllib.loads(starter_text())
    case["load"]["height"] = "3.4 m"
    body = {"facts": KNOWN, "sites": sent(tmp_path / "tried.csv"), "offered": case}
    asked: list[str] = []
    for _ in range(8):
        found = client.post("/api/quote", json=body | {"as_typed": asked}, params={"units": "si"})
        if found.status_code == 200:
            break
        new = [each["field"] for each in found.json()["errors"] if each["kind"] == "question"]
        assert new, found.text
        assert not set(new) & set(asked), found.text
        asked += new
    assert found.status_code == 200, found.text
    assert "load.height" in asked
    assert any(each.startswith("tried.csv, line 2") for each in asked)
    assert "semicolon" in found.text


def test_facts_are_refused_at_their_fields(client: TestClient) -> None:
    for change, field in (
        ({"length": ""}, "length"),
        ({"length": "3 bananas"}, "length"),
        ({"loads_per_year": "many"}, "loads_per_year"),
        ({"carriage": "magic"}, "carriage"),
        ({"film_per_load": "2 kg"}, "film_per_load"),
        ({"colour": "blue"}, "colour"),
    ):
        refused = client.post("/api/quote", json={"facts": KNOWN | change})
        assert refused.status_code == 422, change
        assert [each["field"] for each in refused.json()["errors"]] == [field]
    # 2 kg are no such load's film: asked about, and taken where it is right.
    right = {"facts": KNOWN | {"film_per_load": "2 kg"}, "as_typed": ["film_per_load"]}
    assert client.post("/api/quote", json=right).status_code == 200
    empty = client.post("/api/quote", json={"facts": {}}).json()["errors"]
    needed = {"length", "width", "height", "loads_per_year", "roll_width", "thickness"}
    assert {each["field"] for each in empty} == needed
