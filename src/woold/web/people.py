"""Who asks, and what they may do: on loopback its user, elsewhere whoever is signed in."""

from __future__ import annotations

import hmac
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection

from woold.store.accounts import ROLES
from woold.store.sessions import Sessions
from woold.web.guards import SAFE_METHODS
from woold.web.settings import WebSettings
from woold.words import say

__all__ = [
    "CSRF_COOKIE",
    "VIEW",
    "Manager",
    "Person",
    "Recorder",
    "Viewer",
    "needs",
    "person_of",
    "session_cookie",
]

CSRF_COOKIE = "woold_csrf"
CSRF_HEADER = "x-csrf-token"


@dataclass(frozen=True, slots=True)
class Person:
    """Who asks.

    Args:
        name: written beside every change.
        role: one of `woold.store.accounts.ROLES`.
    """

    name: str
    role: str

    def may(self, role: str) -> bool:
        """Whether their role includes another."""
        return ROLES.index(self.role) >= ROLES.index(role)


def session_cookie(settings: WebSettings) -> str:
    """Name of the session's cookie; over https the browser itself holds it to this host."""
    return "__Host-woold" if settings.is_tls else "woold"


def person_of(request: HTTPConnection) -> Person | None:
    """Who asks; None where nobody is signed in who would have to be.

    Raises:
        HTTPException: 403 where a change does not come from a page of ours.
    """
    if not hasattr(request.state, "person"):
        request.state.person = _find(request)
    person: Person | None = request.state.person
    return person


def _find(request: HTTPConnection) -> Person | None:
    settings: WebSettings = request.app.state.settings
    if not settings.sign_in:
        return Person(settings.user, "manage")
    token = request.cookies.get(session_cookie(settings))
    sessions: Sessions = request.app.state.sessions
    found = sessions.who(token) if token else None
    if found is None:
        return None
    if request.scope["method"] not in SAFE_METHODS:
        sent = request.headers.get(CSRF_HEADER, "")
        if not hmac.compare_digest(sent.encode("latin-1"), found.csrf.encode()):
            raise HTTPException(403, say("this server's own pages"))
    return Person(found.name, found.role)


def needs(role: str) -> Callable[[Request], Person]:
    """A dependency that lets through whoever has the role."""

    def person(request: Request) -> Person:
        found = person_of(request)
        if found is None:
            raise HTTPException(401, say("somebody signed in"))
        if not found.may(role):
            raise HTTPException(403, say('somebody with the role "{role}"', role=role))
        return found

    return person


VIEW = Depends(needs("view"))
"""Asked for by every operation of the interface."""

Viewer = Annotated[Person, VIEW]
Recorder = Annotated[Person, Depends(needs("record"))]
Manager = Annotated[Person, Depends(needs("manage"))]
