"""What the wrapped load must hold, and when and how it is looked at."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.words import say

__all__ = ["Hold", "HoldTarget"]


class HoldTarget(Section):
    """Containment force that must be held over a zone of height, at the age asked for."""

    low: float = quantity(
        "length",
        "lower end of the zone over the deck",
        "0 m",
        ge=-1,
        usual=("-0.2 m", "2.8 m"),
        le=20,
    )
    high: float | None = quantity(
        "length",
        "upper end; the load's top if left out",
        None,
        usual=("0 m", "2.8 m"),
        ge=-1,
        le=20,
    )
    force: float = quantity(
        "force", "that must be held", example="120 N", gt=0, usual=("5 N", "2000 N"), le=1e6
    )

    @model_validator(mode="after")
    def _upwards(self) -> Self:
        if self.high is not None and self.high <= self.low:
            raise ValueError(say("high above low"))
        return self


class Hold(Section):
    """What the wrapped load must hold, and when and how it is looked at."""

    after: float = quantity(
        "hours",
        "age at which the film's force is asked for",
        "16 h",
        ge=0,
        usual=("0 h", "365 day"),
        le=1e9,
    )
    temperature: float = quantity(
        "temperature",
        "where the load stands",
        "23 degC",
        ge=233.15,
        le=333.15,
        usual=("-30 degC", "50 degC"),
    )
    edge_load_limit: float | None = quantity(
        "tension_per_width",
        "most force on a corner, per metre of height",
        None,
        gt=0,
        usual=("20 N/m", "20000 N/m"),
        le=1e7,
    )
    pull_distance: float = quantity(
        "small_length", "that a pull plate is pulled", "4 in", gt=0, usual=("5 mm", "250 mm"), le=2
    )
    pull_plate_width: float = quantity(
        "small_length", "height of a pull plate", "6 in", gt=0, usual=("20 mm", "500 mm"), le=5
    )
    pull_height: float | None = quantity(
        "length",
        "of the plate over the deck; mid height if left out",
        None,
        ge=0,
        usual=("0 m", "2.8 m"),
        le=20,
    )
    targets: tuple[HoldTarget, ...] = plain("what must be held where", (), max_length=50)
