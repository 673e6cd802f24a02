"""A film judged, and the tags in a single picture, as the dancer's page shows them."""

from __future__ import annotations

import base64
import contextlib
import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from woold.case.asked import asked_count, asked_quantity, confirmed_names
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.dancer.asked import (
    ASKED_OF_FILM,
    ask_about,
    hole_radius,
    trace_stops,
    turning_speed,
)
from woold.dancer.trace_study import TraceAsk, read_thresholds
from woold.errors import InputError, WooldError
from woold.filmed.film_rows import film_blocks
from woold.filmed.film_study import FilmAsk, study_film
from woold.filmed.point_tracks import PickedPoints
from woold.filmed.results import FilmStudy
from woold.filmed.tags import ARM, FRAME, ROLES, found_tags
from woold.filmed.vision import vision
from woold.pictures.canvas import figure_bytes
from woold.pictures.film_still import still_figure
from woold.rows.wording import Wording
from woold.web.api_trace import Constant, FittedField, fitted_fields
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, order_words, turn_words
from woold.web.documents import Document, SentTable, named
from woold.web.reader import brief
from woold.web.turn_view import Point
from woold.words import say

__all__ = ["FilmOfDancer", "FilmView", "TagsSeen", "film_view", "tags_seen"]

_LARGEST_LOOK = 4096


Typed = Annotated[str, StringConstraints(max_length=64)]


class FilmOfDancer(BaseModel):
    """What is known of a film whose pieces have all arrived, and asked of it.

    The same as at the terminal; what is not known here is refused by its name.
    """

    model_config = ConfigDict(extra="forbid")

    name: str = Field(default="film", max_length=200)
    size: int = Field(ge=1, description="bytes that were sent")
    case: SentTable | None = None
    speed: Typed | None = None
    corners: int = Field(default=4, ge=1, le=100)
    reverse: bool = False
    start: float = Field(default=0.0, ge=0, le=3600, description="of what is looked at [s]")
    end: float | None = Field(default=None, gt=0, le=3600)
    pivot: tuple[float, float] | None = Field(default=None, description="in the first picture [px]")
    arm: tuple[float, float] | None = None
    arm_length: Typed | None = Field(default=None, description="pivot to roller: lengths are told")
    stop_times: tuple[float, float] | None = Field(
        default=None, description="at which the arm lay at its lower and its upper stop [s]"
    )
    stops: tuple[Typed, Typed] | None = None
    limits: list[Typed] = Field(default_factory=list, max_length=20)
    fit: list[Constant] = Field(default_factory=list, max_length=6)
    spring: int | None = Field(default=None, ge=1, le=50)
    hole: Typed | None = None
    keep: bool = Field(default=False, description="keep the film so that it can be judged again")
    as_typed: list[Typed] = Field(default_factory=list, max_length=20)


class TagInPicture(BaseModel):
    """A tag and its corners [px]."""

    tag: str
    told: str
    corners: list[Point]


class TagsSeen(Document):
    """Tags in one picture, and whether they are what a film needs."""

    schema_: Literal["tags-seen"] = named("tags-seen")
    tags: list[TagInPicture]
    enough: bool
    words: str


class FilmView(Document):
    """The body of `woold dancer video --json`, and the same in rows, with a still picture.

    `fitted` is for the case.
    """

    schema_: Literal["film-view"] = named("film-view")
    study: FilmStudy
    blocks: list[BlockData]
    cautions: list[BlockData]
    turn: ChartWords | None
    orders: str
    fitted: list[FittedField]
    still: str = Field(description="a PNG, in base 64")
    kept: bool


def film_view(path: str, body: FilmOfDancer, wording: Wording) -> FilmView:
    """A film that has arrived, judged.

    Args:
        path: where it lies.
        body: what is known of it.
        wording: the reader's.

    Raises:
        InputError: the film cannot be used; it is called what its sender calls it.
    """
    with _named_as_sent(path, body.name):
        ask, case = _asked(body)
        result = study_film(path, ask, case)
    study = replace(result.study, file=body.name)
    if study.trace is not None:
        study = replace(study, trace=replace(study.trace, file=body.name))
    blocks = sent(film_blocks(study, wording, brief(wording)))
    picture = figure_bytes(still_figure(result.reading), ".png")
    return FilmView(
        study=study,
        blocks=[each for each in blocks if each.block != "cautions"],
        cautions=[each for each in blocks if each.block == "cautions"],
        turn=None if study.trace is None else turn_words(study.trace, wording),
        orders="" if study.trace is None else order_words(study.trace, brief(wording)),
        fitted=[] if study.trace is None else list(fitted_fields(study.trace.fit)),
        still=base64.b64encode(picture).decode("ascii"),
        kept=body.keep,
    )


_OPTIONS = {"--stop-times": "stop_times", "--fit": "fit", "--limit": "limits"}
"""Fields by what they are called where they are typed."""


@contextlib.contextmanager
def _named_as_sent(path: str, name: str) -> Iterator[None]:
    """Problems name the film and the fields as their sender does."""
    try:
        yield
    except WooldError as error:
        problems = (
            replace(each, field=_OPTIONS.get(each.field, each.field).replace(path, name))
            for each in error.problems
        )
        raise type(error).many(problems) from None


def _asked(body: FilmOfDancer) -> tuple[FilmAsk, Case | None]:
    right, of_case = confirmed_names(body.as_typed, ASKED_OF_FILM)
    case = None if body.case is None else case_from_table(body.case, of_case)
    # With a case it is asked about as its machine's.
    judged = right if case is None else ("speed",)
    speed = turning_speed(body.speed, "speed", as_typed=judged)
    if case is not None:
        asked = {"dancer.hole": body.hole, "machine.speed": body.speed}
        ask_about(case, asked, {"dancer.hole": "hole", "machine.speed": "speed"}, of_case)
    if body.end is not None and body.end <= body.start:
        raise InputError.one(
            "end", f"{body.end:g} s", say("a time after the begin"), say("Give a later time.")
        )
    trace = TraceAsk(
        turn_period=math.tau / speed if speed else None,
        stops=trace_stops(body.stops, "stops", right),
        corners=asked_count("corners", body.corners, as_typed=right),
        reverse=body.reverse,
        thresholds=read_thresholds(body.limits),
        fit=tuple(body.fit),
        spring=body.spring,
        hole=hole_radius(body.hole, "hole"),
    )
    length = body.arm_length
    ask = FilmAsk(
        trace,
        _picked(body),
        body.start,
        body.end,
        None if length is None else asked_quantity("arm_length", length, as_typed=right),
        body.stop_times,
    )
    return ask, case


def _picked(body: FilmOfDancer) -> PickedPoints | None:
    if (body.pivot is None) != (body.arm is None):
        raise InputError.one(
            "pivot, arm",
            say("one of the two"),
            say("both points, or neither"),
            say("Pick the pivot, then the arm's end."),
        )
    if body.pivot is None or body.arm is None:
        return None
    return PickedPoints(body.pivot, body.arm)


def tags_seen(content: bytes) -> TagsSeen:
    """Tags in a picture.

    Args:
        content: a JPEG, PNG or WebP file.

    Raises:
        InputError: no picture, or too large a one.
    """
    from woold.store.picture import clean_picture

    cv2 = vision()
    clean = clean_picture(content, "picture")
    grey = cv2.imdecode(np.frombuffer(clean.content, np.uint8), cv2.IMREAD_GRAYSCALE)
    if grey is None or max(grey.shape) > _LARGEST_LOOK:
        raise InputError.one(
            "picture",
            say("no picture"),
            say("a JPEG, PNG or WebP picture"),
            say("Choose another one."),
        )
    found = found_tags(np.asarray(grey, dtype=np.uint8))
    tags = [
        TagInPicture(
            tag=ROLES[role],
            told=say(ROLES[role]),
            corners=[(float(x), float(y)) for x, y in quads[0]],
        )
        for role, quads in sorted(found.items())
    ]
    lacking = [say(ROLES[role]) for role in (FRAME, ARM) if role not in found]
    words = (
        say("Not seen: {tags}. Go nearer, add light, or pick two points.", tags=", ".join(lacking))
        if lacking
        else say("The tags of frame and arm are seen.")
    )
    return TagsSeen(tags=tags, enough=not lacking, words=words)
