"""The wrap program: the turns and carriage moves of one cycle."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.words import say

__all__ = ["MOST_AT_A_STOP", "BandStop", "GatheredTurns", "PartName", "Pause", "Program"]

PartName = Literal["bottom wraps", "rise", "top wraps", "fall", "closing wraps"]

MOST_AT_A_STOP = 50
"""Turns made at one stop [-]."""


class BandStop(Section):
    """Extra turns with the carriage standing still."""

    height: float = quantity(
        "length",
        "film's lower edge over the deck",
        example="700 mm",
        usual=("-0.3 m", "3 m"),
        ge=-5,
        le=20,
    )
    wraps: float = plain("turns made there", example="1", gt=0, le=MOST_AT_A_STOP, usual=(0.25, 12))
    on_the_way: Literal["up", "down"] = plain("up or down", "up", example='"up"')


class GatheredTurns(Section):
    """Turns over which the film is gathered into a rope."""

    first_turn: float = plain(
        "turn at which gathering begins", example="0", ge=0, usual=(0, 60), le=1000
    )
    last_turn: float = plain("turn at which it ends", example="1", gt=0, usual=(0.25, 60), le=1000)
    width: float = quantity(
        "small_length", "width of the rope", example="60 mm", gt=0, usual=("10 mm", "300 mm"), le=3
    )
    at_edge: Literal["lower", "upper"] = plain("edge where it lies", "lower", example='"lower"')


class Pause(Section):
    """A standstill in the cycle, to place a top sheet for instance."""

    before: PartName = plain("part of the program that waits", example='"top wraps"')
    time: float = quantity(
        "time",
        "that the turning part stands still",
        example="10 s",
        ge=0,
        usual=("0 s", "5 min"),
        le=86_400,
    )


class Program(Section):
    """The turns and carriage moves of one cycle."""

    force_to_load: float = quantity(
        "force",
        "film tension as it meets the load",
        example="45 N",
        ge=0,
        le=2000,
        usual=("5 N", "250 N"),
    )
    start_height: float = quantity(
        "small_length",
        "film's lower edge over the deck; negative is below it",
        "0 mm",
        example="-50 mm",
        ge=-1,
        usual=("-250 mm", "1.5 m"),
        le=20,
    )
    bottom_wraps: float = plain(
        "turns at the start height", 2.0, example="2", ge=0, le=100, usual=(0, 12)
    )
    rise_per_turn: float | None = quantity(
        "small_length",
        "carriage travel in a turn on the way up",
        None,
        example="200 mm",
        gt=0,
        usual=("15 mm", "900 mm"),
        le=5,
    )
    overlap: float | None = quantity(
        "fraction",
        "share of the film's width laid over the turn before, instead",
        None,
        ge=0,
        lt=1,
        usual=("0 %", "95 %"),
    )
    top_overlap: float = quantity(
        "small_length",
        "film's upper edge above the load at the top",
        "75 mm",
        le=2,
        usual=("-500 mm", "500 mm"),
        ge=-20,
    )
    top_wraps: float = plain("turns at the top", 2.0, example="2", ge=0, le=100, usual=(0, 12))
    fall_per_turn: float | None = quantity(
        "small_length",
        "carriage travel in a turn on the way down; as the rise if left out",
        None,
        example="200 mm",
        gt=0,
        usual=("15 mm", "900 mm"),
        le=5,
    )
    closing_wraps: float = plain("turns at the end", 1.0, example="1", ge=0, le=100, usual=(0, 12))
    ends_at: Literal["bottom", "top"] = plain(
        "bottom, or top for a cycle that does not come down", "bottom", example='"bottom"'
    )
    start_tail: float = quantity(
        "length", "film used to fix the start", "0 m", ge=0, usual=("0 m", "3 m"), le=100
    )
    end_tail: float = quantity(
        "length", "film left hanging at the end", "0 m", ge=0, usual=("0 m", "3 m"), le=100
    )
    bands: tuple[BandStop, ...] = plain("extra turns at a height", (), max_length=20)
    ropes: tuple[GatheredTurns, ...] = plain("turns with gathered film", (), max_length=20)
    pauses: tuple[Pause, ...] = plain("standstills", (), max_length=20)

    @model_validator(mode="after")
    def _one_pitch(self) -> Self:
        if (self.rise_per_turn is None) == (self.overlap is None):
            raise ValueError(say("rise_per_turn or overlap: one of the two"))
        return self
