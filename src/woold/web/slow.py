"""Requests that come too slowly: dropped by their progress, so that they cost nobody anything."""

from __future__ import annotations

import asyncio
import time
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from woold.errors import Problem
from woold.web.answers import refusal
from woold.words import say

__all__ = ["PatientProtocol", "SlowBodies"]

HEAD_S = 20.0
"""For the head of a request, from the moment a connection is there [s]."""

SILENCE_S = 20.0
"""Between two pieces of a body [s]."""

GRACE_S = 30.0
LEAST_RATE = 500.0
"""After the grace, a body must have come as quickly as this on average [bytes/s]."""


class SlowBodies:
    """Drops a request whose body stops coming, or drips."""

    def __init__(
        self, app: ASGIApp, silence_s: float = SILENCE_S, grace_s: float = GRACE_S
    ) -> None:
        self.app = app
        self.silence_s = silence_s
        self.grace_s = grace_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun, received = time.monotonic(), 0
        is_whole = is_dropped = is_answered = False

        async def receive_in_time() -> Message:
            nonlocal received, is_whole, is_dropped
            if is_dropped:
                return {"type": "http.disconnect"}
            if is_whole:
                return await receive()
            allowed = begun + self.grace_s + received / LEAST_RATE - time.monotonic()
            try:
                message = await asyncio.wait_for(receive(), max(0.0, min(self.silence_s, allowed)))
            except TimeoutError:
                is_dropped = True
                if not is_answered:
                    problem = Problem(
                        "request",
                        say("a body that stopped coming"),
                        say("a whole body, without long pauses"),
                        say("Send it again: nothing of this was kept."),
                    )
                    headers = {"connection": "close"}
                    await refusal(408, [problem], headers)(scope, receive, send)
                return {"type": "http.disconnect"}
            received += len(message.get("body", b""))
            is_whole = not message.get("more_body", False)
            return message

        async def send_unless_dropped(message: Message) -> None:
            nonlocal is_answered
            if not is_dropped:
                is_answered = True
                await send(message)

        try:
            await self.app(scope, receive_in_time, send_unless_dropped)
        except Exception:
            # What breaks for want of its body is told already.
            if not is_dropped:
                raise


class PatientProtocol(H11Protocol):
    """Hangs up where no request's head comes for too long."""

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        self.loop.call_later(HEAD_S, self._hang_up_if_idle)

    def _hang_up_if_idle(self) -> None:
        if self.cycle is None and not self.transport.is_closing():
            self.transport.close()
