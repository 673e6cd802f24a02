"""Text that is no usable quantity: one clear message that names field, text, and what to do."""

from __future__ import annotations

import pytest

from woold.errors import UnitError
from woold.units import parse_money, parse_quantity


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("45 in", "force", "That is a length."),
        ("45 lb", "force", '"lbf"'),
        ("45 N", "length", "That is a force."),
        (5, "length", "without a unit"),
        ("5", "length", "without a unit"),
        ("1,200 mm", "length", 'Write "1200 mm" or "1.2 mm"'),
        ("1,800", "ratio", 'Write "1800" or "1.8"'),
        ("1,23,456 mm", "length", "number, a space and a unit"),
        ("5 ft 14 in", "length", "less than 12 in"),
        ("2 ton", "mass", "write t or 2000 lb"),
        ("5'", "angle", "number, a space and a unit"),
        ("1/0 in", "length", "unit"),
        ("nan m", "length", "Start with a number"),
        ("inf m", "length", "Start with a number"),
        ("1e999 m", "length", "finite"),
        ("1e308 km", "length", "finite"),
        (float("nan"), "ratio", "finite"),
        ("2**9999999 m", "length", "number, a space and a unit"),
        ("2 m^99", "length", "number, a space and a unit"),
        ("3 furrlongs", "length", "Check the unit"),
        ("__import__('os') m", "length", "Start with a number"),
        ("4ft11", "length", 'Write the smaller unit too: "4 ft 11 in"'),
        ("4'11", "length", 'Write the smaller unit too: "4 ft 11 in"'),
        ("1m20", "length", 'Write the smaller unit too: "1 m 20 cm"'),
        ("1h30m", "time", 'Write the smaller unit too: "1 h 30 min"'),
        ("1:30", "time", '"1 h 30 min" or "1 min 30 s"'),
        ("2 m 5", "time", "Check the unit"),
        (2.6, "elongation", '"160 %" if the film gets 2.6 times as long'),
        ("2.6", "elongation", '"260 %" if it gets longer by 2.6 of its length'),
        ("0.26", "elongation", '"26 %" if it gets longer by 0.26 of its length'),
        ("3.6:1", "elongation", '"260 %" if the film gets 3.6 times as long'),
        ("1 : 3,6", "elongation", '"260 %" if the film gets 3.6 times as long'),
        ("3.6x", "elongation", '"260 %" if the film gets 3.6 times as long'),
        ("260", "elongation", '"260 %"'),
        ("260 % %", "elongation", "Check the unit"),
        ("3.6 gr/m", "linear_density", "write g or grain"),
        ("5 cwt", "mass", "write 100 lb or 112 lb"),
        ("180", "angle", "without a unit"),
        ("5 deg", "fraction", "That is an angle"),
        (True, "ratio", "one quantity"),
        (["1 m"], "length", "one quantity"),
        ("1 " + "m" * 100, "length", "Shorten"),
        ("", "length", "Start with a number"),
    ],
)
def test_refused(text: object, kind: str, words: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, kind, "some.field")
    message = str(caught.value)
    assert message.startswith("some.field: ")
    assert words in message
    assert "allowed: " in message
    assert len(message) < 300


@pytest.mark.parametrize(
    "text",
    [
        "2.2",
        "2.2 USD",
        "2.2 dollars/kg",
        "USD/kg",
        2.2,
        "2.2 USD/m",
        "$2.2/kg",
        "2.2 per kg",
        "2,200 CHF/kg",
        "2.2 USD/ton",
        "2.2 UDS/kg",
    ],
)
def test_money_refused(text: object) -> None:
    with pytest.raises(UnitError, match=r"some\.price"):
        parse_money(text, "kg", "some.price")


def test_three_decimals_of_an_amount_are_asked_about() -> None:
    with pytest.raises(UnitError, match='Write "18000 EUR" or "18 EUR"'):
        parse_money("18.000 EUR", "", "some.price")
    assert parse_money("1.234 EUR/kg", "kg", "some.price").amount == 1.234
    with pytest.raises(UnitError, match='Did you mean "USD"'):
        parse_money("18000 UDS", "", "some.price")
