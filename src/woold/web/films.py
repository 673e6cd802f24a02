"""Films on their way in pieces: in a folder of the server's own, gone when they are judged."""

from __future__ import annotations

import contextlib
import tempfile
import threading
import time
from pathlib import Path

from woold.errors import ConflictError, InputError
from woold.words import say

__all__ = ["LARGEST_FILM", "LARGEST_PIECE", "SentFilms"]

LARGEST_FILM = 600_000_000
"""Bytes of a film sent to the server: several minutes of 1080p."""

LARGEST_PIECE = 4_000_000

_LARGEST_OF_ALL = 4_000_000_000
_KEPT_S = 14 * 86_400.0
_WAITS_S = 86_400.0
_ASKED = ".kept"


class SentFilms:
    """Films that are on their way, wait to be judged, or were asked to be kept.

    They end with the server; one that is not judged ends after a day, a kept one after a fortnight.
    """

    def __init__(self) -> None:
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._lock = threading.Lock()

    def path(self, film: str) -> Path:
        """Where a film lies.

        Args:
            film: its name, of letters and digits alone.
        """
        with self._lock:
            if self._folder is None:
                self._folder = tempfile.TemporaryDirectory(prefix="woold-films-")
            return Path(self._folder.name) / film

    def received(self, film: str) -> int:
        """How many bytes of it have arrived."""
        path = self.path(film)
        return path.stat().st_size if path.exists() else 0

    def add(self, film: str, start: int, content: bytes) -> int:
        """Keep a piece; one that is there already is left as it is.

        Args:
            film: its name.
            start: place of the piece's first byte.
            content: the piece.

        Returns:
            How many bytes have arrived.

        Raises:
            ConflictError: the piece does not go on where the last one ended.
            InputError: too large.
        """
        path = self.path(film)
        with self._lock:
            self._forget_old(path.parent)
            received = path.stat().st_size if path.exists() else 0
            if start + len(content) <= received:
                return received
            if start != received:
                raise ConflictError.one(
                    "start", str(start), str(received), say("Go on where the last piece ended.")
                )
            every = sum(each.stat().st_size for each in path.parent.iterdir())
            is_large = received + len(content) > LARGEST_FILM or len(content) > LARGEST_PIECE
            if is_large or every + len(content) > _LARGEST_OF_ALL:
                raise InputError.one(
                    "film",
                    say("{size:,.0f} MB", size=(received + len(content)) / 1e6),
                    say("up to {most:,.0f} MB", most=LARGEST_FILM / 1e6),
                    say("Cut it to the part in which the machine wraps: half a minute is enough."),
                )
            with path.open("ab") as stream:
                stream.write(content)
            return received + len(content)

    def drop(self, film: str) -> None:
        """Throw it away."""
        path = self.path(film)
        path.unlink(missing_ok=True)
        path.with_suffix(_ASKED).unlink(missing_ok=True)

    def keep(self, film: str) -> None:
        """Keep it after it was judged."""
        self.path(film).with_suffix(_ASKED).touch()

    def close(self) -> None:
        """Throw all away: the server ends."""
        with self._lock, contextlib.suppress(OSError):
            if self._folder is not None:
                self._folder.cleanup()
                self._folder = None

    @staticmethod
    def _forget_old(folder: Path) -> None:
        for each in folder.iterdir():
            longest = _KEPT_S if each.with_suffix(_ASKED).exists() else _WAITS_S
            if time.time() - each.stat().st_mtime > longest:
                each.unlink(missing_ok=True)
