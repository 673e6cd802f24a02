"""Money and environment: film of a year, its cost, tax and CO2e, each with its interval."""

from __future__ import annotations

import math
from datetime import date

from woold.case.model import Case
from woold.prediction.yearly import Estimate, payback, yearly
from woold.report.model import Block, Heading, Paragraph, Table
from woold.report.prediction_rows import Estimates
from woold.report.voice import Voice

__all__ = ["YEARLY", "money_blocks", "saving_blocks", "yearly_names"]

YEARLY = ("film_mass_kg", "film_cost", "packaging_tax", "co2e_kg")
"""What is shown of a year, by name of `woold.yearly.Yearly`."""


def yearly_names() -> tuple[str, ...]:
    """Names under which a spread keeps a year's numbers."""
    return tuple(f"yearly.{name}" for name in YEARLY)


def money_blocks(case: Case, spread: Estimates, since: date, say: Voice) -> list[Block]:
    """A section on a year of film.

    Args:
        case: says prices, factor and tax, and where they are from.
        spread: estimates by :func:`yearly_names`.
        since: first day of the twelve months.
        say: words and numbers.
    """
    estimates = {name: spread[f"yearly.{name}"] for name in YEARLY if f"yearly.{name}" in spread}
    rows = [
        (say(f"money.{name}"), *_cells(name, each, case, say)) for name, each in estimates.items()
    ]
    columns = (say("money.item"), say("money.a_year"), say("money.interval"))
    return [
        Heading(say("money.heading")),
        Paragraph(_loads_text(case, say)),
        Table(say("money.caption"), columns, tuple(rows)),
        *_basis(case, since, estimates["film_mass_kg"], say, "money.interval"),
    ]


def saving_blocks(
    case: Case,
    saved_per_load: Estimate,
    since: date,
    say: Voice,
    loads: float | None = None,
    cost_per_load: Estimate | None = None,
    interval: str = "money.interval",
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
    rows = [(say(f"money.{name}"), *_cells(name, each, case, say)) for name, each in saved.items()]
    price = case.carriage.price
    money = [saved[name] for name in ("film_cost", "packaging_tax") if name in saved]
    if price is not None and money:
        # Both parts rest on the same film, so their ends belong together.
        parts = zip(*((each.value, each.low, each.high) for each in money), strict=True)
        time = payback(price.amount, Estimate(*map(sum, parts)))
        rows.append(
            (
                say("money.payback", price=say.money(price.amount, price.currency)),
                _years(time.value, say),
                say("word.range", low=_years(time.low, say), high=_years(time.high, say)),
            )
        )
    columns = (say("money.saving_item"), say("money.a_year"), say(interval))
    if loads is None:
        loads_text = _loads_text(case, say)
    else:
        loads_text = say("money.trial_loads", loads=say.fixed(loads, 0))
    return [
        Heading(say("money.saving_heading")),
        Paragraph(loads_text),
        Table(say("money.saving_caption"), columns, tuple(rows)),
        *_basis(case, since, saved["film_mass_kg"], say, interval),
    ]


def _cells(name: str, each: Estimate, case: Case, say: Voice) -> tuple[str, str]:
    if name in ("film_cost", "packaging_tax"):
        return (
            say.money(each.value, case.currency),
            say.money_span(each.low, each.high, case.currency),
        )
    if name == "co2e_kg":
        low, high = say.fixed(each.low, 0), say.fixed(each.high, 0)
        ends = say("word.range", low=low, high=high)
        return f"{say.fixed(each.value, 0)} kg CO2e", f"{ends} kg CO2e"
    return say.amount(each.value, "mass"), say.span(each.low, each.high, "mass")


def _years(time: float, say: Voice) -> str:
    if math.isinf(time):
        return say("money.never")
    return say("money.years", years=say.fixed(time, 1))


def _loads_text(case: Case, say: Voice) -> str:
    plant = case.plant
    text = say(
        "money.loads",
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
        text += " " + say("money.loads_guessed", fields=", ".join(guessed))
    return text


def _basis(case: Case, since: date, mass: Estimate, say: Voice, interval: str) -> list[Block]:
    """What the money rests on: price, factor with its source, tax table."""
    blocks: list[Block] = []
    price, factor = case.film.price, case.plant.emission_factor
    if price is not None:
        blocks.append(Paragraph(say("money.price", price=say.price(price, "kg"))))
    else:
        blocks.append(Paragraph(say("money.no_price")))
    if factor is None:
        blocks.append(Paragraph(say("money.no_factor")))
    else:
        given = next(each for each in case.inputs() if each.field == "plant.emission_factor")
        low, high = case.range_of("plant.emission_factor")
        blocks.append(
            Paragraph(
                say(
                    "money.factor",
                    factor=say.number(factor),
                    range=say("word.range", low=say.number(low), high=say.number(high)),
                    source=given.origin.text,
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
            say("money.tax_since"),
            say("money.tax_rate"),
            say("money.a_year"),
            say(interval),
        )
        blocks.append(Table(say("money.tax_caption"), columns, rows))
        blocks.append(Paragraph(say("money.tax_note", since=since.isoformat())))
    return blocks
