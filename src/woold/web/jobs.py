"""Long work in the background: told step by step, cancelled between two steps, kept for a while."""

from __future__ import annotations

import logging
import threading
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

from woold.errors import Problem, WooldError
from woold.words import say

__all__ = ["EventName", "Job", "JobNews", "Jobs", "Progress", "TooManyJobsError"]

log = logging.getLogger("woold.web")

_AT_ONCE = 2
_MOST_WAITING = 8
_KEPT = 32

EventName = Literal["progress", "result", "problems", "cancelled"]

Work = Callable[["Progress"], Any]
"""Work that is told how to say what it is doing, and returns its result."""


class TooManyJobsError(Exception):
    """So much is being worked on already that nothing more is taken."""


class _Cancelled(Exception):  # noqa: N818
    """Raised inside the work, to leave it."""


@dataclass(frozen=True, slots=True)
class JobNews:
    """One thing to tell of a job.

    Args:
        name: progress, or one of the ends: result, problems, cancelled.
        step: what is being done.
        problems: why it was refused.
        result: what the work returned.
    """

    name: EventName
    step: str = ""
    problems: tuple[Problem, ...] = ()
    result: Any = None

    @property
    def is_end(self) -> bool:
        return self.name != "progress"


@dataclass(eq=False)
class Job:
    """One piece of work and what was told of it so far; `about` is what was asked."""

    id: str
    about: Any = None
    events: list[JobNews] = field(default_factory=list)
    told_at: datetime = field(default_factory=lambda: datetime.now(UTC).replace(microsecond=0))
    """When it last told something; once it is over, when that was."""
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def is_over(self) -> bool:
        return bool(self.events) and self.events[-1].is_end

    def tell(self, event: JobNews) -> bool:
        """Adds what there is to tell; false once the job is over."""
        with self._lock:
            if self.is_over:
                return False
            self.events.append(event)
            self.told_at = datetime.now(UTC).replace(microsecond=0)
            return True

    def cancel(self) -> None:
        """Ends the job for whoever listens; its work stops at the next step."""
        self.tell(JobNews("cancelled"))

    def run(self, work: Work) -> None:
        progress = Progress(self)
        try:
            progress(say("starting"))
            self.tell(JobNews("result", result=work(progress)))
        except _Cancelled:
            pass
        except WooldError as error:
            self.tell(JobNews("problems", problems=error.problems))
        except Exception as error:
            log.exception("job %s", self.id, exc_info=error)
            problem = Problem(
                "server",
                say("something unforeseen went wrong"),
                "",
                say("Nothing was changed. The server's log says more."),
            )
            self.tell(JobNews("problems", problems=(problem,)))


@dataclass(frozen=True, eq=False)
class Progress:
    """Says what a job is doing; leaves its work once the job is over."""

    job: Job

    def __call__(self, step: str) -> None:
        if not self.job.tell(JobNews("progress", step=step)):
            raise _Cancelled

    def is_over(self) -> bool:
        """Whether nobody waits for the job any more."""
        return self.job.is_over


class Jobs:
    """The jobs of one server."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}
        self._workers = ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="woold-job")
        self._lock = threading.Lock()

    def start(self, work: Work, about: Any = None) -> Job:
        """Begins, or waits for its turn.

        Args:
            work: what is done.
            about: what was asked, kept with the job.

        Raises:
            TooManyJobsError: too many are waiting.
        """
        job = Job(uuid.uuid4().hex, about)
        with self._lock:
            if sum(not each.is_over for each in self._jobs.values()) >= _AT_ONCE + _MOST_WAITING:
                raise TooManyJobsError
            over = [each.id for each in self._jobs.values() if each.is_over]
            for old in over[: max(0, len(self._jobs) - _KEPT)]:
                del self._jobs[old]
            self._jobs[job.id] = job
        # It speaks the language of whoever asked for it.
        self._workers.submit(copy_context().run, job.run, work)
        return job

    def get(self, job_id: str) -> Job | None:
        """The job of that id, if it is still known."""
        return self._jobs.get(job_id)

    def close(self) -> None:
        """Cancels everything: the server stops."""
        for each in list(self._jobs.values()):
            each.cancel()
        self._workers.shutdown(wait=False, cancel_futures=True)
