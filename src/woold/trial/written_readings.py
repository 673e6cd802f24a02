"""The readings of a trial that are held against one another: those written now, those on record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from woold.store import Cell, Record
from woold.trial.load_names import load_key
from woold.trial.predicted_readings import PredictedReadings, predicted_readings
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.sheet_cells import SheetRows
from woold.trial.table import zone_of
from woold.trial.worksheet import zone_limits

__all__ = ["Context", "LoadFacts", "OneRow", "WrittenReadings"]


@dataclass(frozen=True, slots=True)
class OneRow:
    """A row of readings.

    Args:
        kind: kind of its record.
        load: key of its load; "" of a gauge reading.
        cells: by field.
        table, number: sheet and row in the file; None and 0 of one on record.
        known: fields that stand on record with the same value, which nobody asks about again.
    """

    kind: str
    load: str
    cells: Mapping[str, Cell]
    table: SheetRows | None = None
    number: int = 0
    known: frozenset[str] = frozenset()

    @classmethod
    def of_record(cls, record: Record) -> OneRow:
        """A row that is on record."""
        load = record.cells.get("load")
        return cls(record.kind, load_key(load.typed) if load else "", record.cells)

    def is_new(self, name: str) -> bool:
        """Whether a field is written down now."""
        return self.table is not None and name not in self.known

    def value(self, name: str) -> float | None:
        """SI value of a field; None where it is empty or no number."""
        cell = self.cells.get(name)
        return None if cell is None else cell.si

    def place(self, name: str) -> str:
        """Sheet and cell of a field."""
        return "" if self.table is None else self.table.place(name, self.number)


@dataclass(frozen=True, slots=True)
class LoadFacts:
    """What kind of load a reading is of; "" where nobody knows."""

    load_type: str = ""
    treatment: str = ""
    turns: float | None = None


@dataclass
class Context:
    """The trial that readings are of.

    Args:
        setup: the trial.
        loads: facts of its loads, by key.
    """

    setup: TrialSetup
    loads: dict[str, LoadFacts] = field(default_factory=dict)
    _limits: dict[str, tuple[float, ...] | None] = field(default_factory=dict)
    _predicted: dict[tuple[str, str], PredictedReadings | None] = field(default_factory=dict)

    def learn(self, rows: Iterable[OneRow]) -> None:
        """Notes what kind of loads there are."""
        for row in rows:
            if row.kind == "load" and "treatment" in row.cells and "load_type" in row.cells:
                self.loads[row.load] = LoadFacts(
                    row.cells["load_type"].typed.casefold(),
                    row.cells["treatment"].typed,
                    row.value("turns"),
                )

    def facts(self, row: OneRow) -> LoadFacts:
        """What kind of load a row is of."""
        return self.loads.get(row.load, LoadFacts())

    def predicted(self, row: OneRow) -> PredictedReadings | None:
        """What the load's case predicts; None where there is none."""
        facts = self.facts(row)
        name = (facts.load_type, facts.treatment)
        if facts.treatment not in TREATMENTS:
            return None
        if name not in self._predicted:
            self._predicted[name] = predicted_readings(self.setup, *name)
        return self._predicted[name]

    def zone(self, row: OneRow) -> int | None:
        """Zone of a row's height; None where it cannot be said."""
        load_type, height = self.facts(row).load_type, row.value("height")
        if not load_type or height is None or self.setup.trial.type_named(load_type) is None:
            return None
        if load_type not in self._limits:
            self._limits[load_type] = zone_limits(self.setup, load_type)
        limits = self._limits[load_type]
        if limits is None:
            return None
        return min(zone_of(height, limits), len(self.setup.trial.zones.names) - 1)


class WrittenReadings:
    """Rows of one kind, those of the file first: numbers in the order in which they stand.

    Args:
        context: the trial.
        rows: written now, and on record.
    """

    def __init__(self, context: Context, rows: Sequence[OneRow]) -> None:
        self.context, self.rows = context, rows
        self.new = [row for row in rows if row.table is not None]
