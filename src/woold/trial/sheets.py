"""What can be written down in a trial: one list for worksheet, form, import and export."""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass

from woold.trial.setup import SIDES, TREATMENTS
from woold.words import languages, to_say, translations

__all__ = [
    "FIELDS",
    "SHEETS",
    "Sheet",
    "SheetField",
    "field_named",
    "fields_asked",
    "in_any_language",
    "sheet_of_kind",
]

UNITS = {
    "small_mass": ("g", "kg", "oz", "lb"),
    "small_length": ("mm", "cm", "in", "m"),
    "length": ("mm", "cm", "m", "in"),
    "force": ("N", "lbf", "kgf"),
    "time": ("s", "min"),
    "hours": ("min", "h", "day"),
    "mass": ("kg", "lb"),
    "film_length": ("m", "ft"),
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
        old_names: column heads of earlier worksheets, which are still read.
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
    old_names: tuple[str, ...] = ()

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
    "load", to_say("load"), "word", to_say("number of the load, once in a trial"), required=True
)

SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "load",
        to_say("Loads"),
        to_say("One row for each wrapped load."),
        (
            _LOAD_NUMBER,
            SheetField(
                "treatment",
                to_say("treatment"),
                "word",
                to_say("baseline or candidate"),
                True,
                choices=TREATMENTS,
                old_names=("arm",),
            ),
            SheetField(
                "load_type",
                to_say("load type"),
                "word",
                to_say("one of the trial's load types"),
                True,
            ),
            SheetField(
                "block",
                to_say("block"),
                "word",
                to_say("loads wrapped close together, on one film roll"),
            ),
            SheetField("shift", to_say("shift"), "word", to_say("when")),
            SheetField("roll", to_say("film roll"), "word", to_say("number on the roll's label")),
            SheetField(
                "machine",
                to_say("machine"),
                "word",
                to_say(
                    "empty for the machine of the trial; the name of an unchanged one beside it"
                ),
            ),
            SheetField(
                "roll_mass",
                to_say("film on a new roll"),
                "mass",
                to_say("film on the whole roll, by its label or weighed, without the core"),
                low=1.0,
                high=60.0,
                metric="kg",
                trade="lb",
            ),
            SheetField(
                "roll_length",
                to_say("film length on a new roll"),
                "film_length",
                to_say("by the roll's label or its maker's sheet"),
                low=100.0,
                high=20_000.0,
                metric="m",
                trade="ft",
            ),
            SheetField("operator", to_say("operator"), "word", to_say("initials will do")),
            SheetField(
                "film_mass",
                to_say("film on the scale"),
                "small_mass",
                to_say("film cut off the load and weighed, with its bag or tray if it lies in one"),
                low=0.02,
                high=5.0,
                metric="g",
                trade="oz",
            ),
            SheetField(
                "tare",
                to_say("bag or tray alone"),
                "small_mass",
                to_say(
                    "what the empty bag or tray weighs; leave it out where the scale was set to"
                    " zero"
                ),
                low=0.0,
                high=3.0,
                metric="g",
                trade="oz",
            ),
            SheetField(
                "turns",
                to_say("turns"),
                "number",
                to_say("turns of the whole cycle"),
                low=1.0,
                high=100.0,
            ),
            SheetField(
                "cycle_time",
                to_say("cycle time"),
                "time",
                to_say("from load in to load out"),
                low=5.0,
                high=3600.0,
                metric="s",
                trade="s",
            ),
            SheetField(
                "mark_before",
                to_say("marks on the roll"),
                "small_length",
                to_say("distance between two marks made on the film before it is stretched"),
                low=0.005,
                high=2.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "mark_after",
                to_say("marks on the load"),
                "small_length",
                to_say("distance between the same two marks on the wrapped load"),
                low=0.01,
                high=6.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "breaks",
                to_say("film breaks"),
                "count",
                to_say("while this load was wrapped"),
                low=0,
                high=20,
            ),
            SheetField("notes", to_say("notes"), "note", to_say("anything worth keeping")),
        ),
        ("load",),
    ),
    Sheet(
        "width",
        to_say("Widths"),
        to_say("One row for each width of a single film measured on a load."),
        (
            _LOAD_NUMBER,
            SheetField(
                "height",
                to_say("height over the deck"),
                "length",
                to_say("middle of the film"),
                True,
                low=-0.5,
                high=5.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "film_width",
                to_say("film width"),
                "small_length",
                to_say("edge to edge, flat on the load"),
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
        to_say("Pulls"),
        to_say(
            "One row for each pull reading. Same gauge, plate and pull distance for both"
            " treatments."
        ),
        (
            _LOAD_NUMBER,
            SheetField(
                "height",
                to_say("height over the deck"),
                "length",
                to_say("middle of the pull plate"),
                True,
                low=-0.5,
                high=5.0,
                metric="mm",
                trade="in",
            ),
            SheetField(
                "side", to_say("side"), "word", to_say("side of the load"), True, choices=SIDES
            ),
            SheetField(
                "force",
                to_say("pull reading"),
                "force",
                to_say("what the gauge shows"),
                True,
                low=1.0,
                high=2000.0,
                metric="N",
                trade="lbf",
            ),
            SheetField(
                "age",
                to_say("time since wrapping"),
                "hours",
                to_say("the same for both treatments; film loses force with time"),
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
        to_say("Gauges"),
        to_say(
            "One row for each reading of a gauge study: several people read the same parts again."
        ),
        (
            SheetField(
                "instrument", to_say("gauge"), "word", to_say("scale, pull gauge or ruler"), True
            ),
            SheetField(
                "part",
                to_say("part"),
                "word",
                to_say("what is read: a film bundle, a load's side"),
                True,
            ),
            SheetField("person", to_say("person"), "word", to_say("who reads"), True),
            SheetField(
                "repeat", to_say("repeat"), "count", to_say("1, 2, 3 ..."), True, low=1, high=50
            ),
            SheetField(
                "reading", to_say("reading"), "number", to_say("in one unit for a gauge"), True
            ),
        ),
        ("instrument", "part", "person", "repeat"),
    ),
)
"""Every sheet of a workbook."""

FIELDS: tuple[SheetField, ...] = tuple(each for sheet in SHEETS for each in sheet.fields)


_FITTED_ONCE = frozenset(("machine", "roll_mass", "roll_length"))
"""Asked for only where before is compared with after."""


def fields_asked(sheet: Sheet, is_fitted_once: bool) -> tuple[SheetField, ...]:
    """The columns of a new worksheet or form; every known one can be read back."""
    return tuple(each for each in sheet.fields if is_fitted_once or each.name not in _FITTED_ONCE)


def sheet_of_kind(kind: str) -> Sheet:
    """The sheet whose rows are of that kind."""
    return next(each for each in SHEETS if each.kind == kind)


def field_named(fields: Iterable[SheetField], name: str) -> SheetField | None:
    """The field of that name or label, however it is written."""
    wanted = " ".join(name.replace("_", " ").split()).casefold()
    for each in fields:
        if wanted in _known_heads(each, languages()):
            return each
    return None


def in_any_language(text: str) -> frozenset[str]:
    """A text and its translations, in small letters: a sheet may be in another language."""
    return _translated(text, languages())


@functools.lru_cache(maxsize=512)
def _translated(text: str, tags: tuple[str, ...]) -> frozenset[str]:
    said = (translations(tag).get(text, text) for tag in tags)
    return frozenset((text.casefold(), *(each.casefold() for each in said)))


@functools.lru_cache(maxsize=256)
def _known_heads(field: SheetField, tags: tuple[str, ...]) -> frozenset[str]:
    """Every head that a column of this field can have: name, label in any language, old names."""
    heads = (field.name.replace("_", " "), *field.old_names)
    return _translated(field.label, tags) | {head.casefold() for head in heads}
