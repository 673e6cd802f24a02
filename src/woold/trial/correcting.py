"""Correcting a record: one cell, or taken out; asked about as where it is written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from woold.errors import InputError, Problem, Question
from woold.store import Batch, Cell, Record, Store
from woold.trial.hold_rows import rows_on_record
from woold.trial.load_names import load_key
from woold.trial.placed import Placed
from woold.trial.plan_checks import check_against_plan, check_types
from woold.trial.plausible import doubtful_readings
from woold.trial.records import records_of, setup_of
from woold.trial.sheet_cells import SheetRow, SheetRows
from woold.trial.sheets import SheetField, field_named, sheet_of_kind
from woold.trial.written_readings import Context, OneRow
from woold.units import parse_quantity
from woold.words import say

__all__ = ["CellCorrection", "correct_cell"]


@dataclass(frozen=True, slots=True)
class CellCorrection:
    """What shall stand in a record instead, and why.

    Args:
        kind: kind of the record, such as "load".
        key: which one, such as the load's number.
        field: what to correct; None takes the record out.
        value: text with its unit; "" empties the cell.
        reason: why.
        as_typed: fields that were asked about and are right.
    """

    kind: str
    key: str
    field: str | None
    value: str
    reason: str
    as_typed: tuple[str, ...] = ()


class _OneRecord(SheetRows):
    """A record's row: a field is named as in the record."""

    def place(self, name: str, row: int) -> str:  # noqa: ARG002
        return name


def correct_cell(store: Store, trial: str, correction: CellCorrection, by: str) -> None:
    """Correct one cell of a record, or take the record out; what stood there before is kept.

    Args:
        store: where.
        trial: key of the trial.
        correction: what and why.
        by: who.

    Raises:
        InputError: no such record or field, a value that cannot be read, or one that can hardly be
            and was not confirmed.
    """
    kind, key, reason = correction.kind, correction.key, correction.reason
    sheet = sheet_of_kind(kind)
    with store.writing(by) as batch:
        current = _record(batch, trial, kind, key)
        if correction.field is None:
            batch.correct(current, {}, reason, void=True)
            return
        field = field_named(sheet.fields, correction.field)
        if field is None or field.name in sheet.key:
            names = ", ".join(each.name for each in sheet.fields if each.name not in sheet.key)
            raise InputError.one("field", correction.field, names, say("Choose one of them."))
        cell = _cell(field, correction.value)
        _ask(batch, trial, current, {field.name: cell}, correction.as_typed)
        batch.correct(current, {field.name: cell}, reason)


def _record(batch: Batch, trial: str, kind: str, key: str) -> Record:
    """The record of that key; a load's number may be written in any way."""
    wanted = {key.casefold(), load_key(key)}
    found = [each for each in records_of(batch, trial, kind) if each.key in wanted]
    if not found:
        raise InputError.one(
            kind, key, say("a record of this trial"), say("See: woold trial export, for the keys.")
        )
    return found[0]


def _cell(field: SheetField, value: str) -> Cell:
    value = value.strip()
    if value and field.is_quantity:
        number, _, unit = value.partition(" ")
        return Cell(number, unit.strip(), parse_quantity(value, field.kind, field.name))
    if value and field.kind in ("number", "count"):
        return Cell(value, "", parse_quantity(value, "ratio", field.name))
    if value and field.choices and value not in field.choices:
        raise InputError.one(
            field.name, value, ", ".join(field.choices), say("Choose one of them.")
        )
    return Cell(value)


def _ask(
    batch: Batch,
    trial: str,
    current: Record,
    change: Mapping[str, Cell],
    as_typed: tuple[str, ...],
) -> None:
    """Raises what is asked about a record with a cell changed."""
    cells = {name: cell for name, cell in {**current.cells, **change}.items() if cell.typed}
    table = _OneRecord(sheet_of_kind(current.kind), current.kind)
    table.columns = {each.name: place for place, each in enumerate(table.sheet.fields)}
    load = load_key(cells["load"].typed) if "load" in cells else ""
    known = frozenset(cells) - change.keys()
    setup = setup_of(batch, trial)
    row = OneRow(current.kind, load, cells, table, 1, known)
    rows = [row, *rows_on_record(batch, trial, {(current.kind, current.key)})]
    if current.kind != "load":
        rows += [OneRow.of_record(each) for each in batch.current(trial, "load", {load})]
    problems: list[Problem] = doubtful_readings(Context(setup), rows, as_typed)
    if current.kind == "load" and not {"treatment", "load_type"}.isdisjoint(change):
        placed = [Placed(table, SheetRow(1, cells), "load", current.key)]
        problems += check_types(setup, placed)
        problems += check_against_plan(setup, batch, trial, placed)
    left = [
        each for each in problems if not (isinstance(each, Question) and each.field in as_typed)
    ]
    if left:
        raise InputError.many(left)
