"""Unit conversions against NIST Special Publication 811 (2008), Appendix B, exact factors.

Factors recalled from memory and exact by definition: 1 in = 0.0254 m, 1 lb = 0.45359237 kg,
1 lbf = 4.4482216152605 N, 1 psi = 6894.757 Pa (seven digits), 1 rpm = pi/30 rad/s.
"""

from __future__ import annotations

import math

import pytest

from woold.units import from_si, parse_money, parse_quantity, show, show_range

EXACT = 1e-15  # relative: rounding of one multiplication
SEVEN_DIGITS = 5e-8  # relative: as printed


@pytest.mark.parametrize(
    ("text", "kind", "expected", "tolerance"),
    [
        ("20 in", "length", 0.508, EXACT),
        ("1 ft", "length", 0.3048, EXACT),
        ("10 lb", "mass", 4.5359237, EXACT),
        ("10 lbf", "force", 44.482216152605, EXACT),
        ("1 kgf", "force", 9.80665, EXACT),
        ("1000 psi", "stress", 6894757.0, SEVEN_DIGITS),
        ("12 rpm", "turning_speed", 12 * math.pi / 30, EXACT),
        ("180 deg", "angle", math.pi, EXACT),
        ("100 ft/min", "speed", 0.508, EXACT),
        ("1 lbf/in", "tension_per_width", 175.1268, 5 * SEVEN_DIGITS),
        ("1 lb/ft^3", "density", 16.01846, 5 * SEVEN_DIGITS),
        ("73.4 degF", "temperature", 296.15, EXACT),
        ("23 degC", "temperature", 296.15, EXACT),
        ("30 day", "hours", 2_592_000.0, EXACT),
        # ASTM usage: 100 gauge = 1 mil = 25.4 micrometres.
        ("63 gauge", "thickness", 16.002e-6, EXACT),
        ("39 gauge", "thickness", 9.906e-6, EXACT),
        ("1 mil", "thickness", 25.4e-6, EXACT),
    ],
)
def test_factor(text: str, kind: str, expected: float, tolerance: float) -> None:
    assert parse_quantity(text, kind, "field") == pytest.approx(expected, rel=tolerance)


def test_prestretch_is_elongation() -> None:
    """260 % pre-stretch is the ratio 3.6 (common practice, no source)."""
    ratio = parse_quantity("260 %", "elongation", "field")
    assert ratio == pytest.approx(3.6, rel=EXACT)
    assert show(ratio, "elongation") == "260 %"


def test_prices_per_unit() -> None:
    assert parse_money("1 USD/lb", "kg", "field").amount == pytest.approx(1 / 0.45359237, rel=1e-12)
    assert parse_money("36 EUR/h", "s", "field").amount == pytest.approx(0.01, rel=1e-12)


@pytest.mark.parametrize("kind", ["length", "thickness", "force", "temperature", "elongation"])
def test_there_and_back(kind: str) -> None:
    from woold.units import KINDS

    unit = KINDS[kind].trade
    assert parse_quantity(f"{from_si(1.7, kind, unit)!r} {unit}", kind, "f") == pytest.approx(1.7)


def test_both_systems_are_shown() -> None:
    assert show(0.508, "small_length") == "508 mm (20 in)"
    assert show(0.508, "small_length", "trade") == "20 in"
    assert show(0.508, "small_length", "si") == "508 mm"
    assert show_range(44.482216, 88.964432, "force") == "44.5 to 89 N (10 to 20 lbf)"
