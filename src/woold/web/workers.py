"""Work in processes of its own, with a limit of time and memory: no request can take the server."""

from __future__ import annotations

import importlib
import multiprocessing
import os
import queue
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any

import anyio
from anyio import CapacityLimiter

from woold.errors import InputError, WooldError
from woold.web.page_words import ON_PAGES
from woold.words import ENGLISH, language, say, speaking

__all__ = ["BusyError", "Call", "WorkFailedError", "Workers"]

_MEMORY = 3_000_000_000
"""What a piece of work may take besides what the program itself takes [bytes]."""

_WAIT_S = 60.0
"""For a worker to be free."""

_LOOK_AGAIN_S = 0.2
_PRELOADED = "woold.web.app"


class BusyError(Exception):
    """No worker became free in time."""


class WorkFailedError(Exception):
    """Something unforeseen went wrong in a worker; its traceback is the message."""


@dataclass(frozen=True, slots=True)
class Call:
    """A function of a module with what it is given: both can be sent to another process.

    Args:
        module, name: where it stands.
        positional, given: its arguments.
    """

    module: str
    name: str
    positional: tuple[Any, ...] = ()
    given: dict[str, Any] = field(default_factory=dict)

    def done(self) -> Any:
        """What the function returns; a decorated one is called as it was written."""
        found = getattr(importlib.import_module(self.module), self.name)
        return getattr(found, "__wrapped__", found)(*self.positional, **self.given)


class _Worker:
    """One process."""

    def __init__(self, memory: int) -> None:
        method = "forkserver" if sys.platform != "win32" else "spawn"
        context = multiprocessing.get_context(method)
        if method == "forkserver":
            # Loaded once, then every new worker is there at once.
            context.set_forkserver_preload([_PRELOADED])
        self.wire, theirs = context.Pipe()
        arguments = (theirs, memory)
        self.process = context.Process(target=_work, args=arguments, daemon=True)  # type: ignore[attr-defined]
        self.process.start()
        theirs.close()

    def is_fit(self) -> bool:
        return bool(self.process.is_alive())

    def end(self) -> None:
        self.process.kill()
        self.process.join(5)
        self.wire.close()


class Workers:
    """Processes that work; each is started when it is first needed, and replaced when it was ended.

    Args:
        count: how many at once.
        memory: what each may take besides the program itself [bytes].
    """

    def __init__(self, count: int, memory: int = _MEMORY) -> None:
        self.count = count
        self._memory = memory
        self._idle: queue.LifoQueue[_Worker | None] = queue.LifoQueue()
        for _ in range(count):
            self._idle.put(None)
        self._limiter = CapacityLimiter(count)

    async def answer(self, call: Call, seconds: float) -> Any:
        """What a call returns; waiting for it takes no thread from anybody else.

        Raises:
            BusyError: no worker became free.
            InputError: it takes more time or memory than is allowed.
            WorkFailedError: something unforeseen.
        """
        turn = object()
        with anyio.move_on_after(_WAIT_S) as patience:
            await self._limiter.acquire_on_behalf_of(turn)
        if patience.cancelled_caught:
            raise BusyError
        try:
            return await anyio.to_thread.run_sync(
                self.run, call, seconds, limiter=CapacityLimiter(1)
            )
        finally:
            self._limiter.release_on_behalf_of(turn)

    def run(
        self,
        call: Call,
        seconds: float,
        told: Callable[[str], None] | None = None,
        is_over: Callable[[], bool] | None = None,
    ) -> Any:
        """What a call returns.

        Args:
            call: what to do; with `told`, it is given a `progress` too.
            seconds: how long it may take.
            told: hears each step.
            is_over: asked now and then; once true, the work is ended and None returned.
        """
        try:
            worker = self._idle.get(timeout=_WAIT_S)
        except queue.Empty:
            raise BusyError from None
        try:
            if worker is None or not worker.is_fit():
                worker = _Worker(self._memory)
            try:
                sent = (call, told is not None, language(), os.environ.get("WOOLD_WORDS"))
                worker.wire.send(sent)
                kind, found = _news(worker, seconds, told, is_over)
            except (EOFError, OSError):
                worker.end()
                worker = None
                raise _too_much(say("more memory than there is for it")) from None
            except BaseException:
                worker.end()
                worker = None
                raise
        finally:
            self._idle.put(worker)
        if kind == "refused":
            raise found
        if kind == "failed":
            raise WorkFailedError(found)
        return found

    def close(self) -> None:
        """Ends the processes that have nothing to do; the others end with the server."""
        for _ in range(self._idle.qsize()):
            worker = self._idle.get_nowait()
            if worker is not None:
                worker.end()
            self._idle.put(None)


def _news(
    worker: _Worker,
    seconds: float,
    told: Callable[[str], None] | None,
    is_over: Callable[[], bool] | None,
) -> tuple[str, Any]:
    until = time.monotonic() + seconds
    while True:
        if worker.wire.poll(_LOOK_AGAIN_S):
            kind, found = worker.wire.recv()
            if kind != "step":
                return kind, found
            if told is not None:
                told(found)
        if time.monotonic() > until:
            raise _too_much(say("more than {seconds:.0f} s of work", seconds=seconds))
        if is_over is not None and is_over():
            worker.end()
            return "over", None


def _too_much(given: str) -> InputError:
    return InputError.one(
        "request", given, say("less work at once"), say("Ask for a smaller or simpler case.")
    )


def _work(wire: Connection, memory: int) -> None:
    """What a worker does, until nobody is there any more."""
    # A library that prints would otherwise write between what the server prints.
    os.dup2(2, 1)
    while True:
        try:
            call, is_told, spoken, folder = wire.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        if folder is not None:
            os.environ["WOOLD_WORDS"] = folder
        else:
            os.environ.pop("WOOLD_WORDS", None)
        # Counted anew each time: libraries that earlier work has loaded are the program itself.
        _limit(memory)
        try:
            with speaking(spoken or ENGLISH, ON_PAGES):
                if is_told:
                    call.given["progress"] = lambda step: wire.send(("step", step))
                answer = ("done", call.done())
        except WooldError as error:
            answer = ("refused", error)
        except MemoryError:
            os._exit(1)  # whatever is left is not to be trusted; the server starts another
        except Exception:
            answer = ("failed", traceback.format_exc())
        try:
            wire.send(answer)
        except KeyboardInterrupt:
            return
        except MemoryError:
            os._exit(1)
        except Exception:  # a result that cannot travel
            wire.send(("failed", traceback.format_exc()))


def _limit(memory: int) -> None:
    """Caps the memory of this process: beyond what it has taken so far."""
    if sys.platform == "win32":
        return
    import resource

    taken = 0
    try:
        with open("/proc/self/statm", encoding="ascii") as stream:
            taken = int(stream.read().split()[0]) * resource.getpagesize()
    except (OSError, ValueError):
        return  # no such file on this system: only the time is limited
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    limit = taken + memory if hard == resource.RLIM_INFINITY else min(taken + memory, hard)
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))
