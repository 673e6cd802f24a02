"""Operations that are done by a worker, not by the server itself."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable
from contextvars import ContextVar
from typing import Any, TypeVar

from pydantic import BaseModel
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from woold.web.workers import Call, Workers

__all__ = ["Working", "answered", "as_sent", "at_work", "work", "worked"]

QUICK_S = 60.0
"""What somebody who looks at a page waits for; on a crowded machine."""

_workers: ContextVar[Workers | None] = ContextVar("workers", default=None)
_Operation = TypeVar("_Operation", bound=Callable[..., Any])


class Working:
    """Tells every request which workers there are."""

    def __init__(self, app: ASGIApp, workers: Workers) -> None:
        self.app = app
        self.workers = workers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        token = _workers.set(self.workers)
        try:
            await self.app(scope, receive, send)
        finally:
            _workers.reset(token)


def at_work(operation: _Operation) -> _Operation:
    """An operation of the interface that a worker does: its result arrives as finished text.

    What it is given must be able to travel: bodies and wordings, never the request.
    """

    @functools.wraps(operation)
    async def sent(**given: Any) -> Response:
        return await worked(Call(operation.__module__, operation.__name__, (), given))

    return sent  # type: ignore[return-value]


async def worked(call: Call, status: int = 200) -> Response:
    """The document that a call returns, as an answer."""
    content = await work(Call(__name__, "answered", (call,)))
    return Response(content, status, media_type="application/json")


async def work(call: Call, seconds: float = QUICK_S) -> Any:
    """What a call returns, from a worker where there are any."""
    workers = _workers.get()
    return call.done() if workers is None else await workers.answer(call, seconds)


def answered(call: Call) -> bytes:
    """The document that a call returns, as it is sent."""
    return as_sent(call.done())


def as_sent(found: BaseModel) -> bytes:
    """A document as it is sent: in plain ASCII."""
    content = found.model_dump(mode="json", by_alias=True)
    return json.dumps(content, allow_nan=False, separators=(",", ":")).encode("ascii")
