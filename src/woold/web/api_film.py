"""Films over HTTP: those of the shelf on a case's carriage, and a curve from a tensile test."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.carriages.film_fit_rows import film_fit_blocks
from woold.carriages.film_test import FilmFitReport, fit_film
from woold.carriages.match import match_films
from woold.carriages.match_rows import report_blocks
from woold.carriages.tensile_file import Specimen, TensileTest, read_tensile_test
from woold.case.asked import asked_quantity
from woold.case.file import case_from_table
from woold.case.shelf import Shelf
from woold.case.text import table_from_toml
from woold.errors import InputError, WooldError
from woold.physics.tensile_test import FIT_FROM
from woold.pictures.film_curve import film_curve_figure
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Figure
from woold.rows.wording import Wording
from woold.web.answers import refusals
from woold.web.at_work import at_work, worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import CaseTable, Document, SentTable, named
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.on_shelf import shelf_of, with_shelf
from woold.web.reader import Reader, brief
from woold.web.workers import Call
from woold.words import say as said

__all__ = ["router"]

router = APIRouter(prefix="/api/film", tags=["shelf"])

_LARGEST_TEST = 2_000_000
Typed = Annotated[str, StringConstraints(max_length=64)]


class FilmCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: SentTable


class TestedFilm(BaseModel):
    """A tensile test as text, and the specimen's size where the text has forces or extensions."""

    name: str = Field(default="test.csv", max_length=200)
    text: str = Field(max_length=_LARGEST_TEST)
    specimen_width: Typed | None = None
    specimen_thickness: Typed | None = None
    gauge_length: Typed | None = None
    fit_from: Typed | None = None
    as_typed: list[Typed] = Field(default_factory=list, max_length=20)


class MatchView(Document):
    """Films of the shelf on a carriage in rows; `fitting` are those that suit, the best first."""

    schema_: Literal["film-match-view"] = named("film-match-view")
    fitting: list[str]
    names: list[str]
    blocks: list[BlockData]
    cautions: list[BlockData]


class FilmFitView(Document):
    """A curve fitted to a tensile test, and `film`: the fields that it gives to a case's film."""

    schema_: Literal["film-fit-view"] = named("film-fit-view")
    blocks: list[BlockData]
    film: CaseTable
    toml: str
    cautions: list[BlockData]


@router.post("/match", response_model=MatchView, responses=refusals())
async def match(
    request: Request, body: Annotated[FilmCase, with_shelf(FilmCase)], say: Reader
) -> Response:
    """What each film of this server's shelf does on a case's carriage, and what limits it."""
    shelf = await run_in_threadpool(shelf_of(request).shelf)
    if shelf is None or not shelf.films:
        raise InputError.one(
            "shelf", said("no film on this server's shelf"), said("one film or more"),
            said("Put the films that you have or were offered on the shelf first."),
        )  # fmt: skip
    return await worked(Call(__name__, "matched", (body.case, shelf, say)))


def matched(table: SentTable, shelf: Shelf, say: Wording) -> MatchView:
    """Films of a shelf on a case's carriage, done by a worker."""
    report = match_films(case_from_table(table), shelf)
    return MatchView(
        fitting=[each.name for each in report.films if each.fits],
        names=[each.name for each in report.films],
        blocks=sent(report_blocks(report, say, brief(say))),
        cautions=sent(caution_blocks(report.cautions, say)),
    )


@router.post("/fit", responses=refusals(), max_body_size=2 * _LARGEST_TEST)
@at_work
def fit(body: TestedFilm, say: Reader) -> FilmFitView:
    """A film's curve from a tensile test along the machine direction (ASTM D882)."""
    name = re.sub(r"[^A-Za-z0-9._-]", "_", body.name)[-80:].lstrip(".") or "test.csv"
    si = {
        field: asked_quantity(field, typed, "", body.as_typed)
        for field in ("specimen_width", "specimen_thickness", "gauge_length", "fit_from")
        if (typed := getattr(body, field))
    }
    start = si.pop("fit_from", FIT_FROM)
    size = Specimen(
        *(si.get(each) for each in ("specimen_width", "specimen_thickness", "gauge_length"))
    )
    test = _test_in(body.text, name, size)
    report = fit_film(test, name, start)
    blocks: list[Block] = [
        *finding_blocks(report.findings, say),
        _picture(test, report, say),
        *film_fit_blocks(report, say),
    ]
    return FilmFitView(
        blocks=sent(blocks),
        film=_fields(report),
        toml=report.to_toml(),
        cautions=sent(caution_blocks(report.cautions, say)),
    )


def _test_in(text: str, name: str, size: Specimen) -> TensileTest:
    """The test of a file's text; problems name the file as whoever sent it does."""
    with tempfile.TemporaryDirectory(prefix="woold-") as folder:
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8", errors="replace")
        try:
            return read_tensile_test(path, size)
        except WooldError as error:
            found = (
                replace(each, field=each.field.replace(str(path), name)) for each in error.problems
            )
            raise type(error).many(found) from None


def _fields(report: FilmFitReport) -> dict[str, Any]:
    return table_from_toml(report.to_toml())


def _picture(test: TensileTest, report: FilmFitReport, say: Wording) -> Figure:
    svg = figure_svg(film_curve_figure(test, report, say.units), "curve", say)
    return Figure(
        svg,
        said("The test's points with the curve fitted to them, and what the curve misses."),
        said("Stress over elongation, with the fitted curve; below it, the residuals."),
    )
