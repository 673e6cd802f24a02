"""Which trials of a store count for a release, and for what."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from trial_makers import demo_setup, wrapped
from woold.errors import InputError
from woold.line.release import release
from woold.line.release_evidence import (
    StoredTrial,
    evidence_of_table,
    evidence_of_trials,
)
from woold.line.release_file import ReleaseRead, read_release
from woold.rows.blocks import block_texts
from woold.sites.site_table import Site, table_of_sites
from woold.trial.setup import TrialSetup, trial_from_tables

FILE = """carriage = "short gap"
years = 2.0
trial_cost = "1000 USD"
{more}
[[machine]]
name = "hall 2, machine 3"
model = "T12"
film = "63 gauge"
loads_per_year = 60000
film_per_load = "300 g"
film_price = "2.2 USD/kg"
conversion_cost = "4000 USD"
technician_days = 1.5
match = "passed"
hold_margin = "20 %"
"""


def asked(folder: Path, more: str = "") -> ReleaseRead:
    (folder / "release.toml").write_text(FILE.format(more=more), encoding="utf-8")
    return read_release(folder / "release.toml")


def trial(key: str, **what: Any) -> StoredTrial:
    """One that saved 5 +- 1 %, of the carriage on T12 in 63 gauge; "what" is otherwise."""
    site = Site(key, 0.05, 0.0513, 0.0105)
    plain = StoredTrial(
        key, site, "", ("long gap", "short gap"), ("63 gauge", "63 gauge"), "", "T12", False
    )
    return replace(plain, **what)


def counted(
    read: ReleaseRead, *trials: StoredTrial, picked: tuple[str, ...] = ()
) -> dict[str, str]:
    result = release(read, evidence_of_trials(read.asked, trials, picked))
    return {each.trial: each.counts_as for each in result.evidence}


def test_what_each_trial_of_a_store_counts_for(tmp_path: Path) -> None:
    """By carriage, model or machine, and film; capitals and spaces do not make another one."""
    found = counted(
        asked(tmp_path),
        trial("by-model"),
        trial("by-machine", machine="Hall 2,  machine 3", model="", films=("", "63 Gauge")),
        trial("other-film", films=("47 gauge", "47 gauge")),
        trial("no-machine", model=""),
        trial("other-carriage", carriages=("long gap", "wide rollers")),
        trial("nobody-says", carriages=("", "")),
        trial("both-have-it", carriages=("short gap", "Short Gap")),
        trial("film-changed", other_film=True),
        trial("not-weighed", site=None, why_not="too few loads"),
    )
    assert found == {
        "by-model": "own",
        "by-machine": "own",
        "other-film": "further site",
        "no-machine": "further site",
        "other-carriage": "left out",
        "nobody-says": "left out",
        "both-have-it": "left out",
        "film-changed": "left out",
        "not-weighed": "left out",
    }


def test_own_trials_are_weighed_as_those_of_a_table(tmp_path: Path) -> None:
    """The same four trials, of a store and of a table of sites, say the same."""
    keys = ("a", "b", "c", "d")
    read = asked(tmp_path)
    of_store = release(read, evidence_of_trials(read.asked, [trial(key) for key in keys]))
    rows = [
        Site(key, 0.05, 0.0513, 0.0105, carriage="short gap", machine="T12", film="63 gauge")
        for key in keys
    ]
    of_table = release(read, evidence_of_table(read.asked, table_of_sites(rows)))
    assert of_store.machines == of_table.machines
    assert of_store.machines[0].trials == 4
    assert of_store.machines[0].promise_per_year is not None
    assert [each.machines for each in of_store.evidence] == [1, 1, 1, 1]
    # 0.0105 of the effect is 0.0105 times what is left, 95 %, of the saving.
    assert of_store.evidence[0].saving_error == pytest.approx(0.009975)
    words = " ".join(block_texts(tuple(of_store.blocks())))
    assert "Trials so far, and what each counts for" in words


def test_the_file_says_what_a_trial_tried(tmp_path: Path) -> None:
    more = '[[trial]]\nkey = "old"\nmachine = "T12"\nfilm = "63 gauge"\n'
    read = asked(tmp_path, more)
    silent = trial("old", carriages=("", ""), films=("", ""), model="")
    assert counted(read, silent, trial("new")) == {"old": "own", "new": "own"}
    # Asked for by its key it counts, too, but is no machine's own.
    plain = asked(tmp_path)
    assert counted(plain, silent, trial("new"), picked=("old", "new")) == {
        "new": "own",
        "old": "further site",
    }


@pytest.mark.parametrize(
    ("more", "trials", "words"),
    [
        ("", [trial("one")], ("that count: 1", "at least 2", "[[trial]]")),
        ("", [trial("a", carriages=("", "")), trial("b")], ("a: nobody says",)),
        ('[[trial]]\nkey = "gone"\n', [trial("a"), trial("b")], ("trial[0].key", "a, b")),
    ],
)
def test_too_few_trials_are_refused(
    tmp_path: Path, more: str, trials: list[StoredTrial], words: tuple[str, ...]
) -> None:
    read = asked(tmp_path, more)
    with pytest.raises(InputError) as raised:
        evidence_of_trials(read.asked, trials)
    for word in words:
        assert word in str(raised.value)


def test_a_table_beside_trials_of_the_store_is_refused(tmp_path: Path) -> None:
    read = asked(tmp_path, '[[trial]]\nkey = "old"\n')
    sites = table_of_sites([Site("x", 0.05, 0.05, 0.01), Site("y", 0.06, 0.06, 0.01)])
    with pytest.raises(InputError, match="as well"):
        evidence_of_table(read.asked, sites)


def named(setup: TrialSetup, key: str, carriage: str) -> TrialSetup:
    """The trial under another key, its candidates made of things of a shelf."""
    things = (("films", "63 gauge"), ("carriages", carriage), ("machine_models", "T12"))
    made_of = [
        {"kind": kind, "name": name, "version": 1, "hash": "0" * 12} for kind, name in things
    ]
    candidates = {each.candidate for each in setup.trial.load_types}
    cases = {
        name: {**table, "made_of": made_of} if name in candidates else table
        for name, table in setup.case_tables.items()
    }
    return trial_from_tables({**setup.tables, "key": key}, cases)


def test_the_command_takes_the_trials_of_a_store(tmp_path: Path, woold: Callable[..., Any]) -> None:
    setup = demo_setup(tmp_path)
    for key, carriage in (("first", "short gap"), ("second", "short gap"), ("third", "other")):
        wrapped(named(setup, key, carriage), tmp_path, 6)
    asked(tmp_path)
    store = ("--store", str(tmp_path / "trial.db"))
    path = str(tmp_path / "release.toml")
    document = json.loads(woold("line", "release", path, *store, "--json").stdout)
    assert {each["trial"]: each["counts_as"] for each in document["evidence"]} == {
        "first": "own",
        "second": "own",
        "third": "left out",
    }
    assert [each["field"] for each in document["findings"]] == ["third"]
    assert document["machines"][0]["trials"] == 2
    few = woold("line", "release", path, *store, "--trial", "first")
    assert few.returncode == 2
    assert "at least 2" in few.stderr
