"""People who may sign in, who is signed in, and the log of what else was changed."""

from __future__ import annotations

import re
import secrets
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, Engine, delete, insert, select, update

from woold.errors import InputError
from woold.store.changes import LoggedChange, changes_of_trials
from woold.store.engine import writing
from woold.store.sessions import SignedIn, begin_session, end_sessions, now_text
from woold.store.web_tables import account, change, known_device, saved_case
from woold.words import say

if TYPE_CHECKING:
    import argon2

__all__ = ["ROLES", "Account", "Accounts"]

ROLES: Final = ("view", "record", "manage")
"""What somebody may do; each includes the ones before it."""

SHORTEST_PASSWORD = 10
LONGEST_PASSWORD = 200


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who may sign in."""

    name: str
    role: str
    at: str


class Accounts:
    """People who may sign in.

    Args:
        engine: of an opened store.
        hasher: of passwords; the library's own choice of cost when not given.
    """

    def __init__(self, engine: Engine, hasher: argon2.PasswordHasher | None = None) -> None:
        import argon2

        self.engine = engine
        self._hasher = hasher or argon2.PasswordHasher()
        # One hash takes 64 MiB and all of a core: many at once would be an attack on ourselves.
        self._hashing = threading.BoundedSemaphore(2)
        self._nobody = ""

    def all(self) -> list[Account]:
        """Everybody who may sign in, by name."""
        query = select(account).order_by(account.c.name)
        with self.engine.connect() as connection:
            return [Account(row.name, row.role, row.at) for row in connection.execute(query)]

    def set(self, name: str, role: str, password: str, by: str) -> None:
        """Let somebody sign in, or change their role and password; they are signed out.

        Raises:
            InputError: a name, a role or a password that cannot be used; or the last manager.
        """
        if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._@-]{0,63}", name) is None:
            raise InputError.one(
                "name",
                repr(name),
                say("up to 64 letters, digits and . _ @ -"),
                say("Choose another name."),
            )
        _usable_role(role)
        _usable_password(password)
        row = {"role": role, "password_hash": self._hash(password), "at": now_text()}
        with writing(self.engine) as connection:
            known = connection.execute(select(account).where(account.c.name == name)).first()
            if known is None:
                connection.execute(insert(account), {"name": name, **row})
            else:
                _keep_a_manager(connection, name, role)
                connection.execute(update(account).where(account.c.name == name), row)
                end_sessions(connection, name)
            _log(connection, f"account set: {role}", name, by)

    def set_role(self, name: str, role: str, by: str) -> None:
        """Change what somebody may do; their password and sessions stay.

        Raises:
            InputError: no such account or role; or the last manager.
        """
        _usable_role(role)
        with writing(self.engine) as connection:
            _keep_a_manager(connection, name, role)
            done = connection.execute(update(account).where(account.c.name == name), {"role": role})
            if done.rowcount == 0:
                raise InputError.one(
                    "name",
                    name,
                    say("the name of an account"),
                    say("woold account list shows the names."),
                )
            _log(connection, f"role set: {role}", name, by)

    def set_own_password(self, name: str, old: str, new: str, token: str) -> None:
        """Change one's own password; every other browser is signed out.

        Args:
            name: who.
            old, new: the password as it was, and as it shall be.
            token: of the session that asks, which stays.

        Raises:
            InputError: the old one is wrong, or the new one cannot be used.
        """
        with self.engine.connect() as connection:
            row = connection.execute(select(account).where(account.c.name == name)).first()
        if row is None or not self._verify(row.password_hash, old):
            self.log("password change refused", name, name)
            raise InputError.one(
                "old",
                say("another one"),
                say("your password as it is"),
                say("Type the password that you sign in with."),
            )
        _usable_password(new)
        changed = {"password_hash": self._hash(new), "at": now_text()}
        with writing(self.engine) as connection:
            connection.execute(update(account).where(account.c.name == name), changed)
            end_sessions(connection, name, but=token)
            connection.execute(delete(known_device).where(known_device.c.account == name))
            _log(connection, "password changed", name, name)

    def remove(self, name: str, by: str) -> None:
        """Let somebody sign in no more.

        Raises:
            InputError: no such account, or the last manager.
        """
        with writing(self.engine) as connection:
            _keep_a_manager(connection, name, "")
            gone = connection.execute(delete(account).where(account.c.name == name))
            if gone.rowcount == 0:
                raise InputError.one(
                    "name",
                    name,
                    say("the name of an account"),
                    say("woold account list shows the names."),
                )
            end_sessions(connection, name)
            connection.execute(delete(known_device).where(known_device.c.account == name))
            _log(connection, "account removed", name, by)

    def sign_in(self, name: str, password: str, device: str = "") -> tuple[str, SignedIn] | None:
        """Check a password: a new session's token and who it is; None where it is wrong.

        Args:
            name, password: as typed.
            device: what the browser calls itself.
        """
        with self.engine.connect() as connection:
            row = connection.execute(select(account).where(account.c.name == name)).first()
        # An unknown name takes as long as a wrong password, so that names cannot be told apart.
        if not self._nobody:
            self._nobody = self._hash(secrets.token_hex())
        right = self._verify(row.password_hash if row else self._nobody, password)
        with writing(self.engine) as connection:
            if row is None or not right:
                _log(connection, "sign-in refused", name[:64], name[:64])
                return None
            begun = begin_session(connection, name, row.role, device)
            _log(connection, "signed in", name, name)
        return begun

    def changes(self, most: int) -> list[LoggedChange]:
        """The latest changes of accounts, saved cases and trials, newest first.

        What was written down for the first time is left out: the records of a trial keep it.
        """
        logged = select(change.c.what, change.c.target, change.c.by, change.c.at)
        saved = select(
            saved_case.c.removed, saved_case.c.revision, saved_case.c.title, saved_case.c.id,
            saved_case.c.by, saved_case.c.at,
        )  # fmt: skip
        with self.engine.connect() as connection:
            found = [
                LoggedChange(row.what, row.target, row.by, row.at)
                for row in connection.execute(logged.order_by(change.c.number.desc()).limit(most))
            ]
            found += [
                LoggedChange(
                    "case removed" if row.removed else f"case saved: revision {row.revision}",
                    row.title or row.id,
                    row.by,
                    row.at,
                )
                for row in connection.execute(
                    saved.order_by(saved_case.c.number.desc()).limit(most)
                )
            ]
            found += changes_of_trials(connection, most)
        return sorted(found, key=lambda each: each.at, reverse=True)[:most]

    def log(self, what: str, target: str, by: str) -> None:
        """Add a line to the log."""
        with writing(self.engine) as connection:
            _log(connection, what, target, by)

    def _hash(self, password: str) -> str:
        with self._hashing:
            return self._hasher.hash(password)

    def _verify(self, kept: str, password: str) -> bool:
        from argon2.exceptions import Argon2Error

        if len(password) > LONGEST_PASSWORD:
            return False
        try:
            with self._hashing:
                return self._hasher.verify(kept, password)
        except Argon2Error:
            return False


def _log(connection: Connection, what: str, target: str, by: str) -> None:
    row: dict[str, Any] = {"what": what, "target": target, "by": by, "at": now_text()}
    connection.execute(insert(change), row)


def _usable_role(role: str) -> None:
    if role not in ROLES:
        raise InputError.one("role", role, ", ".join(ROLES), say("Choose one of them."))


def _usable_password(password: str) -> None:
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise InputError.one(
            "password",
            say("{password} letters", password=len(password)),
            say(
                "{shortest_password} to {longest_password} letters",
                shortest_password=SHORTEST_PASSWORD,
                longest_password=LONGEST_PASSWORD,
            ),
            say("Some words in a row make a good one."),
        )


def _keep_a_manager(connection: Connection, name: str, role: str) -> None:
    """Somebody must be left who can set accounts."""
    managers = set(
        connection.execute(select(account.c.name).where(account.c.role == "manage")).scalars()
    )
    if managers == {name} and role != "manage":
        raise InputError.one(
            "role",
            say("the last account that may manage"),
            say("another account with the role {role}", role='"manage"'),
            say("Make somebody else a manager first."),
        )
