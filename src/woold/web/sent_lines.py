"""Lines that pages have sent: each in a folder of the server's own, with its map beside it."""

from __future__ import annotations

import contextlib
import hashlib
import json
import shutil
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from woold.case.shelf import Shelf, read_shelf
from woold.case.toml_text import read_toml
from woold.errors import InputError
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.catalogue_columns import AMOUNTS
from woold.line.line_file import LineFile, line_from_table
from woold.web.sent_file import told_without
from woold.words import say

__all__ = ["KnownLine", "LineEvent", "LineParts", "SentLines", "line_asked", "read_sent_line"]

_KEPT_S = 2 * 86_400.0
_MOST = 40
_HEAD = "line.json"
_STORY = "story.jsonl"
_OF_SHELF = "shelf: "
"""Before the name of a field that is the shelf's."""


@dataclass(frozen=True, slots=True)
class LineParts:
    """What a line in a folder is made of.

    Args:
        title: of a line that has no file of its own.
        line, catalogue, shelf: names of its files; "" where there is none.
        as_typed: what was asked about and is right.
    """

    title: str = ""
    line: str = ""
    catalogue: str = ""
    shelf: str = ""
    as_typed: tuple[str, ...] = ()

    @classmethod
    def in_folder(cls, folder: Path) -> Self:
        """As it was kept there."""
        kept = json.loads((folder / _HEAD).read_text(encoding="utf-8"))
        return cls(**{**kept, "as_typed": tuple(kept["as_typed"])})

    @property
    def named(self) -> str:
        """What the line is called where it is told what was read."""
        return self.line or say("the shelf of this server")


@dataclass(frozen=True, slots=True)
class LineEvent:
    """Something that was done with a line.

    Args:
        at, by: when, in UTC, and by whom.
        question: that was asked; "" where the line was sent.
        sample: loads that the question looked at; None for all.
        job: its answer's.
    """

    at: str
    by: str
    question: str = ""
    sample: int | None = None
    job: str = ""


@dataclass(frozen=True, slots=True)
class KnownLine:
    """A line that the server has.

    Args:
        line: its id.
        parts: what it is made of.
        story: what was done with it, the first first; never empty.
    """

    line: str
    parts: LineParts
    story: tuple[LineEvent, ...]


class SentLines:
    """Lines on the server until it ends, or until nobody has asked about them for two days.

    A line's id is made of all that it holds: whoever sends the same again goes on where it was.
    """

    def __init__(self) -> None:
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._lock = threading.Lock()

    def put(self, parts: LineParts, files: Sequence[tuple[str, bytes]], by: str) -> str:
        """Keep a line.

        Args:
            parts: what it is made of.
            files: name and content of each.
            by: who sends it.

        Returns:
            Its id.
        """
        told = json.dumps(asdict(parts), sort_keys=True)
        digest = hashlib.sha256(told.encode())
        for name, content in sorted(files):
            digest.update(hashlib.sha256(name.encode() + b"\0" + content).digest())
        line = digest.hexdigest()[:32]
        with self._lock:
            root = self._root()
            self._forget_old(root)
            folder = root / line
            if not (folder / _HEAD).exists():
                folder.mkdir(exist_ok=True)
                for name, content in files:
                    (folder / name).write_bytes(content)
                _tell(folder, LineEvent(_now(), by))
                (folder / _HEAD).write_text(told, encoding="utf-8")
        return line

    def asked(self, line: str, event: LineEvent) -> None:
        """Note what was asked of a line.

        Args:
            line: its id.
            event: the question.
        """
        with self._lock:
            folder = self._root() / line
            if (folder / _HEAD).exists():
                _tell(folder, event)

    def known(self) -> tuple[KnownLine, ...]:
        """The lines that the server has, the one that was used last first."""
        with self._lock:
            root = self._root()
            self._forget_old(root)
            kept = [each for each in root.iterdir() if (each / _HEAD).exists()]
            kept.sort(key=lambda each: (each / _HEAD).stat().st_mtime, reverse=True)
            return tuple(
                KnownLine(each.name, LineParts.in_folder(each), _story(each)) for each in kept
            )

    def folder(self, line: str) -> Path | None:
        """Where a line lies; None where it is not known any more.

        Args:
            line: its id, of letters and digits alone.
        """
        with self._lock:
            folder = self._root() / line
            head = folder / _HEAD
            if not head.exists():
                return None
            head.touch()
            return folder

    def close(self) -> None:
        """Throw all away: the server ends."""
        with self._lock, contextlib.suppress(OSError):
            if self._folder is not None:
                self._folder.cleanup()
                self._folder = None

    def _root(self) -> Path:
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="woold-lines-")
        return Path(self._folder.name)

    @staticmethod
    def _forget_old(root: Path) -> None:
        kept = [each for each in root.iterdir() if (each / _HEAD).exists()]
        kept.sort(key=lambda each: (each / _HEAD).stat().st_mtime, reverse=True)
        for number, each in enumerate(kept):
            age = time.time() - (each / _HEAD).stat().st_mtime
            if number >= _MOST or age > _KEPT_S:
                shutil.rmtree(each, ignore_errors=True)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def line_asked(by: str, question: str, sample: int | None, job: str) -> LineEvent:
    """A question to a line, just now.

    Args:
        by: who asks.
        question, sample, job: as :class:`LineEvent` has them.
    """
    return LineEvent(_now(), by, question, sample, job)


def _tell(folder: Path, event: LineEvent) -> None:
    with (folder / _STORY).open("a", encoding="utf-8") as file:
        file.write(json.dumps(asdict(event)) + "\n")


def _story(folder: Path) -> tuple[LineEvent, ...]:
    lines = (folder / _STORY).read_text(encoding="utf-8").splitlines()
    return tuple(LineEvent(**json.loads(each)) for each in lines)


def read_sent_line(folder: Path, sample: int | None = None) -> tuple[LineFile, Catalogue]:
    """A line that was sent, and its loads.

    No file is read but those that were sent, whatever the line's file names.

    Args:
        folder: where it lies.
        sample: so many loads, evenly picked; all if none.

    Raises:
        InputError: as the line's reader and the catalogue's have it; files that are missing.
    """
    parts = LineParts.in_folder(folder)
    with told_without(folder):
        table = read_toml(folder / parts.line) if parts.line else {"title": parts.title}
        beside = _with_files(table, parts, folder)
        columns = {f"catalogue.{name}": name for name in AMOUNTS}
        fields = [
            each
            for each in parts.as_typed
            if each not in columns and not each.startswith(_OF_SHELF)
        ]
        line = line_from_table(table, folder, fields, beside)
        catalogue = read_catalogue(line, [columns[e] for e in parts.as_typed if e in columns])
    return line, catalogue if sample is None else catalogue.sample(sample)


def _with_files(table: dict[str, Any], parts: LineParts, folder: Path) -> Shelf | None:
    """Names in the table the files that were sent; returns the shelf beside it."""
    given = table.get("catalogue", {})
    named = given.get("file") if isinstance(given, dict) else None
    if parts.catalogue and isinstance(given, dict):
        table["catalogue"] = {**given, "file": parts.catalogue}
    elif named:
        raise _missing("catalogue.file", named, say("Choose the line's file and its table of"
                       " loads together."))  # fmt: skip
    shelf = table.pop("shelf", None)
    if parts.shelf:
        own = [
            each.removeprefix(_OF_SHELF) for each in parts.as_typed if each.startswith(_OF_SHELF)
        ]
        try:
            return read_shelf(folder / parts.shelf, own)
        except InputError as error:
            # The line's own film may have the same number: what is asked of the shelf says so.
            raise InputError.many(
                replace(each, field=f"{_OF_SHELF}{each.field}") for each in error.problems
            ) from None
    if shelf:
        raise _missing("shelf", shelf, say("Choose the line's file and its shelf together."))
    return None


def _missing(field: str, named: object, todo: str) -> InputError:
    return InputError.one(
        field, say("{file}, which was not sent", file=repr(named)), say("a file that is sent"), todo
    )
