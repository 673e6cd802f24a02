"""Signing in and out, accounts, and the log of changes."""

from __future__ import annotations

import threading
import time
from typing import Annotated, Literal
from urllib.parse import parse_qs

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from woold.store.accounts import (
    LONGEST_PASSWORD,
    SESSION,
    Account,
    Accounts,
    LoggedChange,
    SignedIn,
)
from woold.web.answers import refusals
from woold.web.documents import Document, named
from woold.web.pages import page
from woold.web.people import CSRF_COOKIE, Manager, Viewer, session_cookie
from woold.web.settings import WebSettings
from woold.words import say

__all__ = ["Tries", "pages", "router"]

router = APIRouter(prefix="/api", tags=["people"])
pages = APIRouter(include_in_schema=False)

Role = Literal["view", "record", "manage"]


class Tries:
    """Counts refused sign-ins, so that passwords cannot be tried without end.

    Args:
        most: refusals after which a name or an address must wait.
        wait_s: how long.
    """

    def __init__(self, most: int = 10, wait_s: float = 900.0) -> None:
        self.most = most
        self.wait_s = wait_s
        self._refused: dict[str, list[float]] = {}
        self._lock = threading.Lock()

    def too_many(self, *keys: str) -> bool:
        """Whether any of these must wait."""
        now = time.monotonic()
        with self._lock:
            for key, times in list(self._refused.items()):
                recent = [each for each in times if now - each < self.wait_s]
                if recent:
                    self._refused[key] = recent
                else:
                    del self._refused[key]
            return any(len(self._refused.get(key, ())) >= self.most for key in keys)

    def refused(self, *keys: str) -> None:
        """Note a refusal."""
        with self._lock:
            for key in keys:
                self._refused.setdefault(key, []).append(time.monotonic())


class NewAccount(BaseModel):
    """Somebody who may sign in."""

    name: str = Field(max_length=64)
    role: str = Field(description="view, record or manage; each includes the ones before")
    password: str = Field(max_length=LONGEST_PASSWORD)


class AccountList(Document):
    """Everybody who may sign in."""

    schema_: Literal["accounts"] = named("accounts")
    accounts: list[Account]


class ChangeList(Document):
    """The latest changes, newest first."""

    schema_: Literal["changes"] = named("changes")
    changes: list[LoggedChange]


class Me(Document):
    """Who asks, and what they may do."""

    schema_: Literal["me"] = named("me")
    name: str
    role: Role
    signs_in: bool


def _accounts(request: Request) -> Accounts:
    accounts: Accounts = request.app.state.accounts
    return accounts


@router.get("/me", responses=refusals())
def me(request: Request, person: Viewer) -> Me:
    """Who asks, and what they may do."""
    signs_in = request.app.state.settings.sign_in
    return Me(name=person.name, role=person.role, signs_in=signs_in)


@router.get("/accounts", responses=refusals())
def list_accounts(request: Request, _person: Manager) -> AccountList:
    """Everybody who may sign in."""
    return AccountList(accounts=_accounts(request).all())


@router.put("/accounts", status_code=204, responses=refusals())
def set_account(request: Request, body: NewAccount, person: Manager) -> None:
    """Let somebody sign in, or change their role and password."""
    _accounts(request).set(body.name, body.role, body.password, person.name)


@router.delete("/accounts/{name}", status_code=204, responses=refusals())
def remove_account(request: Request, name: str, person: Manager) -> None:
    """Let somebody sign in no more."""
    _accounts(request).remove(name, person.name)


@router.get("/changes", responses=refusals())
def changes(
    request: Request, _person: Manager, most: Annotated[int, Query(ge=1, le=1000)] = 200
) -> ChangeList:
    """The latest changes of accounts and saved cases; records of trials keep theirs themselves."""
    return ChangeList(changes=_accounts(request).changes(most))


@pages.get("/sign-in")
def sign_in_page(request: Request, next: str = "/") -> Response:
    return page(request, "sign_in.html", next=_local(next), problem="", name="")


@pages.post("/sign-in")
async def sign_in(request: Request) -> Response:
    sent = parse_qs((await request.body()).decode("utf-8", "replace"), max_num_fields=10)
    name, password, target = (sent.get(key, [""])[0] for key in ("name", "password", "next"))
    target = _local(target)
    tries: Tries = request.app.state.tries
    address = request.client.host if request.client else ""
    keys = (f"name {name[:64]}", f"address {address}")
    if tries.too_many(*keys):
        problem = say("Too many tries. Wait a quarter of an hour, or ask whoever manages accounts.")
        return page(request, "sign_in.html", 429, next=target, problem=problem, name=name)
    found = await run_in_threadpool(_accounts(request).sign_in, name, password)
    if found is None:
        tries.refused(*keys)
        problem = say("That name and password do not go together.")
        return page(request, "sign_in.html", 403, next=target, problem=problem, name=name)
    answer = RedirectResponse(target, status_code=303)
    _set_cookies(answer, request.app.state.settings, *found)
    return answer


@pages.post("/sign-out")
def sign_out(request: Request) -> Response:
    settings: WebSettings = request.app.state.settings
    token = request.cookies.get(session_cookie(settings))
    if token:
        _accounts(request).sign_out(token)
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(session_cookie(settings), secure=settings.is_tls)
    answer.delete_cookie(CSRF_COOKIE, secure=settings.is_tls)
    return answer


def _set_cookies(answer: Response, settings: WebSettings, token: str, who: SignedIn) -> None:
    seconds = int(SESSION.total_seconds())
    for cookie, value, is_hidden in (
        (session_cookie(settings), token, True),
        (CSRF_COOKIE, who.csrf, False),  # our scripts read it and send it back in a header
    ):
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
