"""`woold sites` and `woold watch` as a user meets them: status, JSON, pictures, the page."""

from __future__ import annotations

import html.parser
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from woold.cli.main import run
from woold.demo.scenario import write_scenario

ROOT = Path(__file__).parents[2]
Runner = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scenario")
    write_scenario(folder)
    return folder


@pytest.fixture
def woold(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], scenario: Path
) -> Runner:
    """Runs a command line in this process, in the scenario's folder."""
    monkeypatch.chdir(scenario)
    monkeypatch.setenv("COLUMNS", "80")

    def call(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["woold", *words])
        with pytest.raises(SystemExit) as caught:
            run()
        printed = capsys.readouterr()
        return int(caught.value.code or 0), printed.out, printed.err

    return call


def keys_of(document: Any) -> set[str]:
    if isinstance(document, dict):
        return set(document).union(*(keys_of(value) for value in document.values()), set())
    if isinstance(document, list):
        return set().union(*(keys_of(value) for value in document), set())
    return set()


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("sites", "pool", "sites.csv", "--at-least", "3 %", "--claim", "up to 15 %"), 1),
        (("sites", "line", "line.toml", "sites.csv"), 0),
        (("watch", "loads", "cycles.csv", "--settings", "watch.toml"), 1),
        (("watch", "fleet", "fleet/*.parquet", "--settings", "watch.toml"), 1),
    ],
)
def test_json_is_one_document_whose_keys_are_documented(
    woold: Runner, words: tuple[str, ...], status: int
) -> None:
    ended, out, err = woold(*words, "--json")
    assert (ended, err) == (status, "")
    page = (ROOT / "docs/json.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"`(\w+)`", page))
    assert keys_of(json.loads(out)) - listed == set()


def test_pool_tests_a_claim_and_says_what_may_be_said(woold: Runner) -> None:
    status, out, _ = woold("sites", "pool", "sites.csv", "--claim", "at least 1 % on average")
    assert status == 0
    assert 'Claimed "at least on average 1.0 %": supported' in out
    assert "What may be said" in out
    assert "containment" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    status, out, _ = woold("sites", "pool", "sites.csv", "--claim", "5 % on average, up to 15 %")
    assert status == 1
    assert "from measurement error alone" in " ".join(out.split())


def test_pool_options_change_the_answer(woold: Runner) -> None:
    def next_site(*words: str) -> dict[str, Any]:
        document = json.loads(woold("sites", "pool", "sites.csv", "--json", *words)[1])
        found: dict[str, Any] = document["next_site"]
        return found

    usual = next_site("--next-site", "hartung-knapp-t(k-1)")
    assert usual["convention"] == "hartung-knapp-t(k-1)"
    assert usual["saving_low"] != next_site()["saving_low"]
    together = json.loads(
        woold("sites", "pool", "sites.csv", "--json", "--explain", "thickness, force_to_load")[1]
    )
    assert [len(each["slopes"]) for each in together["explanations"]] == [2]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("sites", "pool", "missing.csv"), "missing.csv"),
        (("sites", "pool", "sites.csv", "--claim", "a lot"), "claim: 'a lot'"),
        (("sites", "pool", "sites.csv", "--at-least", "3 kg"), "--at-least"),
        (("sites", "pool", "sites.csv", "--explain", "colour"), "covariates.colour"),
        (("sites", "pool", "sites.csv", "--plot", "x.gif"), "--plot"),
        (("sites", "line", "sites.csv", "sites.csv"), "TOML"),
        (("watch", "loads", "missing.csv"), "missing.csv"),
        (("watch", "loads", "cycles.csv", "--since", "spring"), "--since"),
        (("watch", "loads", "cycles.csv", "--column", "film"), "--column"),
        (("watch", "loads", "cycles.csv", "--settings", "line.toml"), "unknown section"),
        (("watch", "loads", "cycles.csv", "--page", "none/w.html"), "--page"),
        (("watch", "fleet", "none/*.parquet"), "source"),
        (("watch", "fleet", "cycles.csv"), "source"),
    ],
)
def test_bad_input_is_one_message(woold: Runner, words: tuple[str, ...], message: str) -> None:
    status, out, err = woold(*words)
    assert status == 2
    assert message in err
    assert "Traceback" not in out + err


def test_watch_names_the_step_and_its_cause(woold: Runner) -> None:
    status, out, _ = woold("watch", "loads", "cycles.csv", "--settings", "watch.toml")
    text = " ".join(out.split())
    assert status == 1
    assert "Alarms on 1 of 2 machines" in text
    assert "setting changed from 260 % to 240 %" in text
    assert "the clock goes back by about 60 min" in text
    assert "10 rows came late" in text
    assert "3 rows stand twice" in text
    assert "Take care" in text
    assert max(len(line) for line in out.splitlines()) <= 80


def test_watch_is_quiet_after_the_last_alarm(woold: Runner, scenario: Path) -> None:
    rows = (scenario / "cycles.csv").read_text(encoding="utf-8").splitlines()
    quiet = scenario / "quiet.csv"
    quiet.write_text("\n".join(row for row in rows if "line 2" not in row), encoding="utf-8")
    assert woold("watch", "loads", "quiet.csv", "--settings", "watch.toml")[0] == 0
    later = woold(
        "watch", "loads", "cycles.csv", "--settings", "watch.toml", "--since", "2027-01-01"
    )
    assert later[0] == 0


class _Page(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_page_needs_nothing_else_and_escapes_names(woold: Runner, scenario: Path) -> None:
    records = (scenario / "cycles.csv").read_text(encoding="utf-8")
    odd = "<script>alert(1)</script> $x_1$ & co"
    (scenario / "odd.csv").write_text(records.replace("line 2", odd), encoding="utf-8")
    woold("watch", "loads", "odd.csv", "--settings", "watch.toml", "--page", "odd.html")
    text = (scenario / "odd.html").read_text(encoding="utf-8")
    assert "<script" not in text
    page = _Page()
    page.feed(text)
    assert odd in page.text
    assert {tag for tag, _ in page.tags} >= {"main", "table", "svg"}
    for _, attributes in page.tags:
        for name in ("src", "href", "xlink:href"):
            value = attributes.get(name) or "#"
            assert value.startswith(("#", "data:image/png")), value
    headings = [tag for tag, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert headings[0] == "h1"
    assert headings.count("h1") == 1
    assert all(attributes.get("aria-label") for tag, attributes in page.tags
               if attributes.get("role") == "img")  # fmt: skip


def test_pictures(woold: Runner, scenario: Path) -> None:
    woold("sites", "pool", "sites.csv", "--plot", "forest.svg")
    woold("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--plot", "watch.png")
    assert (scenario / "forest.svg").stat().st_size > 5_000
    assert (scenario / "watch.png").read_bytes().startswith(b"\x89PNG")
