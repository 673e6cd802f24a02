"""A server that is killed while loads are sent to it: what it said it kept, it kept."""

from __future__ import annotations

import importlib.resources
import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
import tomllib
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from woold.store import Store
from woold.store.backup import check_store
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

__all__ = ["Kills", "killed_again_and_again"]

TRIAL = "killed"
PHONES = 4


@dataclass
class Kills:
    """What was sent and what is there.

    Args:
        kills: how often the server was killed.
        acknowledged: loads that it said it kept.
        lost: those of them that are not there, or not as they were sent.
        halves: loads of which only a part is there.
        doubled: loads that are there more than once.
        wrong: what a check of the store finds.
    """

    kills: int = 0
    acknowledged: int = 0
    lost: list[str] = field(default_factory=list)
    halves: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def killed_again_and_again(url: str, kills: int, folder: Path, seed: int = 1) -> Kills:
    """Send loads, by the interface and by `woold trial import`, and kill whoever writes them.

    Args:
        url: of an empty store.
        kills: how often.
        folder: for files on the way.
        seed: of the moments at which it is killed.
    """
    _begin(url)
    rng, found = random.Random(seed), Kills()
    said: dict[str, str] = {}
    for round_ in range(kills):
        if round_ % 4 == 3:
            _import_and_kill(url, round_, folder, rng, said)
        else:
            _serve_and_kill(url, round_, rng, said)
        found.kills += 1
    _compare(url, said, found)
    return found


def _begin(url: str) -> None:
    files = importlib.resources.files("woold.demo").joinpath("files")
    table = tomllib.loads(files.joinpath("trial.toml").read_text(encoding="utf-8"))
    names = {each[arm] for each in table["load_types"] for arm in ("baseline", "candidate")}
    cases = {n: tomllib.loads(files.joinpath(n).read_text(encoding="utf-8")) for n in names}
    setup = trial_from_tables(table | {"key": TRIAL}, cases)
    store = Store(url)
    start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "test")
    store.close()


def _row(load: str, mass: str) -> dict[str, Any]:
    words = {"load": load, "treatment": "baseline", "load_type": "jars"}
    row: dict[str, Any] = {name: {"typed": word} for name, word in words.items()}
    return row | {"film_mass": {"typed": mass, "unit": "g"}}


def _pull(load: str, side: str) -> dict[str, Any]:
    quantities = {"height": ("250", "mm"), "force": ("44", "N"), "age": ("20", "min")}
    row: dict[str, Any] = {n: {"typed": t, "unit": u} for n, (t, u) in quantities.items()}
    return row | {"load": {"typed": load}, "side": {"typed": side}}


def _body(load: str, mass: str) -> dict[str, Any]:
    pulls = [_pull(load, side) for side in ("front", "right")]
    # Nobody planned that many loads: each is asked about, and right.
    return {"load": _row(load, mass), "pulls": pulls, "as_typed": ["load.load"]}


def _serve_and_kill(url: str, round_: int, rng: random.Random, said: dict[str, str]) -> None:
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", url]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        start_new_session=True,
    ) as server:  # fmt: skip
        assert server.stdout is not None
        address = re.search(r"http://\S+", server.stdout.readline())
        assert address is not None
        stop = threading.Event()
        first = threading.Event()
        arguments = (address[0].rstrip("/"), round_, said, stop, first)
        phones = [
            threading.Thread(target=_phone, args=(number, *arguments)) for number in range(PHONES)
        ]
        for each in phones:
            each.start()
        came = first.wait(120)
        time.sleep(rng.uniform(0.0, 0.15))
        os.killpg(server.pid, signal.SIGKILL)
        stop.set()
        for each in phones:
            each.join()
    assert came, "no load was acknowledged"


def _phone(
    number: int,
    address: str,
    round_: int,
    said: dict[str, str],
    stop: threading.Event,
    first: threading.Event,
) -> None:
    count = 0
    while not stop.is_set():
        load, mass = f"{round_}-{number}-{count}", f"{170 + count % 20}.{number}"
        request = urllib.request.Request(
            f"{address}/api/trials/{TRIAL}/entries/entry-{load}",
            json.dumps(_body(load, mass)).encode(),
            {"content-type": "application/json"},
            method="PUT",
        )
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                answer.read()
        except (OSError, urllib.error.URLError, ValueError, EOFError):
            return
        except Exception:  # half an answer: it was not acknowledged
            return
        said[load] = mass
        first.set()
        count += 1


def _import_and_kill(
    url: str, round_: int, folder: Path, rng: random.Random, said: dict[str, str]
) -> None:
    """A phone's file of many entries; those that are said to be kept stand in the command's log."""
    loads = {f"{round_}-i-{number}": f"{171 + number % 20}" for number in range(200)}
    entries = [
        {"id": f"entry-{load}", "trial": TRIAL, "body": _body(load, mass)}
        for load, mass in loads.items()
    ]
    path = folder / f"unsent-{round_}.json"
    path.write_text(json.dumps({"schema": "entries-not-sent", "entries": entries}))
    command = [sys.executable, "-m", "woold", "trial", "import", str(path), "--store", url]
    before = time.monotonic()
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as importing:
        time.sleep(rng.uniform(0.8, 2.5))
        importing.kill()
        out = importing.communicate()[0]
    if "Entries taken: 200" in out:
        said.update(loads)
    assert time.monotonic() - before < 60


def _compare(url: str, said: dict[str, str], found: Kills) -> None:
    store = Store(url)
    found.wrong = check_store(store.engine)[1]
    loads = store.current(TRIAL, "load")
    masses = {each.cells["load"].typed: each.cells["film_mass"].typed for each in loads}
    found.doubled = [each for each in masses if sum(one.key == each for one in loads) > 1]
    pulls: dict[str, int] = {}
    for each in store.current(TRIAL, "pull"):
        pulls[each.cells["load"].typed] = pulls.get(each.cells["load"].typed, 0) + 1
    store.close()
    found.acknowledged = len(said)
    found.lost = [load for load, mass in said.items() if masses.get(load) != mass]
    found.halves = [load for load in masses if pulls.get(load) != 2]
    found.halves += [load for load in pulls if load not in masses]
