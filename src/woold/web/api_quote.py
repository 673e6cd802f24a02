"""A quote over HTTP: from five facts that a customer knows, on the page and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.file import case_from_table
from woold.prediction.result import Finding
from woold.quote.document import QuoteDocument, quote_document
from woold.quote.expected import TriedSites
from woold.quote.facts import RightAsTyped, facts_from_texts
from woold.quote.quote import quote_of
from woold.quote.rows import quote_blocks
from woold.quote.tried import sites_of_table, tried_sites
from woold.report.making import Making
from woold.report.quote_sheet import quote_sheet
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.sites.from_store import comparable_sites
from woold.store import Store
from woold.web.answers import refusals
from woold.web.at_work import work, worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, SentTable, document_file, named
from woold.web.made_lately import lately, made_key, report_content
from woold.web.on_shelf import taken_by_name
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call

__all__ = ["router"]

router = APIRouter(prefix="/api/quote", tags=["trials"])

Text = Annotated[str, StringConstraints(max_length=200)]
Format = Literal["pdf", "html"]

_TYPES = {"pdf": "application/pdf", "html": "text/html"}


class QuoteAsked(BaseModel):
    """What a customer knows, by field as text with units; what is not known is left empty.

    `offered` is the case of the carriage that is offered; `sites` a table of sites tried, the
    store's trials where none is sent, and none at all where `alone`. `as_typed` names facts that
    were asked about and are right, fields of the offered case and cells of the sites among them.
    `at` is when a quote that was shown was made: that one is taken away.
    """

    facts: dict[Annotated[str, StringConstraints(max_length=64)], Text] = Field(max_length=20)
    offered: SentTable | None = None
    sites: SentFile | None = None
    alone: bool = False
    paper: Paper = "a4"
    as_typed: list[Text] = Field(default_factory=list, max_length=100)
    at: datetime | None = None


class QuoteView(Document):
    """A quote in blocks, and how many sites stand behind it; `made_at` takes the same one away."""

    schema_: Literal["quote-view"] = named("quote-view")
    made_at: datetime
    sites: int
    blocks: list[BlockData]


@dataclass(frozen=True, slots=True)
class _Tried:
    """Sites of the store, and findings about trials that were left out."""

    sites: TriedSites | None
    findings: tuple[Finding, ...]


@router.post("", response_model=QuoteView, responses=refusals(), max_body_size=LARGEST_FILE_BODY)
async def ask_quote(request: Request, body: QuoteAsked, say: Reader) -> Response:
    """What another carriage may save, in the reader's units."""
    return await worked(Call(__name__, "quote_view", (*await _made(request, body, say), say)))


@router.post(
    "/document",
    response_class=Response,
    responses={200: {"content": {"application/octet-stream": {}}}, **refusals()},
    max_body_size=LARGEST_FILE_BODY,
)
async def quote_to_compute_with(request: Request, body: QuoteAsked, say: Reader) -> Response:
    """The document that `woold quote --json` prints."""
    document, _ = await _made(request, body, say)
    return document_file(document.to_dict())


@router.post(
    "/paper/{format}",
    response_class=Response,
    responses={200: {"content": {each: {} for each in _TYPES.values()}}, **refusals()},
    max_body_size=LARGEST_FILE_BODY,
)
async def quote_on_paper(
    request: Request, format: Format, body: QuoteAsked, say: Reader
) -> Response:
    """The same on one page, for the customer."""
    document, at = await _made(request, body, say)
    content = await work(
        Call(__name__, "quote_file", (document, format, Making(say, at, body.paper)))
    )
    headers = {"content-disposition": f'attachment; filename="quote.{format}"'}
    return Response(content, media_type=_TYPES[format], headers=headers)


async def _made(
    request: Request, body: QuoteAsked, wording: Wording
) -> tuple[QuoteDocument, datetime]:
    """The quote that was shown at the time that is stated, and when; any other is made now: the
    store's trials may be others since."""
    asked = body.model_dump(mode="json", exclude={"at", "paper"})

    def key(at: datetime) -> str:
        return made_key(wording, "quote", asked, at.isoformat())

    if body.at is not None:
        at = body.at.replace(tzinfo=body.at.tzinfo or UTC)
        found: QuoteDocument | None = lately(request).find(key(at))
        if found is not None:
            return found, at
    found = await work(Call(__name__, "asked_quote", await _taken(request, body)))
    at = datetime.now(UTC).replace(microsecond=0)
    lately(request).keep(key(at), found)
    return found, at


async def _taken(request: Request, body: QuoteAsked) -> tuple[QuoteAsked, _Tried]:
    """What is asked with names replaced, and the sites of the store where none were sent."""
    if body.offered is not None:
        offered = await run_in_threadpool(taken_by_name, request, body.offered)
        body = body.model_copy(update={"offered": offered})
    if body.alone or body.sites is not None:
        return body, _Tried(None, ())
    store: Store = request.app.state.store
    return body, _Tried(*tried_sites(*await run_in_threadpool(comparable_sites, store)))


def asked_quote(body: QuoteAsked, tried: _Tried) -> QuoteDocument:
    """What a worker reckons."""
    right = RightAsTyped.of(body.as_typed)
    facts = facts_from_texts(
        {name: typed for name, typed in body.facts.items() if typed.strip()}, right.facts
    )
    sites: TriedSites | None = tried.sites
    as_read = tried.findings
    if body.sites is not None and not body.alone:
        with files_at([body.sites]) as (path,):
            sites, as_read = sites_of_table(path, right.cells)
    offered = None if body.offered is None else case_from_table(body.offered, right.case)
    found = quote_of(facts, offered, sites, as_read=as_read, as_typed=right.facts)
    return quote_document(found, facts)


def quote_view(document: QuoteDocument, made_at: datetime, say: Wording) -> QuoteView:
    """The quote as the page lays it out."""
    return QuoteView(
        made_at=made_at, sites=document.sites, blocks=sent(quote_blocks(document, say))
    )


def quote_file(document: QuoteDocument, format: Format, making: Making) -> bytes:
    """The quote as a file."""
    return report_content(quote_sheet(document, making), format)
