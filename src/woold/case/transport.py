"""What the load must stand on its way."""

from __future__ import annotations

from typing import Literal

from woold.case.fields import Section, plain, quantity

__all__ = ["Transport"]


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
