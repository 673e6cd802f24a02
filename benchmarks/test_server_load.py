"""Many people at once: predicting and writing loads down, on loopback.

Asked for: no error, and every load that was acknowledged is in the store, once and unchanged; with
50 people in one trial of 10,000 loads, 95 of 100 loads are written down within a second. The soak
watches the server's memory: it may not grow with the requests.
"""

from __future__ import annotations

import asyncio
import contextlib
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
from woold.store import Cell, Store
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

SECONDS = float(os.environ.get("WOOLD_LOAD_SECONDS", "60"))
SOAK_SECONDS = float(os.environ.get("WOOLD_SOAK_SECONDS", "600"))
LOADS = int(os.environ.get("WOOLD_LOADS", "10000"))
TRIAL = "crowded"
_PAUSE_S = 1.0
"""Between two loads of one person: far less than anybody needs."""


def _filled(path: str, loads: int) -> None:
    """A store with one trial in which so many loads are written down."""
    store = Store(path)
    files = importlib.resources.files("woold.demo").joinpath("files")
    table = tomllib.loads(files.joinpath("trial.toml").read_text(encoding="utf-8"))
    names = {each[arm] for each in table["load_types"] for arm in ("baseline", "candidate")}
    cases = {n: tomllib.loads(files.joinpath(n).read_text(encoding="utf-8")) for n in names}
    setup = trial_from_tables(table | {"key": TRIAL}, cases)
    start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=8).order, "benchmark")
    cells = {"treatment": Cell("baseline"), "load_type": Cell("jars")}
    with store.writing("benchmark") as batch:
        for number in range(loads):
            load = f"old-{number}"
            mass = Cell("180", "g", 0.18)
            batch.add(TRIAL, "load", load, cells | {"load": Cell(load), "film_mass": mass})
    store.close()


@contextlib.contextmanager
def _serving(path: str) -> Iterator[tuple[str, int]]:
    """A running server: its address and process."""
    command = [sys.executable, "-m", "woold", "serve", "--port", "0", "--store", path]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0].rstrip("/"), process.pid
        process.terminate()
        process.wait(20)


def _memory_mb(pid: int) -> float:
    """Resident memory of the server and its workers."""
    total = 0
    for status in Path("/proc").glob("[0-9]*/status"):
        with contextlib.suppress(OSError, ValueError):
            text = status.read_text()
            fields = dict(re.findall(r"(?m)^(\w+):\s+(.*)$", text))
            if pid in (int(status.parent.name), *_parents(int(status.parent.name))):
                total += int(fields.get("VmRSS", "0 kB").split()[0])
    return total / 1024.0


def _parents(pid: int) -> list[int]:
    found = []
    while pid > 1:
        stat = Path(f"/proc/{pid}/stat").read_text()
        pid = int(stat.rpartition(")")[2].split()[1])
        found.append(pid)
    return found


class _Crowd:
    """People at their phones and desks.

    Args:
        pause_s: between two loads of one person.
    """

    def __init__(self, pause_s: float) -> None:
        self.pause_s = pause_s
        self.sent: dict[str, str] = {}
        self.times: dict[str, list[float]] = {"predict": [], "record": []}

    async def run(self, address: str, clients: int, seconds: float) -> None:
        limits = httpx2.Limits(max_connections=clients)
        async with httpx2.AsyncClient(base_url=address, timeout=120, limits=limits) as client:
            await self._timed(client, "POST", "/api/predict", _case(0), [])
            until = time.monotonic() + seconds
            people = (self._person(client, number, until) for number in range(clients))
            await asyncio.gather(*people)

    async def _person(self, client: Any, number: int, until: float) -> None:
        """Every fourth sits at a desk and predicts, the others write loads down."""
        rng = np.random.default_rng(number)
        await asyncio.sleep(float(rng.uniform(0.0, self.pause_s)))
        count = 0
        while time.monotonic() < until:
            if number % 4 == 0:
                case = _case(int(rng.integers(150, 250)))
                await self._timed(client, "POST", "/api/predict", case, self.times["predict"])
            else:
                load, mass = f"{number}-{count}", f"{rng.normal(180.0, 4.0):.1f}"
                words = {"load": load, "treatment": "baseline", "load_type": "jars"}
                row: dict[str, Any] = {name: {"typed": word} for name, word in words.items()}
                row["film_mass"] = {"typed": mass, "unit": "g"}
                path = f"/api/trials/{TRIAL}/entries/entry-{number:03d}-{count:06d}"
                body = {"load": row, "as_typed": ["load.load"]}  # nobody planned that many
                await self._timed(client, "PUT", path, body, self.times["record"])
                self.sent[load] = mass
            count += 1
            await asyncio.sleep(self.pause_s)

    @staticmethod
    async def _timed(client: Any, method: str, path: str, body: Any, times: list[float]) -> None:
        start = time.perf_counter()
        answer = await client.request(method, path, json=body)
        times.append(time.perf_counter() - start)
        assert answer.status_code == 200, answer.text


def _case(rise_mm: int) -> dict[str, Any]:
    case = tomllib.loads(starter_text())
    if rise_mm:
        case["program"]["rise_per_turn"] = f"{rise_mm} mm"
    return {"case": case}


def _lost(path: str, sent: dict[str, str]) -> list[str]:
    store = Store(path)
    kept = [each.cells for each in store.current(TRIAL, "load")]
    store.close()
    masses = {cells["load"].typed: cells["film_mass"].typed for cells in kept}
    assert len(masses) == len(kept)
    return [load for load, mass in sent.items() if masses.get(load) != mass]


def _told(benchmark: Any, crowd: _Crowd, seconds: float) -> None:
    for what, measured in crowd.times.items():
        p50, p95, p99 = np.quantile(measured, [0.5, 0.95, 0.99])
        print(
            f"\n{what}: {len(measured)} answers, {len(measured) / seconds:.0f}/s, "
            f"p50 {p50:.3f} s, p95 {p95:.3f} s, p99 {p99:.3f} s"
        )
        benchmark.extra_info[f"{what}_p95_s"] = float(p95)


@pytest.mark.parametrize("clients", [50, 200])
def test_many_people_in_one_trial(benchmark: Any, tmp_path: Path, clients: int) -> None:
    path = str(tmp_path / "store.sqlite")
    _filled(path, LOADS)
    crowd = _Crowd(_PAUSE_S)
    with _serving(path) as (address, pid):

        def run() -> None:
            asyncio.run(crowd.run(address, clients, SECONDS))

        benchmark.pedantic(run, rounds=1)
        print(f"\n{clients} people, {LOADS} loads before, memory {_memory_mb(pid):.0f} MB")
    _told(benchmark, crowd, SECONDS)
    assert _lost(path, crowd.sent) == []
    if clients == 50:
        assert np.quantile(crowd.times["record"], 0.95) < 1.0


def test_soak(benchmark: Any, tmp_path: Path) -> None:
    path = str(tmp_path / "store.sqlite")
    _filled(path, 1000)
    crowd = _Crowd(0.2)
    with _serving(path) as (address, pid):
        asyncio.run(crowd.run(address, 20, SOAK_SECONDS / 10))
        before = _memory_mb(pid)

        def run() -> None:
            again = _Crowd(0.2)
            # Under names of their own: the same people come back.
            again.sent = crowd.sent
            asyncio.run(_soaked(again, address))

        benchmark.pedantic(run, rounds=1)
        after = _memory_mb(pid)
    print(f"\nsoak: {before:.0f} MB before, {after:.0f} MB after {SOAK_SECONDS:.0f} s")
    assert after < before * 1.2 + 30.0


async def _soaked(crowd: _Crowd, address: str) -> None:
    """Predictions and readings of what is there: nothing that may grow the store."""
    async with httpx2.AsyncClient(base_url=address, timeout=120) as client:
        until = time.monotonic() + SOAK_SECONDS

        async def one(number: int) -> None:
            rise = 150 + number
            while time.monotonic() < until:
                await crowd._timed(client, "POST", "/api/predict", _case(rise), [])
                await client.get(f"/api/trials/{TRIAL}")
                await client.get("/api/trials")
                rise = 150 + (rise - 149) % 100

        await asyncio.gather(*(one(number) for number in range(20)))
