"""A film judged, and the tags in a single picture, as the dancer's page shows them."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, Field

from woold.case.file import case_from_table
from woold.dancer.asked import turning_speed
from woold.dancer.trace_study import TraceAsk
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
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, order_words, turn_words
from woold.web.documents import Document, SentTable, named
from woold.web.reader import brief
from woold.web.turn_view import Point
from woold.words import say

__all__ = ["FilmOfDancer", "FilmView", "TagsSeen", "film_view", "tags_seen"]

_LARGEST_LOOK = 4096


class FilmOfDancer(BaseModel):
    """What is known of a film whose pieces have all arrived, and asked of it."""

    name: str = Field(default="film", max_length=200)
    size: int = Field(ge=1, description="bytes that were sent")
    case: SentTable | None = None
    speed: str | None = Field(default=None, max_length=64)
    corners: int = Field(default=4, ge=1, le=100)
    reverse: bool = False
    start: float = Field(default=0.0, ge=0, le=3600, description="of what is looked at [s]")
    end: float | None = Field(default=None, gt=0, le=3600)
    pivot: tuple[float, float] | None = Field(default=None, description="in the first picture [px]")
    arm: tuple[float, float] | None = None
    keep: bool = Field(default=False, description="keep the film so that it can be judged again")


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
    """The body of `woold dancer video --json`, and the same in rows, with a still picture."""

    schema_: Literal["film-view"] = named("film-view")
    study: FilmStudy
    blocks: list[BlockData]
    cautions: list[BlockData]
    turn: ChartWords | None
    orders: str
    still: str = Field(description="a PNG, in base 64")
    kept: bool


@dataclass(frozen=True, slots=True)
class _Asked:
    ask: FilmAsk
    case: Any


def film_view(path: str, body: FilmOfDancer, wording: Wording) -> FilmView:
    """A film that has arrived, judged.

    Args:
        path: where it lies.
        body: what is known of it.
        wording: the reader's.

    Raises:
        InputError: the film cannot be used; it is called what its sender calls it.
    """
    asked = _asked(body)
    try:
        result = study_film(path, asked.ask, asked.case)
    except WooldError as error:
        name = body.name
        problems = (replace(each, field=each.field.replace(path, name)) for each in error.problems)
        raise type(error).many(problems) from None
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
        still=base64.b64encode(picture).decode("ascii"),
        kept=body.keep,
    )


def _asked(body: FilmOfDancer) -> _Asked:
    speed = turning_speed(body.speed, "machine.speed")
    if (body.pivot is None) != (body.arm is None):
        raise InputError.one(
            "pivot, arm",
            say("one of the two"),
            say("both points, or neither"),
            say("Pick the pivot, then the arm's end."),
        )
    if body.end is not None and body.end <= body.start:
        raise InputError.one(
            "end", f"{body.end:g} s", say("a time after the begin"), say("Give a later time.")
        )
    picked = None
    if body.pivot is not None and body.arm is not None:
        picked = PickedPoints(body.pivot, body.arm)
    trace = TraceAsk(
        turn_period=math.tau / speed if speed else None,
        corners=body.corners,
        reverse=body.reverse,
    )
    case = None if body.case is None else case_from_table(body.case)
    return _Asked(FilmAsk(trace, picked, body.start, body.end), case)


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
