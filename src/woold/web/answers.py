"""Answers: JSON, and the one shape of every refusal, as `woold.errors` has it."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from woold.errors import ConflictError, OnRecord, Problem, Question, WooldError
from woold.words import say

__all__ = ["Answer", "Problems", "install_refusals", "problem_rows", "refusal", "refusals"]

_KINDS: dict[type[Problem], str] = {Question: "question", OnRecord: "on record"}

_LONGEST_ECHO = 200

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
    kind: str


class Problems(BaseModel):
    """Why a request was refused. Nothing was changed."""

    problems: list[OneProblem]


_WORDS = {
    400: "The request cannot be read.",
    401: "Sign in first.",
    403: "This is not allowed.",
    404: "There is no such thing.",
    409: "It contradicts what is on record.",
    413: "More was sent than is taken.",
    422: "Something given cannot be used.",
    429: "Too many tries. Wait a while.",
}


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The refusals that an operation may answer with, for the description of the interface."""
    every = (400, 401, 403, 413, 422, *statuses)
    found: dict[int | str, dict[str, Any]] = {
        status: {"model": Problems, "description": _WORDS[status]} for status in sorted(set(every))
    }
    # Where the length is stated beforehand, it is refused before any of our code is asked.
    found[413]["content"] = {"text/plain": {"schema": {"type": "string"}}}
    return found


def refusal(
    status: int, problems: Iterable[Problem], headers: Mapping[str, str] | None = None
) -> Answer:
    """An answer that says what is wrong."""
    shown = {"problems": problem_rows(problems)}
    return Answer(shown, status_code=status, headers=dict(headers or {}))


def problem_rows(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Problems as JSON."""
    return [
        {
            "field": each.field,
            "given": each.given[:_LONGEST_ECHO],
            "allowed": each.allowed,
            "todo": each.todo,
            "kind": _KINDS.get(type(each), "error"),
        }
        for each in problems
    ]


def install_refusals(app: FastAPI) -> None:
    """Turn every error into a refusal; an unforeseen one into a plain 500, kept in the log."""

    @app.exception_handler(WooldError)
    async def _woold(_request: Request, error: WooldError) -> Response:
        return refusal(409 if isinstance(error, ConflictError) else 422, error.problems)

    @app.exception_handler(RequestValidationError)
    async def _shape(_request: Request, error: RequestValidationError) -> Response:
        problems = []
        for each in error.errors():
            where = ".".join(str(step) for step in each["loc"] if step != "body")
            given = "nothing" if each["type"] == "missing" else repr(each.get("input"))[:200]
            problems.append(Problem(where or "request", given, str(each["msg"]), say("Mend it.")))
        return refusal(422, problems)

    @app.exception_handler(HTTPException)
    async def _http(request: Request, error: HTTPException) -> Response:
        if error.headers and "location" in error.headers:
            return Response(status_code=error.status_code, headers=error.headers)
        allowed = error.detail or HTTPStatus(error.status_code).phrase
        given = f"{request.method} {request.url.path}"
        problem = Problem("request", given, str(allowed), "")
        return refusal(error.status_code, [problem], error.headers)

    @app.exception_handler(Exception)
    async def _unforeseen(request: Request, error: Exception) -> Response:
        log.exception("%s %s", request.method, request.url.path, exc_info=error)
        problem = Problem(
            "server",
            say("something unforeseen went wrong"),
            "",
            say("Nothing was changed. The server's log says more."),
        )
        return refusal(500, [problem])
