"""Answers of a line as its page shows them: rows and blocks, the heat tables, sheets, one load."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel

from woold.line.cell import cell_blocks, line_cell, named_cell
from woold.line.check import LineCheck
from woold.line.limits import LIMITS, STATUSES
from woold.line.map_result import LineMap, MapCell, known_share, worst_first
from woold.line.map_rows import heat_caption, map_note, share_words, there_over_asked
from woold.rows.blocks import Block, Cautions, Heading, Note, Table
from woold.rows.wording import Wording
from woold.web.block_data import BlockData, sent
from woold.web.documents import CaseTable, Document, named
from woold.web.line_questions import LineAsked, LineQuestion, cells_folder, checked_line
from woold.web.sent_lines import LineParts, read_sent_line
from woold.words import say

if TYPE_CHECKING:
    from woold.line.recipe_result import LineRecipes

__all__ = [
    "LineAnswer",
    "LineLoadView",
    "LineOpened",
    "LinePlace",
    "cells_file",
    "line_load_view",
    "line_opened",
    "line_place",
    "line_view",
]

_MOST_LOADS = 60


class LineOpened(Document):
    """A line that was sent: its id, what it holds, and the names that questions are narrowed to."""

    schema_: Literal["line-opened"] = named("line-opened")
    line: str
    name: str
    combinations: int
    loads: int
    rows_left_out: int
    carriages: list[str]
    machine_models: list[str]
    films: list[str]
    blocks: list[BlockData]


class HeatCell(BaseModel):
    """One machine with one film.

    Args:
        share: of the loads that work [-].
        told: the same in words.
        worst: the worst load and what limits it, in words.
    """

    share: float
    told: str
    worst: str


class HeatTable(BaseModel):
    """The heat table of one carriage: rows are machines, columns are films."""

    carriage: str
    caption: str
    films: list[str]
    machines: list[str]
    cells: list[list[HeatCell]]


class RecipeCase(BaseModel):
    """A recipe on its hardest load, as a case for the bench and for a set-up sheet."""

    name: str
    title: str
    case: CaseTable


class LineAnswer(Document):
    """The answer to a question: blocks in the reader's words; the heat tables of a map; sheets."""

    schema_: Literal["line-answer"] = named("line-answer")
    question: LineQuestion
    heat: list[HeatTable]
    note: str
    blocks: list[BlockData]
    sheets: list[RecipeCase]


class PlaceLoad(BaseModel):
    """A load in a place of the map, in words; `works` and what limits it."""

    load: str
    works: bool
    status: str
    limit: str
    share: str


class LinePlace(Document):
    """The loads of one carriage on one machine with one film, the worst first."""

    schema_: Literal["line-place"] = named("line-place")
    title: str
    loads: list[PlaceLoad]
    told: str


class LineLoadView(Document):
    """One combination: what every limit says of it, and its case for the bench."""

    schema_: Literal["line-load"] = named("line-load")
    blocks: list[BlockData]
    case: CaseTable


def line_opened(line: str, folder: Path) -> LineOpened:
    """What a line that was sent holds.

    Args:
        line: its id.
        folder: where it lies.
    """
    check: LineCheck = checked_line(folder)
    return LineOpened(
        line=line,
        name=LineParts.in_folder(folder).named,
        combinations=check.combinations,
        loads=check.loads,
        rows_left_out=sum(each.rows for each in check.broken),
        carriages=list(check.carriages),
        machine_models=list(check.machine_models),
        films=list(check.films),
        blocks=sent(_without_cautions(check.blocks())),
    )


def line_view(result: Any, folder: Path, asked: LineAsked, wording: Wording) -> LineAnswer:
    """An answer in the reader's words.

    Args:
        result: of :func:`woold.web.line_questions.line_answer`.
        folder: where the line lies.
        asked: the question.
        wording: units and marks of its numbers.
    """
    blocks = list(_without_cautions(result.blocks(wording.units)))
    heat: list[HeatTable] = []
    sheets: list[RecipeCase] = []
    if isinstance(result, LineMap):
        # The page has tables of its own for these, which lead to the loads.
        captions = {heat_caption(each.carriage) for each in result.cells}
        heat = list(_heat_tables(result.cells, wording))
        blocks = [
            each
            for each in blocks
            if not (isinstance(each, Table) and each.caption in captions)
            and getattr(each, "text", "") != map_note()
        ]
    if asked.question == "recipes":
        sheets = list(_recipe_cases(folder, result))
    return LineAnswer(
        question=asked.question,
        heat=heat,
        note=map_note() if heat else "",
        blocks=sent(blocks),
        sheets=sheets,
    )


def _without_cautions(blocks: Iterable[Block]) -> Iterator[Block]:
    """The page has its own; and its own title."""
    for each in blocks:
        if not isinstance(each, Cautions) and not (isinstance(each, Heading) and each.level == 2):
            yield each


def _heat_tables(cells: tuple[MapCell, ...], wording: Wording) -> Iterator[HeatTable]:
    for carriage in dict.fromkeys(each.carriage for each in cells):
        own = [each for each in cells if each.carriage == carriage]
        films = list(dict.fromkeys(each.film for each in own))
        machines = list(dict.fromkeys(each.machine_model for each in own))
        place = {(each.machine_model, each.film): each for each in own}
        yield HeatTable(
            carriage=carriage,
            caption=heat_caption(carriage),
            films=films,
            machines=machines,
            cells=[
                [_heat_cell(place[machine, film], wording) for film in films]
                for machine in machines
            ],
        )


def _heat_cell(cell: MapCell, wording: Wording) -> HeatCell:
    limit = say(LIMITS[cell.worst_limit]) if cell.worst_limit else say("nothing limits it")
    share = there_over_asked(cell.worst_share, wording)
    worst = (
        say("{load}: {limit}", load=cell.worst_load, limit=limit)
        if cell.worst_share is None
        else say("{load}: {limit}, {share} of what is asked", load=cell.worst_load, limit=limit,
                 share=share)
    )  # fmt: skip
    return HeatCell(share=cell.works_share, told=share_words(cell, wording), worst=worst)


def _recipe_cases(folder: Path, result: LineRecipes) -> Iterator[RecipeCase]:
    from woold.line.recipe_cases import recipe_cases

    line, catalogue = read_sent_line(folder)
    for name, table in recipe_cases(line, catalogue, result):
        yield RecipeCase(name=name, title=table["title"], case=table)


def _cells(folder: Path, sample: int | None) -> Any:
    import polars

    return polars.scan_parquet(str(cells_folder(folder, sample) / "cells-*.parquet"))


def line_place(
    folder: Path, sample: int | None, place: tuple[str, str, str], wording: Wording
) -> LinePlace:
    """The loads of a place of the map, the worst first.

    Args:
        folder: where the line lies.
        sample: loads that the map looks at.
        place: names of carriage, model of machine and film.
        wording: marks of its numbers.
    """
    import polars

    own = _cells(folder, sample).filter(
        (polars.col("carriage") == place[0])
        & (polars.col("machine_model") == place[1])
        & (polars.col("film") == place[2])
    )
    rows = own.sort(worst_first(), maintain_order=True)
    rows = rows.select("load", "status", "limit", known_share())
    total = int(own.select(polars.len()).collect().item())
    loads = [
        PlaceLoad(
            load=load,
            works=status != "does_not",
            status=say(STATUSES[status]),
            limit=say(LIMITS[limit]) if limit else "-",
            share=there_over_asked(share, wording),
        )
        for load, status, limit, share in rows.head(_MOST_LOADS).collect().iter_rows()
    ]
    return LinePlace(
        title=say("{carriage} on {machine}, {film}", carriage=place[0], machine=place[1],
                  film=place[2]),
        loads=loads,
        told=say("The worst {shown} of {count} loads.", shown=len(loads), count=total),
    )  # fmt: skip


def line_load_view(
    folder: Path, names: tuple[str, str, str, str], wording: Wording
) -> LineLoadView:
    """One combination and its case.

    Args:
        folder: where the line lies.
        names: of carriage, machine, film and load.
        wording: units of its numbers.
    """
    from woold.line.case_table import case_table

    line, catalogue = read_sent_line(folder)
    cell = named_cell(line, catalogue, names)
    result = line_cell(line, cell, catalogue)
    notes = [Note(each.field, each.message) for each in result.findings]
    return LineLoadView(
        blocks=sent([*cell_blocks(result, wording), *notes]),
        case=case_table(line.things, cell.choice, cell.load),
    )


def cells_file(folder: Path, sample: int | None, format: Literal["parquet", "csv"]) -> Path:
    """One file with every cell of a map.

    Args:
        folder: where the line lies.
        sample: loads that the map looks at.
        format: of the file.

    Returns:
        Where it lies; made once.
    """
    path = cells_folder(folder, sample).with_suffix(f".{format}")
    if not path.exists():
        half = path.with_suffix(f".{os.getpid()}.part")
        cells = _cells(folder, sample)
        cells.sink_parquet(half) if format == "parquet" else cells.sink_csv(half)
        half.replace(path)
    return path
