"""Filled sheets over HTTP: taken wholly, or not at all and every bad cell shown where it stands."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field, StringConstraints
from starlette.concurrency import run_in_threadpool

from woold.errors import InputError, Problem, fields_renamed
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.import_rows import import_blocks
from woold.trial.importing import import_written
from woold.trial.marked_sheets import marked_sheets
from woold.trial.reading import WrittenTrial
from woold.web.answers import OneProblem, problems, refusals
from woold.web.api_trials import TrialKey, known_trial
from woold.web.at_work import work
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named
from woold.web.people import Recorder
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile
from woold.web.workers import Call

__all__ = ["router"]

router = APIRouter(prefix="/api/trials", tags=["trials"])


class FilledSheet(BaseModel):
    """A filled worksheet: an .xlsx, .xlsm, .xls or .ods workbook, or a CSV text file."""

    file: SentFile
    as_typed: list[Annotated[str, StringConstraints(max_length=2_000)]] = Field(
        default_factory=list, max_length=2_000
    )
    reason: str = Field("", max_length=2_000)


class _OfSheet(BaseModel):
    model_config = ConfigDict(from_attributes=True)


class SheetCell(_OfSheet):
    """A cell as it was typed, and the places of its problems in the list."""

    text: str
    problems: list[int]


class SheetLine(_OfSheet):
    """A row: its number in the file, and whether it holds heads or units."""

    number: int
    is_head: bool
    cells: list[SheetCell]


class SheetToMend(_OfSheet):
    """A sheet with something to mend: the letters of its columns, its heads and marked rows."""

    title: str
    columns: list[str]
    rows: list[SheetLine]
    left_out: int
    problems: list[int]


class SheetTaken(Document):
    """What became of a filled sheet: it is kept as a whole, or nothing of it is."""

    schema_: Literal["sheet-taken"] = named("sheet-taken")
    is_kept: bool
    blocks: list[BlockData]
    problems: list[OneProblem]
    sheets: list[SheetToMend]


@router.post("/{key}/sheets", responses=refusals(404), max_body_size=LARGEST_FILE_BODY)
async def take_sheet(
    request: Request, key: TrialKey, body: FilledSheet, person: Recorder, say: Reader
) -> SheetTaken:
    """Take a filled worksheet: all of it, or nothing and every bad cell named and shown."""
    store = await run_in_threadpool(known_trial, request, key)
    read = Call("woold.trial.reading", "written_in", (body.file.content, body.file.name))
    written: WrittenTrial = await work(read)
    return await run_in_threadpool(_taken, store, key, (written, body, person.name), say)


def _taken(
    store: Store, key: str, sent_by: tuple[WrittenTrial, FilledSheet, str], say: Wording
) -> SheetTaken:
    written, body, by = sent_by
    try:
        with fields_renamed({"--trial": "trial"}):
            done = import_written(store, written, by, key, body.as_typed, body.reason)
    except InputError as error:
        return _refused(written, error.problems)
    return SheetTaken(is_kept=True, blocks=sent(import_blocks(done, say)), problems=[], sheets=[])


def _refused(written: WrittenTrial, found: tuple[Problem, ...]) -> SheetTaken:
    sheets = [SheetToMend.model_validate(each) for each in marked_sheets(written, found)]
    return SheetTaken(is_kept=False, blocks=[], problems=problems(found), sheets=sheets)
