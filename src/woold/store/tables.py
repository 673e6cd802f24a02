"""The tables, and the frozen objects that their rows become.

Everything written down is a `record`: what kind of thing, which one, and its cells, each with the
text as typed, its unit and its SI value. Rows are only ever added. A correction is a new row that
names the row it replaces and why; a row can be replaced once, so corrections form a line, and the
current state is what no other row replaces.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    text,
)

__all__ = ["Cell", "Record", "metadata", "photo", "photo_piece", "record", "source"]

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

source = Table(
    "source",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("trial", String(64), nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("name", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
    UniqueConstraint("trial", "sha256", name="uq_source_trial_sha256"),
    Index("ix_source_trial_name", "trial", "name"),
)

record = Table(
    "record",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("id", String(64), nullable=False, unique=True),
    Column("trial", String(64), nullable=False),
    Column("kind", String(32), nullable=False),
    Column("key", String(200), nullable=False),
    Column("cells", JSON, nullable=False),
    Column("void", Boolean, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
    Column("source", ForeignKey("source.number")),
    Column("replaces", ForeignKey("record.number"), unique=True),
    Column("reason", Text, nullable=False),
    Column("typed_by", Text),
    Column("typed_at", String(32)),
    Column("clock_s", Float),
    Index("ix_record_thing", "trial", "kind", "key"),
    Index("ix_record_trial_number", "trial", "number"),
    Index(
        "ix_record_first",
        "trial",
        "kind",
        "key",
        unique=True,
        sqlite_where=text("replaces IS NULL"),
        postgresql_where=text("replaces IS NULL"),
    ),
)

photo = Table(
    "photo",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("media_type", String(64), nullable=False),
    Column("content", LargeBinary, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
)

photo_piece = Table(
    "photo_piece",
    metadata,
    Column("upload", String(64), primary_key=True),
    Column("start", Integer, primary_key=True, autoincrement=False),
    Column("content", LargeBinary, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(32), nullable=False),
)
"""Pictures on their way: pieces by their first byte, taken out once the picture is whole."""


class Cell(NamedTuple):
    """One value as it was written down.

    Args:
        typed: the text as typed.
        unit: the unit it was typed in; "" for words and counts.
        si: its SI value; None for words.
    """

    typed: str
    unit: str = ""
    si: float | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """One row: a thing written down, or a correction of one.

    Args:
        number: order of writing in this store.
        id: name of this row, given by whoever wrote it, so that sending it twice is harmless.
        trial: key of the trial.
        kind: what it is, such as "load" or "pull".
        key: which one of its kind.
        cells: values by field name.
        void: the thing does not count any more; why is in `reason`.
        by, at: who sent it and when it arrived (UTC, ISO 8601).
        source: number of the file that it was read from, if any.
        replaces: number of the row that it corrects, if any.
        reason: why it was corrected.
        typed_by, typed_at: who typed it and when, by the server's clock; None where that was not
            noted apart from `by` and `at`.
        clock_s: what the clock that it was typed by was ahead of the server's [s].
    """

    number: int
    id: str
    trial: str
    kind: str
    key: str
    cells: Mapping[str, Cell]
    void: bool
    by: str
    at: str
    source: int | None
    replaces: int | None
    reason: str
    typed_by: str | None = None
    typed_at: str | None = None
    clock_s: float | None = None


def cells_from_json(kept: Mapping[str, list[Any]]) -> dict[str, Cell]:
    """Kept cells, each [typed, unit, si], as objects."""
    return {name: Cell(*cell) for name, cell in kept.items()}
