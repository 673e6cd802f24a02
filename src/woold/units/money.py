"""Money: an amount with the three letters of its currency, alone or per kilogram or time."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from woold.errors import UnitError
from woold.units.currencies import CURRENCIES
from woold.units.numbers import leading_number, plain_text
from woold.units.reading import LONGEST_TEXT, finite, one_reading, si_of
from woold.words import say, to_say

__all__ = ["DOLLAR_LIKE", "Money", "parse_money"]

DOLLAR_LIKE = ("USD", "EUR", "GBP", "CHF", "CAD", "AUD", "NZD", "SGD")
"""Currencies whose unit is worth about a dollar, so that a usual price can be said in them."""

_PRICES = {"kg": to_say("a price per kilogram"), "s": to_say("a price per time")}
_SIGNS = {"€": "EUR", "£": "GBP"}
_CODE = re.compile(r"\s*([A-Za-z]{3})\b|\s*([€£$¥₹])")
_LONE_POINT = re.compile(r"([0-9]{1,3})\.([0-9]{3})(?![0-9.,])")
_IN_SMALL_LETTERS = (*DOLLAR_LIKE, "CNY", "CZK", "DKK", "HUF", "INR", "JPY", "NOK", "PLN", "SEK")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of one currency, per SI unit of something or on its own.

    Args:
        amount: value per SI unit ("2.2 USD/kg" gives 2.2; "60 USD/h" gives 1/60 a second).
        currency: ISO 4217 code.
    """

    amount: float
    currency: str

    def __str__(self) -> str:
        return f"{self.amount:,.2f} {self.currency}"


def parse_money(text: object, per: str, field: str) -> Money:
    """Money per SI unit of ``per`` ("" for an amount on its own).

    Args:
        text: what was typed, such as ``"2.2 USD/kg"``; the code may stand before the amount.
        per: SI unit that the amount is divided by: ``"kg"``, ``"s"`` or ``""``.
        field: dotted name of the field, for messages.

    Raises:
        UnitError: no number, no three-letter currency code, or a divisor of another kind.
    """
    example = {"kg": '"2.2 USD/kg"', "s": '"45 EUR/h"', "": '"18000 USD"'}[per]
    allowed = say("money such as {example}, with the currency's three letters", example=example)
    if not isinstance(text, str) or len(text) >= LONGEST_TEXT:
        raise UnitError.one(field, repr(text), allowed, say("Write it like the example."))
    currency, rest = _currency(plain_text(text), field, allowed)
    found = leading_number(rest)
    if found is None:
        raise UnitError.one(field, repr(text), allowed, say("Write it like the example."))
    number, behind = found
    if not currency:
        currency, behind = _currency(behind, field, allowed)
    divisor = re.fullmatch(r"\s*(?:(?:/|per\b)\s*(.*?))?\s*", behind, re.DOTALL)
    if not currency or divisor is None or bool(divisor[1]) != bool(per):
        raise UnitError.one(field, repr(text), allowed, say("Write it like the example."))
    _require_known(currency, field, text)
    if not per and (whole := _LONE_POINT.match(rest.strip())):
        # Lengths have three decimals; of money they are thousands, or a slip.
        one, other = f"{whole[1]}{whole[2]} {currency}", f"{float(whole[0]):g} {currency}"
        raise UnitError.one(
            field, say("{text!r}, a point that may part thousands or decimals", text=text), allowed,
            say('Write "{one}" or "{other}", whichever is meant.', one=one, other=other),
        )  # fmt: skip
    # Money has two decimals: three digits behind a comma are thousands, unless it is a rate.
    is_thousands = not per or currency == "USD"
    amount = finite(
        one_reading(number, currency, field, allowed, text, is_thousands), text, field, allowed
    )
    if per:
        amount /= si_of(1.0, divisor[1], per, say(_PRICES[per]), field, allowed, text)
    return Money(amount, currency)


def _require_known(currency: str, field: str, text: str) -> None:
    if currency in CURRENCIES:
        return
    swapped = [each for each in _IN_SMALL_LETTERS if sorted(each) == sorted(currency)]
    near = swapped or difflib.get_close_matches(currency, _IN_SMALL_LETTERS, n=1)
    todo = say("Write its three letters as banks do.")
    if near:
        todo = say('Did you mean "{key}"?', key=near[0])
    given = say("{text!r}, in no currency that is known", text=text)
    raise UnitError.one(field, given, say("a code of ISO 4217, such as USD or EUR"), todo)


def _currency(text: str, field: str, allowed: str) -> tuple[str, str]:
    """The currency at the start of a text, and the rest; "" where there is none."""
    found = _CODE.match(text)
    if found is None:
        return "", text
    if found[1]:
        code = found[1].upper()
        is_code = found[1] == code or code in _IN_SMALL_LETTERS
        return (code, text[found.end() :]) if is_code else ("", text)
    if found[2] not in _SIGNS:
        raise UnitError.one(
            field,
            repr(text.strip()),
            allowed,
            say("Several currencies are written {sign}: write its three letters.", sign=found[2]),
        )
    return _SIGNS[found[2]], text[found.end() :]
