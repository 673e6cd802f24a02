"""Taking a written sheet into the store: judged as a whole, kept wholly or not at all."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from woold.errors import InputError, OnRecord, Problem, Question
from woold.rows.document import JsonDocument
from woold.store import Batch, Cell, Record, Store
from woold.trial.attempts import (
    is_first_of_repeated,
    reason_of,
    set_first_wrap_aside,
    sorted_attempts,
)
from woold.trial.confirmed import Confirmed, grouped
from woold.trial.hold_rows import rows_on_record
from woold.trial.load_names import load_key
from woold.trial.placed import Placed, Rows, placed_rows
from woold.trial.plan_checks import (
    check_against_plan,
    check_types,
    loads_that_others_name,
    named_twice,
)
from woold.trial.plausible import doubtful_readings
from woold.trial.reading import WrittenTrial
from woold.trial.records import ATTEMPT, records_of, setup_of
from woold.trial.setup import TrialSetup
from woold.trial.sheets import ABANDONED
from woold.trial.written_readings import Context, OneRow
from woold.words import say

__all__ = ["Imported", "import_written", "take_rows"]


@dataclass
class Imported(JsonDocument):
    """What an import did.

    Args:
        trial: key of the trial.
        added: new records by kind.
        completed: records with cells filled in that were empty.
        corrected: records corrected for the reason given.
        known: rows that were on record already.
        unused: rows with nothing measured.
        file_known: the very same file was read before.
        unread: sheets of other names, which were not read.
        read_as: how a text file was read, a sentence; "" for plain commas and for workbooks.
        set_aside: readings of earlier wraps that count no more, since their load was wrapped again.
        said: what else was found in the file, each a sentence.
    """

    told_as = "imported"

    trial: str
    added: dict[str, int] = field(default_factory=dict)
    completed: int = 0
    corrected: int = 0
    known: int = 0
    unused: int = 0
    file_known: bool = False
    unread: tuple[str, ...] = ()
    read_as: str = ""
    set_aside: int = 0
    said: tuple[str, ...] = ()


def import_written(
    store: Store,
    written: WrittenTrial,
    by: str,
    trial: str = "",
    as_typed: Collection[str] = (),
    reason: str = "",
) -> Imported:
    """Take a file's rows into the store.

    Args:
        store: where.
        written: the file as read.
        by: who imports it.
        trial: key of the trial; needed where the file does not say it.
        as_typed: cells that were asked about and are right, such as "Loads!F12".
        reason: why cells that differ from the record shall correct it.

    Returns:
        What was done.

    Raises:
        InputError: anything that cannot be used, each by sheet and cell; then nothing is kept.
    """
    key = trial or written.trial
    if not key:
        raise InputError.one(
            "--trial",
            say("nothing, and no sheet in the file that names its trial"),
            ", ".join(store.trials()) or say("the key of a trial in this store"),
            say("Give --trial KEY."),
        )
    if trial and written.trial and trial != written.trial:
        raise InputError.one(
            "--trial",
            trial,
            say("{trial}, for which this sheet was made", trial=written.trial),
            say("Check the file."),
        )
    with store.writing(by) as batch:
        return take_rows(batch, written, key, as_typed, reason)


def take_rows(
    batch: Batch, written: WrittenTrial, key: str, as_typed: Collection[str] = (), reason: str = ""
) -> Imported:
    """Add rows as read to a batch; see :func:`import_written`."""
    setup = setup_of(batch, key)
    confirmed = Confirmed(as_typed)
    problems = list(written.problems)
    rows = placed_rows(written.sheets, problems)
    rows.measured = sorted_attempts(rows.measured, problems)
    has_loads = any(table.sheet.kind == "load" for table in written.sheets)
    rows.measured += loads_that_others_name(batch, key, rows, problems, has_loads=has_loads)
    problems += named_twice(rows.measured)
    problems += check_types(setup, rows.measured)
    unplanned = check_against_plan(setup, batch, key, rows.measured)
    problems += unplanned
    # Only what is written about is looked up: the cost does not grow with the trial.
    kept: Kept = {}
    for kind in {each.kind for each in rows.measured}:
        named = {each.key for each in rows.measured if each.kind == kind}
        kept[kind] = {each.key: each for each in records_of(batch, key, kind, named)}
    # A load that may be another one is held against others only when that is settled.
    unsure = {each.field for each in unplanned if each.field not in confirmed}
    doubtful = {
        each.key for each in rows.measured
        if each.kind == "load" and unsure & {each.place("treatment"), each.place("load_type")}
    }  # fmt: skip
    held = [each for each in _rows_to_hold(batch, key, rows, kept) if each.load not in doubtful]
    problems += doubtful_readings(Context(setup), held, confirmed)
    at = _Record(batch, key, setup, kept, written.name)
    actions = _against_record(at, rows.measured, reason, problems)
    left = [
        each for each in problems if not (isinstance(each, Question) and each.field in confirmed)
    ]
    if left:
        raise InputError.many(grouped(left))
    return _keep(batch, key, written, rows, actions, reason)


Kept = dict[str, dict[str, Record]]


@dataclass(frozen=True, slots=True)
class _Action:
    """What to write: a new record, or with `current` cells that change in it, and why."""

    row: Placed
    cells: dict[str, Cell]
    current: Record | None = None
    why: str = ""
    is_repeat: bool = False
    void: bool = False


def _rows_to_hold(batch: Batch, trial: str, rows: Rows, kept: Kept) -> list[OneRow]:
    """What was written, and the newest of what is on record besides."""
    found = []
    for each in rows.measured:
        kind = "load" if each.kind == ATTEMPT else each.kind
        current = kept.get(each.kind, {}).get(each.key)
        same = frozenset(
            name
            for name, cell in each.cells.items()
            if current is not None and _same(cell, current.cells.get(name))
        )
        load = load_key(each.cells["load"].typed) if "load" in each.cells else ""
        load = load if each.kind != ATTEMPT else each.key
        found.append(OneRow(kind, load, each.cells, each.table, each.row.number, same))
    written = {(each.kind, each.key) for each in rows.measured}
    found += rows_on_record(batch, trial, written)
    # What is read on a load is held against its kind, however long ago the load was written down.
    there = {each.load for each in found if each.kind == "load"}
    named = {each.load for each in found if each.kind in ("width", "pull")} - there
    found += [OneRow.of_record(each) for each in records_of(batch, trial, "load", named)]
    return found


def _keep(
    batch: Batch,
    key: str,
    written: WrittenTrial,
    rows: Rows,
    actions: Sequence[_Action],
    reason: str,
) -> Imported:
    """Writes what was judged to be right."""
    done = Imported(
        key,
        unused=rows.unused,
        unread=tuple(written.unread),
        read_as=written.read_as,
        said=(*written.said, *rows.said),
    )
    done.file_known = not batch.from_file(key, written.sha256, written.name)
    for each in actions:
        row, current = each.row, each.current
        if each.is_repeat:
            done.set_aside += set_first_wrap_aside(batch, key, row, current, rows.measured)
        if current is None:
            batch.add(key, row.kind, row.key, each.cells)
            done.added[row.kind] = done.added.get(row.kind, 0) + 1
        else:
            batch.correct(current, each.cells, each.why, void=each.void)
            if each.why == reason or each.is_repeat or each.void:
                done.corrected += 1
            else:
                done.completed += 1
    done.known = len(rows.measured) - len({id(each.row) for each in actions})
    return done


@dataclass(frozen=True, slots=True)
class _Record:
    """What rows are held against: the batch, its trial, what is kept; and their file."""

    batch: Batch
    trial: str
    setup: TrialSetup
    kept: Kept
    file: str


def _against_record(
    at: _Record, placed: Sequence[Placed], reason: str, problems: list[Problem]
) -> list[_Action]:
    """What to add, complete or correct; cells that differ from the record are problems."""
    actions: list[_Action] = []
    asked = {problem.field for problem in problems}
    repeated = {
        each.key
        for each in placed
        if is_first_of_repeated(each, at.kept.get("load", {}).get(each.key))
    }
    counting = {each.key for each in placed if each.kind == "load"}
    for row in placed:
        cells = _with_known_names(at.setup, row)
        current = at.kept[row.kind].get(row.key)
        load = load_key(row.cells["load"].typed) if "load" in row.cells else ""
        if row.kind == ATTEMPT and load not in counting:
            actions += _abandoned(at, row, load, cells)
        if current is not None and load in repeated and row.kind in ("load", "width", "pull"):
            emptied = {name: Cell("") for name in current.cells if name not in cells}
            why = say("wrapped again: {reason}", reason=_reason_for(placed, load))
            actions.append(_Action(row, emptied | cells, current, why, row.kind == "load"))
        elif current is None:
            is_repeat = row.kind == "load" and load in repeated
            actions.append(_Action(row, cells, is_repeat=is_repeat))
        else:
            told = {name: cell for name, cell in cells.items() if name not in row.table.sheet.key}
            changed, new = _differences(told, current, at.batch)
            if changed and not reason:
                problems += _on_record(row, changed, current, asked)
            elif changed or new:
                later = say("filled in later, from {file}", file=at.file)
                actions.append(_Action(row, changed | new, current, reason if changed else later))
    return actions


def _reason_for(placed: Sequence[Placed], load: str) -> str:
    return next(reason_of(each.cells) for each in placed if (each.kind, each.key) == ("load", load))


def _abandoned(at: _Record, row: Placed, load: str, cells: Mapping[str, Cell]) -> list[_Action]:
    """Takes a load out that was written down before somebody said that it was abandoned."""
    if "attempt" not in cells or cells["attempt"].typed != ABANDONED:
        return []
    for current in at.batch.current(at.trial, "load", {load}):
        is_it = not current.void and all(
            _same(cell, current.cells.get(name))
            for name, cell in cells.items()
            if name not in ("attempt", "reason", "notes", "load")
        )
        if is_it:
            why = say("abandoned: {reason}", reason=row.reason)
            said = {name: cells[name] for name in ("attempt", "reason") if name in cells}
            return [_Action(row, said, current, why, void=True)]
    return []


def _differences(
    cells: Mapping[str, Cell], current: Record, batch: Batch
) -> tuple[dict[str, Cell], dict[str, Cell]]:
    """Cells that differ from the record, and those that are empty there."""
    differing = {
        name: cell for name, cell in cells.items() if not _same(cell, current.cells.get(name))
    }
    new = {
        name: cell
        for name, cell in differing.items()
        if not current.cells.get(name, Cell("")).typed
    }
    changed = {name: cell for name, cell in differing.items() if name not in new}
    if current.replaces is not None and changed:
        changed = _never_on_record(changed, batch.versions(current))
    return changed, new


def _on_record(
    row: Placed, changed: Mapping[str, Cell], current: Record, asked: Collection[str]
) -> list[Problem]:
    """Cells that differ from the record, unless something else was asked about them."""
    found: list[Problem] = []
    for name, cell in changed.items():
        before = current.cells[name]
        if {row.place(name), row.table.place(name, row.table.unit_row)} & set(asked):
            continue
        found.append(
            OnRecord(
                row.place(name),
                f"{cell.typed} {cell.unit}".strip(),
                say("{value}, which is on record", value=f"{before.typed} {before.unit}".strip()),
                say("Look which of the two is right."),
            )
        )
    return found


def _with_known_names(setup: TrialSetup, row: Placed) -> dict[str, Cell]:
    cells = dict(row.cells)
    if "load_type" in cells:
        found = setup.trial.type_named(cells["load_type"].typed)
        if found is not None:
            cells["load_type"] = Cell(found.name)
    if row.reason and "reason" not in cells:
        cells["reason"] = Cell(row.reason)
    return cells


def _same(new: Cell, old: Cell | None) -> bool:
    if old is None:
        return False
    if new.si is not None and old.si is not None:
        return math.isclose(new.si, old.si, rel_tol=1e-9, abs_tol=1e-12)
    return new.typed == old.typed


def _never_on_record(changed: dict[str, Cell], versions: Iterable[Record]) -> dict[str, Cell]:
    """Cells that do not merely repeat what was corrected since."""
    before = list(versions)
    return {
        name: cell
        for name, cell in changed.items()
        if not any(_same(cell, each.cells.get(name)) for each in before)
    }
