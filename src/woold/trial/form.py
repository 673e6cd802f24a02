"""The printed form: the same rows as the worksheet, on paper, set by typst."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from woold.prediction.result import CAUTIONS
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import SIDES, TrialSetup
from woold.trial.sheets import Sheet, fields_asked, sheet_of_kind
from woold.trial.worksheet import MEASURING, zone_heights
from woold.units import show
from woold.words import say

__all__ = ["form_pdf"]

_ROWS_ON_A_PAGE = {"a4": 18, "us-letter": 19}

# Every text comes in as data: nothing that was typed is ever read as markup.
_TEMPLATE = r"""
#let data = json(bytes(sys.inputs.data))
#set document(title: data.title, date: none)
#set page(paper: data.paper, flipped: true, margin: (x: 12mm, top: 12mm, bottom: 14mm),
  footer: context [#set text(8pt)
    #data.key #h(1fr) #counter(page).display() / #counter(page).final().first()])
#set text(font: "DejaVu Sans", size: 9pt, fill: rgb("#1f2a36"))
#set table(stroke: 0.5pt + rgb("#9fb1bd"), inset: 3pt)
#let head(body) = text(size: 8pt, weight: "bold", body)

#text(size: 15pt, weight: "bold", data.title)
#v(2pt)
#data.question
#v(6pt)
#grid(columns: (1fr, 1fr), gutter: 12mm,
  [*#data.words.fill* \ #for line in data.instructions [- #line]],
  [*#data.words.care* \ #for line in data.cautions [- #line]
   #v(6pt) *#data.words.sheet* \
   #for line in data.facts [- #line]
   #v(8pt)
   #data.words.date #box(width: 32mm, line(length: 100%, stroke: 0.5pt)) #h(6mm)
   #data.words.by #box(width: 45mm, line(length: 100%, stroke: 0.5pt))])

#for page in data.loads {
  pagebreak()
  text(size: 12pt, weight: "bold", data.words.loads)
  h(1fr)
  text(size: 8pt, data.unit_note)
  v(4pt)
  table(
    columns: data.load_columns.map(c => eval(c, mode: "code")),
    inset: (x: 3pt, y: 2.55mm),
    fill: (x, y) => if y == 0 { rgb("#e9eff3") },
    align: (x, y) => if y == 0 { center + horizon } else { left + horizon },
    ..data.load_heads.map(name => head(name)),
    ..page.flatten().map(cell => cell),
  )
}

#for page in data.readings {
  pagebreak()
  text(size: 12pt, weight: "bold", data.words.readings)
  linebreak()
  text(size: 8pt, data.reading_note)
  v(4pt)
  table(
    columns: (14mm,) + data.zones.map(_ => (1fr, 1fr, 1fr)).flatten() + (18mm,),
    inset: (x: 3pt, y: 2.55mm),
    fill: (x, y) => if y < 2 { rgb("#e9eff3") },
    align: (x, y) => if y < 2 { center + horizon } else { left + horizon },
    table.cell(rowspan: 2, head(data.words.load)),
    ..data.zones.map(zone => table.cell(colspan: 3, head(zone))),
    table.cell(rowspan: 2, head(data.age_head)),
    ..data.zones.map(_ => data.reading_heads.map(head)).flatten(),
    ..page.map(load => (load,) + data.zones.map(_ => ("", "", "")).flatten() + ("",)).flatten(),
  )
}
"""

Paper = Literal["a4", "us-letter"]


def form_pdf(setup: TrialSetup, order: Sequence[PlannedLoad], paper: Paper = "a4") -> bytes:
    """The form as PDF; the same input gives the same bytes.

    Args:
        setup: the trial.
        order: its planned loads.
        paper: "a4" or "us-letter".
    """
    import matplotlib
    import typst

    data = json.dumps(_form_data(setup, order, paper), ensure_ascii=False)
    # The fonts that matplotlib brings: the same form on every machine.
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    pdf: bytes = typst.compile(  # type: ignore[misc]
        _TEMPLATE.encode(),
        sys_inputs={"data": data},
        font_paths=[fonts],
        ignore_system_fonts=True,
    )
    return pdf


def _form_data(setup: TrialSetup, order: Sequence[PlannedLoad], paper: Paper) -> dict[str, object]:
    trial, sheet = setup.trial, sheet_of_kind("load")
    size = _ROWS_ON_A_PAGE[paper]
    pages = [order[start : start + size] for start in range(0, len(order), size)]
    system: Literal["si", "trade"] = "si" if trial.units == "metric" else "trade"
    places = [
        f"{each.name}: " + ", ".join(show(height, "small_length", system) for height in heights)
        for each in trial.load_types
        if (heights := zone_heights(setup, each.name))
    ]
    note = say("Heights are of the middle of film or plate over the deck.")
    if places:
        note += " " + say("Read at, from the bottom up: {places}.", places="; ".join(places))
    asked = fields_asked(sheet, trial.is_fitted_once)
    columns = [each for each in asked if each.name != "shift"]
    return {
        "title": trial.title or trial.key,
        "key": trial.key,
        "question": trial.question,
        "paper": paper,
        "words": {
            "fill": say("How to fill in"),
            "care": say("Take care"),
            "sheet": say("This sheet"),
            "date": say("Date"),
            "by": say("Written by"),
            "loads": say("Loads"),
            "readings": say("Widths and pull readings"),
            "load": say("load"),
        },
        "instructions": [say(line) for line in MEASURING],
        "cautions": [say(line) for line in CAUTIONS],
        "facts": [
            say("{count} loads in the order in which they are wrapped.", count=len(order)),
            say("Load types: {names}.", names=", ".join(each.name for each in trial.load_types)),
            say("Copy what is written here into the worksheet; keep the paper."),
        ],
        "unit_note": say("Write the unit once at the head of a column, or beside the number."),
        "reading_note": note,
        "load_heads": [_head(sheet, each.name, trial.units) for each in columns],
        "load_columns": [_COLUMNS.get(each.name, "1fr") for each in columns],
        "loads": [
            [[_printed(load, each.name) for each in columns] for load in page] for page in pages
        ],
        "reading_heads": [
            _head(sheet_of_kind("width"), "film_width", trial.units),
            *(
                _head(sheet_of_kind("pull"), "force", trial.units) + f", {say(side)}"
                for side in SIDES[:2]
            ),
        ],
        "age_head": _head(sheet_of_kind("pull"), "age", trial.units),
        "zones": list(trial.zones.names),
        "readings": [[str(load.number) for load in page] for page in pages],
    }


_COLUMNS = {
    "load": "11mm",
    "treatment": "19mm",
    "load_type": "24mm",
    "block": "19mm",
    "turns": "13mm",
    "breaks": "13mm",
    "notes": "2.2fr",
}


def _head(sheet: Sheet, name: str, units: str) -> str:
    field = next(each for each in sheet.fields if each.name == name)
    label = say(field.label)
    return f"{label} [{field.unit(units)}]" if field.is_quantity else label


def _printed(load: PlannedLoad, name: str) -> str:
    return {
        "load": str(load.number),
        "treatment": say(load.treatment),
        "load_type": load.load_type,
        "block": f"{load.block} {load.shift}".strip(),
        "roll": load.roll,
        "machine": load.machine,
    }.get(name, "")
