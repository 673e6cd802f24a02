"""Loads written down, over HTTP: numbers first, each once; pictures later, in pieces."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import AwareDatetime, BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool

from woold.store import Store, Typed
from woold.trial.entry import Entry, take_entry, tie_photos
from woold.trial.unsent import LARGEST_UNSENT, take_unsent
from woold.trial.who_typed import typed_by_clock
from woold.web.answers import OneProblem, problems, refusals
from woold.web.api_saved import ClientId
from woold.web.api_trials import TrialKey, Word, known_trial
from woold.web.documents import Document, named
from woold.web.people import Recorder

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["trials"])

PhotoName = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
_FILE = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class TypedCell(BaseModel):
    """A value as it was typed, and the unit that was chosen; no unit for words and counts."""

    typed: Word
    unit: str = Field("", max_length=32)


FormRow = dict[Annotated[str, StringConstraints(max_length=64)], TypedCell]


class WhoTyped(BaseModel):
    """Who typed and when by the phone's clock, and what that clock says at the time of sending."""

    typed_by: str = Field("", max_length=64)
    typed_at: AwareDatetime | None = None
    sent_at: AwareDatetime | None = None

    def typed(self, person: str) -> Typed | None:
        """The same by the server's clock; None where it is who sends, now."""
        now = datetime.datetime.now(datetime.UTC)
        ahead = None if self.sent_at is None else (self.sent_at - now).total_seconds()
        if self.typed_at is None and not self.typed_by:
            return None
        return typed_by_clock(self.typed_by.strip() or person, self.typed_at or now, ahead, now)


class EntryBody(WhoTyped):
    """One wrapped load: its own row, and the widths and pull readings that were measured on it."""

    load: FormRow = Field(default_factory=dict)
    widths: list[FormRow] = Field(default_factory=list, max_length=200)
    pulls: list[FormRow] = Field(default_factory=list, max_length=200)
    photos: list[PhotoName] = Field(default_factory=list, max_length=50)
    as_typed: list[Annotated[str, StringConstraints(max_length=120)]] = Field(
        default_factory=list, max_length=500
    )
    reason: str = Field("", max_length=2_000)


class Taken(Document):
    """What was taken into the store."""

    schema_: Literal["entry-taken"] = named("entry-taken")
    added: dict[str, int]
    completed: int
    corrected: int
    known: int
    known_entry: bool
    typed_at: str | None = Field(None, description="when it was typed, by the server's clock")
    clock_s: float | None = Field(None, description="what the phone's clock is ahead [s]")


class LoadPhotos(WhoTyped):
    """Kept pictures, and the load that they show."""

    load: Annotated[str, StringConstraints(min_length=1, max_length=120)]
    photos: list[PhotoName] = Field(min_length=1, max_length=50)


class TakenEntries(Document):
    """What became of the entries of a phone's file; one that was refused does not stop others."""

    schema_: Literal["entries-taken"] = named("entries-taken")
    taken: int
    known: int
    refused: list[OneProblem]


@router.put("/trials/{key}/entries/{id}", responses=refusals(404, 409))
def put_entry(
    request: Request, key: TrialKey, id: ClientId, body: EntryBody, person: Recorder
) -> Taken:
    """Write one wrapped load down, wholly or not at all; sending it again changes nothing."""

    def typed(row: FormRow) -> dict[str, tuple[str, str]]:
        return {name: (cell.typed, cell.unit) for name, cell in row.items()}

    entry = Entry(
        id=id,
        rows={
            "load": [typed(body.load)] if body.load else [],
            "width": [typed(each) for each in body.widths],
            "pull": [typed(each) for each in body.pulls],
        },
        photos=body.photos,
        as_typed=body.as_typed,
        reason=body.reason,
        typed=body.typed(person.name),
    )
    done = take_entry(known_trial(request, key), key, entry, person.name)
    return Taken(
        added=done.added,
        completed=done.completed,
        corrected=done.corrected,
        known=done.known,
        known_entry=done.file_known,
        typed_at=entry.typed.at if entry.typed else None,
        clock_s=entry.typed.clock_s if entry.typed else None,
    )


@router.put("/trials/{key}/photos", status_code=204, responses=refusals(404))
def put_photos(request: Request, key: TrialKey, body: LoadPhotos, person: Recorder) -> None:
    """Say which load kept pictures show; saying it again changes nothing."""
    store = known_trial(request, key)
    tie_photos(store, key, body.load, body.photos, person.name, body.typed(person.name))


@router.post(
    "/entries",
    responses=refusals(),
    openapi_extra=_FILE,
    max_body_size=LARGEST_UNSENT,
)
async def put_file(request: Request, person: Recorder) -> TakenEntries:
    """Take the file of entries that a phone could not send: each wholly or not at all, and once."""
    content = await request.body()
    store: Store = request.app.state.store
    done = await run_in_threadpool(take_unsent, store, content, person.name)
    return TakenEntries(taken=done.taken, known=done.known, refused=problems(done.refused))
