"""The store over HTTP: whether it is sound, and whether copies of it are made."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request

from woold.rows.blocks import Table
from woold.rows.store_rows import store_table
from woold.store import Store
from woold.store.backup import check_store
from woold.store.nightly import Nightly
from woold.web.answers import refusals
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named
from woold.web.people import Manager
from woold.web.reader import Reader

__all__ = ["router"]

router = APIRouter(prefix="/api/store", tags=["store"])


class StoreCopies(Document):
    """Whether a copy is made every night, when the latest was made, and why none can be made."""

    schema_: Literal["store-copies"] = named("store-copies")
    are_made: bool
    last: str | None
    failure: str


class StoreChecked(Document):
    """Whether the store is sound, what it holds, and what is wrong with it."""

    schema_: Literal["store-checked"] = named("store-checked")
    is_sound: bool
    wrong: list[str]
    blocks: list[BlockData]


@router.get("", responses=refusals())
def copies(request: Request, _person: Manager) -> StoreCopies:
    """Whether copies of the store are made."""
    nightly: Nightly | None = request.app.state.nightly
    last = nightly.last() if nightly else None
    return StoreCopies(
        are_made=nightly is not None,
        last=last.isoformat() if last else None,
        failure=nightly.failure if nightly else "",
    )


@router.post("/check", responses=refusals())
def check(request: Request, _person: Manager, say: Reader) -> StoreChecked:
    """See whether everything in the store is sound: takes a while where there are many pictures."""
    store: Store = request.app.state.store
    held, wrong = check_store(store.engine)
    table: Table = store_table(say("In the store"), held.rows, say)
    return StoreChecked(is_sound=not wrong, wrong=wrong, blocks=sent([table]))
