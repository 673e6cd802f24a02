"""Documents of the store commands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from woold.rows.document import JsonDocument

__all__ = ["StoreBackupDocument", "StoreCheckDocument", "StoreRestoredDocument"]


@dataclass(frozen=True, slots=True)
class StoreCheckDocument(JsonDocument):
    """Whether the store is sound, what is wrong, and how many rows of each table it holds."""

    told_as = "store-check"

    sound: bool
    wrong: tuple[str, ...]
    rows: Mapping[str, int]
    sha256: str


@dataclass(frozen=True, slots=True)
class StoreBackupDocument(JsonDocument):
    """A copy of the store that was made and proven."""

    told_as = "store-backup"

    file: str
    rows: Mapping[str, int]
    sha256: str


@dataclass(frozen=True, slots=True)
class StoreRestoredDocument(JsonDocument):
    """A store that was made from a copy and proven."""

    told_as = "store-restored"

    rows: Mapping[str, int]
    sha256: str
