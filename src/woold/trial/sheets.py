"""What can be written down in a trial: one list for worksheet, form, import and export."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from woold.trial.setup import SIDES, TREATMENTS

__all__ = ["FIELDS", "SHEETS", "Sheet", "SheetField", "field_named", "sheet_of_kind"]

UNITS = {
    "small_mass": ("g", "kg", "oz", "lb"),
    "small_length": ("mm", "cm", "in", "m"),
    "length": ("mm", "cm", "m", "in"),
    "force": ("N", "lbf", "kgf"),
    "time": ("s", "min"),
    "hours": ("min", "h", "day"),
}
"""Units on offer in a worksheet, by kind of quantity; a cell may state any other."""


@dataclass(frozen=True, slots=True)
class SheetField:
    """One thing to write down.

    Args:
        name: in files, records and messages.
        label: column head.
        kind: key of `woold.units.KINDS`; "count", "number", "word" or "note" for the others.
        doc: what to write, and how to measure it.
        required: a row without it cannot be used.
        choices: words that may stand here; any word where empty.
        low, high: SI values outside of which a value is asked about.
        metric, trade: unit that a new worksheet starts with.
    """

    name: str
    label: str
    kind: str
    doc: str
    required: bool = False
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    metric: str = ""
    trade: str = ""

    @property
    def is_quantity(self) -> bool:
        """Whether it has a unit."""
        return self.kind in UNITS

    @property
    def units(self) -> tuple[str, ...]:
        """Units on offer."""
        return UNITS.get(self.kind, ())

    def unit(self, system: str) -> str:
        """Unit that a new worksheet starts with."""
        return self.trade if system == "trade" else self.metric


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the workbook: rows of one kind.

    Args:
        kind: kind of its records.
        title: name of the sheet.
        doc: what it is for.
        fields: its columns.
        key: fields that together name a row.
    """

    kind: str
    title: str
    doc: str
    fields: tuple[SheetField, ...]
    key: tuple[str, ...]


_LOAD_NUMBER = SheetField(
    "load", "load", "word", "number of the load, once in a trial", required=True
)

SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "load",
        "Loads",
        "One row for each wrapped load.",
        (
            _LOAD_NUMBER,
            SheetField(
                "treatment", "treatment", "word", "baseline or candidate", True, choices=TREATMENTS
            ),
            SheetField("load_type", "load type", "word", "one of the trial's load types", True),
            SheetField("block", "block", "word", "loads wrapped close together, on one film roll"),
            SheetField("shift", "shift", "word", "when"),
            SheetField("roll", "film roll", "word", "number on the roll's label"),
            SheetField("operator", "operator", "word", "initials will do"),
            SheetField(
                "film_mass",
                "film on the scale",
                "small_mass",
                "film cut off the load and weighed, with its bag or tray if it lies in one",
                low=0.02,
                high=5.0,
                metric="g",
                trade="oz",
            ),
            SheetField(
                "tare",
                "bag or tray alone",
                "small_mass",
                "what the empty bag or tray weighs; leave it out where the scale was set to zero",
                low=0.0,
                high=3.0,
                metric="g",
                trade="oz",
            ),
            SheetField("turns", "turns", "number", "turns of the whole cycle", low=1.0, high=100.0),
            SheetField(
                "cycle_time",
                "cycle time",
                "time",
                "from load in to load out",
                low=5.0,
                high=3600.0,
                metric="s",
                trade="s",
            ),
            SheetField(
                "mark_before",
                "marks on the roll",
                "small_length",
                "distance between two marks made on the film before it is stretched",
                low=0.005,
                high=2.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "mark_after",
                "marks on the load",
                "small_length",
                "distance between the same two marks on the wrapped load",
                low=0.01,
                high=6.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "breaks", "film breaks", "count", "while this load was wrapped", low=0, high=20
            ),
            SheetField("notes", "notes", "note", "anything worth keeping"),
        ),
        ("load",),
    ),
    Sheet(
        "width",
        "Widths",
        "One row for each width of a single film measured on a load.",
        (
            _LOAD_NUMBER,
            SheetField(
                "height",
                "height over the deck",
                "length",
                "middle of the film",
                True,
                low=-0.5,
                high=5.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "film_width",
                "film width",
                "small_length",
                "edge to edge, flat on the load",
                True,
                low=0.03,
                high=3.0,
                metric="mm",
                trade="in",
            ),
        ),
        ("load", "height"),
    ),
    Sheet(
        "pull",
        "Pulls",
        "One row for each pull reading. Same gauge, plate and pull distance for both treatments.",
        (
            _LOAD_NUMBER,
            SheetField(
                "height",
                "height over the deck",
                "length",
                "middle of the pull plate",
                True,
                low=-0.5,
                high=5.0,
                metric="mm",
                trade="in",
            ),
            SheetField("side", "side", "word", "side of the load", True, choices=SIDES),
            SheetField(
                "force",
                "pull reading",
                "force",
                "what the gauge shows",
                True,
                low=1.0,
                high=2000.0,
                metric="N",
                trade="lbf",
            ),
            SheetField(
                "age",
                "time since wrapping",
                "hours",
                "the same for both treatments; film loses force with time",
                low=0.0,
                high=90 * 86400.0,
                metric="min",
                trade="min",
            ),
        ),
        ("load", "height", "side", "age"),
    ),
    Sheet(
        "gauge",
        "Gauges",
        "One row for each reading of a gauge study: several people read the same parts again.",
        (
            SheetField("instrument", "gauge", "word", "scale, pull gauge or ruler", True),
            SheetField("part", "part", "word", "what is read: a film bundle, a load's side", True),
            SheetField("person", "person", "word", "who reads", True),
            SheetField("repeat", "repeat", "count", "1, 2, 3 ...", True, low=1, high=50),
            SheetField("reading", "reading", "number", "in one unit for a gauge", True),
        ),
        ("instrument", "part", "person", "repeat"),
    ),
)
"""Every sheet of a workbook."""

FIELDS: tuple[SheetField, ...] = tuple(each for sheet in SHEETS for each in sheet.fields)


def sheet_of_kind(kind: str) -> Sheet:
    """The sheet whose rows are of that kind."""
    return next(each for each in SHEETS if each.kind == kind)


def field_named(fields: Iterable[SheetField], name: str) -> SheetField | None:
    """The field of that name or label, however it is written."""
    wanted = " ".join(name.replace("_", " ").split()).casefold()
    for each in fields:
        if wanted in (each.name.replace("_", " "), each.label.casefold()):
            return each
    return None
