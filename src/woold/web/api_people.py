"""Accounts, and the log of changes."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, Field

from woold.store.accounts import LONGEST_PASSWORD, Account, Accounts
from woold.store.changes import LoggedChange
from woold.web.answers import refusals
from woold.web.documents import Document, named
from woold.web.people import Manager, Viewer

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["people"])

Role = Literal["view", "record", "manage"]


class NewAccount(BaseModel):
    """Somebody who may sign in."""

    name: str = Field(max_length=64)
    role: str = Field(description="view, record or manage; each includes the ones before")
    password: str = Field(max_length=LONGEST_PASSWORD)


class NewRole(BaseModel):
    """What somebody may do from now on."""

    role: str = Field(description="view, record or manage; each includes the ones before")


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


@router.put("/accounts/{name}/role", status_code=204, responses=refusals())
def set_role(request: Request, name: str, body: NewRole, person: Manager) -> None:
    """Change what somebody may do; their password and sessions stay."""
    _accounts(request).set_role(name, body.role, person.name)


@router.delete("/accounts/{name}", status_code=204, responses=refusals())
def remove_account(request: Request, name: str, person: Manager) -> None:
    """Let somebody sign in no more."""
    _accounts(request).remove(name, person.name)


@router.get("/changes", responses=refusals())
def changes(
    request: Request, _person: Manager, most: Annotated[int, Query(ge=1, le=1000)] = 200
) -> ChangeList:
    """The latest changes of accounts, saved cases and trials."""
    return ChangeList(changes=_accounts(request).changes(most))
