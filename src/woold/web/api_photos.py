"""Pictures over HTTP, named by the SHA-256 of their content."""

from __future__ import annotations

import hashlib
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Request
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import Response

from woold.errors import ConflictError, InputError
from woold.store import Store
from woold.store.picture import LARGEST_PHOTO
from woold.store.uploads import LARGEST_PIECE, Uploads
from woold.web.answers import refusals
from woold.web.api_saved import ClientId
from woold.web.at_work import work
from woold.web.documents import Document, named
from woold.web.people import Recorder
from woold.web.pieces import BYTES, upload_name
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/photos", tags=["photos"])

Sha256 = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
Start = Annotated[int, Path(ge=0, le=LARGEST_PHOTO)]


class KeptPhoto(Document):
    """A picture that is kept."""

    schema_: Literal["photo"] = named("photo")
    sha256: str


class Upload(Document):
    """A picture on its way."""

    schema_: Literal["photo-upload"] = named("photo-upload")
    received: int = Field(description="bytes that have arrived; the next piece begins there")


@router.post(
    "",
    responses=refusals(),
    openapi_extra=BYTES,
    max_body_size=LARGEST_PHOTO,
)
async def keep_photo(request: Request, person: Recorder) -> KeptPhoto:
    """Keep a picture: a JPEG, PNG or WebP of up to 25 MB; sending it again changes nothing.

    It is decoded and written anew: metadata and place are dropped.
    """
    content = await request.body()
    return await _keep(request, content, person.name)


async def _keep(request: Request, content: bytes, by: str) -> KeptPhoto:
    store: Store = request.app.state.store
    name = f"{hashlib.sha256(content).hexdigest()[:12]} by {by}"
    picture = await work(Call("woold.store.picture", "clean_picture", (content, "")))

    def keep() -> str:
        with store.writing(by) as batch:
            return batch.add_photo(picture, name)

    return KeptPhoto(sha256=await run_in_threadpool(keep))


def _uploads(request: Request) -> Uploads:
    uploads: Uploads = request.app.state.uploads
    return uploads


@router.get("/uploads/{id}", responses=refusals())
def upload(request: Request, id: ClientId, person: Recorder) -> Upload:
    """How much of a picture has arrived; nothing where none was sent."""
    return Upload(received=_uploads(request).received(upload_name(person, id)))


@router.put(
    "/uploads/{id}/{start}",
    responses=refusals(409),
    openapi_extra=BYTES,
    max_body_size=LARGEST_PIECE,
)
async def put_piece(request: Request, id: ClientId, start: Start, person: Recorder) -> Upload:
    """Send a piece of a picture, up to 1 MB; one that has arrived already changes nothing."""
    content = await request.body()
    add = _uploads(request).add
    return Upload(
        received=await run_in_threadpool(add, upload_name(person, id), start, content, person.name)
    )


@router.post("/uploads/{id}/{size}/end", responses=refusals(409))
async def end_upload(request: Request, id: ClientId, size: Start, person: Recorder) -> KeptPhoto:
    """Keep a picture whose pieces have all arrived; 409 where some are missing."""
    uploads, name = _uploads(request), upload_name(person, id)
    content = await run_in_threadpool(uploads.whole, name)
    if len(content) != size:
        raise ConflictError.one(
            "size", str(len(content)), str(size), say("Send what is missing, then end it again.")
        )
    try:
        kept = await _keep(request, content, person.name)
    except InputError:
        await run_in_threadpool(uploads.drop, name)
        raise
    await run_in_threadpool(uploads.drop, name)
    return kept


@router.get(
    "/{sha256}",
    response_class=Response,
    responses={200: {"content": {"image/*": {}}}, **refusals(404)},
)
def get_photo(request: Request, sha256: Sha256) -> Response:
    """A kept picture."""
    try:
        content, media_type = request.app.state.store.photo(sha256)
    except InputError:
        raise HTTPException(404, say("the SHA-256 of a kept picture")) from None
    # Its content can never change; it is private, so no shared cache may keep it. Whatever older
    # versions kept as a picture can do nothing as a page.
    headers = {
        "cache-control": "private, max-age=31536000, immutable",
        "content-security-policy": "default-src 'none'; sandbox",
    }
    return Response(content, media_type=media_type, headers=headers)
