"""Lines of the log: who did what to which thing, and when."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, or_, select

from woold.store.tables import record, source

__all__ = ["LoggedChange", "changes_of_trials"]

_TRIAL, _PLAN = "trial", "plan"


@dataclass(frozen=True, slots=True)
class LoggedChange:
    """One line of the log: who did what to which thing, and when (UTC, ISO 8601)."""

    what: str
    target: str
    by: str
    at: str


def changes_of_trials(connection: Connection, most: int) -> list[LoggedChange]:
    """Trials that were started or changed, files taken in, records corrected; newest first.

    Args:
        connection: to an opened store.
        most: of each.
    """
    columns = (record.c.trial, record.c.kind, record.c.key, record.c.void, record.c.replaces)
    changed = select(*columns, record.c.by, record.c.at).where(
        record.c.kind != _PLAN, or_(record.c.kind == _TRIAL, record.c.replaces.is_not(None))
    )
    found = []
    for row in connection.execute(changed.order_by(record.c.number.desc()).limit(most)):
        is_first = row.replaces is None
        if row.kind == _TRIAL:
            what, target = ("trial started" if is_first else "trial changed"), row.trial
        else:
            what = "record taken out" if row.void else "record corrected"
            target = f"{row.trial}: {row.kind} {row.key}"
        found.append(LoggedChange(what, target, row.by, row.at))
    files = select(source).order_by(source.c.number.desc()).limit(most)
    found += [
        LoggedChange("file taken in", f"{row.trial}: {row.name}", row.by, row.at)
        for row in connection.execute(files)
    ]
    return found
