"""The dancer tuned over HTTP: how fast it may turn, and which spring, hole and gain suit it."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field, StringConstraints
from starlette.responses import Response

from woold.case.asked import asked_quantity
from woold.case.file import case_from_table
from woold.dancer.tuning import TuneAsk, tune_case
from woold.dancer.tuning_rows import tuning_blocks
from woold.pictures.dancer import tuning_figure
from woold.report.svg import figure_svg
from woold.rows.blocks import Figure
from woold.rows.wording import Wording
from woold.units import show
from woold.web.answers import refusals
from woold.web.at_work import work
from woold.web.block_data import BlockData, untitled
from woold.web.documents import Document, SentTable, named
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader, brief
from woold.web.workers import Call
from woold.words import say as said

__all__ = ["router"]

router = APIRouter(prefix="/api/dancer", tags=["dancers"])

_TUNE_S = 200.0
"""Hundreds of cycles are simulated: a plain machine takes seconds, a crowded one minutes."""

Typed = Annotated[str, StringConstraints(max_length=64)]


class TunedCase(BaseModel):
    """A case with a dancer, and speeds to try; from a third to two and a half times its own."""

    case: SentTable
    slowest: Typed | None = None
    fastest: Typed | None = None
    as_typed: list[Typed] = Field(default_factory=list, max_length=20)


class BestSetting(BaseModel):
    """A spring in a hole with a gain as a case states them."""

    spring: int
    hole: str
    gain: str
    fits: bool


class TuneView(Document):
    """What was tried in rows; `best` is what comes first there, to put into the case."""

    schema_: Literal["tune-view"] = named("tune-view")
    blocks: list[BlockData]
    best: BestSetting


@router.post("/tune", response_model=TuneView, responses=refusals())
async def tune(body: Annotated[TunedCase, with_shelf(TunedCase)], say: Reader) -> Response:
    """Highest smooth turning speed, and the spring, hole and gain with the least ripple."""
    tuned = Call("woold.web.at_work", "answered", (Call(__name__, "tune_view", (body, say)),))
    return Response(await work(tuned, _TUNE_S), media_type="application/json")


def tune_view(body: TunedCase, say: Wording) -> TuneView:
    """A tuning in rows, done by a worker."""
    case = case_from_table(body.case)
    speeds = {
        name: asked_quantity(name, typed, "", body.as_typed)
        for name in ("slowest", "fastest")
        if (typed := getattr(body, name))
    }
    ask = TuneAsk(slowest=speeds.get("slowest"), fastest=speeds.get("fastest"))
    study = tune_case(case, ask)
    best = study.best[0]
    picture = Figure(
        figure_svg(tuning_figure(study), "tuning", say),
        said("Ripple of the tension over the turning speed, as set."),
        said("A line of ripple over turning speed; the rows give the highest smooth speed."),
    )
    return TuneView(
        blocks=[*untitled(tuning_blocks(study, say, brief(say))), *untitled([picture])],
        best=BestSetting(
            spring=best.spring,
            hole=show(best.hole_m, "small_length", "si"),
            gain=show(best.gain_m_per_s_rad, "drive_gain", "si"),
            fits=best.fits,
        ),
    )
