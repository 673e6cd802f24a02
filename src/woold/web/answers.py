"""Answers: JSON, and the one shape of every refusal, as `woold.errors` has it."""

from __future__ import annotations

import json
import logging
import traceback
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any, Literal

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from woold.errors import (
    ConflictError,
    ManyQuestions,
    OnRecord,
    Problem,
    Question,
    StoreError,
    WooldError,
)
from woold.rows.document import errors_document
from woold.web.documents import Document, named
from woold.web.shapes import shape_problem
from woold.web.workers import BusyError
from woold.words import say, to_say

__all__ = [
    "Answer",
    "OneProblem",
    "Problems",
    "install_refusals",
    "problems",
    "refusal",
    "refusals",
]

_Kind = Literal["error", "question", "on record"]
_KINDS: dict[type[Problem], _Kind] = {
    Question: "question",
    ManyQuestions: "question",
    OnRecord: "on record",
}

_LONGEST_ECHO = 200
_UNREADABLE = "There was an error parsing the body"
"""What the framework says of a body that is not JSON."""

log = logging.getLogger("woold.web")


class Answer(JSONResponse):
    """JSON in plain ASCII, so that no letter that was sent can spoil the answer."""

    def render(self, content: Any) -> bytes:
        text = json.dumps(content, allow_nan=False, ensure_ascii=True, separators=(",", ":"))
        return text.encode("ascii")


class OneProblem(BaseModel):
    """One thing that is wrong: field, what was given, what is allowed, what to do.

    `kind` is "question" where it may be confirmed by `as_typed`, "on record" where it differs from
    what is on record and a `reason` would correct that, else "error".
    """

    field: str
    given: str
    allowed: str
    todo: str
    message: str
    kind: _Kind


class Problems(Document):
    """Why a request was refused. Nothing was changed."""

    schema_: Literal["errors"] = named("errors")
    errors: list[OneProblem]


_WORDS = {
    400: to_say("The request cannot be read."),
    401: to_say("Sign in first."),
    403: to_say("This is not allowed."),
    404: to_say("There is no such thing."),
    408: to_say("It did not come in time."),
    409: to_say("It contradicts what is on record."),
    413: to_say("More was sent than is taken."),
    422: to_say("Something given cannot be used."),
    429: to_say("Too many tries. Wait a while."),
    503: to_say("The store can keep nothing at the moment. Nothing was changed."),
}

_ALLOWED = {
    400: to_say("one JSON document"),
    404: to_say("an address of this server"),
    405: to_say("a method that this address takes"),
}
_TODO = {
    400: to_say("Send one JSON document in UTF-8, as /docs describes it."),
    401: to_say("Sign in, then send it again. Nothing was changed."),
    403: to_say(
        "Ask somebody who may manage accounts, or open the page anew. Nothing was changed."
    ),
    404: to_say("Go back to the page that led here and open it anew; /docs lists every address."),
    405: to_say("/docs lists what each address takes."),
    429: to_say("Wait, then send it again."),
}


def _route_of(request: Request) -> str:
    found = request.scope.get("route")
    return f"{request.method} {getattr(found, 'path', 'other')}"


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The refusals that an operation may answer with, for the description of the interface."""
    every = (400, 401, 403, 413, 422, 503, *statuses)
    found: dict[int | str, dict[str, Any]] = {
        status: {"model": Problems, "description": _WORDS[status]} for status in sorted(set(every))
    }
    # Where the length is stated beforehand, it is refused before any of our code is asked.
    found[413]["content"] = {"text/plain": {"schema": {"type": "string"}}}
    return found


def refusal(
    status: int, given: Sequence[Problem], headers: Mapping[str, str] | None = None
) -> Answer:
    """An answer that says what is wrong."""
    found = Problems(errors=problems(given))
    return Answer(found.model_dump(by_alias=True), status_code=status, headers=dict(headers or {}))


def problems(given: Sequence[Problem]) -> list[OneProblem]:
    """Problems as the terminal's document has them, each with its kind."""
    # Told plainly: how to confirm a doubt on the command line helps nobody in a browser.
    plain = [
        Problem(each.field, each.given[:_LONGEST_ECHO], each.allowed, each.todo) for each in given
    ]
    return [
        OneProblem(**(row | {"kind": _KINDS.get(type(each), "error")}))
        for row, each in zip(errors_document(tuple(plain))["errors"], given, strict=True)
    ]


def install_refusals(app: FastAPI) -> None:
    """Turn every error into a refusal; an unforeseen one into a plain 500, kept in the log."""

    @app.exception_handler(WooldError)
    async def _woold(_request: Request, error: WooldError) -> Response:
        # 503 tells a phone to keep what it has and to come back; the problem says why.
        if isinstance(error, StoreError):
            return refusal(503, error.problems, {"retry-after": "30"})
        return refusal(409 if isinstance(error, ConflictError) else 422, error.problems)

    @app.exception_handler(RequestValidationError)
    async def _shape(_request: Request, error: RequestValidationError) -> Response:
        return refusal(422, [shape_problem(each) for each in error.errors()])

    @app.exception_handler(HTTPException)
    async def _http(request: Request, error: HTTPException) -> Response:
        if error.headers and "location" in error.headers:
            return Response(status_code=error.status_code, headers=error.headers)
        allowed = str(error.detail or HTTPStatus(error.status_code).phrase)
        if allowed in (HTTPStatus(error.status_code).phrase, _UNREADABLE):
            allowed = say(_ALLOWED.get(error.status_code, allowed))
        given = f"{request.method} {request.url.path}"
        todo = say(_TODO.get(error.status_code, _TODO[405]))
        problem = Problem("request", given, allowed, todo)
        return refusal(error.status_code, [problem], error.headers)

    @app.exception_handler(BusyError)
    async def _busy(_request: Request, _error: BusyError) -> Response:
        given, allowed = say("too much work at once"), say("less work at once")
        problem = Problem("server", given, allowed, say("Try again in a minute."))
        return refusal(503, [problem], {"retry-after": "30"})

    @app.exception_handler(Exception)
    async def _unforeseen(request: Request, error: Exception) -> Response:
        # Not the message: it may repeat what somebody typed.
        frames = traceback.extract_tb(error.__traceback__)
        where = " < ".join(f"{each.filename}:{each.lineno}" for each in reversed(frames[-8:]))
        log.error("%s in %s: %s", type(error).__name__, _route_of(request), where)
        problem = Problem(
            "server",
            say("something unforeseen went wrong"),
            say("a request that the program foresees"),
            say("Nothing was changed. The server's log says more."),
        )
        return refusal(500, [problem])
