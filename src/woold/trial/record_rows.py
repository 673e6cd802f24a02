"""Records of a trial's loads as they were typed, in a table for page and report alike."""

from __future__ import annotations

from collections.abc import Sequence

from woold.rows.blocks import Table
from woold.rows.wording import Wording
from woold.store import Record
from woold.trial.attempts import reason_of
from woold.trial.records import ATTEMPT
from woold.trial.sheets import SheetField, sheet_of_kind

__all__ = ["load_record_table"]


def load_record_table(loads: Sequence[Record], say: Wording, *, with_state: bool = False) -> Table:
    """One row a load; columns that nobody filled in are left out, one unit stands in the head.

    Args:
        loads: records of loads.
        say: words.
        with_state: say as well what was noted, who wrote it, and whether it was changed.
    """
    fields = [
        field
        for field in sheet_of_kind("load").fields
        if (with_state or field.name != "notes")
        and any(each.cells.get(field.name) and each.cells[field.name].typed for each in loads)
    ]
    heads, columns = [], []
    for field in fields:
        head, cells = _column(field, loads, say)
        heads.append(head)
        columns.append(cells)
    words = [index for index, field in enumerate(fields) if field.kind in ("word", "note")]
    if with_state:
        words += [len(heads), len(heads) + 1]
        heads += [say("by"), say("state")]
        columns += [[_who(each, say) for each in loads], [_state(each, say) for each in loads]]
    rows = tuple(zip(*columns, strict=True))
    return Table(say("Loads"), tuple(heads), rows, tuple(words), is_small=True)


def _column(field: SheetField, loads: Sequence[Record], say: Wording) -> tuple[str, list[str]]:
    cells = [each.cells.get(field.name) for each in loads]
    units = {cell.unit for cell in cells if cell is not None and cell.typed}
    shared = units.pop() if len(units) == 1 else None
    head = f"{say(field.label)} [{shared}]" if shared else say(field.label)
    texts = [
        ""
        if cell is None
        else say(cell.typed)
        if field.choices
        else _shown(field, cell.typed, say)
        if shared is not None or not cell.unit or cell.unit in cell.typed
        else f"{_shown(field, cell.typed, say)} {cell.unit}"
        for cell in cells
    ]
    return head, texts


def _shown(field: SheetField, typed: str, say: Wording) -> str:
    """What was typed; a number with the decimal mark of its surroundings."""
    return say.typed(typed) if field.is_quantity or field.kind == "number" else typed


def _who(record: Record, say: Wording) -> str:
    """Who typed it, and who sent it where that is somebody else."""
    if not record.typed_by or record.typed_by == record.by:
        return record.by
    return say("{typist}, sent by {sender}", typist=record.typed_by, sender=record.by)


def _state(record: Record, say: Wording) -> str:
    if record.kind == ATTEMPT:
        return say("does not count: {reason}", reason=reason_of(record.cells))
    if record.void:
        return say("taken out: {reason}", reason=record.reason)
    if record.replaces is None:
        return ""
    return say("corrected: {reason}", reason=record.reason)
