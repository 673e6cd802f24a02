"""What trials teach, over HTTP: learnt in the background, and asked about the bench's case."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal, cast

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.asked import asked_quantity, cells_of_sheets, confirmed_names
from woold.case.file import case_from_table
from woold.errors import InputError
from woold.learning.document import LearnedDocument, learned_document
from woold.learning.expected_here import case_pairs, expected_here
from woold.learning.expected_rows import came_to_be_blocks, expected_blocks
from woold.learning.forecast import expected, forecast
from woold.learning.forecast_draws import ForecastDraws
from woold.learning.forecast_rows import forecast_blocks
from woold.learning.in_store import wrapped_in_store
from woold.learning.learned import learn
from woold.learning.rows import learned_blocks, versions_table
from woold.learning.trial_files import store_of_files
from woold.learning.versions import LearningVersion, LearningVersions
from woold.learning.wrapped import Wrapped
from woold.pictures.learned_readings import learned_readings_figure
from woold.prediction.result import Finding
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Cautions, Figure
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.records import TrialRecords, trial_records
from woold.web.answers import refusals
from woold.web.api_trials import TrialKey, known_trial
from woold.web.at_work import worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, SentTable, document_file, named
from woold.web.job_news import JOB_ID, WorkNews, answer_of, in_worker, job_of, started, work_begun
from woold.web.jobs import Progress
from woold.web.on_shelf import taken_by_name, with_shelf
from woold.web.people import Viewer
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/learning", tags=["trials"])

JobId = Annotated[str, Path(pattern=JOB_ID, description="As the question answered.")]
Text = Annotated[str, StringConstraints(max_length=200)]


_Kept = tuple[ForecastDraws, LearningVersion]


class LearningAsked(BaseModel):
    """Trials to learn from, all of the store's where none is named, and a load not wrapped yet.

    `files` are trials in files instead: trial files with the case files that they name, and their
    filled sheets, each after its trial file where it does not name its trial. `against` is the same
    load as it is wrapped today, `at_least` the saving that is asked for. `as_typed` names what was
    asked about and is right, cells of sheets too.
    """

    trials: list[Text] = Field(default_factory=list, max_length=1_000)
    files: list[SentFile] = Field(default_factory=list, max_length=200)
    case: SentTable | None = None
    against: SentTable | None = None
    at_least: Annotated[str, StringConstraints(max_length=64)] = ""
    as_typed: list[Text] = Field(default_factory=list, max_length=1_000)


class LearningView(Document):
    """What was learnt, in blocks; `is_trusted` is false where nothing is said."""

    schema_: Literal["learning-view"] = named("learning-view")
    is_trusted: bool
    blocks: list[BlockData]


class CaseToForetell(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit.

    `against` and `at_least` as for learning; `version` is one of what was learnt, the latest where
    none is named.
    """

    case: SentTable
    against: SentTable | None = None
    at_least: Annotated[str, StringConstraints(max_length=64)] = ""
    version: Annotated[int, Field(ge=1, le=2**31)] | None = None
    as_typed: list[Text] = Field(default_factory=list, max_length=1_000)


class ForetoldView(Document):
    """What was learnt from the store's trials says of a case.

    `version` is that of what was learnt, `at` when, `by` whom and `trials` from what: 0 and nothing
    where nothing was learnt yet; `tells` is false where it says nothing of the case's film and
    carriage.
    """

    schema_: Literal["foretold-view"] = named("foretold-view")
    version: int
    at: str
    by: str
    trials: list[str]
    tells: bool
    blocks: list[BlockData]


class LearningVersionsView(Document):
    """Versions of what was learnt that are kept in the store, the latest first; in blocks too."""

    schema_: Literal["learning-versions"] = named("learning-versions")
    versions: list[int]
    blocks: list[BlockData]


@dataclass(frozen=True, slots=True)
class _LearningJob:
    """What a job is about: the trials that were asked for."""

    trials: tuple[str, ...]


@router.post("", status_code=202, responses=refusals(429), max_body_size=LARGEST_FILE_BODY)
async def ask_learning(request: Request, body: LearningAsked, person: Viewer) -> WorkNews:
    """Begin to learn; what whoever may record learns is kept in the store as a version.

    What is learnt from files is told, and not kept.
    """
    store: Store = request.app.state.store
    wrapped, findings = await run_in_threadpool(_wrapped, store, body)
    named_cases = {
        name: await run_in_threadpool(taken_by_name, request, table)
        for name in ("case", "against")
        if (table := getattr(body, name)) is not None
    }
    told = tuple(f"{each.field}: {each.message}" for each in findings)
    asked = body.model_copy(update={**named_cases, "files": []})
    call = Call(__name__, "learning_answer", (wrapped, told, asked))
    learnt = in_worker(request, call)

    def answered(progress: Progress) -> object:
        found = learnt(progress)
        if found is None:
            return None
        document, kept = found
        if kept is not None and not body.files and person.may("record"):
            LearningVersions(store.engine).add(kept, wrapped, person.name)
        return document

    return work_begun(started(request, answered, _LearningJob(tuple(body.trials))))


def _wrapped(store: Store, body: LearningAsked) -> tuple[tuple[Wrapped, ...], tuple[Finding, ...]]:
    """What the store's trials wrapped, or those of the files that were sent."""
    if not body.files:
        return wrapped_in_store(store, body.trials)
    cells, _ = cells_of_sheets(body.as_typed)
    with files_at(body.files) as paths, store_of_files(paths, cells) as sent_store:
        return wrapped_in_store(sent_store)


def learning_answer(
    wrapped: Sequence[Wrapped],
    told: tuple[str, ...],
    asked: LearningAsked,
    progress: Callable[[str], None],
) -> tuple[LearnedDocument, ForecastDraws | None]:
    """What a worker learns, and of it what is kept for the bench."""
    case, against, least = _asked_about(asked)
    count = sum(len(each.averages) for each in wrapped)
    progress(say("Learning from averages: {count}", count=count))
    learned = learn(wrapped, tell=progress)
    found = None
    if case is not None and learned.can_be_trusted:
        found = forecast(learned, case, against, least)
    kept = ForecastDraws.of(learned) if learned.can_be_trusted else None
    return learned_document(learned, found, told), kept


def _asked_about(asked: LearningAsked | CaseToForetell) -> tuple[Any, Any, float | None]:
    names = [each for each in asked.as_typed if "!" not in each]
    right, of_case = confirmed_names(names, ("at_least",))
    if asked.case is None and (asked.against is not None or asked.at_least.strip()):
        raise InputError.one(
            "case", say("nothing"), say("a case"),
            say("Choose the case that is held against another."),
        )  # fmt: skip
    if asked.at_least.strip() and asked.against is None:
        raise InputError.one(
            "against", say("nothing"), say("the case of the same load as it is wrapped today"),
            say("A saving is a saving over something: choose it."),
        )  # fmt: skip
    case = None if asked.case is None else case_from_table(asked.case, of_case)
    against = None if asked.against is None else case_from_table(asked.against)
    least = (
        asked_quantity("at_least", asked.at_least, "", right) if asked.at_least.strip() else None
    )
    return case, against, least


@router.get("/versions", response_model=LearningVersionsView, responses=refusals())
def learning_versions(request: Request, say: Reader) -> LearningVersionsView:
    """What was learnt so far, version by version."""
    store: Store = request.app.state.store
    found = LearningVersions(store.engine).all()
    return LearningVersionsView(
        versions=[each.number for each in found],
        blocks=sent([versions_table(found, say)] if found else []),
    )


@router.get("/{job}", response_model=LearningView, responses=refusals(404))
async def learning_found(request: Request, job: JobId, say: Reader) -> Response:
    """What was learnt, once it is there, in the reader's units."""
    return await worked(Call(__name__, "learning_view", (_document(request, job), say)))


def learning_view(found: LearnedDocument, wording: Wording) -> LearningView:
    """What was learnt in the reader's words, with the picture of how it came to be."""
    blocks: list[Block] = [
        each for each in learned_blocks(found, wording) if not isinstance(each, Cautions)
    ]
    if found.readings:
        told = say("What was predicted of each reading, before and now, beside what was measured.")
        picture = Figure(
            figure_svg(learned_readings_figure(found.readings), "learned", wording),
            told,
            f"{told} {say('The table of readings gives the numbers.')}",
        )
        blocks.append(picture)
    return LearningView(is_trusted=found.is_trusted, blocks=sent(blocks))


@router.get(
    "/{job}/document",
    response_class=Response,
    responses={200: {"content": {"application/octet-stream": {}}}, **refusals(404)},
)
def learning_document(request: Request, job: JobId) -> Response:
    """The document that `woold learn --json` prints."""
    return document_file(_document(request, job).to_dict())


@router.get("/of-trial/{key}", response_model=ForetoldView, responses=refusals(404))
async def foretell_trial(request: Request, key: TrialKey, say: Reader) -> Response:
    """What is expected of a trial by the latest version, and how that came to be."""
    found = await run_in_threadpool(_versions_and_trial, request, key)
    return await worked(Call(__name__, "trial_foretold_view", (*found, say)))


_MOST_STEPS = 6
"""Versions that are shown: each is asked anew."""


def _versions_and_trial(request: Request, key: str) -> tuple[list[_Kept], TrialRecords]:
    records = trial_records(known_trial(request, key), key)
    return _versions(request, None), records


def _versions(request: Request, number: int | None) -> list[_Kept]:
    """One version of what was learnt, or the latest, the oldest of them first."""
    store: Store = request.app.state.store
    versions = LearningVersions(store.engine)
    latest = [each.number for each in versions.all()[:_MOST_STEPS]] if number is None else [number]
    return [versions.draws(each) for each in reversed(latest)]


def trial_foretold_view(
    kept: Sequence[_Kept], records: TrialRecords, wording: Wording
) -> ForetoldView:
    """What a worker makes of a trial and of what was learnt so far."""
    if not kept:
        return _foretold(None, False, [])
    learned, version = kept[-1]
    cases = [case for pair in case_pairs(records.setup) for case in pair[:2]]
    tells = any(learned.tells(each) for each in cases)
    blocks = list(expected_blocks(expected_here(kept, records), wording)) if tells else []
    return _foretold(version, tells, blocks)


@router.post("/forecast", response_model=ForetoldView, responses=refusals())
async def foretell(
    request: Request, body: Annotated[CaseToForetell, with_shelf(CaseToForetell)], say: Reader
) -> Response:
    """The interval of a case's film, or of a saving, by what was learnt; as it is now or was."""
    kept = await run_in_threadpool(_versions, request, body.version)
    return await worked(Call(__name__, "foretold_view", (kept, body, say)))


def foretold_view(kept: Sequence[_Kept], body: CaseToForetell, wording: Wording) -> ForetoldView:
    """What a worker makes of a case and of what was learnt so far."""
    if not kept:
        return _foretold(None, False, [])
    *earlier, (learned, version) = kept
    case, against, least = _asked_about(body)
    blocks: list[Block] = []
    if tells := learned.tells(case):
        told = forecast(learned, case, against, least)
        sooner = [
            (one, expected(then, case, against) if then.tells(case) else None)
            for then, one in earlier
        ]
        blocks = list(forecast_blocks(told, wording))
        blocks += came_to_be_blocks(told, version, sooner, wording)
    return _foretold(version, tells, blocks)


def _foretold(version: LearningVersion | None, tells: bool, blocks: list[Block]) -> ForetoldView:
    if version is None:
        return ForetoldView(version=0, at="", by="", trials=[], tells=False, blocks=[])
    return ForetoldView(
        version=version.number,
        at=version.at,
        by=version.by,
        trials=list(version.trials),
        tells=tells,
        blocks=sent(blocks),
    )


def _document(request: Request, job: str) -> LearnedDocument:
    return cast(LearnedDocument, answer_of(job_of(request, job, _LearningJob)))
