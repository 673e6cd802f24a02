"""What a line is asked on its page, and the answers as workers make them."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints

from woold.case.asked import asked_quantity, confirmed_names
from woold.errors import InputError, WooldError
from woold.web.sent_file import told_without
from woold.web.sent_lines import LineParts, read_sent_line
from woold.words import say

if TYPE_CHECKING:
    from woold.line.map_result import LineMap
    from woold.line.recipes import RecipesAsked

__all__ = ["LineAsked", "LineJob", "LineQuestion", "cells_folder", "checked_line", "line_answer"]

LineQuestion = Literal["map", "carriage", "kits", "recipes", "wear"]
ThingName = Annotated[str, StringConstraints(max_length=80)]
Typed = Annotated[str, StringConstraints(max_length=64)]

_TELL_AGAIN_S = 0.25


class LineAsked(BaseModel):
    """A question to a line, and what it is narrowed to, as the commands of `woold line` take it.

    `carriage`, `machine` and `film` are "" for all of them, or for the carriage of today.
    """

    question: LineQuestion
    sample: int | None = Field(None, ge=1, le=100_000_000)
    carriage: ThingName = ""
    machine: ThingName = ""
    film: ThingName = ""
    by_machine: bool = False
    loss: Typed = "3 %"
    margin: Typed = "5 %"
    forces: list[Typed] = Field(default_factory=list, max_length=20)
    rethread: Typed = ""
    draws: int = 1000
    as_typed: list[ThingName] = Field(default_factory=list, max_length=50)


@dataclass(frozen=True, slots=True)
class LineJob:
    """What a job of a line is about.

    Args:
        folder: where the line lies.
        asked: the question.
    """

    folder: Path
    asked: LineAsked


class _Told:
    """Passes on what is being done, now and then; counts what is not counted otherwise."""

    def __init__(self, progress: Callable[[str], None], doing: str) -> None:
        self._progress, self._doing = progress, doing
        self._next, self._steps = 0.0, 0
        progress(doing)

    def step(self) -> None:
        self._steps += 1
        self._tell(say("{doing}, step {step}", doing=self._doing, step=self._steps))

    def of(self, done: int, total: int) -> None:
        self._tell(say("{doing}: {done} of {total}", doing=self._doing, done=done, total=total))

    def _tell(self, text: str) -> None:
        now = time.monotonic()
        if now >= self._next:
            self._next = now + _TELL_AGAIN_S
            self._progress(text)


def checked_line(folder: Path) -> Any:
    """What a line that was sent holds.

    Args:
        folder: where it lies.

    Raises:
        InputError: what cannot be used, or what must be asked.
    """
    from woold.line.check import check_line

    line, catalogue = read_sent_line(folder)
    found = check_line(line, catalogue)
    parts = LineParts.in_folder(folder)
    return replace(found, catalogue=parts.catalogue or parts.named)


def cells_folder(folder: Path, sample: int | None) -> Path:
    """Where the cells of a line's map are kept.

    Args:
        folder: where the line lies.
        sample: loads that it looks at; all if none.
    """
    return folder / ("map" if sample is None else f"map-{sample}")


def line_answer(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> Any:
    """The result of a question.

    Args:
        folder: where the line lies.
        asked: the question.
        progress: hears what is being done.

    Raises:
        WooldError: it cannot be answered; says why.
    """
    try:
        with told_without(folder):
            return _ANSWERS[asked.question](folder, asked, progress)
    except WooldError as error:
        # The command's options are fields of the page here.
        problems = (
            replace(each, field=_FIELDS.get(each.field, each.field)) for each in error.problems
        )
        raise type(error).many(problems) from None


_FIELDS = {
    "--carriage": "carriage",
    "--machine": "machine",
    "--film": "film",
    "--load": "load",
    "--draws": "draws",
    "--loss": "film_loss",
    "--margin": "hold_margin",
    "--set-force": "set_force",
    "--rethread": "rethread_time",
}


def _map(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> LineMap:
    from woold.line.check import check_line
    from woold.line.map import run_map
    from woold.line.map_result import line_map

    line, catalogue = read_sent_line(folder, asked.sample)
    told = _Told(progress, say("Judging combinations"))
    run = run_map(line, catalogue, cells_folder(folder, asked.sample), progress=told.of)
    return replace(
        line_map(check_line(line, catalogue), run), files=say("the server, until it ends")
    )


def _carriages(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> Any:
    from woold.line.one_carriage import line_carriages

    line, catalogue = read_sent_line(folder, asked.sample)
    _Told(progress, say("Wrapping every load with every carriage"))
    if not line.line.envelopes:
        return line_carriages(line, catalogue, asked.draws)
    search = _Told(progress, say("Searching free dimensions, in hundredths"))
    return line_carriages(line, catalogue, asked.draws, step=lambda done: search.of(done, 100))


def _kits(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> Any:
    from woold.line.spring_kits import spring_kits

    line, catalogue = read_sent_line(folder)
    told = _Told(progress, say("Trying springs in motion"))
    return spring_kits(line, catalogue, asked.carriage or None, asked.by_machine, told.step)


def _recipes(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> Any:
    from woold.line.recipes import line_recipes

    line, catalogue = read_sent_line(folder)
    told = _Told(progress, say("Trying programs on every load"))
    return line_recipes(line, catalogue, _recipes_asked(asked), told.step)


def _recipes_asked(asked: LineAsked) -> RecipesAsked:
    from woold.line.recipes import RecipesAsked

    right, _ = confirmed_names(asked.as_typed, ("film_loss", "hold_margin", "set_force"))
    return RecipesAsked(
        loss=asked_quantity("film_loss", asked.loss, "", right),
        margin=asked_quantity("hold_margin", asked.margin, "", right),
        carriage=asked.carriage or None,
        machine=asked.machine or None,
        film=asked.film or None,
        forces=tuple(asked_quantity("set_force", each, "", right) for each in asked.forces),
    )


def _wear(folder: Path, asked: LineAsked, progress: Callable[[str], None]) -> Any:
    from woold.line.wear import line_wear

    right, _ = confirmed_names(asked.as_typed, ("rethread_time",))
    if not asked.carriage:
        raise InputError.one(
            "carriage", say("nothing"), say("a carriage of the line"),
            say("Choose the one that goes on every machine."),
        )  # fmt: skip
    time_s = None
    if asked.rethread.strip():
        time_s = asked_quantity("rethread_time", asked.rethread, "", right)
    line, catalogue = read_sent_line(folder)
    _Told(progress, say("Wrapping every load with both"))
    return line_wear(line, catalogue, asked.carriage, time_s)


_ANSWERS: dict[str, Callable[[Path, LineAsked, Callable[[str], None]], Any]] = {
    "map": _map,
    "carriage": _carriages,
    "kits": _kits,
    "recipes": _recipes,
    "wear": _wear,
}
