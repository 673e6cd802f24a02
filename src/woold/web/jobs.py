"""Long work in the background: told step by step, cancelled between two steps, kept for a while."""

from __future__ import annotations

import logging
import threading
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from typing import Any

from woold.errors import Problem, WooldError
from woold.words import say

__all__ = ["Event", "Job", "Jobs", "TooManyJobsError"]

log = logging.getLogger("woold.web")

_AT_ONCE = 2
_MOST_WAITING = 8
_KEPT = 32

Work = Callable[[Callable[[str], None]], Any]
"""Work that is told how to say what it is doing, and returns a JSON document."""


class TooManyJobsError(Exception):
    """So much is being worked on already that nothing more is taken."""


class _Cancelled(Exception):  # noqa: N818
    """Raised inside the work, to leave it."""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing to tell: progress, or one of the ends: result, problems, cancelled."""

    name: str
    data: Any

    @property
    def is_end(self) -> bool:
        return self.name != "progress"


@dataclass(eq=False)
class Job:
    """One piece of work and what was told of it so far."""

    id: str
    events: list[Event] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def is_over(self) -> bool:
        return bool(self.events) and self.events[-1].is_end

    def tell(self, event: Event) -> bool:
        """Adds what there is to tell; false once the job is over."""
        with self._lock:
            if self.is_over:
                return False
            self.events.append(event)
            return True

    def cancel(self) -> None:
        """Ends the job for whoever listens; its work stops at the next step."""
        self.tell(Event("cancelled", None))

    def run(self, work: Work) -> None:
        def progress(step: str) -> None:
            if not self.tell(Event("progress", {"step": step})):
                raise _Cancelled

        try:
            progress("starting")
            self.tell(Event("result", work(progress)))
        except _Cancelled:
            pass
        except WooldError as error:
            self.tell(Event("problems", [asdict(each) for each in error.problems]))
        except Exception as error:
            log.exception("job %s", self.id, exc_info=error)
            problem = Problem(
                "server",
                say("something unforeseen went wrong"),
                "",
                say("Nothing was changed. The server's log says more."),
            )
            self.tell(Event("problems", [asdict(problem)]))


class Jobs:
    """The jobs of one server."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}
        self._workers = ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="woold-job")
        self._lock = threading.Lock()

    def start(self, work: Work) -> Job:
        """Begins, or waits for its turn.

        Raises:
            TooManyJobsError: too many are waiting.
        """
        job = Job(uuid.uuid4().hex)
        with self._lock:
            if sum(not each.is_over for each in self._jobs.values()) >= _AT_ONCE + _MOST_WAITING:
                raise TooManyJobsError
            over = [each.id for each in self._jobs.values() if each.is_over]
            for old in over[: max(0, len(self._jobs) - _KEPT)]:
                del self._jobs[old]
            self._jobs[job.id] = job
        self._workers.submit(job.run, work)
        return job

    def get(self, job_id: str) -> Job | None:
        """The job of that id, if it is still known."""
        return self._jobs.get(job_id)

    def close(self) -> None:
        """Cancels everything: the server stops."""
        for each in list(self._jobs.values()):
            each.cancel()
        self._workers.shutdown(wait=False, cancel_futures=True)
