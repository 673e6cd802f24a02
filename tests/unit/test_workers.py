"""Work in processes of its own: a request that asks for too much takes nothing but its worker."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from woold.errors import InputError
from woold.web.app import create_app
from woold.web.settings import WebSettings
from woold.web.workers import BusyError, Call, Workers, WorkFailedError
from woold.words import say

HERE = __name__


def double(number: int) -> int:
    return 2 * number


def own_id() -> int:
    return os.getpid()


def refuse() -> None:
    raise InputError.one("film.thickness", "none", "a thickness")


def fail() -> None:
    raise ZeroDivisionError("by design")


def take_memory() -> int:
    return len(b"x" * 2_000_000_000)


def crash() -> None:
    os.kill(os.getpid(), 11)


def rest(seconds: float) -> None:
    time.sleep(seconds)


def steps(progress: Callable[[str], None]) -> str:
    for number in range(3):
        progress(f"step {number}")
    return "end"


def endless(progress: Callable[[str], None]) -> None:
    progress("begun")
    time.sleep(60)


def cannot_travel() -> Any:
    return lambda: 1


def call(function: Callable[..., Any], *given: Any) -> Call:
    return Call(HERE, function.__name__, given)


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    found = Workers(1, memory=500_000_000)
    yield found
    found.close()


def test_work_is_done_elsewhere_and_its_worker_stays(workers: Workers) -> None:
    assert workers.run(call(double, 21), 60) == 42
    first = workers.run(call(own_id), 60)
    assert first != os.getpid()
    assert workers.run(call(own_id), 60) == first


def test_refusals_come_back_as_they_are(workers: Workers) -> None:
    with pytest.raises(InputError) as caught:
        workers.run(call(refuse), 60)
    assert caught.value.problems[0].field == "film.thickness"
    with pytest.raises(WorkFailedError, match="by design"):
        workers.run(call(fail), 60)
    with pytest.raises(WorkFailedError, match="pickle"):
        workers.run(call(cannot_travel), 60)


@pytest.mark.parametrize("greedy", [take_memory, crash])
def test_too_much_memory_ends_the_worker_and_not_the_server(
    workers: Workers, greedy: Callable[[], Any]
) -> None:
    with pytest.raises(InputError, match="memory"):
        workers.run(call(greedy), 60)
    assert workers.run(call(double, 1), 60) == 2


def test_too_much_time_ends_the_worker(workers: Workers) -> None:
    before = time.monotonic()
    with pytest.raises(InputError, match="of work"):
        workers.run(call(rest, 60), 0.5)
    assert time.monotonic() - before < 20
    assert workers.run(call(double, 1), 60) == 2


def test_steps_are_told_and_work_that_nobody_waits_for_is_ended(workers: Workers) -> None:
    told: list[str] = []
    assert workers.run(call(steps), 60, told.append) == "end"
    assert told == ["step 0", "step 1", "step 2"]
    assert workers.run(call(endless), 60, told.append, lambda: "begun" in told) is None
    assert workers.run(call(double, 1), 60) == 2


def test_nobody_waits_without_end_for_a_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("woold.web.workers._WAIT_S", 0.1)
    with pytest.raises(BusyError):
        Workers(0).run(call(double, 1), 60)


@pytest.fixture
def client(tmp_path: Any) -> Iterator[TestClient]:
    with TestClient(
        create_app(WebSettings(store=str(tmp_path / "s"))), base_url="http://localhost"
    ) as client:
        yield client


HOSTILE = {
    "dotted key": ".".join(["a"] * 50_000) + " = 1",
    "many dotted keys": "\n".join(f"a{'.b' * 200}.c{n} = 1" for n in range(2000)),
    "nested lists": "a = " + "[" * 30_000 + "]" * 30_000,
    "nested tables": "a = " + "{b=" * 5_000 + "1" + "}" * 5_000,
    "long number": "a = " + "9" * 90_000,
    "inline dotted key": "a = {" + ".".join(["b"] * 30_000) + " = 1}",
    "table heads": "\n".join(f"[{'.'.join(['a'] * 500)}.b{n}]" for n in range(800)),
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_case_files_are_refused_and_others_are_answered(
    client: TestClient, text: str
) -> None:
    before = time.monotonic()
    for path in ("/api/case/read", "/api/trial-plan/read"):
        answer = client.post(path, json={"toml": text})
        assert answer.status_code == 422, answer.text[:300]
        assert answer.json()["schema"] == "errors"
    new = {"id": "case-0001", "title": "", "toml": text}
    assert client.post("/api/cases", json=new).status_code == 422
    assert time.monotonic() - before < 60
    assert client.get("/api/me").status_code == 200
    assert client.post("/api/case/read", json={"toml": 'title = "x"'}).status_code == 200


def test_a_worker_speaks_the_language_of_whoever_asks(workers: Workers) -> None:
    assert workers.run(Call("woold.words", "language"), 60) == "en"
    assert say("memory")
