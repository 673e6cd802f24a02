"""Money and environment: film of a year, its cost, tax and CO2e, each with its interval."""

from __future__ import annotations

import math
from datetime import date

from woold.case.model import Case
from woold.prediction.rows import Estimates
from woold.prediction.yearly import Estimate, payback, yearly
from woold.rows.blocks import Block, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["YEARLY", "money_blocks", "saving_blocks", "yearly_names"]

YEARLY = {
    "film_mass_kg": to_say("film"),
    "film_cost": to_say("cost of the film"),
    "packaging_tax": to_say("packaging tax, next 12 months"),
    "co2e_kg": to_say("greenhouse gases"),
}
"""What is shown of a year, by name of `woold.prediction.yearly.Yearly`."""


def yearly_names() -> tuple[str, ...]:
    """Names under which a spread keeps a year's numbers."""
    return tuple(f"yearly.{name}" for name in YEARLY)


def money_blocks(case: Case, spread: Estimates, since: date, say: Wording) -> list[Block]:
    """A section on a year of film.

    Args:
        case: says prices, factor and tax, and where they are from.
        spread: estimates by :func:`yearly_names`.
        since: first day of the twelve months.
        say: words and numbers.
    """
    estimates = {name: spread[f"yearly.{name}"] for name in YEARLY if f"yearly.{name}" in spread}
    rows = [(say(YEARLY[name]), *_cells(name, each, case, say)) for name, each in estimates.items()]
    columns = (say("a year of film"), say("a year"), say("90 % range"))
    return [
        Heading(say("Money and environment")),
        Paragraph(_loads_text(case, say)),
        Table(say("Film of a year"), columns, tuple(rows)),
        *_basis(case, since, estimates["film_mass_kg"], say, to_say("90 % range")),
    ]


def saving_blocks(
    case: Case,
    saved_per_load: Estimate,
    since: date,
    say: Wording,
    loads: float | None = None,
    cost_per_load: Estimate | None = None,
    interval: str = to_say("90 % range"),
) -> list[Block]:
    """A section on what a saving of film is worth, and on the payback of the carriage.

    Args:
        case: says loads per year, prices, factor, tax and the carriage's price.
        saved_per_load: film saved on each load [kg]; negative if more is used.
        since: first day of the twelve months.
        say: words and numbers.
        loads: wrapped in a year, if not as the case says.
        cost_per_load: film cost saved on each load, where not all of the film has one price.
        interval: catalogue key that says what the intervals are.
    """
    per_kg = yearly(case, 1.0, since, loads)
    saved = {
        name: saved_per_load.times(factor)
        for name in YEARLY
        if (factor := getattr(per_kg, name)) is not None
    }
    if cost_per_load is not None and "film_cost" in saved:
        saved["film_cost"] = cost_per_load.times(per_kg.loads)
    if "co2e_kg" in saved:
        factor = Estimate(
            case.plant.emission_factor or 0.0, *case.range_of("plant.emission_factor")
        )
        saved["co2e_kg"] = saved["film_mass_kg"].times_estimate(factor)
    rows = [(say(YEARLY[name]), *_cells(name, each, case, say)) for name, each in saved.items()]
    price = case.carriage.price
    money = [saved[name] for name in ("film_cost", "packaging_tax") if name in saved]
    if price is not None and money:
        # Both parts rest on the same film, so their ends belong together.
        parts = zip(*((each.value, each.low, each.high) for each in money), strict=True)
        time = payback(price.amount, Estimate(*map(sum, parts)))
        rows.append(
            (
                say(
                    "payback of the carriage ({price}), without interest",
                    price=say.money(price.amount, price.currency),
                ),
                _years(time.value, say),
                say("{low} to {high}", low=_years(time.low, say), high=_years(time.high, say)),
            )
        )
    columns = (say("saved"), say("a year"), say(interval))
    if loads is None:
        loads_text = _loads_text(case, say)
    else:
        loads_text = say(
            "At {loads} loads a year: the load types compared, as the trial file states them."
            " Prices are those of the first load type's cases.",
            loads=say.fixed(loads, 0),
        )
    return [
        Heading(say("What the saving is worth")),
        Paragraph(loads_text),
        Table(say("Saving of a year"), columns, tuple(rows)),
        *_basis(case, since, saved["film_mass_kg"], say, interval),
    ]


def _cells(name: str, each: Estimate, case: Case, say: Wording) -> tuple[str, str]:
    if name in ("film_cost", "packaging_tax"):
        return (
            say.money(each.value, case.currency),
            say.money_span(each.low, each.high, case.currency),
        )
    if name == "co2e_kg":
        low, high = say.fixed(each.low, 0), say.fixed(each.high, 0)
        ends = say("{low} to {high}", low=low, high=high)
        return f"{say.fixed(each.value, 0)} kg CO2e", f"{ends} kg CO2e"
    return say.amount(each.value, "mass"), say.span(each.low, each.high, "mass")


def _years(time: float, say: Wording) -> str:
    if math.isinf(time):
        return say("never")
    return say("{years} years", years=say.fixed(time, 1))


def _loads_text(case: Case, say: Wording) -> str:
    plant = case.plant
    text = say(
        "At {loads} loads a year ({shift} a shift, {shifts} shifts).",
        loads=say.fixed(plant.loads_per_shift * plant.shifts_per_year, 0),
        shift=say.number(plant.loads_per_shift),
        shifts=say.number(plant.shifts_per_year),
    )
    guessed = [
        each.field
        for each in case.placeholders()
        if each.field in ("plant.loads_per_shift", "plant.shifts_per_year")
    ]
    if guessed:
        text += " " + say(
            "Nobody counted them here ({fields}): every number below goes up and down with them.",
            fields=", ".join(guessed),
        )
    return text


def _basis(case: Case, since: date, mass: Estimate, say: Wording, interval: str) -> list[Block]:
    """What the money rests on: price, factor with its source, tax table."""
    blocks: list[Block] = []
    price, factor = case.film.price, case.plant.emission_factor
    if price is not None:
        blocks.append(
            Paragraph(
                say("Film price: {price}, as the case states it.", price=say.price(price, "kg"))
            )
        )
    else:
        blocks.append(
            Paragraph(say("The case states no film price (film.price), so no cost is shown."))
        )
    if factor is None:
        blocks.append(
            Paragraph(
                say(
                    "The case states no emission factor (plant.emission_factor), so no CO2e is"
                    " shown."
                )
            )
        )
    else:
        given = next(each for each in case.inputs() if each.field == "plant.emission_factor")
        low, high = case.range_of("plant.emission_factor")
        blocks.append(
            Paragraph(
                say(
                    "Greenhouse gases: {factor} kg CO2e per kg of film (range {range})."
                    " Source: {source}.",
                    factor=say.number(factor),
                    range=say("{low} to {high}", low=say.number(low), high=say.number(high)),
                    source=given.origin.words(),
                )
            )
        )
    taxes = sorted(case.plant.packaging_tax, key=lambda each: each.since)
    if taxes:
        rows = tuple(
            (
                each.since.isoformat(),
                f"{say.fixed(1000.0 * each.rate.amount, 2)} {each.rate.currency}/t",
                *_cells("packaging_tax", mass.times(each.rate.amount), case, say),
            )
            for each in taxes
        )
        columns = (
            say("since"),
            say("rate"),
            say("a year"),
            say(interval),
        )
        blocks.append(Table(say("Packaging tax, as the case states it"), columns, rows))
        blocks.append(
            Paragraph(
                say(
                    "The twelve months are counted from {since}, day by day at the rate then"
                    " in force. Whether and how this film is taxed is for your tax rules to"
                    " say.",
                    since=since.isoformat(),
                )
            )
        )
    return blocks
