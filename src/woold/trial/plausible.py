"""Values that can hardly be: asked about, never changed."""

from __future__ import annotations

import functools
import json
import statistics
from collections.abc import Sequence

from woold.case.file import case_from_table
from woold.errors import Problem, Question, WooldError
from woold.prediction.predict import predict
from woold.store import Cell
from woold.trial.setup import TrialSetup
from woold.trial.sheet_cells import SheetRow, SheetRows
from woold.trial.sheets import SheetField
from woold.units import show, significant
from woold.words import say

__all__ = ["doubtful_values"]

_FAR_FROM_PREDICTED = 3.0
_FAR_FROM_OTHERS = 5.0
_FEWEST_OTHERS = 4


def doubtful_values(setup: TrialSetup, table: SheetRows, rows: Sequence[SheetRow]) -> list[Problem]:
    """What cannot be, and questions about what can hardly be, in rows of one sheet.

    Args:
        setup: the trial, whose cases say what film mass to expect.
        table: the sheet.
        rows: those of its rows that are used.
    """
    doubts = _Doubts(setup, table, list(rows))
    doubts.look()
    return doubts.problems


class _Doubts:
    """Looks at the rows of one sheet; gathers problems and questions."""

    def __init__(self, setup: TrialSetup, table: SheetRows, rows: list[SheetRow]) -> None:
        self.setup, self.table, self.rows = setup, table, rows
        self.problems: list[Problem] = []

    def _ask(self, where: str, given: str, allowed: str, question: str) -> None:
        self.problems.append(Question(where, given, allowed, question))

    def look(self) -> None:
        table, rows = self.table, self.rows
        masses = {}
        if table.sheet.kind == "load":
            masses = self._film_masses(table, rows)
            self._marks(table, rows)
        for each in table.sheet.fields:
            far = masses if each.name == "film_mass" else {}
            doubts = [
                (row, doubt)
                for row in rows
                if each.name in row.cells
                and (doubt := far.get(row.number) or self._doubt(each, row.cells[each.name]))
            ]
            self._ask_about(table, each, rows, doubts)

    def _doubt(self, each: SheetField, cell: Cell) -> tuple[str, str] | None:
        """What was found and what would not be asked about."""
        value = cell.si
        if value is None or each.low is None or each.high is None:
            return None
        if each.low <= value <= each.high:
            return None
        if each.is_quantity:
            allowed = say(
                "{low} to {high}", low=show(each.low, each.kind), high=show(each.high, each.kind)
            )
        else:
            allowed = say("{low} to {high}", low=f"{each.low:g}", high=f"{each.high:g}")
        return f"{cell.typed} {cell.unit}".strip(), allowed

    def _ask_about(
        self,
        table: SheetRows,
        each: SheetField,
        rows: list[SheetRow],
        doubts: list[tuple[SheetRow, tuple[str, str]]],
    ) -> None:
        filled = sum(each.name in row.cells for row in rows)
        if each.is_quantity and len(doubts) > 2 and len(doubts) * 2 > filled:
            # One wrong unit, not many wrong readings.
            (_, (given, allowed)) = doubts[0]
            given, _, hint = given.partition("; ")
            where = table.place(each.name, table.unit_row)
            unit = table.units.get(each.name, "")
            self._ask(
                where,
                say(
                    "{unit}: {count} of {filled} values, such as {given}",
                    unit=unit,
                    count=len(doubts),
                    filled=filled,
                    given=given,
                ),
                say("values of {allowed}", allowed=allowed),
                say("Is the unit of this column right?") + _as_question(hint),
            )
            return
        for row, (given, allowed) in doubts:
            where = table.place(each.name, row.number)
            value = row.cells[each.name].si
            if value is not None and each.low is not None and each.low >= 0 and value <= 0:
                if value < 0 or each.low > 0:
                    todo = say("Leave the cell empty where nothing was measured.")
                    self.problems.append(Problem(where, given, allowed, todo))
                continue
            given, _, hint = given.partition("; ")
            question = say("Is it right, and in the right unit?") + _as_question(hint)
            self._ask(where, given, allowed, question)

    def _film_masses(self, table: SheetRows, rows: list[SheetRow]) -> dict[int, tuple[str, str]]:
        """Net film mass against the film's mass balance, or else against the other loads."""
        net: dict[int, float] = {}
        for row in rows:
            gross, tare = row.cells.get("film_mass"), row.cells.get("tare")
            where = table.place("film_mass", row.number)
            if gross is None or gross.si is None or gross.si <= 0:
                continue
            value = gross.si - (tare.si or 0.0 if tare else 0.0)
            if value <= 0:
                self.problems.append(
                    Problem(
                        where,
                        say(
                            "{typed} {unit}, no more than its bag or tray",
                            typed=gross.typed,
                            unit=gross.unit,
                        ),
                        say("more than the bag or tray alone"),
                        say("Check both cells."),
                    )
                )
            else:
                net[row.number] = value
        expected = _Expected(self.setup)
        middle = statistics.median(net.values()) if len(net) >= _FEWEST_OTHERS else None
        doubts = {}
        for row in rows:
            if row.number not in net:
                continue
            predicted = expected.film_mass(row)
            against, factor, words = (
                (predicted, _FAR_FROM_PREDICTED, say("the film's mass balance"))
                if predicted
                else (middle, _FAR_FROM_OTHERS, say("the other loads"))
            )
            if against is None or 1 / factor <= net[row.number] / against <= factor:
                continue
            cell = row.cells["film_mass"]
            times = significant(net[row.number] / against)
            given = say(
                "{typed} {unit}, {times} times {other}",
                typed=cell.typed,
                unit=cell.unit,
                times=times,
                other=words,
            )
            given += _unit_hint(cell, net[row.number], against, factor)
            doubts[row.number] = (given, say("about {mass}", mass=show(against, "small_mass")))
        return doubts

    def _marks(self, table: SheetRows, rows: list[SheetRow]) -> None:
        for row in rows:
            before, after = row.cells.get("mark_before"), row.cells.get("mark_after")
            if (before is None) != (after is None):
                name = "mark_before" if before is None else "mark_after"
                self.problems.append(
                    Problem(
                        table.place(name, row.number),
                        say("nothing, beside the other distance"),
                        say("both distances between marks, or neither"),
                        say("Fill it in, or empty the other."),
                    )
                )
            elif before and after and before.si and after.si and not 1 <= after.si / before.si <= 8:
                self._ask(
                    table.place("mark_after", row.number),
                    say(
                        "{typed} {unit}, {times} times the distance on the roll",
                        typed=after.typed,
                        unit=after.unit,
                        times=f"{after.si / before.si:.3g}",
                    ),
                    say("1 to 8 times"),
                    say("Are the two distances in the right columns and units?"),
                )


def _as_question(hint: str) -> str:
    return f" {hint[0].upper()}{hint[1:]}." if hint else ""


def _unit_hint(cell: Cell, value: float, against: float, factor: float) -> str:
    """Which unit would fit, if one is off by a thousand."""
    for unit, other, times in (("kg", "g", 1e-3), ("g", "kg", 1e3)):
        if cell.unit == unit and 1 / factor <= value * times / against <= factor:
            return "; " + say("{typed} {unit} would fit", typed=cell.typed, unit=other)
    return ""


class _Expected:
    """Film mass to expect on a load: its case's mass balance rho A0 L / stretch, at its turns."""

    def __init__(self, setup: TrialSetup) -> None:
        self.setup = setup
        self.known: dict[tuple[str, str], tuple[float, float] | None] = {}

    def film_mass(self, row: SheetRow) -> float | None:
        """Mass to expect [kg]; None where the trial names no case."""
        name = (row.cells["load_type"].typed, row.cells["treatment"].typed)
        if name not in self.known:
            self.known[name] = self._predicted(*name)
        found = self.known[name]
        if found is None:
            return None
        mass, turns = found
        typed = row.cells.get("turns")
        return mass * typed.si / turns if typed and typed.si else mass

    def _predicted(self, load_type: str, treatment: str) -> tuple[float, float] | None:
        table = self.setup.case_table(load_type, treatment)
        return None if table is None else _film_and_turns(json.dumps(table, default=str))


@functools.lru_cache(maxsize=128)
def _film_and_turns(case: str) -> tuple[float, float] | None:
    """Predicted film mass [kg] and turns of a case's tables as JSON; asked at every load."""
    try:
        prediction = predict(case_from_table(json.loads(case)))
    except WooldError:
        return None
    return prediction.film_mass_kg, prediction.turns
