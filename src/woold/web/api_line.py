"""The line over HTTP: sent once, asked one question after another, its answers taken away."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response

from woold.case.shelf import Shelf
from woold.case.text import toml_from_table
from woold.demo.line_loads import write_line_loads
from woold.errors import InputError
from woold.line.starter import starter_text
from woold.rows.typeset import Paper
from woold.shelf.kept import shelf_table
from woold.web.answers import refusals
from woold.web.at_work import work, worked
from woold.web.documents import Document, document_file, named
from woold.web.job_news import JOB_ID, WorkNews, answer_of, in_worker, job_of, started, work_begun
from woold.web.jobs import Job
from woold.web.line_questions import (
    LineAsked,
    LineJob,
    LineQuestion,
    ThingName,
    cells_folder,
)
from woold.web.line_view import LineAnswer, LineLoadView, LineOpened, LinePlace
from woold.web.on_shelf import shelf_of
from woold.web.people import Viewer
from woold.web.reader import Reader, brief
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, plain_names
from woold.web.sent_lines import KnownLine, LineParts, SentLines, line_asked
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/line", tags=["lines"])

LineId = Annotated[str, Path(pattern=JOB_ID, description="As opening it answered.")]
JobId = Annotated[str, Path(pattern=JOB_ID, description="As the question answered.")]
Right = Annotated[str, StringConstraints(max_length=200)]

_LONGEST_S = 7_200.0
_REPORT_S = 300.0
_VIEW = "woold.web.line_view"
_TYPES = {"pdf": "application/pdf", "html": "text/html"}


class LineSent(BaseModel):
    """A line: its file with the table of loads and the shelf that it names, or the shelf's things.

    Without a line's file the things of this server's shelf are the line; `with_store` adds them to
    that of a file. `example` is the invented line. `as_typed` names what was asked about and is
    right.
    """

    files: list[SentFile] = Field(default_factory=list, max_length=3)
    title: str = Field("", max_length=200)
    with_store: bool = False
    example: bool = False
    as_typed: list[Right] = Field(default_factory=list, max_length=1_000)


class LineRun(BaseModel):
    """A question that was asked of a line: who asked it last, when, and the job of the answer."""

    question: LineQuestion
    sample: int | None
    job: str
    at: str
    by: str


class LineOnServer(BaseModel):
    """A line in the list: who sent it and when, and what was asked of it, the latest first."""

    line: str
    name: str
    at: str
    by: str
    runs: list[LineRun]


class LineList(Document):
    """The lines that a server has."""

    schema_: Literal["lines"] = named("lines")
    lines: list[LineOnServer]


class LineReportBody(BaseModel):
    """How a report is made; `beside` is the job of the map, for the report of carriages."""

    beside: str | None = Field(None, pattern=JOB_ID)
    paper: Paper = "a4"


@router.get(
    "/starter",
    response_class=Response,
    responses={200: {"content": {"application/toml": {}}}, **refusals()},
)
def line_starter() -> Response:
    """A commented line file to start from."""
    headers = {"content-disposition": 'attachment; filename="line.toml"'}
    return Response(starter_text().encode(), media_type="application/toml", headers=headers)


@router.get("", responses=refusals())
def known_lines(request: Request) -> LineList:
    """The lines that this server has, the one that was used last first, to be opened again."""
    lines: SentLines = request.app.state.lines
    return LineList(lines=[_listed(each) for each in lines.known()])


@router.post("", response_model=LineOpened, responses=refusals(), max_body_size=LARGEST_FILE_BODY)
async def open_line(request: Request, body: LineSent, person: Viewer) -> Response:
    """Keep a line for the questions to come, and say what it holds."""
    line = await run_in_threadpool(_kept, request, body, person.name)
    folder = _folder(request, line)
    return await worked(Call(_VIEW, "line_opened", (line, folder)))


@router.get("/{line}", response_model=LineOpened, responses=refusals(404))
async def opened_line(request: Request, line: LineId) -> Response:
    """What a line holds that was sent a while ago."""
    return await worked(Call(_VIEW, "line_opened", (line, _folder(request, line))))


@router.post("/{line}/ask", status_code=202, responses=refusals(404, 429))
def ask_line(request: Request, line: LineId, body: LineAsked, person: Viewer) -> WorkNews:
    """Begin to work out an answer."""
    folder = _folder(request, line)
    call = Call("woold.web.line_questions", "line_answer", (folder, body))
    answered = in_worker(request, call, _LONGEST_S)
    news = work_begun(started(request, answered, LineJob(folder, body)))
    lines: SentLines = request.app.state.lines
    lines.asked(line, line_asked(person.name, body.question, body.sample, news.job))
    return news


@router.get("/answers/{job}", response_model=LineAnswer, responses=refusals(404))
async def line_answer(request: Request, job: JobId, say: Reader) -> Response:
    """What was found, once it is there, in the reader's units."""
    found, result = _answered(request, job)
    about: LineJob = found.about
    return await worked(Call(_VIEW, "line_view", (result, about.folder, about.asked, say)))


@router.get(
    "/answers/{job}/document",
    response_class=Response,
    responses={200: {"content": {"application/octet-stream": {}}}, **refusals(404)},
)
def line_document(request: Request, job: JobId) -> Response:
    """The document that the command prints with --json."""
    return document_file(_answered(request, job)[1].to_dict())


@router.get(
    "/answers/{job}/cells/{format}",
    response_class=FileResponse,
    responses={200: {"content": {"application/octet-stream": {}}}, **refusals(404)},
)
async def map_cells(request: Request, job: JobId, format: Literal["parquet", "csv"]) -> Response:
    """Every combination of a map, as a table."""
    folder, sample = _map_of(request, job)
    made = Call(_VIEW, "cells_file", (folder, sample, format))
    path: FilePath = await work(made, _REPORT_S)
    return FileResponse(path, filename=f"line-map.{format}")


@router.get("/answers/{job}/place", response_model=LinePlace, responses=refusals(404))
async def map_place(
    request: Request,
    job: JobId,
    carriage: Annotated[ThingName, Query()],
    machine: Annotated[ThingName, Query()],
    film: Annotated[ThingName, Query()],
    say: Reader,
) -> Response:
    """The loads of one place of a map, the worst first."""
    place = (*_map_of(request, job), (carriage, machine, film), brief(say))
    return await worked(Call(_VIEW, "line_place", place))


@router.get("/{line}/load", response_model=LineLoadView, responses=refusals(404))
async def one_load(
    request: Request,
    line: LineId,
    carriage: Annotated[ThingName, Query()],
    machine: Annotated[ThingName, Query()],
    film: Annotated[ThingName, Query()],
    load: Annotated[str, Query(max_length=400)],
    say: Reader,
) -> Response:
    """One combination: what every limit says of it, and its case for the bench."""
    names = (carriage, machine, film, load)
    return await worked(Call(_VIEW, "line_load_view", (_folder(request, line), names, say)))


@router.post(
    "/answers/{job}/report/{format}",
    response_class=Response,
    responses={200: {"content": {each: {} for each in _TYPES.values()}}, **refusals(404)},
)
async def answer_report(
    request: Request, job: JobId, format: Literal["pdf", "html"], body: LineReportBody, say: Reader
) -> Response:
    """The report of an answer, to read or to print; carriages and map make one together."""
    found, result = _answered(request, job)
    about: LineJob = found.about
    results: tuple[object, ...] = (result,)
    if about.asked.question in ("map", "carriage"):
        results = (result, _beside(request, about, body.beside))
    made = Call(
        "woold.web.line_report_file",
        "line_report_file",
        (results, about.folder, about.asked, format, (say, body.paper, found.told_at)),
    )
    name, content = await work(made, _REPORT_S)
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=_TYPES[format], headers=headers)


def _beside(request: Request, about: LineJob, job: str | None) -> object:
    """The other half of the report of a line."""
    other = {"map", "carriage"} - {about.asked.question}
    if job is not None:
        found, result = _answered(request, job)
        its: LineJob = found.about
        if its.folder == about.folder and its.asked.question in other:
            return result
    raise InputError.one(
        "beside", say("one of the two questions"),
        say("what works where, and one carriage for all, of the same line"),
        say("Ask the other one as well: the report shows both."),
    )  # fmt: skip


def _answered(request: Request, job: str) -> tuple[Job, Any]:
    found = job_of(request, job, LineJob)
    return found, answer_of(found)


def _map_of(request: Request, job: str) -> tuple[FilePath, int | None]:
    found, _ = _answered(request, job)
    about: LineJob = found.about
    sample = about.asked.sample
    if about.asked.question != "map" or not cells_folder(about.folder, sample).exists():
        raise HTTPException(404, say("a map of a line that was sent a short while ago"))
    return about.folder, sample


def _folder(request: Request, line: str) -> FilePath:
    lines: SentLines = request.app.state.lines
    folder = lines.folder(line)
    if folder is None:
        raise HTTPException(404, say("a line that was sent a short while ago"))
    return folder


def _listed(known: KnownLine) -> LineOnServer:
    """A line as the list has it: of each question the latest run."""
    first, *asked = known.story
    latest = {(each.question, each.sample): each for each in asked}
    return LineOnServer(
        line=known.line,
        name=known.parts.named,
        at=first.at,
        by=first.by,
        runs=[
            LineRun(
                question=each.question, sample=each.sample, job=each.job, at=each.at, by=each.by
            )
            for each in sorted(latest.values(), key=lambda run: run.at, reverse=True)
        ],
    )


def _kept(request: Request, body: LineSent, by: str) -> str:
    lines: SentLines = request.app.state.lines
    if body.example:
        return lines.put(*_example(tuple(body.as_typed)), by)
    names = plain_names(body.files)
    contents = [bytes(each.content) for each in body.files]
    found = list(zip(names, contents, strict=True))
    tables = [name for name in names if not name.lower().endswith(".toml")]
    texts = [name for name in names if name.lower().endswith(".toml")]
    if len(tables) > 1 or len(texts) > 2:
        raise InputError.one(
            "files", ", ".join(names), say("a line's file, one table of loads, one shelf's file"),
            say("Choose only these."),
        )  # fmt: skip
    line, shelf = _line_and_shelf(dict(found), texts)
    if body.with_store or not line:
        if shelf:
            raise InputError.one(
                "files", shelf, say("one shelf: a file's or this server's"),
                say("Leave one of the two out."),
            )  # fmt: skip
        shelf = "shelf-of-this-server.toml"
        found.append((shelf, _shelf_text(request)))
    parts = LineParts(
        title=body.title,
        line=line,
        catalogue=tables[0] if tables else "",
        shelf=shelf,
        as_typed=tuple(body.as_typed),
    )
    return lines.put(parts, found, by)


def _line_and_shelf(found: dict[str, bytes], texts: list[str]) -> tuple[str, str]:
    """Which of the TOML files is the line's: the one that names the other."""
    if len(texts) < 2:
        return (texts[0] if texts else ""), ""
    for line, shelf in (texts, texts[::-1]):
        if any(each.lstrip().startswith(b"shelf") for each in found[line].splitlines()):
            return line, shelf
    raise InputError.one(
        "files", ", ".join(texts), say("a line's file, and the shelf's file that it names"),
        say("Say in the line's file: shelf = {name}.", name=repr(texts[1])),
    )  # fmt: skip


def _shelf_text(request: Request) -> bytes:
    shelf = shelf_of(request).shelf()
    if shelf is None:
        raise InputError.one(
            "files", say("nothing on this server's shelf"),
            say("films, carriages, machine models and recipes on the shelf"),
            say("Put them there first, at /shelf, or open a line's file."),
        )  # fmt: skip
    return toml_from_table(shelf_table(tuple(shelf.things())), Shelf).encode()


def _example(as_typed: tuple[str, ...]) -> tuple[LineParts, list[tuple[str, bytes]]]:
    """The invented line."""
    import tempfile

    text = files("woold.demo").joinpath("files/line.toml").read_bytes()
    with tempfile.TemporaryDirectory(prefix="woold-") as folder:
        path = FilePath(folder) / "line-loads.csv"
        write_line_loads(path)
        loads = path.read_bytes()
    parts = LineParts(line="line.toml", catalogue=path.name, as_typed=as_typed)
    return parts, [("line.toml", text), (path.name, loads)]
