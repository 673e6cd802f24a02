"""Films of the dancer over HTTP: a look at one picture, a film in pieces, and its judgement."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.errors import ConflictError
from woold.rows.typeset import Paper
from woold.store.picture import LARGEST_PHOTO
from woold.web.answers import refusals
from woold.web.api_saved import ClientId
from woold.web.at_work import work
from woold.web.documents import Document, named
from woold.web.film_view import FilmOfDancer, FilmView, TagsSeen
from woold.web.films import LARGEST_FILM, LARGEST_PIECE, SentFilms
from woold.web.on_shelf import with_shelf
from woold.web.people import Recorder
from woold.web.pieces import BYTES, upload_name
from woold.web.reader import Reader
from woold.web.workers import Call, Workers
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/films", tags=["films"])

Start = Annotated[int, Path(ge=0, le=LARGEST_FILM)]

_LONGEST_S = 300.0
"""For one film [s]: ten minutes of 1080p."""

_TAGS_S = 60.0


class FilmUpload(Document):
    """A film on its way."""

    schema_: Literal["film-upload"] = named("film-upload")
    received: int = Field(description="bytes that have arrived; the next piece begins there")


def _films(request: Request) -> SentFilms:
    films: SentFilms = request.app.state.films
    return films


@router.post(
    "/look",
    responses=refusals(),
    openapi_extra=BYTES,
    max_body_size=LARGEST_PHOTO,
    response_model=TagsSeen,
)
async def look(request: Request, _person: Recorder) -> Response:
    """Tags in one picture of a film, before the film is sent: a JPEG, PNG or WebP."""
    content = await request.body()
    seen = Call("woold.web.film_view", "tags_seen", (content,))
    found = await work(Call("woold.web.at_work", "answered", (seen,)))
    return Response(found, media_type="application/json")


@router.get(
    "/tags/{paper}",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}, **refusals()},
)
async def tags_to_print(
    paper: Paper, say: Reader, side: Annotated[str, Query(max_length=64)] = "60 mm"
) -> Response:
    """Tags to print and stick on frame, arm and load, with how the dancer is filmed."""
    content = await work(Call("woold.web.tag_file", "tags_pdf", (side, paper, say)), _TAGS_S)
    headers = {"content-disposition": 'attachment; filename="dancer-tags.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


@router.get("/{id}", responses=refusals())
def film(request: Request, id: ClientId, person: Recorder) -> FilmUpload:
    """How much of a film has arrived; nothing where none was sent."""
    return FilmUpload(received=_films(request).received(upload_name(person, id)))


@router.put(
    "/{id}/{start}",
    responses=refusals(409),
    openapi_extra=BYTES,
    max_body_size=LARGEST_PIECE,
)
async def put_film_piece(
    request: Request, id: ClientId, start: Start, person: Recorder
) -> FilmUpload:
    """Send a piece of a film, up to 4 MB; one that has arrived already changes nothing."""
    content = await request.body()
    add = _films(request).add
    return FilmUpload(
        received=await run_in_threadpool(add, upload_name(person, id), start, content)
    )


@router.post("/{id}/judge", responses=refusals(409), response_model=FilmView)
async def judge(
    request: Request,
    id: ClientId,
    body: Annotated[FilmOfDancer, with_shelf(FilmOfDancer)],
    say_: Reader,
    person: Recorder,
) -> Response:
    """Judge a film whose pieces have all arrived; unless it is asked to be kept, it is deleted."""
    films, name = _films(request), upload_name(person, id)
    received = films.received(name)
    if received != body.size:
        todo = (
            say("Send what is missing, then judge it again.")
            if received < body.size
            else say("Another film was sent under this name: delete it and send yours again.")
        )
        raise ConflictError.one("size", str(received), str(body.size), todo)
    path = str(films.path(name))
    viewed = Call("woold.web.film_view", "film_view", (path, body, say_))
    workers: Workers = request.app.state.searchers
    # One that is refused waits for another try, such as with picked points: sending takes long.
    found = await workers.answer(Call("woold.web.at_work", "answered", (viewed,)), _LONGEST_S)
    await run_in_threadpool(films.keep if body.keep else films.drop, name)
    return Response(found, media_type="application/json")


@router.delete("/{id}", status_code=204, responses=refusals())
def drop_film(request: Request, id: ClientId, person: Recorder) -> None:
    """Delete a film, or what has arrived of it."""
    _films(request).drop(upload_name(person, id))
