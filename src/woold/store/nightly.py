"""A proven copy of the store every night, the latest ones kept."""

from __future__ import annotations

import datetime
import logging
import threading
from pathlib import Path

from sqlalchemy import Engine

from woold.errors import WooldError
from woold.store.backup import back_up, name_of_copy

__all__ = ["Nightly"]

log = logging.getLogger("woold.store")

_AT_HOUR = 2
_KEPT = 14
_DAY = datetime.timedelta(hours=24)
_LOOK_AGAIN_S = 60.0


class Nightly:
    """Copies a store into a folder at two in the morning, and at once where no fresh copy is there.

    Args:
        engine: of an opened store.
        folder: where the copies lie; on another disk than the store.
        kept: how many of the latest are kept.
    """

    def __init__(self, engine: Engine, folder: Path | str, kept: int = _KEPT) -> None:
        self.engine = engine
        self.folder = Path(folder)
        self.kept = kept
        self.failure = ""
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="woold-backup", daemon=True)

    def copies(self) -> list[Path]:
        """The copies that are there, oldest first."""
        return sorted(self.folder.glob("woold-*T*Z.sqlite"))

    def last(self) -> datetime.datetime | None:
        """When the latest copy was made; None where there is none."""
        for each in reversed(self.copies()):
            try:
                made = datetime.datetime.strptime(each.stem, "woold-%Y%m%dT%H%M%SZ")
            except ValueError:
                continue
            return made.replace(tzinfo=datetime.UTC)
        return None

    def is_due(self, now: datetime.datetime) -> bool:
        """Whether a copy shall be made: none for a day, or none since two o'clock this morning."""
        last = self.last()
        if last is None or now - last > _DAY:
            return True
        local = now.astimezone()
        night = local.replace(hour=_AT_HOUR, minute=0, second=0, microsecond=0)
        return last < night <= local

    def make(self, now: datetime.datetime) -> Path:
        """Make a copy, and let go of the oldest beyond those that are kept.

        Raises:
            WooldError: it could not be made; older copies are left as they are.
        """
        path = self.folder / name_of_copy(now)
        back_up(self.engine, path)
        for old in self.copies()[: -self.kept]:
            old.unlink(missing_ok=True)
        return path

    def start(self) -> None:
        """Begin to look at the clock."""
        self._thread.start()

    def close(self) -> None:
        """Look at it no more."""
        self._stop.set()

    def _run(self) -> None:
        while not self._stop.is_set():
            now = datetime.datetime.now(datetime.UTC)
            try:
                if self.is_due(now):
                    self.make(now)
                    self.failure = ""
            except (WooldError, OSError) as error:
                # It is tried again in a minute; the health page tells until it succeeds.
                if not self.failure:
                    log.error("no copy of the store could be made: %s", error)
                self.failure = str(error)
            self._stop.wait(_LOOK_AGAIN_S)
