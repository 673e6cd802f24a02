"""The film carriage: what the film passes between its roll and the load."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.case.rollers import RollerEntry
from woold.units import Money
from woold.words import say

__all__ = ["Carriage"]

_FROM_ROLLERS = (
    "slow_roller_diameter",
    "gap",
    "contact_angle_slow",
    "contact_angle_fast",
    "nip_force_slow",
    "nip_force_fast",
)


class Carriage(Section):
    """The film carriage: what the film passes between its roll and the load."""

    prestretch: float = quantity(
        "elongation",
        "set by gears, sprockets or drives",
        example="260 %",
        gt=1,
        le=8,
        usual=("20 %", "400 %"),
    )
    gap: float = quantity(
        "small_length",
        "free film between slow and fast roller",
        "40 mm",
        ge=0,
        le=2,
        span=("20 mm", "80 mm"),
        placeholder="measure it along the film, tangent to tangent",
        usual=("5 mm", "300 mm"),
    )
    contact_angle_slow: float = quantity(
        "angle",
        "arc of the slow roller that the film touches",
        "180 deg",
        gt=0,
        le=6.2832,
        span=("90 deg", "200 deg"),
        placeholder="take it from the drawing of the rollers",
        usual=("30 deg", "300 deg"),
    )
    contact_angle_fast: float = quantity(
        "angle",
        "arc of the fast roller that the film touches",
        "180 deg",
        gt=0,
        le=6.2832,
        span=("90 deg", "200 deg"),
        placeholder="take it from the drawing of the rollers",
        usual=("30 deg", "300 deg"),
    )
    friction: float = quantity(
        "ratio",
        "film on the rollers' cover",
        "0.6",
        span=("0.4", "1.0"),
        placeholder="estimate for a rubber cover and tacky film",
        gt=0,
        le=5,
        usual=("0.15", "2"),
    )
    unwind_tension: float = quantity(
        "force",
        "film tension between roll and slow roller",
        "25 N",
        span=("10 N", "40 N"),
        placeholder="estimate; measure it with a pull gauge",
        ge=0,
        usual=("0 N", "80 N"),
        le=5000,
    )
    slow_roller_diameter: float = quantity(
        "small_length",
        "of the slow roller, on part of which film is drawn already",
        "70 mm",
        ge=0,
        le=1,
        span=("40 mm", "120 mm"),
        placeholder="measure it; 0 mm leaves that part out",
        usual=("0 mm", "250 mm"),
    )
    nip_force_slow: float = quantity(
        "force",
        "of a roller pressed on the slow roller, 0 N for none",
        "0 N",
        ge=0,
        usual=("0 N", "500 N"),
        le=50_000,
    )
    nip_force_fast: float = quantity(
        "force",
        "of a roller pressed on the fast roller, 0 N for none",
        "0 N",
        ge=0,
        usual=("0 N", "500 N"),
        le=50_000,
    )
    widest_roll: float | None = quantity(
        "small_length",
        "widest film roll that it takes",
        None,
        usual=("200 mm", "1100 mm"),
        gt=0,
        le=3,
    )
    roughness: float = quantity(
        "roughness",
        "of film and roller together, rms",
        "5 um",
        span=("2 um", "15 um"),
        placeholder="estimate for smooth film on a rubber cover",
        gt=0,
        usual=("0.3 um", "60 um"),
        le=0.005,
    )
    film_width_on_load: float | None = quantity(
        "small_length",
        "measured width on the load; wins over the model",
        None,
        gt=0,
        usual=("80 mm", "1100 mm"),
        le=3,
    )
    neck_down: float | None = quantity(
        "small_length",
        "measured loss of width, instead; wins over the model",
        None,
        ge=0,
        usual=("0 mm", "350 mm"),
        le=3,
    )

    @model_validator(mode="after")
    def _one_width(self) -> Self:
        if self.film_width_on_load is not None and self.neck_down is not None:
            raise ValueError(say("film_width_on_load or neck_down, not both"))
        return self

    price: Money | None = quantity(
        "money", "of the carriage, fitted; for its payback", None, usual=("200 USD", "100000 USD")
    )
    rollers: tuple[RollerEntry, ...] = plain(
        "the rollers; gap, contact angles and nip forces follow from them", (), max_length=50
    )

    @model_validator(mode="after")
    def _teeth_of_both(self) -> Self:
        teeth = {each.role for each in self.rollers if each.teeth is not None}
        if len(teeth) == 1:
            raise ValueError(say("teeth for both the slow and the fast roller, or for neither"))
        return self

    def unused(self) -> frozenset[str]:
        return frozenset(_FROM_ROLLERS) if self.rollers else frozenset()
