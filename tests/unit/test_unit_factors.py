"""Units that are read without the pint library are what that library reads."""

from __future__ import annotations

import pytest

from unit_factors import TABLE, table_text
from woold.rows.wording import Wording
from woold.units import KINDS, from_si, parse_quantity, read_by_pint, show_range
from woold.units.factors import FACTORS


def test_table_is_what_pint_reads() -> None:
    assert TABLE.read_text(encoding="utf-8") == table_text(), "run: make units"


@pytest.mark.parametrize("name", KINDS)
def test_units_of_every_kind_need_no_pint(name: str) -> None:
    kind = KINDS[name]
    for unit in (kind.unit, kind.metric, kind.trade):
        assert FACTORS[unit].dimension == read_by_pint(kind.unit).dimension


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        # NIST Special Publication 811 (2008), appendix B.8; written from memory.
        ("1 lbf", "force", 4.448222),
        ("1 kgf", "force", 9.80665),
        ("1 lb", "mass", 0.4535924),
        ("1 oz", "small_mass", 0.02834952),
        ("1 psi", "stress", 6894.757),
        ("1 lbf/in", "stiffness", 175.1268),
        ("1 ft/min", "speed", 5.08e-3),
        ("1 rpm", "turning_speed", 0.1047198),
        ("1 lb*ft^2", "inertia", 0.04214011),
        ("1 lbf*ft", "torque", 1.355818),
        ("1 mil", "thickness", 2.54e-5),
        # Its section B.8 and 4.2.1.1: T/K = (t/degF + 459.67) / 1.8, T/K = t/degC + 273.15.
        ("77 degF", "temperature", 298.15),
        ("23 degC", "temperature", 296.15),
    ],
)
def test_factors_are_the_published_ones(text: str, kind: str, si: float) -> None:
    value = parse_quantity(text, kind, "x")
    assert value == pytest.approx(si, rel=5e-7)
    number, unit = text.split()
    assert from_si(value, kind, unit) == pytest.approx(float(number), rel=1e-12)


def test_units_outside_of_the_table_are_read_as_well() -> None:
    assert "stone" not in FACTORS
    assert parse_quantity("2 stone", "mass", "x") == pytest.approx(28 * 0.45359237)


def test_a_range_of_ends_that_read_alike_is_said_once_and_no_zero_has_a_minus() -> None:
    """By hand: 1 N is 0.2248 lbf; 1.5 m is 59.06 in."""
    assert show_range(1.501, 1.502, "length") == "1.5 m (59.1 in)"
    assert show_range(1.0, 2.0, "force") == "1 to 2 N (0.225 to 0.45 lbf)"
    say = Wording()
    assert (say.percent(-0.0004), say.percent(-0.0006), say.number(-0.0)) == (
        "0.0 %",
        "-0.1 %",
        "0",
    )
