"""Values that can hardly be: asked about, never changed, and alike wherever they are typed."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace

from woold.errors import Problem, Question
from woold.store import Cell
from woold.trial.alike import Against, Usual
from woold.trial.odd_places import odd_ages, odd_bags, odd_heights
from woold.trial.odd_readings import Odd, odd_readings, quantities
from woold.trial.sheet_cells import SheetRows
from woold.trial.sheets import SheetField, field_of
from woold.trial.would_fit import unit_factor
from woold.trial.written_readings import Context, OneRow
from woold.units import show, significant
from woold.words import say

__all__ = ["doubtful_readings"]

_TOGETHER = (
    ("load", "film_mass", "tare"), ("load", "mark_before", "mark_after"),
    ("load", "turns", "cycle_time"), ("pull", "height", "force"), ("pull", "force", "age"),
    ("pull", "height", "age"), ("width", "height", "film_width"),
)  # fmt: skip
"""Cells of a row that are easily typed into one another."""


def doubtful_readings(
    context: Context, rows: Sequence[OneRow], as_typed: Container[str]
) -> list[Problem]:
    """What cannot be, and questions about what can hardly be.

    Args:
        context: the trial.
        rows: everything written now, and what is on record to hold it against.
        as_typed: cells that somebody confirmed.
    """
    context.learn(rows)
    return _Doubts(context, rows, as_typed).look()


class _Doubts:
    """Looks at the rows together; gathers problems and questions."""

    def __init__(self, context: Context, rows: Sequence[OneRow], as_typed: Container[str]) -> None:
        self.context, self.as_typed = context, as_typed
        self.rows: dict[str, list[OneRow]] = defaultdict(list)
        for row in rows:
            self.rows[row.kind].append(row)
        self.problems: list[Problem] = []
        self.refused: set[tuple[int, str, int]] = set()
        self.bags: set[tuple[int, int]] = set()

    def look(self) -> list[Problem]:
        """Everything that is wrong or asked about."""
        found = self._odd()
        for kind, rows in self.rows.items():
            for row in rows:
                if row.table is not None:
                    self._impossible(kind, row)
        odd: dict[tuple[str, str], list[Odd]] = defaultdict(list)
        for each in found:
            if not self._is_refused(each.row, each.name):
                odd[each.row.kind, each.name].append(each)
        for (kind, name), some in odd.items():
            self._ask_about(field_of(kind, name), kind, some)
        return self.problems

    def _is_refused(self, row: OneRow, name: str) -> bool:
        return (id(row.table), name, row.number) in self.refused

    def _refuse(self, row: OneRow, name: str, given: str, allowed: str, todo: str) -> None:
        self.refused.add((id(row.table), name, row.number))
        self.problems.append(Problem(row.place(name), given, allowed, todo))

    def _impossible(self, kind: str, row: OneRow) -> None:
        """Values that nothing can have, and pairs of which one is missing."""
        for name, cell in row.cells.items():
            field = field_of(kind, name)
            if cell.si is None or field.low is None or field.low < 0.0 or not row.is_new(name):
                continue
            if cell.si < 0.0 or (cell.si == 0.0 and field.low > 0.0):
                todo = say("Leave the cell empty where nothing was measured.")
                self._refuse(row, name, _typed(cell), _limits(field), todo)
        if kind != "load":
            return
        gross, tare = row.cells.get("film_mass"), row.cells.get("tare")
        is_bag = (id(row.table), row.number) in self.bags
        if gross and tare and gross.si and tare.si and gross.si <= tare.si and not is_bag:
            self._refuse(
                row,
                "film_mass",
                say("{typed}, no more than its bag or tray", typed=_typed(gross)),
                say("more than the bag or tray alone"),
                say("Check both cells."),
            )
        before, after = row.cells.get("mark_before"), row.cells.get("mark_after")
        if (before is None) != (after is None):
            name = "mark_before" if before is None else "mark_after"
            self._refuse(
                row,
                name,
                say("nothing, beside the other distance"),
                say("both distances between marks, or neither"),
                say("Fill it in, or empty the other."),
            )

    def _odd(self) -> list[Odd]:
        """Everything that is asked about, by one rule for each kind of reading."""
        every = quantities(self.context)
        bags = odd_bags(self.context, self.rows["load"], every[0])
        # A wrong bag makes the net mass wrong: the bag is asked about.
        self.bags = {(id(each.row.table), each.row.number) for each in bags}
        found: list[Odd] = list(bags)
        for quantity in every:
            trusted = {quantity.name} if self._is_trusted(quantity.kind, quantity.name) else set()
            some = odd_readings(quantity, self.context, self.rows[quantity.kind], trusted)
            if quantity.name == "film_mass":
                some = [one for one in some if (id(one.row.table), one.row.number) not in self.bags]
            if quantity.name in _PAIRS:
                some = [self._blamed(one, _PAIRS[quantity.name]) for one in some]
            found += some
        for kind in ("width", "pull"):
            found += odd_heights(self.context, self.rows[kind])
        found += odd_ages(self.rows["pull"])
        told = {(id(each.row.table), each.name, each.row.number) for each in found}
        found += [each for each in self._beyond_range()
                  if (id(each.row.table), each.name, each.row.number) not in told]  # fmt: skip
        return found

    def _is_trusted(self, kind: str, name: str) -> bool:
        """Whether somebody confirmed the column as a whole."""
        tables = {id(row.table): row.table for row in self.rows[kind] if row.table is not None}
        return any(table.place(name, table.unit_row) in self.as_typed for table in tables.values())

    def _blamed(self, odd: Odd, other: str) -> Odd:
        """Of two readings whose ratio is off, the one that is farther from other loads'."""
        off = {}
        for name in (odd.name, other):
            values = [
                value for row in self.rows["load"]
                if row is not odd.row and (value := row.value(name)) and value > 0.0
            ]  # fmt: skip
            own = odd.row.value(name)
            if len(values) < 3 or not own or own <= 0.0:
                return odd
            off[name] = abs(math.log(own / statistics.median(values)))
        return replace(odd, name=other, fits=()) if off[other] > off[odd.name] + 0.1 else odd

    def _beyond_range(self) -> list[Odd]:
        """Values outside of what the trade sees, whatever the others are."""
        found = []
        for kind, rows in self.rows.items():
            for row in rows:
                for name, cell in row.cells.items() if row.table is not None else ():
                    field = field_of(kind, name)
                    if cell.si is None or field.low is None or field.high is None:
                        continue
                    if field.low <= cell.si <= field.high or not row.is_new(name):
                        continue
                    usual = Usual(
                        math.sqrt(max(field.low, 1e-9) * field.high), field.low, field.high,
                        Against.ALIKE,
                    )  # fmt: skip
                    found.append(Odd(row, name, math.nan, usual, ()))
        return found

    def _ask_about(self, field: SheetField, kind: str, odd: Sequence[Odd]) -> None:
        by_table: dict[int, list[Odd]] = defaultdict(list)
        for each in odd:
            by_table[id(each.row.table)].append(each)
        for some in by_table.values():
            table = some[0].row.table
            assert table is not None
            filled = sum(field.name in row.cells and row.table is table for row in self.rows[kind])
            if field.is_quantity and len(some) > 2 and len(some) * 2 > filled:
                self._ask_about_column(field, table, some, filled)
                continue
            exchanged = self._exchanged(kind, some, odd)
            for each in some:
                if each.row.place(field.name) not in self.as_typed:
                    self._ask_about_cell(field, each, exchanged.get(each.row.number, ""))

    def _ask_about_column(
        self, field: SheetField, table: SheetRows, odd: Sequence[Odd], filled: int
    ) -> None:
        """One wrong unit, not many wrong readings."""
        where = table.place(field.name, table.unit_row)
        left = [each for each in odd if each.row.place(field.name) not in self.as_typed]
        if where in self.as_typed or not left:
            return
        first = odd[0]
        given, usual = _told(field, first)
        unit = table.units.get(field.name, "") or first.row.cells[field.name].unit
        todo = say("Is the unit of this column right?")
        if first.fits:
            todo += " " + say("{fits} would fit.", fits=_either(first.fits))
        self.problems.append(
            Question(
                where,
                say(
                    "{unit}: {count} of {filled} values, such as {given}",
                    unit=unit,
                    count=len(odd),
                    filled=filled,
                    given=given,
                ),
                say("values of {allowed}", allowed=usual),
                todo,
            )
        )

    def _exchanged(self, kind: str, odd: Sequence[Odd], _every: Sequence[Odd]) -> Mapping[int, str]:
        """What the other cell of the row would be, where both were typed into one another."""
        found: dict[int, str] = {}
        for each in odd:
            for of_kind, one, other in _TOGETHER:
                if of_kind != kind or each.name not in (one, other):
                    continue
                beside = other if each.name == one else one
                cell, there = each.row.cells.get(each.name), each.row.cells.get(beside)
                if cell is None or there is None or there.si is None:
                    continue
                factor = unit_factor(cell.unit, field_of(kind, each.name).kind)
                own = unit_factor(there.unit, field_of(kind, beside).kind)
                if factor and own and each.usual.holds(there.si / own * factor):
                    found[each.row.number] = say(field_of(kind, beside).label)
        return found

    def _ask_about_cell(self, field: SheetField, odd: Odd, beside: str) -> None:
        given, usual = _told(field, odd)
        if odd.swapped:
            todo = say("It would fit row {row}: were the two swapped?", row=odd.swapped)
        elif odd.fits:
            todo = say("{fits} would fit. Is it right, and in the right unit?",
                       fits=_either(odd.fits))  # fmt: skip
        elif beside:
            todo = say('The value of "{beside}" would fit: were the two swapped?', beside=beside)
        else:
            todo = say("Is it right, and in the right unit?")
        self.problems.append(Question(odd.row.place(odd.name), given, usual, todo))


_PAIRS = {"mark_after": "mark_before", "roll_length": "roll_mass"}
"""Readings whose ratio is held against others, and the other one of the two."""


def _typed(cell: Cell) -> str:
    return f"{cell.typed} {cell.unit}".strip()


def _either(fits: Iterable[str]) -> str:
    return say(" or ").join(fits)


def _limits(field: SheetField) -> str:
    low, high = field.low or 0.0, field.high or 0.0
    if field.is_quantity:
        return say("{low} to {high}", low=show(low, field.kind), high=show(high, field.kind))
    return say("{low} to {high}", low=f"{low:g}", high=f"{high:g}")


def _told(field: SheetField, odd: Odd) -> tuple[str, str]:
    """What was found, and what is usual."""
    cell, usual = odd.row.cells.get(odd.name), odd.usual
    typed = _typed(cell) if cell is not None else say("nothing")
    if math.isnan(odd.value):
        return typed, _limits(field)
    other = (
        say("the film's mass balance")
        if field.name == "film_mass" and usual.against is Against.PREDICTED
        else say("the other loads")
        if field.name == "film_mass" and usual.against is not Against.RECORD
        else usual.against.words
    )
    times = significant(odd.value / usual.middle)
    given = say("{typed}, {times} times {other}", typed=typed, times=times, other=other)
    if field.name in _PAIRS or field.name in _PAIRS.values():
        about = say("{low} to {high} for the two together",
                    low=significant(usual.low), high=significant(usual.high))  # fmt: skip
        return given, about if field.name.startswith("mark") else say("what rolls weigh by length")
    if field.is_quantity:
        return given, say("about {value}", value=show(usual.middle, field.kind))
    return given, say("about {value}", value=significant(usual.middle))
