"""Which machines first, over HTTP: a release and the trials so far, planned, to be taken away."""

from __future__ import annotations

import hashlib
import shlex
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.responses import Response

from woold.case.asked import cells_of
from woold.case.toml_text import read_toml
from woold.demo.invented_records import write_sites
from woold.demo.line_register import write_register
from woold.errors import InputError
from woold.line.release import release as released
from woold.line.release_evidence import (
    StoredTrial,
    evidence_of_table,
    evidence_of_trials,
    stored_trials,
)
from woold.line.release_file import read_release
from woold.line.release_result import Release
from woold.line.release_starter import release_starter_text
from woold.report.making import Making, layout_options
from woold.report.model import InputHash
from woold.rows.blocks import Cautions, Heading
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.sites.read_sites import read_sites
from woold.store import Store
from woold.web.answers import refusals
from woold.web.at_work import work, worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, document_file, named
from woold.web.job_news import JOB_ID, WorkNews, answer_of, in_worker, job_of, started, work_begun
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/release", tags=["lines"])

JobId = Annotated[str, Path(pattern=JOB_ID, description="As the question answered.")]
Text = Annotated[str, StringConstraints(max_length=200)]

_REPORT_S = 300.0
_TYPES = {"pdf": "application/pdf", "html": "text/html"}


class ReleaseAsked(BaseModel):
    """A release's file with its register of machines, and the trials so far.

    The trials are a table of sites, or trials of this store; all of them where none is named.
    `example` is the invented company. `as_typed` names what was asked about and is right.
    """

    files: list[SentFile] = Field(default_factory=list, max_length=2)
    sites: SentFile | None = None
    trials: list[Text] = Field(default_factory=list, max_length=1_000)
    example: bool = False
    as_typed: list[Text] = Field(default_factory=list, max_length=5_000)


class ReleaseView(Document):
    """Which machines come first, in blocks."""

    schema_: Literal["release-view"] = named("release-view")
    title: str
    blocks: list[BlockData]


class ReleaseReportBody(BaseModel):
    """How a report is made."""

    paper: Paper = "a4"


@dataclass(frozen=True, slots=True)
class _ReleaseJob:
    """What a job of a release is about.

    Args:
        inputs: hashes of its files.
        as_typed: what was asked about and is right.
        sites: name of the table of sites; None for trials of the store.
        trials: keys of these; all where none is named.
    """

    inputs: tuple[InputHash, ...]
    as_typed: tuple[str, ...]
    sites: str | None
    trials: tuple[str, ...]


@router.get(
    "/starter",
    response_class=Response,
    responses={200: {"content": {"application/toml": {}}}, **refusals()},
)
def release_starter() -> Response:
    """A commented release file to start from."""
    headers = {"content-disposition": 'attachment; filename="release.toml"'}
    return Response(release_starter_text().encode(), media_type="application/toml", headers=headers)


@router.post("", status_code=202, responses=refusals(429), max_body_size=LARGEST_FILE_BODY)
def ask_release(request: Request, body: ReleaseAsked) -> WorkNews:
    """Begin to look for the best set of machines."""
    if body.example:
        example = _example()
        body = body.model_copy(update={"files": example[:2], "sites": example[2]})
    names = [each.name for each in body.files]
    if sum(each.lower().endswith(".toml") for each in names) != 1:
        raise InputError.one(
            "files", ", ".join(names) or say("nothing"),
            say("one release file (.toml), and the register that it names"),
            say("Choose them together."),
        )  # fmt: skip
    kept: tuple[StoredTrial, ...] | None = None
    if body.sites is None:
        store: Store = request.app.state.store
        kept = stored_trials(store, body.trials)
    call = Call(__name__, "release_answer", (body, kept))
    own = [*body.files, *([body.sites] if body.sites else [])]
    inputs = tuple(
        InputHash(each.name, hashlib.sha256(bytes(each.content)).hexdigest()) for each in own
    )
    sites = None if body.sites is None else body.sites.name
    about = _ReleaseJob(inputs, tuple(body.as_typed), sites, tuple(body.trials))
    return work_begun(started(request, in_worker(request, call), about))


def release_answer(
    body: ReleaseAsked, kept: tuple[StoredTrial, ...] | None, progress: Callable[[str], None]
) -> Release:
    """What a worker makes of a release."""
    progress(say("Looking for the best set of machines"))
    cells, fields = cells_of(body.as_typed)
    own = [*body.files, *([body.sites] if body.sites else [])]
    with files_at(own) as paths:
        given = paths[: len(body.files)]
        texts = [each for each in given if each.suffix.lower() == ".toml"]
        register = read_toml(texts[0]).get("register_file")
        # Nothing is read but what was sent, whatever the file names.
        if register and register not in [each.name for each in given]:
            raise InputError.one(
                "register_file", say("{file}, which was not sent", file=repr(register)),
                say("a file that is sent"), say("Choose the release's file and its register"
                " together."),
            )  # fmt: skip
        read = read_release(texts[0], fields)
        evidence = (
            evidence_of_table(read.asked, read_sites(paths[-1], cells))
            if kept is None
            else evidence_of_trials(read.asked, kept, body.trials)
        )
        return released(read, evidence)


@router.get("/{job}", response_model=ReleaseView, responses=refusals(404))
async def release_found(request: Request, job: JobId, say: Reader) -> Response:
    """What was found, once it is there, in the reader's units."""
    _, result = _answered(request, job)
    return await worked(Call(__name__, "release_view", (result, say)))


def release_view(result: Release, wording: Wording) -> ReleaseView:
    """A release in the reader's words; cautions stand on the page."""
    blocks = [
        each
        for each in result.blocks(wording.units)
        if not isinstance(each, Cautions) and not (isinstance(each, Heading) and each.level == 2)
    ]
    return ReleaseView(title=result.title, blocks=sent(blocks))


@router.get(
    "/{job}/document",
    response_class=Response,
    responses={200: {"content": {"application/octet-stream": {}}}, **refusals(404)},
)
def release_document(request: Request, job: JobId) -> Response:
    """The document that `woold line release --json` prints."""
    return document_file(_answered(request, job)[1].to_dict())


@router.post(
    "/{job}/report/{format}",
    response_class=Response,
    responses={200: {"content": {each: {} for each in _TYPES.values()}}, **refusals(404)},
)
async def release_report(
    request: Request, job: JobId, format: Literal["pdf", "html"], body: ReleaseReportBody,
    say: Reader,
) -> Response:  # fmt: skip
    """The plan as a file that needs nothing else: a page, or PDF to print."""
    about, result = _answered(request, job)
    at = job_of(request, job, _ReleaseJob).told_at
    made = Call(__name__, "release_file", (result, _making(about, say, body.paper, at), format))
    name, content = await work(made, _REPORT_S)
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=_TYPES[format], headers=headers)


def release_file(
    result: Release, making: Making, format: Literal["pdf", "html"]
) -> tuple[str, bytes]:
    """Name and content of the plan's file."""
    from woold.web.line_report_file import plan_report_file

    return plan_report_file(result, making, "line-release", format)


def _making(about: _ReleaseJob, wording: Wording, paper: Paper, at: datetime) -> Making:
    texts = [each.name for each in about.inputs if each.name.lower().endswith(".toml")]
    words = ["woold", "report", "line-plan", "release", *texts]
    words += [about.sites] if about.sites else []
    words += [word for key in about.trials for word in ("--trial", key)]
    words += [word for each in about.as_typed for word in ("--as-typed", each)]
    words += layout_options(wording, paper, at)
    return Making(wording, at, paper, about.inputs, shlex.join(words))


def _answered(request: Request, job: str) -> tuple[_ReleaseJob, Any]:
    found = job_of(request, job, _ReleaseJob)
    return found.about, answer_of(found)


def _example() -> list[SentFile]:
    """The invented company: its release, its register, its sites."""
    import base64

    text = files("woold.demo").joinpath("files/release.toml").read_bytes()
    with tempfile.TemporaryDirectory(prefix="woold-") as folder:
        machines, sites = (FilePath(folder) / name for name in ("machines.csv", "sites.csv"))
        write_register(machines)
        write_sites(sites)
        found = [("release.toml", text)]
        found += [(each.name, each.read_bytes()) for each in (machines, sites)]
    return [SentFile(name=name, content=base64.b64encode(raw)) for name, raw in found]
