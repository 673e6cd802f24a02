"""Trials in the store: starting one, writing loads down, correcting, reading back."""

from __future__ import annotations

import functools
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from woold.case.model import Case
from woold.case.reader import answered
from woold.errors import InputError
from woold.store import Batch, Cell, Record, Store
from woold.trial.load_names import load_key
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import Trial, TrialSetup, trial_from_tables
from woold.trial.sheets import SHEETS, field_named, sheet_of_kind
from woold.units import parse_quantity
from woold.words import say

__all__ = [
    "CellCorrection",
    "TrialRecords",
    "correct_cell",
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


def recent_records(source: Batch, trial: str, kind: str, most: int) -> list[Record]:
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


@dataclass(frozen=True, slots=True)
class CellCorrection:
    """What shall stand in a record instead, and why.

    Args:
        kind: kind of the record, such as "load".
        key: which one, such as the load's number.
        field: what to correct; None takes the record out.
        value: text with its unit; "" empties the cell.
        reason: why.
    """

    kind: str
    key: str
    field: str | None
    value: str
    reason: str


def correct_cell(store: Store, trial: str, correction: CellCorrection, by: str) -> None:
    """Correct one cell of a record, or take the record out; what stood there before is kept.

    Args:
        store: where.
        trial: key of the trial.
        correction: what and why.
        by: who.

    Raises:
        InputError: no such record or field, or a value that cannot be read.
    """
    kind, key, value, reason = correction.kind, correction.key, correction.value, correction.reason
    sheet = sheet_of_kind(kind)
    with store.writing(by) as batch:
        found = [each for each in records_of(batch, trial, kind) if each.key == key.casefold()]
        if not found:
            raise InputError.one(
                kind,
                key,
                say("a record of this trial"),
                say("See: woold trial export, for the keys."),
            )
        if correction.field is None:
            batch.correct(found[0], {}, reason, void=True)
            return
        field = field_named(sheet.fields, correction.field)
        if field is None or field.name in sheet.key:
            names = ", ".join(each.name for each in sheet.fields if each.name not in sheet.key)
            raise InputError.one("field", correction.field, names, say("Choose one of them."))
        cell = Cell("")
        if value and field.is_quantity:
            number, _, unit = value.strip().partition(" ")
            cell = Cell(number, unit.strip(), parse_quantity(value, field.kind, field.name))
        elif value and field.kind in ("number", "count"):
            cell = Cell(value.strip(), "", parse_quantity(value, "ratio", field.name))
        elif value:
            if field.choices and value.strip() not in field.choices:
                raise InputError.one(
                    field.name, value, ", ".join(field.choices), say("Choose one of them.")
                )
            cell = Cell(value.strip())
        batch.correct(found[0], {field.name: cell}, reason)
