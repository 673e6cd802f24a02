"""Values that can hardly be: asked about, never changed, and alike wherever they are typed."""

from __future__ import annotations

import math
import statistics
from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Sequence
from dataclasses import replace

from woold.errors import Problem, Question
from woold.store import Cell
from woold.trial.alike import Against, Usual
from woold.trial.odd_places import odd_ages, odd_bags, odd_heights
from woold.trial.odd_readings import Odd, odd_readings, quantities
from woold.trial.sheet_cells import SheetRows
from woold.trial.sheets import SheetField, field_of
from woold.trial.would_fit import unit_factor, would_fit
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
        self.odd: dict[tuple[str, str, int, int], Odd] = {}

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
        self.odd = {
            (kind, name, *_row(each.row)): each
            for (kind, name), some in odd.items()
            for each in some
        }
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
        is_told = _row(row) in self.bags or self._is_refused(row, "film_mass")
        if gross and tare and gross.si and tare.si and gross.si <= tare.si and not is_told:
            self._refuse(
                row,
                "film_mass",
                say("{typed}, no more than its bag or tray", typed=_typed(gross)),
                say("more than the bag or tray alone"),
                self._gross_that_fits(row),
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

    def _gross_that_fits(self, row: OneRow) -> str:
        """What to do about a mass that is no more than its bag's."""
        bag, cell = row.value("tare") or 0.0, row.cells["film_mass"]
        nets = [
            net for other in self.rows["load"]
            if other is not row
            and (net := (other.value("film_mass") or 0.0) - (other.value("tare") or 0.0)) > 0.0
        ]  # fmt: skip
        if len(nets) > 2:
            middle = statistics.median(nets)
            usual = Usual(middle, middle / 1.5, middle * 1.5, Against.ALIKE)
            field = field_of("load", "film_mass")
            of_kind = (field.kind, field.units)
            fits = would_fit(cell.si or 0.0, cell.unit, of_kind, usual, lambda si: si - bag)
            if fits:
                return say("{fits} would fit. Check both cells.", fits=_either(fits))
        return say("Check both cells.")

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
        if off[other] <= off[odd.name] + 0.1:
            return odd
        cell, field = odd.row.cells[other], field_of("load", other)
        beside = odd.row.value(odd.name) or 0.0
        # Marks: the one on the load over this one; rolls: this one over the length.
        is_above = other == "roll_mass"
        fits = would_fit(
            cell.si or 0.0, cell.unit, (field.kind, field.units), odd.usual,
            lambda si: si / beside if is_above else beside / si,
        )  # fmt: skip
        return replace(odd, name=other, fits=fits)

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
            units = Counter(each.other_unit for each in some)
            shared = {unit for unit, count in units.items() if unit and count > 2}
            alone = sum(each.other_unit not in shared for each in some)
            are_many = alone >= _MANY and alone > _MANY_OF * filled
            for each in some:
                if each.row.place(field.name) in self.as_typed:
                    continue
                if each.other_unit in shared:
                    unit = each.other_unit
                    todo = say("In {unit} they would fit: was another unit used?", unit=unit)
                    self._ask_alike(field, each, todo)
                elif are_many:
                    todo = say("Is each in its own row and column, and in the right unit?")
                    self._ask_alike(field, each, todo)
                else:
                    self._ask_about_cell(field, each, self._exchanged(kind, each))

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
        todo = (
            say("Is the unit of this column right? {fits} would fit.", fits=_either(first.fits))
            if first.fits
            else say("Is the unit of this column right, and each value in its own row?")
        )
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

    def _exchanged(self, kind: str, odd: Odd) -> str:
        """The other cell of the row, where each would fit in the other's place."""
        for of_kind, *pair in _TOGETHER:
            if of_kind != kind or odd.name not in pair:
                continue
            beside = self.odd.get((kind, pair[odd.name == pair[0]], *_row(odd.row)))
            if beside is not None and _fits_in(odd, beside) and _fits_in(beside, odd):
                return say(field_of(kind, beside.name).label)
        return ""

    def _ask_alike(self, field: SheetField, odd: Odd, todo: str) -> None:
        """Asked alike of each cell that shares a cause, so that it becomes one question."""
        given, _ = _told(field, odd)
        allowed = say("values like the others")
        self.problems.append(Question(odd.row.place(odd.name), given, allowed, todo))

    def _ask_about_cell(self, field: SheetField, odd: Odd, beside: str) -> None:
        given, usual = _told(field, odd)
        if odd.swapped:
            todo = say("It would fit row {row}: were the two swapped?", row=odd.swapped)
        elif beside:
            todo = say('The value of "{beside}" would fit: were the two swapped?', beside=beside)
        elif odd.fits:
            todo = say("{fits} would fit. Is it right, and in the right unit?",
                       fits=_either(odd.fits))  # fmt: skip
        else:
            todo = say("Is it right, and in the right unit?")
        self.problems.append(Question(odd.row.place(odd.name), given, usual, todo))


_MANY, _MANY_OF = 8, 0.2
"""So many cells of a column, and more than this share of it, are asked about as one."""

_PAIRS = {"mark_after": "mark_before", "roll_length": "roll_mass"}
"""Readings whose ratio is held against others, and the other one of the two."""


def _row(row: OneRow) -> tuple[int, int]:
    return id(row.table), row.number


def _fits_in(place: Odd, other: Odd) -> bool:
    """Whether the number of another cell would fit in the place of one, in its unit."""
    there, here = other.row.cells.get(other.name), place.row.cells.get(place.name)
    if there is None or here is None or there.si is None:
        return False
    own = unit_factor(there.unit, field_of(other.row.kind, other.name).kind)
    factor = unit_factor(here.unit, field_of(place.row.kind, place.name).kind)
    return bool(own and factor) and place.usual.holds(there.si / (own or 1.0) * (factor or 1.0))


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
        about = say("{low} to {high} times the distance on the roll",
                    low=significant(usual.low), high=significant(usual.high))  # fmt: skip
        return given, about if field.name.startswith("mark") else say("what rolls weigh by length")
    if field.is_quantity:
        return given, say("about {value}", value=show(usual.middle, field.kind))
    return given, say("about {value}", value=significant(usual.middle))
