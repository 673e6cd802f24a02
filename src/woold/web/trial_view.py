"""A trial as the phone's form needs it: what is next, and what can be written down."""

from __future__ import annotations

from dataclasses import asdict
from typing import Literal

from pydantic import BaseModel

from woold.store import Store
from woold.trial.entry import FORM_SHEETS
from woold.trial.hold_rows import rows_on_record
from woold.trial.records import planned_loads, setup_of
from woold.trial.setup import SIDES, TREATMENTS
from woold.trial.sheets import Sheet, SheetField, fields_typed
from woold.trial.usual_readings import usual_readings
from woold.trial.worksheet import zone_heights
from woold.units import parse_quantity
from woold.web.documents import Document, named
from woold.web.form_fields import Choice
from woold.words import say, to_say

__all__ = ["OpenTrial", "opened_trial"]


class OrderedLoad(BaseModel):
    """A load of the plan, and whether it was wrapped."""

    number: int
    block: str
    shift: str
    roll: str
    treatment: str
    load_type: str
    machine: str
    is_wrapped: bool


class EntryField(BaseModel):
    """One thing to write down; `factors` holds the SI value of one of each unit on offer."""

    name: str
    label: str
    kind: str
    doc: str
    required: bool
    choices: list[Choice]
    units: list[str]
    factors: dict[str, float]
    metric: str
    trade: str
    low: float | None
    high: float | None


class FormSheet(BaseModel):
    """The fields of one kind of row; `key` names those that tell a row from another."""

    kind: Literal["load", "width", "pull"]
    title: str
    doc: str
    key: list[str]
    fields: list[EntryField]


GroupName = Literal["weigh", "cycle", "pulls", "widths", "marks", "notes"]


class EntryGroup(BaseModel):
    """Fields of a load that stand together in the form; pulls and widths have tables instead."""

    name: GroupName
    title: str
    fields: list[str]


_GROUPS: tuple[tuple[GroupName, str, tuple[str, ...]], ...] = (
    ("weigh", to_say("Weigh"), ("film_mass", "tare")),
    ("cycle", to_say("Cycle"), ("turns", "cycle_time", "dancer_force", "breaks")),
    ("pulls", to_say("Pull readings"), ()),
    ("widths", to_say("Film widths"), ()),
    ("marks", to_say("Marks on the film"), ("mark_before", "mark_after")),
    (
        "notes",
        to_say("Notes"),
        ("roll", "roll_mass", "roll_length", "machine", "operator", "notes", "attempt", "reason"),
    ),
)


class OpenTrial(Document):
    """A trial as a form needs it: what is next, and what can be written down.

    `sheets` lists the fields of each kind of row with the units on offer; `groups` names those
    of a load in the form's order; `treatments` and `sides` have their words; `order` the planned
    loads, each with whether it was wrapped; `zone_heights_m` the heights at which to measure;
    `usual` the lowest and highest value (SI) that nobody asks about, by load type, treatment and
    field.
    """

    schema_: Literal["trial"] = named("trial")
    key: str
    title: str
    question: str
    units: Literal["metric", "trade"]
    treatments: dict[str, str]
    sides: dict[str, str]
    load_types: list[str]
    zone_names: list[str]
    zone_heights_m: dict[str, list[float]]
    usual: dict[str, dict[str, dict[str, tuple[float, float]]]]
    order: list[OrderedLoad]
    wrapped: list[str]
    sheets: list[FormSheet]
    groups: list[EntryGroup]


def opened_trial(store: Store, key: str) -> OpenTrial:
    """A trial of the store."""
    setup = setup_of(store, key)
    trial = setup.trial
    wrapped = [each.key for each in store.current(key, "load") if not each.void]
    there = set(wrapped)
    sheets = [_sheet(sheet, trial.is_fitted_once) for sheet in FORM_SHEETS]
    return OpenTrial(
        key=key,
        title=trial.title,
        question=trial.question,
        units=trial.units,
        treatments={name: say(name) for name in TREATMENTS},
        sides={name: say(name) for name in SIDES},
        load_types=[each.name for each in trial.load_types],
        zone_names=list(trial.zones.names),
        zone_heights_m={
            each.name: list(zone_heights(setup, each.name)) for each in trial.load_types
        },
        usual=usual_readings(setup, rows_on_record(store, key)),
        order=[
            OrderedLoad(**asdict(load), is_wrapped=str(load.number) in there)
            for load in planned_loads(store, key)
        ],
        wrapped=wrapped,
        sheets=sheets,
        groups=_groups(next(each for each in sheets if each.kind == "load")),
    )


def _groups(loads: FormSheet) -> list[EntryGroup]:
    """Every field of a load that the plan does not give, in the form's groups."""
    asked = {each.name for each in loads.fields}
    return [
        EntryGroup(
            name=name,
            title=say(title),
            fields=[each for each in fields if each in asked],
        )
        for name, title, fields in _GROUPS
    ]


def _sheet(sheet: Sheet, is_fitted_once: bool) -> FormSheet:
    return FormSheet(
        kind=sheet.kind,
        title=say(sheet.title),
        doc=say(sheet.doc),
        key=list(sheet.key),
        fields=[_field(each) for each in fields_typed(sheet, is_fitted_once)],
    )


def _field(each: SheetField) -> EntryField:
    return EntryField(
        name=each.name,
        label=say(each.label),
        kind=each.kind,
        doc=say(each.doc),
        required=each.required,
        choices=[Choice(code=one, label=say(one)) for one in each.choices],
        units=list(each.units),
        factors={unit: parse_quantity(f"1 {unit}", each.kind, each.name) for unit in each.units},
        metric=each.metric,
        trade=each.trade,
        low=each.low,
        high=each.high,
    )
