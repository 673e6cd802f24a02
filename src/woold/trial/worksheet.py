"""The Excel workbook in which a trial is written down: instructions, drop-downs, checks, units."""

from __future__ import annotations

import functools
import io
import itertools
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from woold.case.file import case_from_table
from woold.prediction.result import CAUTIONS
from woold.rows.typeset import Paper
from woold.trial.alike import LARGEST, LOOSER
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import SIDES, TREATMENTS, TrialSetup
from woold.trial.sheets import SHEETS, Sheet, SheetField, fields_typed
from woold.words import say, to_say

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

__all__ = [
    "FORMAT_NAME",
    "MEASURING",
    "TRIAL_HEAD",
    "TRIAL_SHEET",
    "UNIT_HEAD",
    "WORKSHEET_HEAD",
    "blank_rows",
    "load_height",
    "worksheet_bytes",
    "zone_heights",
    "zone_limits",
]

FORMAT_NAME = "woold_trial_worksheet_1"
TRIAL_SHEET = to_say("Trial")
TRIAL_HEAD, WORKSHEET_HEAD = to_say("trial"), to_say("worksheet")
"""Before the trial's key, and before the name of this kind of worksheet."""

UNIT_HEAD = to_say("unit")
"""What stands in the first column of the row of units."""

_INK, _PALE, _ASK, _LINE = "#1f2a36", "#e9eff3", "#f6e7b4", "#9fb1bd"
_SPARE_ROWS = 200
_TIMES_OFF = 5.0
"""The same, of columns that nothing is known of."""
_PAPER_CODES: dict[Paper, int] = {"letter": 1, "a4": 9}
"""Of a workbook. Source: ECMA-376, part 1, 18.3.1.63 pageSetup, paperSize."""

_FIRST_ROW = 2  # 0-based: heads, units, then data

MEASURING = (
    to_say(
        "Keep to the order of the loads. It was drawn at random so that neither shift nor film roll"
        " can pass for a treatment. If a load must be left out, leave its row empty."
    ),
    to_say("Do not change the film roll inside a block. A new block may start with a new roll."),
    to_say(
        "Film mass: let the film relax off the load, gather all of it, tails too, and weigh it."
    ),
    to_say(
        "Marks: make two marks on the film of the roll, measure between them; measure again on the"
        " wrapped load, along the film. The longer the first distance, the better."
    ),
    to_say("Widths: measure a single film where it lies flat, edge to edge, at several heights."),
    to_say(
        "Pulls: use the same gauge, plate, pull distance and time since wrapping for both"
        " treatments."
    ),
    to_say(
        "Write what you read. Leave empty what you did not measure; never write a guess or a 0."
    ),
    to_say("Note anything odd."),
)
"""How to measure, on paper and on screen."""

TYPING = (
    to_say(
        "Choose each column's unit in the second row, before the first number. A cell may also"
        " state its own unit, such as 312 g."
    ),
    to_say(
        "Type numbers, no formulas. Mistakes found later are corrected in the store, with a reason."
    ),
)


def zone_limits(setup: TrialSetup, load_type: str) -> tuple[float, ...] | None:
    """Heights between the zones of a load type [m]; thirds (say) of its load's height if not set.

    None where they are not set and no case gives the load's height.
    """
    zones = setup.trial.zones
    if zones.limits or len(zones.names) == 1:
        return zones.limits
    height, count = load_height(setup, load_type), len(zones.names)
    return None if height is None else tuple(height * n / count for n in range(1, count))


def zone_heights(setup: TrialSetup, load_type: str) -> tuple[float, ...]:
    """Middle of each zone over the deck [m]; empty where the load's height is not known."""
    height, inner = load_height(setup, load_type), zone_limits(setup, load_type)
    if height is None or inner is None:
        return ()
    edges = (0.0, *inner, height)
    return tuple((low + high) / 2 for low, high in itertools.pairwise(edges))


def load_height(setup: TrialSetup, load_type: str) -> float | None:
    """Height of a load type over the deck by its cases [m]; None where none gives it."""
    tables = (setup.case_table(load_type, treatment) for treatment in TREATMENTS)
    return next((_height(json.dumps(each, default=str)) for each in tables if each), None)


@functools.lru_cache(maxsize=256)
def _height(case: str) -> float:
    """Height of a case's load, its tables as JSON; asked at every load written down."""
    return case_from_table(json.loads(case)).load.height


def blank_rows(setup: TrialSetup, order: Sequence[PlannedLoad]) -> dict[str, list[dict[str, Any]]]:
    """What is printed beforehand, by kind of sheet; lengths in the sheet's unit."""
    loads = [
        {
            "load": load.number,
            "treatment": say(load.treatment),
            "load_type": load.load_type,
            "block": load.block,
            "shift": load.shift,
            "roll": load.roll,
            "machine": load.machine,
        }
        for load in order
    ]
    factor = 1000.0 if setup.trial.units == "metric" else 1 / 0.0254
    unknown = [""] * len(setup.trial.zones.names)
    heights = {
        each.name: [round(height * factor) for height in zone_heights(setup, each.name)] or unknown
        for each in setup.trial.load_types
    }
    places = [
        {"load": load.number, "height": height}
        for load in order
        for height in heights[load.load_type]
    ]
    pulls = [{**place, "side": say(side)} for place in places for side in SIDES[:2]]
    return {"load": loads, "width": places, "pull": pulls, "gauge": []}


def worksheet_bytes(
    setup: TrialSetup,
    order: Sequence[PlannedLoad],
    rows: Mapping[str, Sequence[Mapping[str, Any]]] | None = None,
    paper: Paper = "a4",
    made_at: datetime | None = None,
) -> bytes:
    """The workbook of a trial; with a time given, the same input gives the same bytes.

    Args:
        setup: the trial.
        order: its planned loads.
        rows: what stands in the sheets, by kind; the order and the places to measure if not given.
        paper: that it is printed on.
        made_at: time that it states, with its zone; now if not given.
    """
    import xlsxwriter

    buffer = io.BytesIO()
    # Text is data: none of it may turn into a formula or a link.
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        of_book: dict[str, Any] = {"title": setup.trial.title, "comments": FORMAT_NAME}
        if made_at is not None:
            of_book["created"] = made_at.astimezone(UTC)
        book.set_properties(of_book)
        formats = _formats(book)
        _write_first_sheet(book, setup, formats)
        rows = rows or blank_rows(setup, order)
        for sheet in SHEETS:
            _write_data_sheet(book, setup, sheet, rows[sheet.kind], formats)
        for page in book.worksheets():
            page.set_paper(_PAPER_CODES[paper])
    return buffer.getvalue()


def _formats(book: Workbook) -> dict[str, Format]:
    line = {"border": 1, "border_color": _LINE}
    return {
        "title": book.add_format({"bold": True, "font_size": 16, "font_color": _INK}),
        "name": book.add_format({"bold": True, "font_color": _INK, "valign": "top"}),
        "text": book.add_format({"text_wrap": True, "valign": "top"}),
        "head": book.add_format(
            {
                "bold": True,
                "bg_color": _INK,
                "font_color": "white",
                "text_wrap": True,
                "valign": "vcenter",
                **line,
            }
        ),
        "unit": book.add_format({"italic": True, "bg_color": _ASK, "align": "center", **line}),
        "no unit": book.add_format({"bg_color": _PALE, "font_color": _INK, **line}),
        "planned": book.add_format({"bg_color": _PALE, **line}),
        "cell": book.add_format(line),
        "doubt": book.add_format({"bg_color": "#e8b3a4", "bold": True}),
    }


def _write_first_sheet(book: Workbook, setup: TrialSetup, formats: dict[str, Format]) -> None:
    page = book.add_worksheet(say(TRIAL_SHEET)[:31])
    page.set_portrait()
    page.fit_to_pages(1, 0)
    page.hide_gridlines(2)
    page.set_column(0, 0, 16)
    page.set_column(1, 1, 88)
    trial = setup.trial
    page.write_string(0, 0, trial.title or trial.key, formats["title"])
    facts = (
        # The first two are read again, in whichever language they were written.
        (say(TRIAL_HEAD), trial.key),
        (say(WORKSHEET_HEAD), FORMAT_NAME),
        (say("question"), trial.question),
        (say("load types"), ", ".join(each.name for each in trial.load_types)),
        (
            say("zones"),
            say("{names} (from the bottom up)", names=", ".join(trial.zones.names)),
        ),
    )
    row = 2
    for name, text in facts:
        page.write_string(row, 0, name, formats["name"])
        page.write_string(row, 1, text, formats["text"])
        row += 1
    told = (
        (say("How to fill in"), tuple(say(line) for line in (*MEASURING, *TYPING))),
        (say("Take care"), tuple(say(line) for line in CAUTIONS)),
    )
    for head, lines in told:
        row += 1
        page.write_string(row, 0, head, formats["name"])
        for line in lines:
            page.write_string(row, 1, line, formats["text"])
            page.set_row(row, 30 if len(line) > 92 else 15)
            row += 1
    row += 1
    page.write_string(row, 0, say("Sheets"), formats["name"])
    for sheet in SHEETS:
        page.write_string(row, 1, f"{say(sheet.title)}: {say(sheet.doc)}", formats["text"])
        row += 1


def _write_data_sheet(
    book: Workbook,
    setup: TrialSetup,
    sheet: Sheet,
    rows: Sequence[Mapping[str, Any]],
    formats: dict[str, Format],
) -> None:
    page = book.add_worksheet(say(sheet.title)[:31])
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(0, 1)
    page.set_footer(f"&L{say(sheet.title)}&R&P / &N")
    page.set_row(0, 32)
    page.freeze_panes(_FIRST_ROW, 1)
    last = _FIRST_ROW + len(rows) + _SPARE_ROWS - 1
    fields = fields_typed(sheet, setup.trial.is_fitted_once)
    for column, field in enumerate(fields):
        page.write_string(0, column, say(field.label), formats["head"])
        _write_unit(page, column, field, setup.trial.units, formats)
        page.set_column(column, column, _column_width(field))
        page.write_comment(0, column, say(field.doc), {"x_scale": 1.6, "author": ""})
        _check_column(page, column, field, sheet, last, setup, formats)
    for offset in range(len(rows) + _SPARE_ROWS):
        values = rows[offset] if offset < len(rows) else {}
        for column, field in enumerate(fields):
            row = _FIRST_ROW + offset
            value = values.get(field.name, "")
            if value == "":
                page.write_blank(row, column, None, formats["cell"])
            elif isinstance(value, str):
                page.write_string(row, column, value, formats["planned"])
            else:
                page.write_number(row, column, value, formats["planned"])


def _write_unit(
    page: Worksheet, column: int, field: SheetField, system: str, formats: dict[str, Format]
) -> None:
    if field.is_quantity:
        page.write_string(1, column, field.unit(system), formats["unit"])
        page.data_validation(
            1,
            column,
            1,
            column,
            {
                "validate": "list",
                "source": list(field.units),
                "input_title": say("Unit")[:32],
                "input_message": say("Choose the unit of this whole column.")[:255],
                "error_title": say("Unit")[:32],
                "error_message": say("One of: {units}", units=", ".join(field.units))[:255],
            },
        )
    else:
        page.write_string(1, column, say(UNIT_HEAD) if column == 0 else "", formats["no unit"])


def _column_width(field: SheetField) -> float:
    if field.kind == "note":
        return 36
    return max(9.0, min(len(say(field.label)) * 0.75 + 2, 16.0))


def _times_off(field: SheetField, setup: TrialSetup) -> float:
    """Factor from the middle of its column at which a cell is coloured: as it is asked about.

    A sheet has one middle for all rows: where load types or heights differ, it is the looser one.
    """
    if field.name not in LARGEST or field.name == "reading":
        return _TIMES_OFF
    is_mixed = field.name == "force" or len(setup.trial.load_types) > 1
    return LARGEST[field.name] * (LOOSER[field.name][0] if is_mixed else 1.0)


def _check_column(
    page: Worksheet,
    column: int,
    field: SheetField,
    sheet: Sheet,
    last: int,
    setup: TrialSetup,
    formats: dict[str, Format],
) -> None:
    from xlsxwriter.utility import xl_col_to_name

    name = xl_col_to_name(column)
    first = _FIRST_ROW + 1
    span = f"${name}${first}:${name}${last + 1}"
    choices = tuple(say(choice) for choice in field.choices)
    if field.name == "load_type":
        choices = tuple(each.name for each in setup.trial.load_types)
    rule: dict[str, Any] | None = None
    if choices and len(",".join(choices)) < 250:
        rule = {"validate": "list", "source": list(choices)}
    elif field.name == "load" and sheet.kind == "load":
        rule = {
            "validate": "custom",
            "value": f"=COUNTIF({span},{name}{first})=1",
            # Only a warning: a load that is wrapped again has a second row.
            "error_type": "warning",
            "error_message": say(
                "This load number is there already. If the load was wrapped again, write repeat or"
                " abandoned and the reason at the end of its row."
            )[:255],
        }
    elif field.is_quantity or field.kind in ("number", "count"):
        # Text stays allowed for a cell that states its own unit, so this one only warns.
        least = -5000.0 if field.name == "height" else 0.0
        rule = {
            "validate": "decimal" if field.kind != "count" else "integer",
            "criteria": ">=",
            "value": least,
            "error_type": "warning",
            "error_message": say("Type a number, or a number with its unit such as 312 g.")[:255],
        }
        times = f"{_times_off(field, setup):g}"
        page.conditional_format(
            _FIRST_ROW,
            column,
            last,
            column,
            {
                "type": "formula",
                "criteria": (
                    f"=AND(ISNUMBER({name}{first}),{name}{first}<>0,COUNT({span})>3,"
                    f"OR({name}{first}>{times}*MEDIAN({span}),"
                    f"{name}{first}*{times}<MEDIAN({span})))"
                ),
                "format": formats["doubt"],
            },
        )
    if rule:
        rule |= {"input_title": say(field.label)[:32], "input_message": say(field.doc)[:255]}
        page.data_validation(_FIRST_ROW, column, last, column, rule)
