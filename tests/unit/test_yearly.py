"""Film of a year: cost, tax by date, CO2e, payback; checked by hand arithmetic."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import pytest

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.plant import PackagingTax
from woold.errors import InputError
from woold.prediction.yearly import Estimate, payback, yearly, yearly_tax_rate
from woold.uncertainty.spread import prediction_spread
from woold.units import Money

TAXES = (
    PackagingTax(since=date(2027, 1, 1), rate=Money(0.3, "EUR")),
    PackagingTax(since=date(2026, 7, 1), rate=Money(0.2, "EUR")),
)


def test_tax_over_twelve_months_counts_days() -> None:
    # 2026: 181 days before July, 184 days from then on.
    assert yearly_tax_rate(TAXES, date(2026, 1, 1)) == pytest.approx(184 * 0.2 / 365)
    # The second half of 2026 has 184 days, the first half of 2027 has 181.
    assert yearly_tax_rate(TAXES, date(2026, 7, 1)) == pytest.approx((184 * 0.2 + 181 * 0.3) / 365)
    assert yearly_tax_rate(TAXES, date(2025, 7, 2)) == pytest.approx(0.2 / 365)  # its last day
    assert yearly_tax_rate(TAXES, date(2025, 7, 1)) == 0.0
    assert yearly_tax_rate(TAXES, date(2040, 1, 1)) == pytest.approx(0.3)
    assert yearly_tax_rate((), date(2026, 1, 1)) == 0.0
    twice = (*TAXES, PackagingTax(since=date(2027, 1, 1), rate=Money(9.0, "EUR")))
    assert yearly_tax_rate(twice, date(2027, 1, 1)) == pytest.approx(0.3)


def _with_money(table: dict[str, Any]) -> Case:
    table["plant"] = {
        "loads_per_shift": "100",
        "shifts_per_year": "500",
        "emission_factor": {"value": "2.5", "origin": "a declaration"},
        "packaging_tax": [{"since": date(2026, 1, 1), "rate": "200 USD/t"}],
    }
    return case_from_table(table)


def test_a_year_of_film(table: dict[str, Any]) -> None:
    year = yearly(_with_money(table), 0.2, date(2026, 1, 1))
    assert year.loads == 50_000
    assert year.film_mass_kg == pytest.approx(10_000)
    assert year.film_cost == pytest.approx(22_000)
    assert year.packaging_tax == pytest.approx(2_000)
    assert year.co2e_kg == pytest.approx(25_000)


def test_nothing_is_made_up_where_the_case_is_silent(case: Case) -> None:
    year = yearly(case, 0.2, date(2026, 1, 1))
    assert year.packaging_tax is None
    assert year.co2e_kg is None


def test_a_factor_without_a_source_is_a_placeholder(table: dict[str, Any]) -> None:
    table["plant"] = {"emission_factor": "2.5"}
    case = case_from_table(table)
    assert "plant.emission_factor" in {each.field for each in case.placeholders()}
    assert case.range_of("plant.emission_factor") == (1.5, 3.5)


def test_one_currency_for_all_money(table: dict[str, Any]) -> None:
    table["plant"] = {"packaging_tax": [{"since": date(2026, 1, 1), "rate": "200 EUR/t"}]}
    with pytest.raises(InputError, match="one currency"):
        case_from_table(table)


@pytest.mark.parametrize("since", ["soon", 3.5, True])
def test_a_tax_needs_a_date(table: dict[str, Any], since: object) -> None:
    table["plant"] = {"packaging_tax": [{"since": since, "rate": "200 USD/t"}]}
    with pytest.raises(InputError, match=r"plant\.packaging_tax\[0\]\.since"):
        case_from_table(table)


def test_payback() -> None:
    assert payback(10_000, Estimate(5_000, 4_000, 8_000)) == Estimate(2.0, 1.25, 2.5)
    never = payback(10_000, Estimate(1_000, -500, 2_500))
    assert (never.value, never.low) == (10.0, 4.0)
    assert math.isinf(never.high)


def test_estimates_multiply_by_their_ends() -> None:
    assert Estimate(2, 1, 3).times(-1) == Estimate(-2, -3, -1)
    assert Estimate(2, -1, 3).times_estimate(Estimate(2, 1, 4)) == Estimate(4, -4, 12)


def test_spread_without_a_known_range_is_a_point(table: dict[str, Any]) -> None:
    case = _with_money(table)
    exact = case.with_origins(
        {each.field: type(each.origin)("measured", False) for each in case.inputs()}
    )
    spread = prediction_spread(exact, {"mass": lambda _, p: p.film_mass_kg})
    assert spread.varied == ()
    mass = spread.estimates["mass"]
    assert mass.low == mass.value == mass.high


def test_spread_of_the_pre_stretch_is_the_range_that_was_given(table: dict[str, Any]) -> None:
    """Film length per load does not depend on anything uncertain but what moves the width."""
    table["carriage"]["film_width_on_load"] = "450 mm"
    spread = prediction_spread(
        case_from_table(table), {"length": lambda _, p: p.film_length_m}, draws=50
    )
    length = spread.estimates["length"]
    assert length.low == pytest.approx(length.value)
    assert length.high == pytest.approx(length.value)
