"""Things kept in a store: versions are only ever added, never changed."""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Engine, func, insert, select
from sqlalchemy.exc import IntegrityError

from woold.case.shelf import KINDS_OF_THINGS, Kept, Shelf, shelf_from_table
from woold.case.things import KIND_WORDS
from woold.errors import ConflictError, InputError, Problem
from woold.store.engine import writing
from woold.store.web_tables import thing
from woold.words import say

__all__ = ["KeptShelf", "KeptVersion", "shelf_table"]


@dataclass(frozen=True, slots=True)
class KeptVersion:
    """A version of a thing, and who kept it.

    Args:
        kept: the version.
        by, at: who put it there and when (UTC, ISO 8601).
    """

    kept: Kept
    by: str
    at: str


class KeptShelf:
    """The shelf of a store.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def versions(self) -> tuple[KeptVersion, ...]:
        """Every version of every thing, in the order in which they were put there."""
        with self.engine.connect() as connection:
            rows = connection.execute(select(thing).order_by(thing.c.number)).all()
        return tuple(_version(row) for row in rows)

    def last(self) -> int:
        """The number of what was put there last, which grows with every version; 0 for nothing."""
        with self.engine.connect() as connection:
            return connection.execute(select(func.max(thing.c.number))).scalar() or 0

    def shelf(self) -> Shelf | None:
        """All of it, to look things up in; None where nothing is kept yet."""
        kept = [each.kept for each in self.versions()]
        return shelf_from_table(shelf_table(kept)) if kept else None

    def add(self, given: Shelf, by: str) -> tuple[Kept, ...]:
        """Put a shelf's versions on this one, all or none; those that are there change nothing.

        What is kept is never taken away, so what the shelf was checked beside is there still.

        Args:
            given: checked, beside this one where it names things that are kept here alone.
            by: who.

        Returns:
            Those that are new.

        Raises:
            ConflictError: a version that is there and says something else, or one that is lower
                than the latest.
        """
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        try:
            with writing(self.engine) as connection:
                rows = connection.execute(select(thing).order_by(thing.c.number)).all()
                there = {_key(each): each for each in (_version(row).kept for row in rows)}
                new = _new(there, given.things())
                for each in new:
                    connection.execute(insert(thing), _row(each, by, now))
        except IntegrityError:
            given_meanwhile = say("versions that somebody else put there meanwhile")
            raise ConflictError.one(
                "shelf", given_meanwhile, say("versions that are new"), say("Try again.")
            ) from None
        return new


def shelf_table(things: Collection[Kept]) -> dict[str, Any]:
    """Things as the tables of a shelf's file, by kind, name and version.

    Args:
        things: versions of things.
    """
    table: dict[str, Any] = {}
    right: list[str] = []
    for kind in KINDS_OF_THINGS:
        own = sorted((each for each in things if each.kind == kind), key=_key)
        if own:
            table[kind] = [each.table() for each in own]
        for index, each in enumerate(own):
            right += [f"{kind}[{index}].{name}" for name in each.right]
    return ({"as_typed": right} if right else {}) | table


def _key(kept: Kept) -> tuple[str, str, int]:
    return kept.kind, kept.name, kept.version


def _new(there: Mapping[tuple[str, str, int], Kept], given: Iterable[Kept]) -> tuple[Kept, ...]:
    """What is not there yet; refuses what contradicts it."""
    latest: dict[tuple[str, str], int] = {}
    for kind, name, version in there:
        latest[kind, name] = max(version, latest.get((kind, name), 0))
    new: list[Kept] = []
    problems: list[Problem] = []
    for each in given:
        kept = there.get(_key(each))
        if kept is not None and kept.hash == each.hash:
            continue
        last = latest.get((each.kind, each.name), 0)
        if each.version <= last:
            problems.append(_is_there(each, last))
        else:
            new.append(each)
    if problems:
        raise ConflictError.many(problems)
    return tuple(new)


def _is_there(each: Kept, last: int) -> Problem:
    return Problem(
        say("{kind} {name!r}", kind=say(KIND_WORDS[each.kind]), name=each.name),
        say("version {version}, other than the one that is kept", version=each.version),
        say("version {next} or later", next=last + 1),
        say("What is kept is never changed: write version = {next}.", next=last + 1),
    )


def _row(each: Kept, by: str, at: str) -> dict[str, Any]:
    return {
        "kind": each.kind,
        "name": each.name,
        "version": each.version,
        "typed": json.dumps(each.typed, ensure_ascii=False),
        "as_typed": json.dumps(each.right),
        "by": by,
        "at": at,
    }


def _version(row: Any) -> KeptVersion:
    typed, right = json.loads(row.typed), tuple(json.loads(row.as_typed))
    if row.kind not in KINDS_OF_THINGS:
        raise InputError.one(
            "shelf", repr(row.kind), ", ".join(KINDS_OF_THINGS),
            say("A newer woold wrote it: take that one."),
        )  # fmt: skip
    return KeptVersion(Kept(row.kind, row.name, row.version, typed, right), row.by, row.at)
