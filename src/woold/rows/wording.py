"""How a result is worded: in which units, and with which decimal mark."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from woold.units import Money, UnitSystem, show, show_range, significant
from woold.units.numbers import leading_number, plain_text
from woold.words import say

__all__ = ["Wording"]

_NUMBER = re.compile(r"(?<![\w.,])[-+−]?\d[\d,]*(?:\.\d+)?(?![\w]|[.,]\d)")
_TYPED = re.compile(r"([-+]?[0-9]+)[.,]([0-9]+)(?![0-9.,])")
_THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Wording:
    """How a result is worded.

    Args:
        units: units of its numbers.
        decimal_comma: 1234.5 is written "1 234,5" (thin space), with no comma between thousands.
    """

    units: UnitSystem = "both"
    decimal_comma: bool = False

    def __call__(self, text: str, /, **values: Any) -> str:
        """The text in the reader's language, with values put in; see :func:`woold.words.say`."""
        return say(text, **values)

    def sentence(self, text: str) -> str:
        """A sentence made elsewhere, with its numbers in this wording's decimal mark."""
        return (
            _NUMBER.sub(lambda match: self._marks(match[0]), text) if self.decimal_comma else text
        )

    def number(self, value: float, digits: int = 3) -> str:
        """A plain number."""
        return self._marks(significant(value, digits))

    def fixed(self, value: float, decimals: int) -> str:
        """A plain number with so many decimals; no zero carries a minus."""
        return self._marks(f"{value:z,.{decimals}f}")

    def amount(self, value: float, kind: str, digits: int = 3) -> str:
        """A quantity in the wording's units."""
        return self.sentence(show(value, kind, self.units, digits))

    def span(self, low: float, high: float, kind: str) -> str:
        """A range of a quantity, the unit said once."""
        return self.sentence(show_range(low, high, kind, self.units))

    def typed(self, text: str) -> str:
        """A number that somebody typed, digit by digit, with this wording's decimal mark."""
        found = _TYPED.match(text)
        read = leading_number(plain_text(text))
        if found is None or read is None:
            return text
        whole, part = found[1], found[2]
        if read[0].value != float(f"{whole}.{part}"):  # the mark stands between thousands
            return text
        return f"{whole}{',' if self.decimal_comma else '.'}{part}{text[found.end() :]}"

    def percent(self, share: float, decimals: int = 1) -> str:
        """A share as per cent."""
        return f"{self.fixed(100.0 * share, decimals)} %"

    def money(self, amount: float, currency: str) -> str:
        """An amount of money: cents only where there are few."""
        return f"{self.fixed(amount, 0 if abs(amount) >= 100 else 2)} {currency}"

    def money_span(self, low: float, high: float, currency: str) -> str:
        """A range of money."""
        decimals = 0 if max(abs(low), abs(high)) >= 100 else 2
        ends = (self.fixed(low, decimals), self.fixed(high, decimals))
        return f"{say('{low} to {high}', low=ends[0], high=ends[1])} {currency}"

    def price(self, money: Money, per: str) -> str:
        """A price per unit, as "2.20 USD/kg"."""
        return f"{self.fixed(money.amount, 2)} {money.currency}/{per}"

    def _marks(self, number: str) -> str:
        if not self.decimal_comma:
            return number
        return number.replace(",", _THIN_SPACE).replace(".", ",")
