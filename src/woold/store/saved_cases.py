"""Saved cases: every revision is kept, and a change must name the revision that it starts from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, func, insert, select
from sqlalchemy.exc import IntegrityError

from woold.errors import ConflictError, InputError
from woold.store.engine import writing
from woold.store.web_tables import saved_case
from woold.words import say

__all__ = ["SavedCase", "SavedCases"]


@dataclass(frozen=True, slots=True)
class SavedCase:
    """A saved case as it stands.

    Args:
        id: its name in the store, made by whoever saved it first.
        revision: 1 when first saved.
        title: one line.
        toml: text of the case file.
        by, at: who saved this revision and when (UTC, ISO 8601).
    """

    id: str
    revision: int
    title: str
    toml: str
    by: str
    at: str


class SavedCases:
    """Cases kept in a store.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def all(self) -> list[SavedCase]:
        """Every case that is there, the latest saved first."""
        latest = (
            select(func.max(saved_case.c.number).label("number")).group_by(saved_case.c.id)
        ).subquery()
        query = (
            select(saved_case)
            .join(latest, latest.c.number == saved_case.c.number)
            .where(saved_case.c.removed.is_(False))
            .order_by(saved_case.c.number.desc())
        )
        with self.engine.connect() as connection:
            return [_as_case(row) for row in connection.execute(query)]

    def get(self, case_id: str) -> SavedCase | None:
        """The case of that id, as it stands."""
        with self.engine.connect() as connection:
            row = _latest(connection, case_id)
        return None if row is None or row.removed else _as_case(row)

    def revisions(self, case_id: str) -> list[SavedCase]:
        """Every revision of a case that is there, the latest first; none where it is not."""
        query = select(saved_case).where(saved_case.c.id == case_id)
        with self.engine.connect() as connection:
            rows = connection.execute(query.order_by(saved_case.c.revision.desc())).all()
        if not rows or rows[0].removed:
            return []
        return [_as_case(row) for row in rows if not row.removed]

    def revision(self, case_id: str, revision: int) -> SavedCase | None:
        """A case that is there, as it once stood; None where it never did."""
        query = select(saved_case).where(
            saved_case.c.id == case_id,
            saved_case.c.revision == revision,
            saved_case.c.removed.is_(False),
        )
        with self.engine.connect() as connection:
            row = connection.execute(query).first()
            latest = _latest(connection, case_id)
        return None if row is None or latest.removed else _as_case(row)

    def save(self, case_id: str, revision: int, title: str, toml: str, by: str) -> SavedCase:
        """Save a revision. Saving the same again after the answer was lost changes nothing.

        Args:
            case_id: its id, new or known.
            revision: the revision that was changed; 0 for a new case.
            title: one line.
            toml: text of the case file.
            by: who.

        Raises:
            ConflictError: someone saved or removed it meanwhile.
        """
        return self._add(case_id, revision, title, toml, by, removed=False)

    def remove(self, case_id: str, revision: int, by: str) -> None:
        """Take a case away; its revisions are kept.

        Raises:
            InputError: no such case.
            ConflictError: someone saved it meanwhile.
        """
        kept = self.get(case_id)
        if kept is None:
            raise InputError.one(
                "id", case_id, say("the id of a saved case"), say("Reload the list.")
            )
        self._add(case_id, revision, kept.title, kept.toml, by, removed=True)

    def _add(
        self, case_id: str, revision: int, title: str, toml: str, by: str, removed: bool
    ) -> SavedCase:
        at = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        try:
            with writing(self.engine) as connection:
                kept = _latest(connection, case_id)
                if kept is not None and not removed and not kept.removed:
                    repeated = (kept.title, kept.toml, kept.by) == (title, toml, by)
                    if repeated and kept.revision == revision + 1:
                        return _as_case(kept)
                if (0 if kept is None else kept.revision) != revision:
                    raise _meanwhile(kept)
                row = {
                    "id": case_id,
                    "revision": revision + 1,
                    "title": title,
                    "toml": toml,
                    "removed": removed,
                    "by": by,
                    "at": at,
                }
                connection.execute(insert(saved_case), row)
        except IntegrityError:
            raise _meanwhile(None) from None
        return SavedCase(case_id, revision + 1, title, toml, by, at)


def _meanwhile(kept: Any) -> ConflictError:
    if kept is None:
        given = "another revision"
    elif kept.removed:
        given = f"removed by {kept.by} at {kept.at}"
    else:
        given = f"saved by {kept.by} at {kept.at} as revision {kept.revision}"
    return ConflictError.one(
        "revision",
        given,
        say("the revision that stands"),
        say("Open it again, or save yours as a new case."),
    )


def _latest(connection: Connection, case_id: str) -> Any:
    query = select(saved_case).where(saved_case.c.id == case_id)
    return connection.execute(query.order_by(saved_case.c.revision.desc()).limit(1)).first()


def _as_case(row: Any) -> SavedCase:
    return SavedCase(row.id, row.revision, row.title, row.toml, row.by, row.at)
