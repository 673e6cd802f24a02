"""The words and numbers of a report: one message catalogue a language, one place for decimal marks.

A catalogue is a TOML file in `woold/report/words`, named after its language tag. To add a language,
copy `en.toml`, translate its values and keep what stands in braces.
"""

from __future__ import annotations

import functools
import importlib.resources
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from woold.errors import InputError
from woold.units import Money, UnitSystem, show, show_range, significant

__all__ = ["Voice", "catalogue", "languages"]

_NUMBER = re.compile(r"(?<![\w.,])[-+−]?\d[\d,]*(?:\.\d+)?(?![\w]|[.,]\d)")
_THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"


@functools.cache
def languages() -> tuple[str, ...]:
    """Tags of the languages that there are catalogues for."""
    files = importlib.resources.files("woold.report").joinpath("words").iterdir()
    return tuple(sorted(file.name[:-5] for file in files if file.name.endswith(".toml")))


@functools.cache
def catalogue(language: str) -> Mapping[str, str]:
    """Messages of a language by key, "section.key".

    Raises:
        InputError: no catalogue of that language.
    """
    if language not in languages():
        raise InputError.one("--language", language, "one of " + ", ".join(languages()))
    file = importlib.resources.files("woold.report").joinpath("words", f"{language}.toml")
    sections = tomllib.loads(file.read_text(encoding="utf-8"))
    return {
        f"{section}.{key}": text
        for section, messages in sections.items()
        for key, text in messages.items()
    }


@dataclass(frozen=True, slots=True)
class Voice:
    """How a report speaks.

    Args:
        language: tag of a catalogue.
        units: units of its numbers.
        decimal_comma: 1234.5 is written "1 234,5" (thin space), with no comma between thousands.
    """

    language: str = "en"
    units: UnitSystem = "both"
    decimal_comma: bool = False

    def __call__(self, key: str, **values: Any) -> str:
        """The catalogue's message, with values put in."""
        return catalogue(self.language)[key].format(**values)

    def sentence(self, text: str) -> str:
        """A sentence made elsewhere, with its numbers in this voice's decimal mark."""
        return (
            _NUMBER.sub(lambda match: self._marks(match[0]), text) if self.decimal_comma else text
        )

    def number(self, value: float, digits: int = 3) -> str:
        """A plain number."""
        return self._marks(significant(value, digits))

    def fixed(self, value: float, decimals: int) -> str:
        """A plain number with so many decimals."""
        return self._marks(f"{value:,.{decimals}f}")

    def amount(self, value: float, kind: str, digits: int = 3) -> str:
        """A quantity in the voice's units."""
        return self.sentence(show(value, kind, self.units, digits))

    def span(self, low: float, high: float, kind: str) -> str:
        """A range of a quantity, the unit said once."""
        return self.sentence(show_range(low, high, kind, self.units))

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
        return f"{self('word.range', low=ends[0], high=ends[1])} {currency}"

    def price(self, money: Money, per: str) -> str:
        """A price per unit, as "2.20 USD/kg"."""
        return f"{self.fixed(money.amount, 2)} {money.currency}/{per}"

    def _marks(self, number: str) -> str:
        if not self.decimal_comma:
            return number
        return number.replace(",", _THIN_SPACE).replace(".", ",")
