"""Signing in and out, and what everybody may do with their own account."""

from __future__ import annotations

import math
import secrets
from typing import Annotated, Literal
from urllib.parse import parse_qs

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from woold.store.accounts import LONGEST_PASSWORD, Accounts
from woold.store.sessions import SESSION, Session, Sessions, SignedIn
from woold.web.answers import refusals
from woold.web.documents import Document, named
from woold.web.pages import page
from woold.web.people import CSRF_COOKIE, Viewer, session_cookie
from woold.web.settings import WebSettings
from woold.web.tries import Tries, address_part
from woold.words import say

__all__ = ["pages", "router"]

router = APIRouter(prefix="/api/me", tags=["people"])
pages = APIRouter(include_in_schema=False)

_YEAR_S = 31_536_000


class SessionList(Document):
    """Browsers in which one is signed in."""

    schema_: Literal["sessions"] = named("sessions")
    sessions: list[Session]


class NewPassword(BaseModel):
    """One's password as it is, and as it shall be."""

    old: str = Field(max_length=LONGEST_PASSWORD)
    new: str = Field(max_length=LONGEST_PASSWORD)


def _token(request: Request) -> str:
    """Of the session that asks.

    Raises:
        HTTPException: 404 where nobody signs in.
    """
    settings: WebSettings = request.app.state.settings
    if not settings.sign_in:
        raise HTTPException(404, say("a server on which people sign in"))
    return request.cookies.get(session_cookie(settings), "")


def _sessions(request: Request) -> Sessions:
    sessions: Sessions = request.app.state.sessions
    return sessions


@router.get("/sessions", responses=refusals(404))
def list_sessions(request: Request, person: Viewer) -> SessionList:
    """Browsers in which one is signed in, the latest first."""
    return SessionList(sessions=_sessions(request).of(person.name, _token(request)))


@router.delete("/sessions", status_code=204, responses=refusals(404))
def end_other_sessions(request: Request, person: Viewer) -> None:
    """Sign out in every other browser."""
    _sessions(request).end_others(person.name, _token(request))


@router.delete("/sessions/{id}", status_code=204, responses=refusals(404))
def end_session(
    request: Request, id: Annotated[str, Path(pattern=r"^[0-9a-f]{16}$")], person: Viewer
) -> None:
    """Sign out in one browser."""
    _token(request)
    if not _sessions(request).end(person.name, id):
        raise HTTPException(404, say("the id of a session"))


@router.put("/password", status_code=204, responses=refusals(404, 429))
def set_password(request: Request, body: NewPassword, person: Viewer) -> None:
    """Change one's own password; every other browser is signed out."""
    token = _token(request)
    tries: Tries = request.app.state.tries
    key = f"own password of {person.name}"
    wait = tries.begin(key)
    if wait:
        raise HTTPException(429, _wait_words(wait), {"retry-after": str(math.ceil(wait))})
    accounts: Accounts = request.app.state.accounts
    accounts.set_own_password(person.name, body.old, body.new, token)
    tries.right(key)


def _wait_words(wait: float) -> str:
    return say("a try in {seconds} seconds", seconds=math.ceil(wait))


@pages.get("/sign-in")
def sign_in_page(request: Request, next: str = "/") -> Response:
    return page(request, "sign_in.html", next=_local(next), problem="", name="")


@pages.post("/sign-in")
async def sign_in(request: Request) -> Response:
    sent = parse_qs((await request.body()).decode("utf-8", "replace"), max_num_fields=10)
    name, password, target = (sent.get(key, [""])[0] for key in ("name", "password", "next"))
    target = _local(target)
    wait, keys = await run_in_threadpool(_begin, request, name)
    if wait:
        seconds = math.ceil(wait)
        problem = say("Too many tries. Try again in {seconds} seconds.", seconds=seconds)
        answer = page(request, "sign_in.html", 429, next=target, problem=problem, name=name)
        answer.headers["retry-after"] = str(seconds)
        return answer
    accounts: Accounts = request.app.state.accounts
    device = request.headers.get("user-agent", "")
    found = await run_in_threadpool(accounts.sign_in, name, password, device)
    if found is None:
        request.app.state.metrics.refused_sign_ins.inc()
        problem = say("That name and password do not go together.")
        return page(request, "sign_in.html", 403, next=target, problem=problem, name=name)
    for key in keys:
        request.app.state.tries.right(key)
    answer = RedirectResponse(target, status_code=303)
    settings: WebSettings = request.app.state.settings
    _set_cookies(answer, settings, *found)
    known = request.cookies.get(_device_cookie(settings)) or secrets.token_urlsafe(32)
    await run_in_threadpool(_sessions(request).know, name, known)
    _set(answer, settings, _device_cookie(settings), known, _YEAR_S)
    return answer


def _begin(request: Request, name: str) -> tuple[float, tuple[str, ...]]:
    """Count a try: how long to wait first, and what to forget if it is right.

    Strangers' tries make nobody wait who has signed in from this browser before; and elsewhere
    only those who come from the strangers' own address.
    """
    tries: Tries = request.app.state.tries
    device = request.cookies.get(_device_cookie(request.app.state.settings), "")
    if device and _sessions(request).is_known(name, device):
        key = f"device {device} {name[:64]}"
        return tries.begin(key), (key,)
    address = address_part(request.client.host if request.client else "")
    pair = f"{address} {name[:64]}"
    wait = tries.begin(pair)
    if wait:
        return wait, ()
    # One address that tries many names; it may be a whole plant's, so it is given more room.
    of_address: Tries = request.app.state.tries_of_address
    return of_address.begin(address), (pair,)


@pages.post("/sign-out")
def sign_out(request: Request) -> Response:
    settings: WebSettings = request.app.state.settings
    token = request.cookies.get(session_cookie(settings))
    if token:
        _sessions(request).sign_out(token)
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(session_cookie(settings), secure=settings.is_tls)
    answer.delete_cookie(CSRF_COOKIE, secure=settings.is_tls)
    return answer


def _device_cookie(settings: WebSettings) -> str:
    return "__Host-woold-device" if settings.is_tls else "woold_device"


def _set_cookies(answer: Response, settings: WebSettings, token: str, who: SignedIn) -> None:
    seconds = int(SESSION.total_seconds())
    _set(answer, settings, session_cookie(settings), token, seconds)
    # Our scripts read it and send it back in a header.
    _set(answer, settings, CSRF_COOKIE, who.csrf, seconds, is_hidden=False)


def _set(
    answer: Response,
    settings: WebSettings,
    cookie: str,
    value: str,
    seconds: int,
    is_hidden: bool = True,
) -> None:
    answer.set_cookie(
        cookie,
        value,
        max_age=seconds,
        path="/",
        secure=settings.is_tls,
        httponly=is_hidden,
        samesite="lax",
    )


def _local(target: str) -> str:
    """A path of this server; the first page for anything else."""
    is_path = target.startswith("/") and not target.startswith(("//", "/\\"))
    return target if is_path and target.isprintable() else "/"
