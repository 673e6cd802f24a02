"""`woold sites` and `woold watch` as a user meets them: status, JSON, pictures, the page."""

from __future__ import annotations

import hashlib
import html.parser
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from woold.demo.scenario import write_scenario
from woold.errors import InputError

ROOT = Path(__file__).parents[2]
Runner = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scenario")
    write_scenario(folder)
    return folder


@pytest.fixture
def run(woold: Callable[..., Any], scenario: Path) -> Runner:
    """Runs a command line in the scenario's folder."""

    def call(*words: str) -> tuple[int, str, str]:
        done = woold(*words, cwd=scenario)
        return done.returncode, done.stdout, done.stderr

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
        (("line", "release", "release.toml", "sites.csv"), 0),
        (("watch", "loads", "cycles.csv", "--settings", "watch.toml"), 1),
        (("watch", "fleet", "fleet/*.parquet", "--settings", "watch.toml"), 1),
    ],
)
def test_json_is_one_document_whose_keys_are_documented(
    run: Runner, words: tuple[str, ...], status: int
) -> None:
    ended, out, err = run(*words, "--json")
    assert (ended, err) == (status, "")
    page = (ROOT / "docs/json.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"`(\w+)`", page))
    assert keys_of(json.loads(out)) - listed == set()


def test_pool_tests_a_claim_and_says_what_may_be_said(run: Runner) -> None:
    status, out, _ = run("sites", "pool", "sites.csv", "--claim", "at least 1 % on average")
    assert status == 0
    assert 'Claimed, read as "at least 1.0 % on average": supported' in " ".join(out.split())
    assert "What may be said" in out
    assert "containment" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    status, out, _ = run("sites", "pool", "sites.csv", "--claim", "5 % on average, up to 15 %")
    assert status == 1
    assert "from measurement error alone" in " ".join(out.split())


def test_pool_options_change_the_answer(run: Runner) -> None:
    def next_site(*words: str) -> dict[str, Any]:
        document = json.loads(run("sites", "pool", "sites.csv", "--json", *words)[1])
        found: dict[str, Any] = document["next_site"]
        return found

    usual = next_site("--next-site", "hartung-knapp-t(k-1)")
    assert usual["convention"] == "hartung-knapp-t(k-1)"
    assert usual["saving_low"] != next_site()["saving_low"]
    together = json.loads(
        run("sites", "pool", "sites.csv", "--json", "--explain", "thickness, force_to_load")[1]
    )
    assert [len(each["slopes"]) for each in together["explanations"]] == [2]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("sites", "pool", "missing.csv"), "missing.csv"),
        (("sites", "pool", "sites.csv", "--claim", "a lot"), 'claim: not understood from "lot" on'),
        (("sites", "pool", "sites.csv", "--at-least", "3 kg"), "--at-least"),
        (("sites", "pool", "sites.csv", "--explain", "colour"), "covariates.colour"),
        (("sites", "pool", "sites.csv", "--plot", "x.gif"), "--plot"),
        (("line", "release", "sites.csv", "sites.csv"), "TOML"),
        (("watch", "loads", "missing.csv"), "missing.csv"),
        (("watch", "loads", "cycles.csv", "--since", "spring"), "--since"),
        (("watch", "loads", "cycles.csv", "--column", "film"), "--column"),
        (("watch", "loads", "cycles.csv", "--settings", "release.toml"), "unknown key"),
        (("watch", "loads", "cycles.csv", "--page", "none/w.html"), "none/w.html"),
        (("watch", "loads", "cycles.csv", "--since", "0001-01-01T00:00+14:00"), "--since"),
        (("watch", "loads", "cycles.csv", "--setup-loads", "1000000000"), "--setup-loads"),
        (("watch", "loads", "cycles.csv", "--time", "noon"), "--time"),
        (("watch", "loads", "cycles.csv", "--as-typed", "charts.wait"), "charts.wait"),
        (("watch", "fleet", "none/*.parquet"), "source"),
        (("watch", "fleet", "cycles.csv", "--table", "cycles"), "--table"),
        (("watch", "fleet", "cycles.csv", "--memory", "0GB"), "--memory"),
        (("watch", "fleet", "mysql://x:y@127.0.0.1/z", "--table", "t"), "postgres://"),
    ],
)
def test_bad_input_is_one_message(run: Runner, words: tuple[str, ...], message: str) -> None:
    status, out, err = run(*words)
    assert status == 2
    assert message in err
    assert "Traceback" not in out + err


def test_watch_names_the_step_and_its_cause(run: Runner) -> None:
    status, out, _ = run("watch", "loads", "cycles.csv", "--settings", "watch.toml")
    text = " ".join(out.split())
    assert status == 1
    assert "Alarms on 1 of 2 machines" in text
    assert "setting changed from 260 % to 240 %" in text
    assert "the clock goes back by about 60 min" in text
    assert "Rows that came late: 10" in text
    assert "Rows that stand twice: 3" in text
    assert "Take care" in text
    assert max(len(line) for line in out.splitlines()) <= 80


def test_watch_is_quiet_after_the_last_alarm(run: Runner, scenario: Path) -> None:
    rows = (scenario / "cycles.csv").read_text(encoding="utf-8").splitlines()
    quiet = scenario / "quiet.csv"
    quiet.write_text("\n".join(row for row in rows if "line 2" not in row), encoding="utf-8")
    assert run("watch", "loads", "quiet.csv", "--settings", "watch.toml")[0] == 0
    words = ("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--since", "2027-01-01")
    assert run(*words)[0] == 0


class _Page(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_page_needs_nothing_else_and_escapes_names(run: Runner, scenario: Path) -> None:
    records = (scenario / "cycles.csv").read_text(encoding="utf-8")
    odd = "<script>alert(1)</script> $x_1$ & co"
    (scenario / "odd.csv").write_text(records.replace("line 2", odd), encoding="utf-8")
    run("watch", "loads", "odd.csv", "--settings", "watch.toml", "--page", "odd.html")
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


def test_the_page_is_a_report_like_the_others(run: Runner, scenario: Path) -> None:
    words = ("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--page")
    time = ("--time", "2026-01-31T12:00Z", "--decimal-comma", "--force")
    pages = []
    for _ in range(2):
        assert run(*words, "line.html", *time)[0] == 1
        pages.append((scenario / "line.html").read_bytes())
    assert pages[0] == pages[1]
    assert len(pages[0]) < 300_000
    text = pages[0].decode()
    assert "prefers-color-scheme: dark" in text
    assert "@media print" in text
    assert text.count("<figcaption>") == len(re.findall(r'<svg role="img" aria-label="[^"]+', text))
    assert text.count("<figcaption>") == 2
    digest = hashlib.sha256((scenario / "cycles.csv").read_bytes()).hexdigest()
    assert digest in text
    assert "woold watch loads cycles.csv --settings watch.toml" in text
    told = re.sub(r"<svg.*?</svg>|<style>.*?</style>|<[^>]*>", " ", text, flags=re.S)
    told = told.rpartition("What this run rests on")[0]
    assert re.findall(r"(?<![\w.])\d+\.\d+(?![\w.])", told) == []
    assert run(*words, "line.pdf", *time)[0] == 1
    assert (scenario / "line.pdf").read_bytes().startswith(b"%PDF")
    status, _, errors = run(*words, "line.txt")
    assert status == 2
    assert ".html or .pdf" in errors


def test_a_page_of_many_machines_stays_small_and_tells_of_all(run: Runner, scenario: Path) -> None:
    head, *rows = (scenario / "cycles.csv").read_text(encoding="utf-8").splitlines()
    first = [row for row in rows if ",line 1," in row][:900]
    many = [row.replace("line 1", f"line {n}") for n in range(1, 15) for row in first]
    (scenario / "many.csv").write_text("\n".join([head, *many, ""]), encoding="utf-8")
    run("watch", "loads", "many.csv", "--settings", "watch.toml", "--page", "many.html", "--force")
    text = (scenario / "many.html").read_text(encoding="utf-8")
    assert len(text.encode()) < 300_000
    assert 1 <= text.count("<svg ") < 14
    assert "Charts are drawn of the most urgent machines" in text
    assert all(f">line {n}</h2>" in text for n in range(1, 15))


def test_pictures(run: Runner, scenario: Path) -> None:
    run("sites", "pool", "sites.csv", "--plot", "forest.svg")
    run("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--plot", "watch.png")
    assert (scenario / "forest.svg").stat().st_size > 5_000
    forest = (scenario / "forest.svg").read_text(encoding="utf-8")
    assert re.search(r'<svg role="img" aria-labelledby="picture-text"', forest)
    assert re.search(r'<title id="picture-text">[^<]{20,}</title>', forest)
    assert (scenario / "watch.png").read_bytes().startswith(b"\x89PNG")


# Trials of the store as sites, as a promise and as records


@pytest.fixture(scope="module")
def store_url(scenario: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store with three invented trials that were weighed, and one that was only started."""
    from woold.demo.wrapped_trial import written_worksheet
    from woold.store import Store
    from woold.trial.importing import import_written
    from woold.trial.plan import plan_trial
    from woold.trial.reading import read_written
    from woold.trial.setup import read_trial, trial_from_tables
    from woold.trial.starting import start_trial

    folder = tmp_path_factory.mktemp("store")
    store = Store(str(folder / "trials.sqlite"))
    setup = read_trial(scenario / "trial.toml")
    for seed, key in enumerate(("plant-a", "plant-b", "plant-c", "plant-d")):
        tables = {**setup.tables, "key": key}
        mine = trial_from_tables(tables, setup.case_tables)
        order = plan_trial(mine.trial, mine.trial.aim, 12).order
        start_trial(store, mine, order, "tester")
        if key == "plant-d":
            continue
        book = folder / f"{key}.xlsx"
        book.write_bytes(written_worksheet(mine, order, seed=30 + seed))
        written = read_written(book)
        try:
            import_written(store, written, "tester", key)
        except InputError as error:  # values that it asks about, invented ones among them
            cells = [problem.field for problem in error.problems]
            import_written(store, written, "tester", key, as_typed=cells)
    store.close()
    return str(folder / "trials.sqlite")


def test_trials_of_the_store_are_sites(run: Runner, store_url: str) -> None:
    status, out, err = run("sites", "pool", "--store", store_url, "--json")
    assert (status, err) == (0, "")
    document = json.loads(out)
    assert [site["site"] for site in document["sites"]] == ["plant-a", "plant-b", "plant-c"]
    left_out = [each for each in document["findings"] if each["code"] == "trial_left_out"]
    assert [each["field"] for each in left_out] == ["plant-d"]
    reported = json.loads(run("trial", "analyse", "plant-b", "--store", store_url, "--json")[1])
    assert document["sites"][1]["saving"] == pytest.approx(1 - reported["film"]["ratio"])
    interval = reported["film"]["log_ratio"]
    half = 0.5 * np.log(interval["high"] / interval["low"])
    quantile = stats.t.isf(0.025, reported["film"]["degrees_of_freedom"])
    assert document["sites"][1]["effect_standard_error"] == pytest.approx(half / quantile, rel=1e-6)


def test_trials_can_be_chosen_and_one_is_too_few(run: Runner, store_url: str) -> None:
    words = ("sites", "pool", "--store", store_url, "--json", "--trial", "plant-a")
    assert len(json.loads(run(*words, "--trial", "plant-c")[1])["sites"]) == 2
    status, _, err = run(*words)
    assert status == 2
    assert "at least 2" in err
    status, _, err = run(*words, "--trial", "plant-x")
    assert status == 2
    assert "plant-x" in err
    assert run("sites", "pool", "sites.csv", "--trial", "plant-a")[0] == 2


def test_a_trial_is_watched_against_its_own_promise(run: Runner, store_url: str) -> None:
    """The candidate's own loads keep the trial's saving, reckoned here from its analysis."""
    shares = []
    for plant in ("plant-a", "plant-b", "plant-c"):
        words = ("watch", "loads", "--trial", plant, "--promise", plant, "--store", store_url)
        few = ("--setup-loads", "20", "--as-typed", "charts.setup_loads")
        status, out, err = run(*words, *few, "--json")
        assert err == ""
        document = json.loads(out)
        assert status == int(document["event_count"] > 0)
        (machine,) = document["machines"]
        assert machine["machine"] == plant
        assert machine["film_source"] == "weighed"
        savings = machine["savings"]
        assert savings["loads"] == machine["loads"] == 12
        codes = {each["code"] for each in document["findings"]}
        assert "not_charted" in codes  # twenty are needed
        analysed = json.loads(run("trial", "analyse", plant, "--store", store_url, "--json")[1])
        types = analysed["by_type"]
        before = [each["candidate_loads"] * each["baseline_kg"] for each in types]
        promised = sum(
            film * (1.0 - each["ratio"]) for film, each in zip(before, types, strict=True)
        )
        assert savings["baseline_mass_kg"] == pytest.approx(sum(before))
        assert savings["promised_mass_kg"] == pytest.approx(promised)
        # Blocks are taken out of the promise, and not of the loads' own sum.
        assert savings["saved_mass_kg"] == pytest.approx(promised, abs=0.002 * sum(before))
        # A trial in which film was not less promises nothing of which a share could be kept.
        kept = savings["saved_mass_kg"] / promised if promised > 0.0 else None
        assert savings["kept_share"] == (None if kept is None else pytest.approx(kept))
        shares.append(kept)
    assert any(each is not None for each in shares)
    assert run("watch", "loads", "cycles.csv", "--trial", "plant-a", "--store", store_url)[0] == 2
    assert run("watch", "loads", "--store", store_url)[0] == 2
