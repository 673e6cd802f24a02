"""The tables of a case that ask for something: [transport], what it must stand; [design], what may
be changed to get there. SI floats, frozen."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from woold.fields import Section, plain, quantity

__all__ = ["Design", "Transport"]

_MOST_STEPS = 200


class Transport(Section):
    """What the load must stand on its way; woold transport screens it."""

    profiles: tuple[str, ...] = plain(
        "sets of accelerations by name: EN 12195-1 road, 49 CFR breaking strength, 49 CFR working"
        " load, CTU road, CTU rail, CTU rail shunting, CTU sea A, CTU sea B, CTU sea C or"
        " EUMOS 40509",
        example='["EN 12195-1 road"]',
        min_length=1,
        max_length=10,
    )
    acceleration: float | None = quantity(
        "ratio", "horizontal, as a share of gravity, for EUMOS 40509", None, gt=0, le=2
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
    )
    deck_friction: float = quantity(
        "ratio",
        "static, of the lowest tier on the pallet's deck",
        "0.4",
        span=("0.25", "0.5"),
        placeholder="estimate for cartons on wood; a tilt test measures it",
        ge=0,
        le=2,
    )
    vehicle_friction: float = quantity(
        "ratio",
        "static, of the pallet on the vehicle's floor",
        "0.4",
        span=("0.2", "0.45"),
        placeholder="estimate for wood on plywood, aluminium or steel",
        ge=0,
        le=2,
    )
    pressing_force: float = quantity(
        "force", "of straps or a cap that presses on the stack", "0 N", ge=0
    )
    slip_zone: float = quantity(
        "small_length",
        "height of film that a slipping tier shears",
        "200 mm",
        span=("50 mm", "500 mm"),
        placeholder="estimate; a tilt or acceleration test sets it",
        gt=0,
    )
    restraint_calibration: float = quantity(
        "ratio",
        "measured over modelled restraint",
        "1",
        span=("0.5", "1.5"),
        placeholder="1 until a tilt or acceleration test sets it",
        gt=0,
        le=5,
    )
    slip_limit: float = quantity(
        "small_length",
        "most that one tier may travel over the next",
        "30 mm",
        span=("10 mm", "60 mm"),
        placeholder="choose it for the product",
        gt=0,
    )
    lean_limit: float = quantity(
        "fraction",
        "most travel of the top while it lasts, as a share of the height",
        "10 %",
        span=("5 %", "10 %"),
        placeholder="limit of EUMOS 40509, read in a secondary source",
        gt=0,
        le=1,
    )
    kept_limit: float = quantity(
        "fraction",
        "most travel of the top that stays, as a share of the height",
        "5 %",
        span=("2 %", "5 %"),
        placeholder="limit of EUMOS 40509, read in a secondary source",
        gt=0,
        le=1,
    )
    pallet_grip: float = quantity(
        "small_length",
        "depth below the deck that film must reach to hold the lowest tier",
        "50 mm",
        span=("25 mm", "100 mm"),
        placeholder="estimate; film must lie on the pallet's boards",
        ge=0,
        le=0.5,
    )


class Design(Section):
    """What may be changed to use less film; woold design searches it."""

    force_least: float = quantity("force", "lowest force to load to try", "20 N", gt=0, le=2000)
    force_most: float = quantity("force", "highest; what the dancer holds", "100 N", gt=0, le=2000)
    force_step: float = quantity("force", "step of the setting", "5 N", gt=0)
    prestretches: tuple[float, ...] = quantity(
        "elongation",
        "pre-stretch settings that there are; today's only if left out",
        (),
        example='["200 %", "260 %"]',
        max_length=50,
    )
    speeds: tuple[float, ...] = quantity(
        "turning_speed",
        "turning speeds that there are; today's only if left out",
        (),
        example='["10 rpm", "12 rpm"]',
        max_length=50,
    )
    rise_least: float = quantity("small_length", "lowest rise per turn to try", "80 mm", gt=0)
    rise_most: float = quantity("small_length", "highest rise per turn to try", "400 mm", gt=0)
    rise_step: float = quantity("small_length", "step of the setting", "10 mm", gt=0)
    one_rise: bool = plain("one setting for the way up and down", False)
    bottom_wraps_least: int = plain("fewest bottom wraps", 1, ge=0, le=100)
    bottom_wraps_most: int = plain("most bottom wraps", 8, ge=0, le=100)
    top_wraps_least: int = plain("fewest top wraps", 1, ge=0, le=100)
    top_wraps_most: int = plain("most top wraps", 8, ge=0, le=100)
    bands_most: int = plain(
        "most stops of the carriage on its way, for extra turns", 0, ge=0, le=20
    )
    height_step: float = quantity("small_length", "step of the heights of stops", "10 mm", gt=0)
    film_speed_limit: float | None = quantity("speed", "fastest film demand", None, gt=0)
    cycle_time_limit: float | None = quantity("time", "longest cycle", None, gt=0)
    tension_peak: float = quantity(
        "ratio",
        "highest film tension over its mean round the corners",
        "1.3",
        span=("1.05", "2"),
        placeholder="estimate; woold dancer simulates it, a trace measures it",
        ge=1,
        le=5,
    )
    film_margin: float = quantity(
        "fraction", "peak tension stays this far under the drawing force", "10 %", ge=0, lt=1
    )
    grip_margin: float | None = quantity(
        "fraction",
        "force that both pre-stretch rollers must hold beyond what the gears ask for",
        None,
        ge=0,
        le=10,
    )

    @model_validator(mode="after")
    def _ranges(self) -> Self:
        for name in ("force", "rise", "bottom_wraps", "top_wraps"):
            least, most = getattr(self, f"{name}_least"), getattr(self, f"{name}_most")
            if least > most:
                raise ValueError(f"{name}_least at most {name}_most")
            if (most - least) / getattr(self, f"{name}_step", 1) > _MOST_STEPS:
                raise ValueError(f"at most {_MOST_STEPS} steps from {name}_least to {name}_most")
        return self
