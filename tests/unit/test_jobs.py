"""Long work: told step by step, left between two steps, never two ends."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from woold.errors import InputError
from woold.web.jobs import Job, Jobs, TooManyJobsError

_LONG = 20.0


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


def _end(job: Job) -> list[str]:
    until = time.monotonic() + _LONG
    while not job.is_over:
        assert time.monotonic() < until
        time.sleep(0.005)
    return [each.name for each in job.events]


def test_steps_are_told_before_the_result(jobs: Jobs) -> None:
    def work(progress: Callable[[str], None]) -> Any:
        progress("halfway")
        return {"answer": 7}

    job = jobs.start(work)
    assert _end(job) == ["progress", "progress", "result"]
    assert job.events[1].step == "halfway"
    assert job.events[-1].result == {"answer": 7}
    assert jobs.get(job.id) is job


def test_cancelled_work_stops_at_its_next_step(jobs: Jobs) -> None:
    may_go_on, left = threading.Event(), threading.Event()

    def work(progress: Callable[[str], None]) -> Any:
        may_go_on.wait(_LONG)
        try:
            progress("never told")
        except BaseException:
            left.set()
            raise
        return "never told"

    job = jobs.start(work)
    job.cancel()
    may_go_on.set()
    assert left.wait(_LONG)
    assert _end(job)[-1] == "cancelled"
    assert "never told" not in str(job.events)


def test_what_is_over_cannot_be_cancelled(jobs: Jobs) -> None:
    job = jobs.start(lambda _: 1)
    _end(job)
    job.cancel()
    assert [each.name for each in job.events if each.is_end] == ["result"]


def test_refusal_and_accident_are_told_as_problems(jobs: Jobs) -> None:
    def refuse(_: Callable[[str], None]) -> Any:
        raise InputError.one("film.thickness", "none", "a thickness")

    def fail(_: Callable[[str], None]) -> Any:
        raise ZeroDivisionError("secret path")

    refused, failed = jobs.start(refuse), jobs.start(fail)
    assert _end(refused)[-1] == _end(failed)[-1] == "problems"
    assert refused.events[-1].problems[0].field == "film.thickness"
    assert "secret" not in str(failed.events[-1].problems)


def test_no_more_is_taken_than_can_be_done(jobs: Jobs) -> None:
    may_go_on = threading.Event()
    taken = [jobs.start(lambda _: may_go_on.wait(_LONG)) for _ in range(10)]
    with pytest.raises(TooManyJobsError):
        jobs.start(lambda _: 1)
    may_go_on.set()
    for each in taken:
        _end(each)
    assert _end(jobs.start(lambda _: 1))[-1] == "result"
