"""Taking a written sheet into the store: judged as a whole, kept wholly or not at all."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from woold.errors import InputError, OnRecord, Problem, Question
from woold.rows.document import JsonDocument
from woold.store import Batch, Cell, Record, Store
from woold.trial.plausible import doubtful_values
from woold.trial.reading import WrittenTrial
from woold.trial.records import planned_loads, record_key, records_of, setup_of
from woold.trial.setup import TrialSetup
from woold.trial.sheet_cells import SheetRow, SheetRows
from woold.trial.sheets import Sheet
from woold.words import say

__all__ = ["Imported", "import_written", "take_rows"]

_PRINTED = frozenset(
    ("load", "treatment", "load_type", "block", "shift", "roll", "machine", "operator")
)
"""Cells that may be filled beforehand: a row with nothing else was not used yet."""

_NEEDED = {"width": ("film_width",), "pull": ("force", "age"), "gauge": ("reading",)}


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
    done = Imported(key, unread=tuple(written.unread), read_as=written.read_as)
    judge = _Judge(setup, written, frozenset(as_typed))
    rows = judge.usable_rows(batch, key, done)
    # Only what is written about is looked up: the cost does not grow with the trial.
    kept = {}
    for kind in {table.sheet.kind for table in written.sheets}:
        named = {name for table, _, name in rows if table.sheet.kind == kind}
        kept[kind] = {each.key: each for each in records_of(batch, key, kind, named)}
    actions = judge.against_record(rows, kept, reason, batch)
    if judge.problems:
        raise InputError.many(sorted(judge.problems, key=_by_cell))
    done.file_known = not batch.from_file(key, written.sha256, written.name)
    for kind, name, cells, current, why in actions:
        if current is None:
            batch.add(key, kind, name, cells)
            done.added[kind] = done.added.get(kind, 0) + 1
        else:
            batch.correct(current, cells, why)
            if why == reason:
                done.corrected += 1
            else:
                done.completed += 1
    done.known = len(rows) - len(actions)
    return done


Action = tuple[str, str, dict[str, Cell], Record | None, str]
Placed = tuple[SheetRows, SheetRow, str]


class _Judge:
    """Looks at the rows together; gathers problems and questions."""

    def __init__(self, setup: TrialSetup, written: WrittenTrial, as_typed: frozenset[str]) -> None:
        self.setup = setup
        self.written = written
        self.as_typed = as_typed
        self.problems: list[Problem] = list(written.problems)

    def usable_rows(self, batch: Batch, trial: str, done: Imported) -> list[Placed]:
        """Rows with something measured, each named once, all of them complete."""
        placed: list[Placed] = []
        unused_loads: dict[str, Placed] = {}
        for table in self.written.sheets:
            self._missing_columns(table)
            for row in table.rows:
                if not self._is_used(table.sheet, row):
                    done.unused += 1
                    if table.sheet.kind == "load" and "load" in row.cells:
                        unused_loads[row.cells["load"].typed.casefold()] = (table, row, "")
                elif self._is_complete(table, row):
                    placed.append((table, row, record_key(table.sheet.kind, dict(row.cells))))
        placed += self._loads_that_others_name(batch, trial, placed, unused_loads)
        self._named_once(placed)
        self._known_types(placed)
        self._as_planned(batch, trial, placed)
        for table in self.written.sheets:
            own = [row for each, row, _ in placed if each is table]
            for doubt in doubtful_values(self.setup, table, own):
                if not (isinstance(doubt, Question) and doubt.field in self.as_typed):
                    self.problems.append(doubt)
        return placed

    def _missing_columns(self, table: SheetRows) -> None:
        for each in table.sheet.fields:
            if each.required and each.name not in table.columns:
                self.problems.append(
                    Problem(
                        table.title,
                        say('no column "{label}"', label=each.label),
                        say(each.doc),
                        say("Put it back."),
                    )
                )

    @staticmethod
    def _is_used(sheet: Sheet, row: SheetRow) -> bool:
        needed = _NEEDED.get(sheet.kind)
        if needed is None:
            return not row.cells.keys() <= _PRINTED
        return any(name in row.cells for name in needed)

    def _is_complete(self, table: SheetRows, row: SheetRow) -> bool:
        missing = [
            each for each in table.sheet.fields if each.required and each.name not in row.cells
        ]
        refused = {problem.field for problem in self.problems} if missing else set()
        for each in missing:
            where = table.place(each.name, row.number)
            if where not in refused and each.name in table.columns:
                todo = say("Fill it in, or empty the row.")
                self.problems.append(Problem(where, say("nothing"), say(each.doc), todo))
        return not missing

    def _loads_that_others_name(
        self, batch: Batch, trial: str, placed: list[Placed], unused: dict[str, Placed]
    ) -> list[Placed]:
        """Printed loads that widths or pulls were read on; and a word about loads not there."""
        written = {
            row.cells["load"].typed.casefold()
            for table in self.written.sheets
            if table.sheet.kind == "load"
            for row in table.rows
            if "load" in row.cells
        } - unused.keys()
        named = {
            row.cells["load"].typed.casefold()
            for table, row, _ in placed
            if table.sheet.kind in ("width", "pull")
        }
        kept = {each.key for each in batch.current(trial, "load", named)}
        more: list[Placed] = []
        for table, row, _ in placed:
            if table.sheet.kind not in ("width", "pull"):
                continue
            load = row.cells["load"].typed.casefold()
            if load in written or load in kept:
                continue
            if load in unused:
                found, line, _ = unused[load]
                written.add(load)
                if self._is_complete(found, line):
                    more.append((found, line, load))
            else:
                self.problems.append(
                    Problem(
                        table.place("load", row.number),
                        say("load {typed}", typed=row.cells["load"].typed),
                        say("a load of the Loads sheet"),
                        say("Correct the number, or write the load down."),
                    )
                )
        return more

    def _named_once(self, placed: list[Placed]) -> None:
        first: dict[tuple[str, str], str] = {}
        for table, row, key in placed:
            name = table.sheet.key[0]
            where = table.place(name, row.number)
            before = first.setdefault((table.sheet.kind, key), where)
            if before is not where:
                words = ", ".join(
                    f"{part} {row.cells[part].typed}"
                    for part in table.sheet.key
                    if part in row.cells
                )
                self.problems.append(
                    Problem(
                        where,
                        say("{words} again", words=words),
                        say("once; it stands in {before}", before=before),
                        say("Renumber it."),
                    )
                )

    def _known_types(self, placed: list[Placed]) -> None:
        names = ", ".join(each.name for each in self.setup.trial.load_types)
        for table, row, _ in placed:
            if table.sheet.kind == "load":
                typed = row.cells["load_type"].typed
                found = self.setup.trial.type_named(typed)
                if found is None:
                    where = table.place("load_type", row.number)
                    self.problems.append(
                        Problem(where, repr(typed), names, say("Choose one of them."))
                    )

    def _as_planned(self, batch: Batch, trial: str, placed: list[Placed]) -> None:
        named = {key for table, _, key in placed if table.sheet.kind == "load"}
        planned = {str(load.number): load for load in planned_loads(batch, trial, named)}
        for table, row, key in placed:
            if table.sheet.kind != "load" or key not in planned:
                continue
            load = planned[key]
            for name, wanted in (("treatment", load.treatment), ("load_type", load.load_type)):
                typed = row.cells[name].typed
                known = name == "treatment" or self.setup.trial.type_named(typed) is not None
                if known and typed.casefold() != wanted.casefold():
                    self._ask(
                        table.place(name, row.number),
                        say("{typed}, where the plan says {wanted}", typed=typed, wanted=wanted),
                        wanted,
                        say("Were two loads swapped?"),
                    )

    def _ask(self, where: str, given: str, allowed: str, question: str) -> None:
        if where in self.as_typed:
            return
        self.problems.append(Question(where, given, allowed, question))

    def against_record(
        self,
        placed: list[Placed],
        kept: dict[str, dict[str, Record]],
        reason: str,
        batch: Batch,
    ) -> list[Action]:
        """What to add, complete or correct."""
        actions: list[Action] = []
        asked = {problem.field for problem in self.problems}
        for table, row, key in placed:
            kind, cells = table.sheet.kind, self._with_known_names(row)
            current = kept[kind].get(key)
            if current is None:
                actions.append((kind, key, cells, None, ""))
                continue
            differing = {
                name: cell
                for name, cell in cells.items()
                if not _same(cell, current.cells.get(name))
            }
            new = {
                name: cell
                for name, cell in differing.items()
                if not current.cells.get(name, Cell("")).typed
            }
            changed = {name: cell for name, cell in differing.items() if name not in new}
            if current.replaces is not None and changed:
                changed = _never_on_record(changed, batch.versions(current))
            if changed and not reason:
                for name, cell in changed.items():
                    before = current.cells[name]
                    places = {table.place(name, line) for line in (row.number, table.unit_row)}
                    if places & asked:
                        continue
                    self.problems.append(
                        OnRecord(
                            table.place(name, row.number),
                            f"{cell.typed} {cell.unit}".strip(),
                            say(
                                "{value}, which is on record",
                                value=f"{before.typed} {before.unit}".strip(),
                            ),
                            say("Look which of the two is right."),
                        )
                    )
            elif changed or new:
                why = (
                    reason
                    if changed
                    else say("filled in later, from {file}", file=self.written.name)
                )
                actions.append((kind, key, changed | new, current, why))
        return actions

    def _with_known_names(self, row: SheetRow) -> dict[str, Cell]:
        cells = dict(row.cells)
        if "load_type" in cells:
            found = self.setup.trial.type_named(cells["load_type"].typed)
            if found is not None:
                cells["load_type"] = Cell(found.name)
        return cells


def _by_cell(problem: Problem) -> tuple[str, int, int, str]:
    match = re.fullmatch(r"(.*)!([A-Z]+)(\d+)", problem.field)
    if match is None:
        return problem.field, 0, 0, ""
    return match[1], int(match[3]), len(match[2]), match[2]


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
