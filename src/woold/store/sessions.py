"""Who is signed in, from which browser; and browsers that somebody has signed in from before."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from dataclasses import dataclass

from sqlalchemy import Connection, Engine, delete, insert, select

from woold.store.engine import writing
from woold.store.web_tables import account, known_device, web_session

__all__ = ["SESSION", "Session", "Sessions", "SignedIn", "digest", "now_text"]

SESSION = datetime.timedelta(days=14)
"""Long enough that nobody signs in with gloves on every morning."""

_SHOWN = 16


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Somebody signed in.

    Args:
        name, role: who, and what they may do.
        csrf: what a page of ours must send along with every change.
    """

    name: str
    role: str
    csrf: str


@dataclass(frozen=True, slots=True)
class Session:
    """One browser in which somebody is signed in.

    Args:
        id: to name it by; not what proves it.
        device: what the browser called itself.
        begun: when they signed in (UTC, ISO 8601); "" where nobody noted it.
        ends: when it ends by itself.
        is_own: it is the one that asks.
    """

    id: str
    device: str
    begun: str
    ends: str
    is_own: bool


class Sessions:
    """Sessions of a store.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def who(self, token: str) -> SignedIn | None:
        """Who a session's token belongs to, while it lasts."""
        query = (
            select(account.c.name, account.c.role, web_session.c.csrf)
            .join(web_session, web_session.c.account == account.c.name)
            .where(web_session.c.token_sha256 == digest(token), web_session.c.ends >= now_text())
        )
        with self.engine.connect() as connection:
            row = connection.execute(query).first()
        return None if row is None else SignedIn(row.name, row.role, row.csrf)

    def of(self, name: str, token: str) -> list[Session]:
        """Where somebody is signed in, the latest first.

        Args:
            name: who.
            token: of the session that asks.
        """
        query = (
            select(web_session)
            .where(web_session.c.account == name, web_session.c.ends >= now_text())
            .order_by(web_session.c.ends.desc())
        )
        own = digest(token)
        with self.engine.connect() as connection:
            return [
                Session(
                    row.token_sha256[:_SHOWN],
                    row.device or "",
                    row.begun or "",
                    row.ends,
                    row.token_sha256 == own,
                )
                for row in connection.execute(query)
            ]

    def end(self, name: str, session_id: str) -> bool:
        """End a session of somebody's; false where there is none of that id."""
        with writing(self.engine) as connection:
            gone = connection.execute(
                delete(web_session).where(
                    web_session.c.account == name,
                    web_session.c.token_sha256.startswith(session_id, autoescape=True),
                )
            )
        return gone.rowcount > 0

    def end_others(self, name: str, token: str) -> None:
        """End every session of somebody's but the one that asks."""
        with writing(self.engine) as connection:
            end_sessions(connection, name, but=token)

    def sign_out(self, token: str) -> None:
        """End a session."""
        with writing(self.engine) as connection:
            connection.execute(
                delete(web_session).where(web_session.c.token_sha256 == digest(token))
            )

    def is_known(self, name: str, device: str) -> bool:
        """Whether somebody has signed in from a browser before."""
        query = select(known_device.c.at).where(
            known_device.c.token_sha256 == digest(device), known_device.c.account == name
        )
        with self.engine.connect() as connection:
            return connection.execute(query).first() is not None

    def know(self, name: str, device: str) -> None:
        """Remember a browser that somebody signed in from."""
        if self.is_known(name, device):
            return
        row = {"token_sha256": digest(device), "account": name, "at": now_text()}
        with writing(self.engine) as connection:
            connection.execute(insert(known_device), row)


def begin_session(
    connection: Connection, name: str, role: str, device: str
) -> tuple[str, SignedIn]:
    """A new session's token, and who it is."""
    token, csrf = secrets.token_urlsafe(32), secrets.token_urlsafe(24)
    now = datetime.datetime.now(datetime.UTC)
    connection.execute(delete(web_session).where(web_session.c.ends < now_text()))
    row = {"token_sha256": digest(token), "account": name, "csrf": csrf, "device": device[:120]}
    ends = (now + SESSION).isoformat(timespec="milliseconds")
    connection.execute(insert(web_session), {**row, "begun": now_text(), "ends": ends})
    return token, SignedIn(name, role, csrf)


def end_sessions(connection: Connection, name: str, but: str = "") -> None:
    """End every session of somebody's, but the one of a token; browsers are known no more."""
    others = web_session.c.account == name
    if but:
        others &= web_session.c.token_sha256 != digest(but)
    connection.execute(delete(web_session).where(others))


def digest(token: str) -> str:
    """What is kept of a token."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def now_text() -> str:
    """The time, as it is kept."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
