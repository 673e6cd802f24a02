"""Free dimensions of a carriage in a line's file: where rollers may stand, and what they may be."""

from __future__ import annotations

from typing import Final, Self

from pydantic import model_validator

from woold.case.carriage import Carriage
from woold.case.fields import Section, as_in, plain, quantity
from woold.words import say

_PLACE: Final = "place"


class RollerCover(Section):
    """A cover that a roller may have."""

    name: str = plain("what it is called", example='"rubber"', min_length=1, max_length=40)
    friction: float = as_in(Carriage, "friction", "of the film on it")


class FreeRollerEntry(Section):
    """What is free of one roller of the carriage; the rest stays as the carriage has it."""

    name: str = plain("of a roller of the carriage", example='"fast"', min_length=1, max_length=40)
    x: tuple[float, float] | None = quantity(
        "small_length", "of its centre, from and to", None, example='["300 mm", "350 mm"]',
        nature=_PLACE, usual=("-1.5 m", "1.5 m"), each=(-10, 10),
    )  # fmt: skip
    y: tuple[float, float] | None = quantity(
        "small_length", "of its centre, from and to", None, example='["20 mm", "60 mm"]',
        nature=_PLACE, usual=("-1.5 m", "1.5 m"), each=(-10, 10),
    )  # fmt: skip
    diameters: tuple[float, ...] = quantity(
        "small_length", "that it may have", (), example='["80 mm", "100 mm"]', max_length=20,
        usual=("10 mm", "400 mm"), each=(0.001, 2),
    )  # fmt: skip
    teeth: tuple[int, ...] = plain(
        "that its wheel may have", (), example="[24, 30]", max_length=20, usual=(6, 200),
        each=(1, 1000),
    )  # fmt: skip
    covers: tuple[RollerCover, ...] = plain("that it may have", (), max_length=20)
    may_go: bool = plain("whether it may be left out", False)
    opens: tuple[float, float] | None = quantity(
        "small_length", "by how much it moves when the carriage is opened for threading", None,
        example='["60 mm", "0 mm"]', nature=_PLACE, usual=("-500 mm", "500 mm"), each=(-5, 5),
    )  # fmt: skip

    @model_validator(mode="after")
    def _from_low_to_high(self) -> Self:
        for name in ("x", "y"):
            ends = getattr(self, name)
            if ends is not None and ends[0] > ends[1]:
                raise ValueError(say("the lower end of {name} first", name=name))
        return self


class Envelope(Section):
    """A carriage some of whose dimensions are free, and the room that it must keep to."""

    carriage: str = plain(
        "the carriage whose dimensions are free", example='"@one for all"', max_length=90
    )
    low: tuple[float, float] = quantity(
        "small_length", "lower left corner of the room for its rollers",
        example='["100 mm", "-50 mm"]', nature=_PLACE, usual=("-2 m", "2 m"), each=(-10, 10),
    )  # fmt: skip
    high: tuple[float, float] = quantity(
        "small_length", "upper right corner of that room",
        example='["600 mm", "300 mm"]', nature=_PLACE, usual=("-2 m", "2 m"), each=(-10, 10),
    )  # fmt: skip
    threading_room: float = quantity(
        "small_length",
        "least free opening between rollers that film is threaded between, carriage open",
        "25 mm",
        span=("10 mm", "100 mm"),
        placeholder="room for a finger, ISO 13854 from memory; 100 mm are for a hand",
        ge=0,
        le=1,
        usual=("5 mm", "300 mm"),
    )
    most_parts: int | None = plain(
        "most rollers and nips; film roll and way out are not counted", None, ge=2, le=50,
        usual=(2, 20),
    )  # fmt: skip
    rollers: tuple[FreeRollerEntry, ...] = plain(
        "what is free of each roller", min_length=1, max_length=50
    )

    @model_validator(mode="after")
    def _room(self) -> Self:
        if self.low[0] >= self.high[0] or self.low[1] >= self.high[1]:
            raise ValueError(say("a corner high that lies right of low and above it"))
        return self
