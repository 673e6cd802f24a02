"""The load: the product stacked on its pallet."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.words import say

__all__ = ["Load"]


class Load(Section):
    """The product stacked on its pallet."""

    length: float | None = quantity(
        "length", "outer length", None, example="1.2 m", gt=0, le=20, usual=("0.3 m", "3 m")
    )
    width: float | None = quantity(
        "length", "outer width", None, example="1.0 m", gt=0, le=20, usual=("0.3 m", "3 m")
    )
    diameter: float | None = quantity(
        "length", "of a round load, instead", None, gt=0, le=20, usual=("0.2 m", "2.5 m")
    )
    footprint: tuple[tuple[float, float], ...] | None = quantity(
        "length",
        "corners of any other outline, instead",
        None,
        usual=("-3 m", "3 m"),
        each=(-20.0, 20.0),
        min_length=3,
        max_length=1000,
    )
    height: float = quantity(
        "length", "product above the deck", example="1.5 m", gt=0, le=20, usual=("0.1 m", "2.8 m")
    )
    mass: float = quantity(
        "mass",
        "product without the pallet",
        example="600 kg",
        gt=0,
        usual=("10 kg", "2500 kg"),
        le=100_000,
    )
    tiers: int = plain("layers of packages", 1, example="6", ge=1, le=200, usual=(1, 40))
    offset: tuple[float, float] = quantity(
        "length",
        "centre of the load from the axis of turning",
        ("0 m", "0 m"),
        example='["0 m", "0 m"]',
        usual=("-300 mm", "300 mm"),
        each=(-5, 5),
    )
    hoop_stiffness: float | None = quantity(
        "force",
        "hoop force that presses the load in by its whole length; rigid if left out",
        None,
        gt=0,
        usual=("500 N", "1000000 N"),
        le=1e12,
    )
    deck_height: float = quantity(
        "length", "pallet's deck above the floor", "144 mm", ge=0, le=1, usual=("0 mm", "250 mm")
    )
    pallet_length: float | None = quantity(
        "length", "the pallet's own length", None, gt=0, le=20, usual=("0.3 m", "3 m")
    )
    pallet_width: float | None = quantity(
        "length", "the pallet's own width", None, gt=0, le=20, usual=("0.3 m", "3 m")
    )

    @model_validator(mode="after")
    def _one_outline(self) -> Self:
        rectangle = self.length is not None and self.width is not None
        given = [rectangle, self.diameter is not None, self.footprint is not None]
        half = (self.length is None) != (self.width is None)
        if sum(given) != 1 or half:
            raise ValueError(say("length and width, or diameter, or footprint: one of the three"))
        if (self.pallet_length is None) != (self.pallet_width is None):
            raise ValueError(say("pallet_length and pallet_width together, or neither"))
        return self
