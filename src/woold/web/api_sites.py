"""Many sites into one claim, over HTTP: pooled, the next site foretold, the claim judged."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.asked import asked_quantity, confirmed_names
from woold.errors import InputError
from woold.pictures.forest import forest_figure
from woold.prediction.result import Finding
from woold.report.svg import figure_svg
from woold.rows.blocks import Figure
from woold.rows.wording import Wording
from woold.sites.analysis import SitesQuestions, analyse_sites
from woold.sites.between_sites import Estimator
from woold.sites.from_store import sites_of_store
from woold.sites.next_site import Convention
from woold.sites.read_sites import empty_table, read_sites
from woold.sites.rows import CONVENTIONS, ESTIMATORS, sites_blocks
from woold.sites.site_table import SiteTable
from woold.store import Store
from woold.web.answers import refusals
from woold.web.at_work import worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named
from woold.web.form_fields import Choice
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/sites", tags=["sites"])

Text = Annotated[str, StringConstraints(max_length=200)]


class SitesSent(BaseModel):
    """The sites: a table of them, or keys of trials of this store; all trials where none is named.

    `as_typed` names what was asked about and is right.
    """

    file: SentFile | None = None
    trials: list[Text] = Field(default_factory=list, max_length=1_000)
    as_typed: list[Text] = Field(default_factory=list, max_length=1_000)


class SitesAsked(SitesSent):
    """What is asked of the sites, as `woold sites pool` takes it."""

    claim: str = Field("", max_length=1_000)
    at_least: list[Text] = Field(default_factory=list, max_length=20)
    explain: list[Text] = Field(default_factory=list, max_length=20)
    estimator: Estimator = "REML"
    next_site: Convention = "spread-uncertain"
    confidence: float = Field(0.95, ge=0.5, le=0.999)


class SitesFields(Document):
    """What can be asked of sites: choices, and a table to fill in."""

    schema_: Literal["sites-fields"] = named("sites-fields")
    estimators: list[Choice]
    conventions: list[Choice]
    table: str


class SitesPooled(Document):
    """What the sites say: the claim judged first; which covariates could explain differences."""

    schema_: Literal["sites-pooled"] = named("sites-pooled")
    sites: int
    claim_holds: bool
    covariates: list[str]
    blocks: list[BlockData]


@router.get("", responses=refusals())
def sites_fields() -> SitesFields:
    """What can be asked of sites."""
    return SitesFields(
        estimators=[Choice(code=name, label=say(text)) for name, text in ESTIMATORS.items()],
        conventions=[Choice(code=name, label=say(text)) for name, text in CONVENTIONS.items()],
        table=empty_table(),
    )


@router.post("", response_model=SitesPooled, responses=refusals(), max_body_size=LARGEST_FILE_BODY)
async def pool_sites(request: Request, body: SitesAsked, say: Reader) -> Response:
    """Average saving, spread between sites, the next site, and what may be claimed."""
    kept = await run_in_threadpool(_of_store, request, body)
    return await worked(Call(__name__, "pooled", (body, kept, say)))


_Kept = tuple[SiteTable, tuple[Finding, ...]] | None


def _of_store(request: Request, body: SitesSent) -> _Kept:
    """The trials of the store as sites, where no table was sent."""
    if body.file is not None:
        if body.trials:
            raise InputError.one(
                "trials",
                say("a table as well"),
                say("a table, or trials of the store"),
                say("Leave one of the two out."),
            )
        return None
    store: Store = request.app.state.store
    return sites_of_store(store, body.trials)


def _table_sent(body: SitesSent) -> SiteTable:
    assert body.file is not None
    _, cells = confirmed_names(body.as_typed, ("at_least",))
    with files_at([body.file]) as (path,):
        return read_sites(path, cells)


def pooled(body: SitesAsked, kept: _Kept, say: Wording) -> SitesPooled:
    """What a worker makes of the sites."""
    right, _ = confirmed_names(body.as_typed, ("at_least",))
    questions = SitesQuestions(
        claim=body.claim,
        at_least=tuple(asked_quantity("at_least", each, "", right) for each in body.at_least),
        explain=tuple(body.explain),
        estimator=body.estimator,
        convention=body.next_site,
        confidence=body.confidence,
    )
    table, as_read = kept or (_table_sent(body), ())
    if kept is None and table.read_as and body.file is not None:
        as_read = (Finding("read_as", body.file.name, table.read_as),)
    found = analyse_sites(table, questions, as_read)
    told = say("Every site with its interval, the average of all, and where the next one may lie.")
    picture = Figure(
        figure_svg(forest_figure(table, found.pooled), "sites", say),
        told,
        f"{told} {say('The tables give the numbers.')}",
    )
    return SitesPooled(
        sites=len(table.sites),
        claim_holds=found.claim_holds,
        covariates=list(table.covariates),
        blocks=sent([*sites_blocks(found, say), picture]),
    )
