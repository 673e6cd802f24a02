"""How much the plant wraps, and what film and standstill cost it and the world."""

from __future__ import annotations

from datetime import date

from woold.case.fields import Section, plain, quantity
from woold.units import Money

__all__ = ["PackagingTax", "Plant"]


class PackagingTax(Section):
    """A tax on film by mass, from a date on until the next one."""

    since: date = plain("first day that it is asked", example="2026-04-01")
    rate: Money = quantity(
        "money/kg", "per mass of film", example="200 USD/t", usual=("0.01 USD/kg", "5 USD/kg")
    )


class Plant(Section):
    """How much is wrapped, and what standstill costs."""

    loads_per_shift: float = quantity(
        "ratio",
        "loads wrapped in a shift",
        "150",
        span=("50", "400"),
        placeholder="count them",
        nature="count",
        gt=0,
        usual=("1", "1500"),
        le=100_000,
    )
    shifts_per_year: float = quantity(
        "ratio",
        "shifts worked in a year",
        "500",
        span=("250", "1000"),
        placeholder="count them",
        nature="count",
        gt=0,
        usual=("10", "1100"),
        le=8784,
    )
    standstill_price: Money | None = quantity(
        "money/s",
        "of the wrapper standing still",
        None,
        example="60 USD/h",
        usual=("2 USD/h", "1500 USD/h"),
    )
    breaks_per_1000_loads: float = quantity(
        "ratio",
        "film breaks in a thousand loads with today's program",
        "2",
        span=("0.2", "20"),
        placeholder="count them",
        nature="count",
        ge=0,
        usual=("0", "50"),
        le=1000,
    )
    emission_factor: float | None = quantity(
        "ratio",
        "kg of CO2e that a kg of film stands for; say where it is from",
        None,
        span=("1.5", "3.5"),
        placeholder="no source stated; take the supplier's declaration",
        gt=0,
        le=50,
        usual=("0.5", "6"),
    )
    packaging_tax: tuple[PackagingTax, ...] = plain(
        "tax on film by date, as your tax rules say", (), max_length=50
    )
