"""Quantities as people write them, each against what it says in another spelling or by hand.

Factors are those of NIST Special Publication 811 (2008), appendix B.8, from memory: 1 in = 25.4 mm,
1 ft = 0.3048 m, 1 lb = 0.45359237 kg. How numbers are written in text: ISO 80000-1, 7.3.1 (a space
between thousands, a comma or a point as decimal mark).
"""

from __future__ import annotations

import math

import pytest

from woold.errors import UnitError
from woold.units import parse_money, parse_quantity

TURN = 2 * math.pi


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("1,800 lb", "mass", 816.466266),
        ("1.200,5 mm", "length", 1.2005),
        ("1,200.5 mm", "length", 1.2005),
        ("1 200 mm", "length", 1.2),
        ("1\u202f200 mm", "length", 1.2),
        ("1'200 mm", "length", 1.2),
        ("1,234,567 mm", "length", 1234.567),
        ("1,2 m", "length", 1.2),
        ("0,500 m", "length", 0.5),
        ("1.200 m", "length", 1.2),
        ("2.5e3 mm", "length", 2.5),
        ("5 ft 3 in", "length", 1.6002),
        ("5' 3\"", "length", 1.6002),
        ("5\u2032 3\u2033", "length", 1.6002),
        ("5 ft 3 1/2 in", "length", 1.6129),
        ("-1 ft 3 in", "length", -0.381),
        ("4'", "length", 1.2192),
        ('48"', "length", 1.2192),
        ("48 in.", "length", 1.2192),
        ("1/2 in", "small_length", 0.0127),
        ("5 1/2 in", "small_length", 0.1397),
        ('5-1/2"', "small_length", 0.1397),
        ("1\u00bd in", "small_length", 0.0381),
        ("\u2153 yd", "length", 0.3048),
        ("40 Mm", "small_length", 0.04),
        ("\u221250 mm", "small_length", -0.05),
        ("16 \u00b5", "thickness", 16e-6),
        ("63 Gauge", "thickness", 16.002e-6),
        ("23 C", "temperature", 296.15),
        ("23 \u2103", "temperature", 296.15),
        ("77 F", "temperature", 298.15),
        ("9 N/mm2", "stress", 9e6),
        ("9 Mpa", "stress", 9e6),
        ("0,918 g/cm3", "density", 918.0),
        ("918 kg/m3", "density", 918.0),
        ("600 Kg", "mass", 600.0),
        ("1.8 t", "mass", 1800.0),
        ("2 lb 8 oz", "mass", 1.133980925),
        ("2 Nm", "torque", 2.0),
        ("2 N m", "torque", 2.0),
        ("10 ft-lb", "torque", 13.5581794833),
        ("0.05 kg m2", "inertia", 0.05),
        ("0.4 Nms", "damping", 0.4),
        ("45 N.", "force", 45.0),
        ("500 KN", "force", 500e3),
        ("5 MN", "force", 5e6),
        ("60 fpm", "speed", 0.3048),
        ("9.81 m/s2", "acceleration", 9.81),
        ("1 h 30 min", "time", 5400.0),
        ("16 hrs", "hours", 57600.0),
        ("12 1/min", "turning_speed", 12 * TURN / 60),
        ("12 min-1", "turning_speed", 12 * TURN / 60),
        ("12 /min", "turning_speed", 12 * TURN / 60),
        ("12 RPM", "turning_speed", 12 * TURN / 60),
        ("12 rev/min", "turning_speed", 12 * TURN / 60),
        ("0.2 Hz", "turning_speed", 12 * TURN / 60),
        ("0.2 1/s", "turning_speed", 12 * TURN / 60),
        ("72 deg/s", "turning_speed", 12 * TURN / 60),
        ("1.2 rad/s", "turning_speed", 1.2),
        ("2 Hz", "frequency", 2.0),
        ("260%", "elongation", 3.6),
        ("180\u00b0", "angle", math.pi),
        ("1,5", "ratio", 1.5),
        ("3/4", "ratio", 0.75),
        ("1e10 Pa", "stress", 1e10),
        ("2.5e-10 m", "length", 2.5e-10),
        ("1.5 x 10^3 mm", "length", 1.5),
        ("1.5\u00d710\u00b3 mm", "length", 1.5),
        ("2\u00b710\u207b\u00b2 m", "length", 0.02),
    ],
)
def test_read(text: str, kind: str, si: float) -> None:
    assert parse_quantity(text, kind, "field") == pytest.approx(si, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "per", "amount", "currency"),
    [
        ("2,20 EUR/kg", "kg", 2.2, "EUR"),
        ("EUR 2.20 / kg", "kg", 2.2, "EUR"),
        ("\u20ac2.20/kg", "kg", 2.2, "EUR"),
        ("2.2 usd per kg", "kg", 2.2, "USD"),
        ("1 GBP/lb", "kg", 1 / 0.45359237, "GBP"),
        ("18,000 USD", "", 18000.0, "USD"),
        ("18.000,50 EUR", "", 18000.5, "EUR"),
        ("60 USD/hr", "s", 60 / 3600, "USD"),
        ("1.2e+10 USD", "", 1.2e10, "USD"),
    ],
)
def test_money_read(text: str, per: str, amount: float, currency: str) -> None:
    money = parse_money(text, per, "field")
    assert (money.amount, money.currency) == (pytest.approx(amount), currency)


def test_a_bare_number_offers_units_and_the_last_one_first() -> None:
    with pytest.raises(UnitError, match=r'"5 m" or "5 in"'):
        parse_quantity(5, "length", "load.width")
    with pytest.raises(UnitError, match=r'"40 in", as the last one typed'):
        parse_quantity("40", "length", "load.width", "in")


@pytest.mark.parametrize("text", ["1 " * 30, "- - 5 m", "5 5 m", "1e5000 m", "1/ m", ",5, m"])
def test_no_guess_where_nothing_can_be_made_out(text: str) -> None:
    with pytest.raises(UnitError):
        parse_quantity(text, "length", "field")
