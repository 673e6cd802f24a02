"""Pictures over HTTP, named by the SHA-256 of their content."""

from __future__ import annotations

import hashlib
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Request
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import Response

from woold.errors import InputError
from woold.store import Store
from woold.store.store import LARGEST_PHOTO
from woold.web.answers import refusals
from woold.web.documents import Document, named
from woold.web.people import Recorder
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/photos", tags=["photos"])

Sha256 = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]

_BYTES = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class KeptPhoto(Document):
    """A picture that is kept."""

    schema_: Literal["photo"] = named("photo")
    sha256: str


@router.post(
    "",
    responses=refusals(),
    openapi_extra=_BYTES,
    max_body_size=LARGEST_PHOTO,
)
async def keep_photo(request: Request, person: Recorder) -> KeptPhoto:
    """Keep a picture: a JPEG, PNG or WebP of up to 25 MB; sending it again changes nothing."""
    content = await request.body()
    store: Store = request.app.state.store

    def keep() -> str:
        name = f"{hashlib.sha256(content).hexdigest()[:12]} by {person.name}"
        with store.writing(person.name) as batch:
            return batch.add_photo(content, name)

    return KeptPhoto(sha256=await run_in_threadpool(keep))


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
    # Its content can never change; it is private, so no shared cache may keep it.
    headers = {"cache-control": "private, max-age=31536000, immutable"}
    return Response(content, media_type=media_type, headers=headers)
