"""What the load must stand on its way."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import field_validator, model_validator

from woold.case.fields import Section, as_chosen, plain, quantity
from woold.case.transport_profiles import PROFILES
from woold.words import say

__all__ = ["Transport"]


class Transport(Section):
    """What the load must stand on its way."""

    profiles: tuple[str, ...] = plain(
        f"sets of accelerations by name: {', '.join(each.key for each in PROFILES)}",
        example='["EN 12195-1 road"]',
        min_length=1,
        max_length=10,
    )
    acceleration: float | None = quantity(
        "ratio",
        "horizontal, as a share of gravity, for profiles that leave the level to you",
        None,
        gt=0,
        le=2,
        usual=("0.05", "1.2"),
    )
    ramp_time: float = quantity(
        "time",
        "in which the acceleration grows, for profiles that state none",
        "0.05 s",
        span=("0 s", "0.2 s"),
        placeholder="as EUMOS 40509 asks of a test, read in a secondary source",
        ge=0,
        le=60,
        usual=("0 s", "5 s"),
    )
    supported: tuple[Literal["forward", "rearward", "sideways", "lengthways", "any"], ...] = plain(
        "directions in which something as high as the load stands close against it, so that"
        " nothing is asked of the film there",
        (),
        example='["forward"]',
        max_length=5,
    )
    lengthways: Literal["either", "length", "width"] = plain(
        "side of the load that lies along the vehicle: either, length or width",
        "either",
        example='"either"',
    )
    friction: float = quantity(
        "ratio",
        "static, between tiers",
        "0.4",
        span=("0.25", "0.5"),
        placeholder="estimate for cartons; a tilt test of two tiers measures it",
        ge=0,
        le=2,
        usual=("0.05", "1.1"),
    )
    deck_friction: float = quantity(
        "ratio",
        "static, of the lowest tier on the pallet's deck",
        "0.4",
        span=("0.25", "0.5"),
        placeholder="estimate for cartons on wood; a tilt test measures it",
        ge=0,
        le=2,
        usual=("0.05", "1.1"),
    )
    vehicle_friction: float = quantity(
        "ratio",
        "static, of the pallet on the vehicle's floor",
        "0.4",
        span=("0.2", "0.45"),
        placeholder="estimate for wood on plywood, aluminium or steel",
        ge=0,
        le=2,
        usual=("0.05", "1.1"),
    )
    foot_blocked: bool = plain(
        "something keeps the pallet's foot from sliding on the vehicle", False
    )
    pallet_mass: float = quantity(
        "mass",
        "of the empty pallet; it lowers the unit's centre of mass",
        "25 kg",
        span=("15 kg", "35 kg"),
        placeholder="estimate for a wooden pallet",
        ge=0,
        le=500,
        usual=("0 kg", "80 kg"),
    )
    kinetic_share: float = quantity(
        "ratio",
        "kinetic over static friction, between tiers and on the deck",
        "0.75",
        span=("0.5", "1"),
        placeholder="CTU Code Annex 7 Appendix 2; it decides many verdicts, so measure it",
        ge=0,
        le=1,
        usual=("0.3", "1"),
    )
    package_give: float = quantity(
        "small_length",
        "by how much a tier is pressed in by the weight of the whole load: a stack on packages that"
        " give swings when it starts, and counts as slipping and tipping sooner",
        "0.3 mm",
        span=("0 mm", "2 mm"),
        placeholder="estimate for cartons of rigid goods; put the load's weight on one tier and"
        " measure how far it gives",
        ge=0,
        usual=("0 mm", "10 mm"),
        le=0.05,
    )
    slip_margin: float = quantity(
        "ratio",
        "how much below its friction an interface counts as slipping, at least; more where packages"
        " give",
        "1.1",
        ge=1,
        usual=("1", "1.6"),
        le=2,
    )
    pressing_force: float = quantity(
        "force",
        "of straps or a cap that presses on the stack",
        "0 N",
        ge=0,
        usual=("0 N", "20000 N"),
        le=1e6,
    )
    slip_zone: float = quantity(
        "small_length",
        "height of film that a slipping tier shears",
        "200 mm",
        span=("50 mm", "500 mm"),
        placeholder="estimate; a tilt or acceleration test sets it",
        gt=0,
        usual=("5 mm", "1 m"),
        le=20,
    )
    restraint_calibration: float = quantity(
        "ratio",
        "measured over modelled restraint",
        "1",
        span=("0.5", "1.5"),
        placeholder="1 until a tilt or acceleration test sets it",
        gt=0,
        le=5,
        usual=("0.2", "3"),
    )
    slip_limit: float = quantity(
        "small_length",
        "most that one tier may travel over the next",
        "30 mm",
        span=("10 mm", "60 mm"),
        placeholder="choose it for the product",
        gt=0,
        usual=("1 mm", "200 mm"),
        le=5,
    )
    lean_limit: float = quantity(
        "fraction",
        "most travel of the top while it lasts, as a share of the height",
        "10 %",
        span=("5 %", "10 %"),
        placeholder="limit of EUMOS 40509, read in a secondary source",
        gt=0,
        le=1,
        usual=("1 %", "25 %"),
    )
    kept_limit: float = quantity(
        "fraction",
        "most travel of the top that stays, as a share of the height",
        "5 %",
        span=("2 %", "5 %"),
        placeholder="limit of EUMOS 40509, read in a secondary source",
        gt=0,
        le=1,
        usual=("0.5 %", "15 %"),
    )
    pallet_grip: float = quantity(
        "small_length",
        "depth below the deck that film must reach to hold the lowest tier",
        "50 mm",
        span=("25 mm", "100 mm"),
        placeholder="estimate; film must lie on the pallet's boards",
        ge=0,
        le=0.5,
        usual=("0 mm", "200 mm"),
    )

    @model_validator(mode="after")
    def _less_stays(self) -> Self:
        given = {"kept_limit", "lean_limit"} & self.model_fields_set
        if given and self.kept_limit > self.lean_limit:
            raise ValueError(say("kept_limit at most lean_limit: what stays was there before"))
        return self

    @field_validator("profiles", mode="before")
    @classmethod
    def _named(cls, profiles: object) -> object:
        return as_chosen(profiles, [each.key for each in PROFILES])

    @field_validator("profiles")
    @classmethod
    def _known(cls, profiles: tuple[str, ...]) -> tuple[str, ...]:
        known = [each.key for each in PROFILES]
        if not set(profiles) <= set(known):
            raise ValueError(say("names out of {names}", names=", ".join(known)))
        return profiles
