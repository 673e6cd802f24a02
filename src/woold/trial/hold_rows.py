"""Records that what is written down is held against: the newest, whatever the trial's size."""

from __future__ import annotations

from collections.abc import Collection

from woold.store import Batch, Store
from woold.trial.records import recent_records
from woold.trial.written_readings import OneRow

__all__ = ["rows_on_record"]

_RECENT = {"load": 120, "width": 160, "pull": 480, "gauge": 200}
"""Newest records that readings are held against, by kind."""


def rows_on_record(
    source: Store | Batch, trial: str, written: Collection[tuple[str, str]] = ()
) -> list[OneRow]:
    """The newest records of a trial that count.

    Args:
        source: where.
        trial: key of the trial.
        written: kind and key of what is written down now, and is left out.
    """
    return [
        OneRow.of_record(each)
        for kind, most in _RECENT.items()
        for each in recent_records(source, trial, kind, most)
        if (kind, each.key) not in written
    ]
