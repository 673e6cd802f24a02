"""Fifty people at once: predicting and writing loads down for a minute, on loopback.

Asked for: no error, and every load that was acknowledged is in the store, once and unchanged.
"""

from __future__ import annotations

import asyncio
import importlib.resources
import os
import re
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx2
import numpy as np
import pytest

from woold.case.file import starter_text
from woold.store import Store
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

CLIENTS = 50
TRIALS = 10
SECONDS = float(os.environ.get("WOOLD_LOAD_SECONDS", "60"))


@pytest.fixture
def server(tmp_path: Path) -> Iterator[tuple[str, str]]:
    """A running server with trials in its store: its address, and the store's file."""
    path = str(tmp_path / "store.sqlite")
    store = Store(path)
    files = importlib.resources.files("woold.demo").joinpath("files")
    table = tomllib.loads(files.joinpath("trial.toml").read_text(encoding="utf-8"))
    names = {each[arm] for each in table["load_types"] for arm in ("baseline", "candidate")}
    cases = {n: tomllib.loads(files.joinpath(n).read_text(encoding="utf-8")) for n in names}
    for number in range(TRIALS):
        setup = trial_from_tables(table | {"key": f"trial-{number}"}, cases)
        start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "benchmark")
    store.close()
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", path]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0].rstrip("/"), path
        process.terminate()
        process.wait(20)


async def _person(
    client: Any, number: int, until: float, sent: dict[tuple[str, str], str], times: dict[str, Any]
) -> None:
    """One person's phone and desk: a prediction, then a load, as fast as the server answers."""
    rng = np.random.default_rng(number)
    case = tomllib.loads(starter_text())
    trial = f"trial-{number % TRIALS}"
    count = 0
    while time.monotonic() < until:
        case["program"]["rise_per_turn"] = f"{rng.integers(150, 250)} mm"
        await _timed(client, "POST", "/api/predict", {"case": case}, times["predict"])
        load, mass = f"{number}-{count}", f"{rng.normal(180.0, 4.0):.1f}"
        words = {"load": load, "treatment": "baseline", "load_type": "jars"}
        row: dict[str, Any] = {name: {"typed": word} for name, word in words.items()}
        row["film_mass"] = {"typed": mass, "unit": "g"}
        path = f"/api/trials/{trial}/entries/entry-{number:02d}-{count:06d}"
        await _timed(client, "PUT", path, {"load": row}, times["record"])
        sent[trial, load] = mass
        count += 1


async def _timed(client: Any, method: str, path: str, body: Any, times: list[float]) -> None:
    start = time.perf_counter()
    answer = await client.request(method, path, json=body)
    times.append(time.perf_counter() - start)
    assert answer.status_code == 200, answer.text


async def _crowd(address: str, sent: dict[tuple[str, str], str], times: dict[str, Any]) -> None:
    limits = httpx2.Limits(max_connections=CLIENTS)
    async with httpx2.AsyncClient(base_url=address, timeout=60, limits=limits) as client:
        await _timed(client, "POST", "/api/predict", {"case": tomllib.loads(starter_text())}, [])
        until = time.monotonic() + SECONDS
        people = (_person(client, number, until, sent, times) for number in range(CLIENTS))
        await asyncio.gather(*people)


def test_fifty_people(benchmark: Any, server: tuple[str, str]) -> None:
    address, path = server
    sent: dict[tuple[str, str], str] = {}
    times: dict[str, Any] = {"predict": [], "record": []}
    benchmark.pedantic(lambda: asyncio.run(_crowd(address, sent, times)), rounds=1)
    store = Store(path)
    kept = {
        (f"trial-{number}", each.cells["load"].typed): each.cells["film_mass"].typed
        for number in range(TRIALS)
        for each in store.current(f"trial-{number}", "load")
    }
    store.close()
    assert kept == sent
    for what, measured in times.items():
        p50, p95 = np.quantile(measured, [0.5, 0.95])
        rate = len(measured) / SECONDS
        print(f"\n{what}: {len(measured)} answers, {rate:.0f}/s, p50 {p50:.3f} s, p95 {p95:.3f} s")
        benchmark.extra_info[f"{what}_p95_s"] = float(p95)
