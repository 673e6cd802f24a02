"""What can be written down in a trial: one list for worksheet, form, import and export."""

from __future__ import annotations

import functools
from collections.abc import Iterable

from woold.trial.setup import SIDES, TREATMENTS
from woold.trial.sheet_fields import Sheet, SheetField
from woold.words import languages, to_say, translations

__all__ = [
    "ABANDONED",
    "FIELDS",
    "REPEAT",
    "SHEETS",
    "Sheet",
    "SheetField",
    "field_named",
    "field_of",
    "fields_asked",
    "fields_typed",
    "in_any_language",
    "sheet_of_kind",
]

REPEAT, ABANDONED = to_say("repeat"), to_say("abandoned")
ATTEMPTS = (REPEAT, ABANDONED)
"""What a row of a load that was wrapped more than once, or given up, says of itself."""

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
                high=6,
            ),
            SheetField(
                "dancer_force",
                to_say("film force by the dancer"),
                "force",
                to_say(
                    "mean over whole turns, read off a recording of the dancer while this load was"
                    " wrapped"
                ),
                low=5.0,
                high=250.0,
                metric="N",
                trade="lbf",
            ),
            SheetField("notes", to_say("notes"), "note", to_say("anything worth keeping")),
            SheetField(
                "attempt",
                to_say("attempt"),
                "word",
                to_say(
                    "empty for a load wrapped once; repeat where it was wrapped again, abandoned"
                    " where it does not count; each in a row of its own, with its reason"
                ),
                choices=ATTEMPTS,
            ),
            SheetField(
                "reason", to_say("reason"), "note", to_say("why it was repeated or abandoned")
            ),
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


_TYPED_ONLY = frozenset(("attempt", "reason", "dancer_force"))
"""Not on paper, where a note says it; nor is a recording read there."""


def fields_asked(sheet: Sheet, is_fitted_once: bool) -> tuple[SheetField, ...]:
    """The columns of a printed form; every known one can be read back."""
    typed = fields_typed(sheet, is_fitted_once)
    return tuple(each for each in typed if each.name not in _TYPED_ONLY)


def fields_typed(sheet: Sheet, is_fitted_once: bool) -> tuple[SheetField, ...]:
    """The columns of a new worksheet, and the fields of a form on a screen."""
    return tuple(each for each in sheet.fields if is_fitted_once or each.name not in _FITTED_ONCE)


def sheet_of_kind(kind: str) -> Sheet:
    """The sheet whose rows are of that kind."""
    return next(each for each in SHEETS if each.kind == kind)


def field_of(kind: str, name: str) -> SheetField:
    """The field of that name in the sheet whose rows are of that kind."""
    return next(each for each in sheet_of_kind(kind).fields if each.name == name)


def field_named(fields: Iterable[SheetField], name: str) -> SheetField | None:
    """The field of that name or label, however it is written."""
    wanted, tags = " ".join(name.replace("_", " ").split()).casefold(), languages()
    return next((each for each in fields if wanted in _known_heads(each, tags)), None)


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
