"""The facts that a customer knows, checked."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, Self

from pydantic import model_validator

from woold.case.asked import cells_of
from woold.case.fields import Section, as_in, plain, quantity
from woold.case.film import Film
from woold.case.load import Load
from woold.case.reader import checked
from woold.errors import InputError
from woold.units import Money
from woold.units.numbers import leading_number, plain_text
from woold.words import say

__all__ = ["CARRIAGES", "CarriageKind", "QuoteFacts", "RightAsTyped", "facts_from_texts"]

CarriageKind = Literal["unknown", "rollers", "brake"]

CARRIAGES: tuple[CarriageKind, ...] = ("unknown", "rollers", "brake")


class QuoteFacts(Section):
    """What a customer knows of loads, film and machine."""

    length: float = as_in(Load, "length", "outer length of the load")
    width: float = as_in(Load, "width", "outer width of the load")
    height: float = as_in(Load, "height", "height of the product above the deck")
    loads_per_year: float = plain(
        "loads wrapped in a year", example="80000", gt=0, usual=(500, 2_000_000), le=1e9
    )
    roll_width: float = as_in(Film, "roll_width", "width of the film roll")
    thickness: float = as_in(Film, "thickness", "of the film on the roll")
    film_per_load: float | None = quantity(
        "small_mass",
        "film on a load, cut off and weighed",
        None,
        example="300 g",
        gt=0,
        le=1000,
        usual=("20 g", "5 kg"),
    )
    rolls_per_week: float | None = plain(
        "rolls used up in a week, instead", None, example="12", gt=0, usual=(0.1, 2000), le=1e6
    )
    roll_mass: float = as_in(
        Film,
        "roll_mass",
        "film on a full roll, without its core",
        Film.model_fields["roll_mass"].default,
    )
    carriage: CarriageKind = plain(
        "today's: two rollers stretch the film, or the roll is braked", "unknown"
    )
    film_price: Money | None = as_in(Film, "price", "price of the film", None)
    price: Money | None = quantity(
        "money",
        "of the carriage, fitted; for its payback",
        None,
        example="14500 USD",
        usual=("200 USD", "100000 USD"),
    )

    @model_validator(mode="after")
    def _one_film_use(self) -> Self:
        if self.film_per_load is not None and self.rolls_per_week is not None:
            raise ValueError(say("film_per_load or rolls_per_week, not both"))
        return self

    @model_validator(mode="after")
    def _all_counts(self) -> Self:
        if self.price is not None and self.film_price is None:
            raise ValueError(say("price together with film_price, for its payback"))
        return self

    @model_validator(mode="after")
    def _one_currency(self) -> Self:
        if self.film_price and self.price and self.film_price.currency != self.price.currency:
            raise ValueError(say("film_price and price in one currency"))
        return self


@dataclass(frozen=True, slots=True)
class RightAsTyped:
    """Names that are right as typed: of facts, of the offered case, and cells of the sites."""

    facts: Sequence[str]
    case: Sequence[str]
    cells: Sequence[str]

    @classmethod
    def of(cls, as_typed: Collection[str]) -> Self:
        """Names told apart: only those of the case have a point, only those of cells a place."""
        cells, fields = cells_of(as_typed)
        facts = [each for each in fields if "." not in each]
        return cls(facts, [each for each in fields if "." in each], cells)


_COUNTS = ("loads_per_year", "rolls_per_week")


def facts_from_texts(
    texts: Mapping[str, str], as_typed: Collection[str] = (), called: Callable[[str], str] = str
) -> QuoteFacts:
    """Facts as they were typed.

    Args:
        texts: by field.
        as_typed: fields that were asked about and are right.
        called: what the reader calls a field that takes a plain number.

    Raises:
        InputError: one problem or question for each field.
    """
    table: dict[str, Any] = {}
    for name, typed in texts.items():
        table[name] = _counted(called(name), typed) if name in _COUNTS else typed
    facts = checked(QuoteFacts, table, as_typed)[0]
    if "roll_mass" in texts and facts.rolls_per_week is None:
        raise InputError.one(
            "roll_mass",
            texts["roll_mass"],
            say("roll_mass together with rolls_per_week"),
            say("Mend one of the fields, or take it out."),
        )
    return facts


def _counted(field: str, typed: str) -> float:
    found = leading_number(plain_text(typed))
    if found is None or found[1].strip():
        raise InputError.one(
            field, repr(typed), say("a plain number"), say("Write it without a unit.")
        )
    return found[0].value
