"""Trials in the store: starting one, writing loads down, correcting, reading back."""

from __future__ import annotations

import functools
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from woold.case.model import Case
from woold.case.reader import answered
from woold.errors import InputError
from woold.store import Batch, Cell, Record, Store
from woold.trial.load_names import load_key
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import Trial, TrialSetup, trial_from_tables
from woold.trial.sheets import SHEETS, sheet_of_kind
from woold.words import say

__all__ = [
    "TrialRecords",
    "asked_trials",
    "planned_loads",
    "recent_records",
    "record_key",
    "records_of",
    "setup_of",
    "trial_records",
]

TRIAL, PLAN, ATTEMPT = "trial", "plan", "attempt"
"""Kinds of records; an attempt is a wrap that does not count, but for its film breaks."""

_OLD_NAME, _NEW_NAME = "arm", "treatment"


def record_key(kind: str, cells: Mapping[str, Cell]) -> str:
    """What names a row of a kind; heights and ages to the millimetre and second."""
    parts = []
    for name in sheet_of_kind(kind).key:
        cell = cells.get(name)
        if cell is None:
            parts.append("")
        elif name in ("height", "age") and cell.si is not None:
            parts.append(f"{cell.si * (1000 if name == 'height' else 1):.0f}")
        else:
            parts.append(load_key(cell.typed) if name == "load" else cell.typed.casefold())
    return "|".join(parts)


def setup_of(source: Store | Batch, key: str) -> TrialSetup:
    """The trial that is kept under a key.

    Raises:
        InputError: no such trial.
    """
    kept = source.current(key, TRIAL)
    if not kept:
        known = ", ".join(source.trials()) if isinstance(source, Store) else ""
        raise InputError.one(
            "trial",
            key or say("nothing"),
            known or say("the key of a trial in this store"),
            say("Start one with: woold trial plan FILE.toml --start"),
        )
    cells = {name: cell.typed for name, cell in kept[0].cells.items() if cell.typed}
    cases = tuple(
        (name.removeprefix("case:"), text)
        for name, text in cells.items()
        if name.startswith("case:")
    )
    return _kept_setup(cells["tables"], cases)


@functools.lru_cache(maxsize=32)
def _kept_setup(tables: str, cases: tuple[tuple[str, str], ...]) -> TrialSetup:
    """A trial from its kept texts; the same trial is asked for at every load written down.

    What is not usual was asked about when it was started, and is not asked about again.
    """
    kept = {name: answered(Case, json.loads(text)) for name, text in cases}
    return trial_from_tables(answered(Trial, json.loads(tables)), kept)


def planned_loads(
    source: Store | Batch, key: str, numbers: Collection[str] | None = None
) -> tuple[PlannedLoad, ...]:
    """The planned order, by number; only loads of these numbers where they are given."""
    loads = [
        PlannedLoad(
            number=int(each.key),
            block=each.cells["block"].typed,
            shift=each.cells["shift"].typed,
            roll=each.cells["roll"].typed,
            treatment=each.cells["treatment"].typed,
            load_type=each.cells["load_type"].typed,
            machine=each.cells["machine"].typed if "machine" in each.cells else "",
        )
        for each in records_of(source, key, PLAN, numbers)
        if not each.void
    ]
    return tuple(sorted(loads, key=lambda load: load.number))


def records_of(
    source: Store | Batch, trial: str, kind: str, keys: Collection[str] | None = None
) -> list[Record]:
    """Records of a kind as they stand, their cells under today's names; of these keys if given."""
    return [_renamed(each) for each in source.current(trial, kind, keys)]


def recent_records(source: Store | Batch, trial: str, kind: str, most: int) -> list[Record]:
    """The newest records of a kind that count, their cells under today's names."""
    return [_renamed(each) for each in source.recent(trial, kind, most)]


def _renamed(record: Record) -> Record:
    """A record under today's names: "treatment" was called "arm" once."""
    if _OLD_NAME not in record.cells:
        return record
    cells = {_NEW_NAME if name == _OLD_NAME else name: cell for name, cell in record.cells.items()}
    return replace(record, cells=cells)


@dataclass(frozen=True, slots=True)
class TrialRecords:
    """Everything that was written down in a trial, as it stands.

    Args:
        setup: the trial.
        loads, widths, pulls, gauges: records that count, in the order of writing.
        void: records that were taken out, with the reason in each.
        corrected: number of records that stand corrected.
        planned: the planned order; empty where none is kept.
        attempts: wraps that do not count, of loads that were repeated or abandoned.
    """

    setup: TrialSetup
    loads: tuple[Record, ...]
    widths: tuple[Record, ...]
    pulls: tuple[Record, ...]
    gauges: tuple[Record, ...]
    void: tuple[Record, ...]
    corrected: int
    planned: tuple[PlannedLoad, ...] = ()
    attempts: tuple[Record, ...] = ()


def asked_trials(store: Store, keys: Sequence[str]) -> Sequence[str]:
    """Keys of the trials that are asked for; all of the store's where none is.

    Args:
        store: where.
        keys: as they were asked for.

    Raises:
        InputError: a key that is not there.
    """
    known = store.trials()
    for key in keys:
        if key not in known:
            raise InputError.one(
                "--trial",
                key,
                ", ".join(known) or say("a trial in the store"),
                say("Check the key: woold trial list shows them."),
            )
    return keys or known


def trial_records(store: Store, key: str) -> TrialRecords:
    """The records of a trial.

    Raises:
        InputError: no such trial.
    """
    setup = setup_of(store, key)
    kept = {sheet.kind: records_of(store, key, sheet.kind) for sheet in SHEETS}
    void = {each.key for each in kept["load"] if each.void}

    def counting(kind: str) -> tuple[Record, ...]:
        return tuple(
            each
            for each in kept[kind]
            if not each.void and load_key(each.cells.get("load", Cell("")).typed) not in void
        )

    return TrialRecords(
        setup=setup,
        loads=counting("load"),
        widths=counting("width"),
        pulls=counting("pull"),
        gauges=counting("gauge"),
        void=tuple(each for records in kept.values() for each in records if each.void),
        corrected=sum(each.replaces is not None for records in kept.values() for each in records),
        planned=planned_loads(store, key),
        attempts=tuple(each for each in records_of(store, key, ATTEMPT) if not each.void),
    )
