"""The printed form: a page in large print for each load, or all loads in a list."""

from __future__ import annotations

import importlib.resources
from collections.abc import Sequence
from typing import Any

from woold.prediction.result import CAUTIONS
from woold.rows.typeset import Paper, typeset
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import SIDES, TrialSetup
from woold.trial.sheets import (
    ABANDONED,
    REPEAT,
    Sheet,
    SheetField,
    fields_asked,
    sheet_of_kind,
)
from woold.trial.worksheet import MEASURING, blank_rows
from woold.words import language, say

__all__ = ["form_pdf"]

_PRINTED = ("load", "treatment", "load_type", "block", "shift")
"""Known of a planned load; roll and machine are known of some."""

_GAUGE_PARTS = 10
"""Parts of a gauge study; three people read each three times (common practice, no source)."""


def form_pdf(
    setup: TrialSetup,
    order: Sequence[PlannedLoad],
    paper: Paper = "a4",
    is_list: bool = False,
) -> bytes:
    """The form as PDF; the same input gives the same bytes.

    Args:
        setup: the trial.
        order: its planned loads.
        paper: size of the page.
        is_list: all loads in a list, in small print, and not a page for each.
    """
    data = _data_of_both(setup, order)
    data |= _list_data(setup, order) if is_list else _page_data(setup, order)
    names = ("form.typ", "load_list.typ" if is_list else "load_pages.typ")
    folder = importlib.resources.files("woold.trial").joinpath("pages")
    source = "\n".join(folder.joinpath(name).read_text("utf-8") for name in names)
    return typeset(source, data, paper)


def _data_of_both(setup: TrialSetup, order: Sequence[PlannedLoad]) -> dict[str, Any]:
    """What stands on the first page and at the foot of each."""
    trial = setup.trial
    names = ", ".join(each.name for each in trial.load_types)
    told = (
        (say("How to fill in"), tuple(say(line) for line in MEASURING)),
        (say("Take care"), tuple(say(line) for line in CAUTIONS)),
        (
            say("This sheet"),
            (
                say("{count} loads in the order in which they are wrapped.", count=len(order)),
                say("Load types: {names}.", names=names),
                say("Copy what is written here into the worksheet; keep the paper."),
            ),
        ),
    )
    return {
        "title": trial.title or trial.key,
        "key": trial.key,
        "question": trial.question,
        "language": language().partition("-")[0],
        "told": [{"head": head, "lines": lines} for head, lines in told],
        "reading_heads": [
            _head(sheet_of_kind("width"), "film_width", trial.units),
            *(
                _head(sheet_of_kind("pull"), "force", trial.units) + f", {say(side)}"
                for side in SIDES[:2]
            ),
        ],
    }


def _page_data(setup: TrialSetup, order: Sequence[PlannedLoad]) -> dict[str, Any]:
    trial = setup.trial
    heights = _heights(setup, order)
    height_head = _head(sheet_of_kind("width"), "height", trial.units)
    unit = height_head.rpartition("[")[2].rstrip("]")
    age = _head(sheet_of_kind("pull"), "age", trial.units)

    def place(zone: str, height: str) -> str:
        return f"{zone}: {height} {unit}" if height else f"{zone}: ______ {unit}"

    return {
        "words": {
            "reading": say("reading"),
            "value": say("value"),
            "time": say("time"),
            "place": say("zone: {height}", height=say("height over the deck")),
            "write": [say("date"), say("written by"), say("wrapped at (time)"), age],
            "notes": say("Notes: anything odd"),
            "again": _attempt_to_tick(),
            "gauge": say("Gauge study"),
            "gauge_how": say(
                "One page for each gauge: scale, pull gauge, ruler. Each person reads each part"
                " three times, in any order, and does not see what was read before."
            ),
            "gauge_write": [say("gauge"), say("unit"), say("date")],
            "part": say("part"),
            "person": say("person"),
        },
        "parts": _GAUGE_PARTS,
        "loads": [
            {
                "name": say("Load {number} of {count}", number=load.number, count=len(order)),
                "treatment": say(load.treatment),
                "kind": f"{load.load_type}/{load.machine}",
                "named": _known(load),
                "fields": _fields(setup, load),
                "places": [
                    place(zone, height)
                    for zone, height in zip(trial.zones.names, heights[load.number], strict=True)
                ],
            }
            for load in order
        ],
    }


def _attempt_to_tick() -> str:
    """A load that was wrapped again or given up says so, as its worksheet would."""
    reason = _head(sheet_of_kind("load"), "reason", "")
    return f"☐ {say(REPEAT)}   ☐ {say(ABANDONED)}   {reason}: ____________________"


def _known(load: PlannedLoad) -> list[tuple[str, str]]:
    """What the plan says of a load, with what it is."""
    known = [
        (say("load type"), load.load_type),
        (say("block"), load.block),
        (say("shift"), load.shift),
        (say("film roll"), load.roll),
        (say("machine"), load.machine),
    ]
    return [each for each in known if each[1]]


def _heights(setup: TrialSetup, order: Sequence[PlannedLoad]) -> dict[int, list[str]]:
    """Heights at which each load is read, as its worksheet has them; "" where none is known."""
    found: dict[int, list[str]] = {load.number: [] for load in order}
    for row in blank_rows(setup, order)["width"]:
        found[row["load"]].append(str(row["height"]))
    return found


def _fields(setup: TrialSetup, load: PlannedLoad) -> list[str]:
    """What is still to be written of a load, notes aside."""
    known = {*_PRINTED, "operator", "notes"}
    known |= {name for name in ("roll", "machine") if getattr(load, name)}
    sheet = sheet_of_kind("load")
    asked = fields_asked(sheet, setup.trial.is_fitted_once)
    return [_head(sheet, each.name, setup.trial.units) for each in asked if each.name not in known]


def _list_data(setup: TrialSetup, order: Sequence[PlannedLoad]) -> dict[str, Any]:
    trial, sheet = setup.trial, sheet_of_kind("load")
    heights = _heights(setup, order)
    unit = sheet_of_kind("width").fields[1].unit(trial.units)
    of_type = {load.load_type: heights[load.number] for load in order}
    places = [
        f"{name}: " + ", ".join(f"{height} {unit}" for height in found)
        for name, found in of_type.items()
        if all(found)
    ]
    note = say("Heights are of the middle of film or plate over the deck.")
    if places:
        note += " " + say("Read at, from the bottom up: {places}.", places="; ".join(places))
    asked = fields_asked(sheet, trial.is_fitted_once)
    columns = [each for each in asked if each.name != "shift"]
    return {
        "words": {
            "date": say("Date"),
            "by": say("Written by"),
            "loads": say("Loads"),
            "readings": say("Widths and pull readings"),
            "load": say("load"),
        },
        "unit_note": say("Write the unit once at the head of a column, or beside the number."),
        "reading_note": note,
        "load_heads": [_head(sheet, each.name, trial.units) for each in columns],
        "load_columns": [_COLUMNS.get(each.name, "1fr") for each in columns],
        "loads": [[_printed(load, each) for each in columns] for load in order],
        "age_head": _head(sheet_of_kind("pull"), "age", trial.units),
        "zones": list(trial.zones.names),
        "numbers": [str(load.number) for load in order],
    }


_COLUMNS = {
    "load": "11mm",
    "treatment": "21mm",
    "load_type": "24mm",
    "block": "16mm",
    "machine": "17mm",
    "operator": "17mm",
    "turns": "13mm",
    "breaks": "13mm",
    "notes": "1.7fr",
}


def _head(sheet: Sheet, name: str, units: str) -> str:
    field = next(each for each in sheet.fields if each.name == name)
    label = say(field.label)
    return f"{label} [{field.unit(units)}]" if field.is_quantity else label


def _printed(load: PlannedLoad, field: SheetField) -> str:
    return {
        "load": str(load.number),
        "treatment": say(load.treatment),
        "load_type": load.load_type,
        "block": f"{load.block} {load.shift}".strip(),
        "roll": load.roll,
        "machine": load.machine,
    }.get(field.name, "")
