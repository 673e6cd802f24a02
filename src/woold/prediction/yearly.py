"""A year of film: money, packaging tax, CO2e; and how soon a carriage pays for itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from woold.case.model import Case
from woold.case.plant import PackagingTax

__all__ = ["Estimate", "Yearly", "payback", "yearly", "yearly_tax_rate"]

_YEAR = 365


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its interval; low and high are the same where nothing is known of it."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> Estimate:
        """The estimate multiplied by a number that is known."""
        ends = sorted((self.low * factor, self.high * factor))
        return Estimate(self.value * factor, *ends)

    def times_estimate(self, other: Estimate) -> Estimate:
        """The product with another estimate, its interval from the ends of both (the widest)."""
        ends = [
            mine * theirs for mine in (self.low, self.high) for theirs in (other.low, other.high)
        ]
        return Estimate(self.value * other.value, min(ends), max(ends))


@dataclass(frozen=True, slots=True)
class Yearly:
    """A year of film.

    Args:
        loads: wrapped in a year.
        film_mass_kg: film used [kg].
        film_cost: its price; None where the case gives none.
        packaging_tax: tax on it in the twelve months from a date; None where the case gives none.
        co2e_kg: greenhouse gases that it stands for [kg of CO2e]; None likewise.
    """

    loads: float
    film_mass_kg: float
    film_cost: float | None
    packaging_tax: float | None
    co2e_kg: float | None


def yearly(case: Case, film_mass: float, since: date, loads: float | None = None) -> Yearly:
    """What a mass of film on each load comes to in a year.

    Args:
        case: says loads per year, prices, factor and tax.
        film_mass: on one load, or saved on it [kg].
        since: first day of the twelve months that the tax is added up over.
        loads: wrapped in a year, if not as the case says.
    """
    plant = case.plant
    if loads is None:
        loads = plant.loads_per_shift * plant.shifts_per_year
    mass = film_mass * loads
    factor, price = plant.emission_factor, case.film.price
    return Yearly(
        loads=loads,
        film_mass_kg=mass,
        film_cost=None if price is None else price.amount * mass,
        packaging_tax=yearly_tax_rate(plant.packaging_tax, since) * mass
        if plant.packaging_tax
        else None,
        co2e_kg=None if factor is None else factor * mass,
    )


def yearly_tax_rate(taxes: Sequence[PackagingTax], since: date) -> float:
    """Mean tax per mass of film over the 365 days from a day on [money/kg].

    Each rate counts for the days from its own first to the next one's, the first that is given of
    two from one day.
    """
    end = since + timedelta(days=_YEAR)
    inorder = sorted(taxes, key=lambda each: each.since, reverse=True)[::-1]
    firsts = [*(each.since for each in inorder), end]
    return (
        math.fsum(
            each.rate.amount * max((min(last, end) - max(each.since, since)).days, 0)
            for each, last in zip(inorder, firsts[1:], strict=True)
        )
        / _YEAR
    )


def payback(price: float, saving_per_year: Estimate) -> Estimate:
    """Time after which savings add up to a price, without interest [years].

    Equation: t = price / saving; infinite where nothing is saved.

    Args:
        price: paid at the start.
        saving_per_year: money saved in a year.
    """

    def years(saving: float) -> float:
        return price / saving if saving > 0.0 else math.inf

    each = saving_per_year
    return Estimate(years(each.value), years(each.high), years(each.low))
