"""The case: what is wrapped, with what film, on what machine, by what program.

A frozen model of SI floats, checked once when it is made, that knows where each number came from.
Reading the case file is `woold.case.file`'s business.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, ClassVar, NamedTuple, Self

from pydantic import BaseModel, Field, PrivateAttr, model_validator

from woold.case.carriage import Carriage
from woold.case.change import changed
from woold.case.cross_checks import doubts_of_case
from woold.case.dancer import Dancer
from woold.case.design import Design
from woold.case.fields import Section, doubtful_names, facts_of, field_names, plain
from woold.case.film import Film
from woold.case.hold import Hold
from woold.case.load import Load
from woold.case.machine import Machine
from woold.case.origin import Origin
from woold.case.plant import Plant
from woold.case.program import Program
from woold.case.things import NAMED_TABLES, Kind
from woold.case.transport import Transport
from woold.case.usual import require_answers
from woold.errors import Question
from woold.units import Money
from woold.words import say, to_say

__all__ = ["Case", "Input", "MadeOf", "Origin"]


class Input(NamedTuple):
    """One number that a prediction rests on.

    Args:
        field: dotted name.
        value: SI.
        kind: key of `woold.units.KINDS`, or "money/..." for a price.
        origin: where it came from.
        is_amount: it can be varied; a count of things and a price cannot.
        is_normal: its range is the middle 90 % of a normal distribution.
    """

    field: str
    value: float
    kind: str
    origin: Origin
    is_amount: bool = True
    is_normal: bool = False


class MadeOf(Section):
    """A thing on a shelf that the case was made of, in the version that it had then."""

    kind: Kind = plain("the shelf's list", example='"films"')
    name: str = plain("its name", example='"thin film"', min_length=1, max_length=80)
    version: int = plain("its version", example="2", ge=1, le=100_000)
    hash: str = plain("of what was typed", example='"0123456789ab"', max_length=64)


class Case(Section):
    """A load, its film, its carriage, its machine and its program."""

    title: str = plain("one line", "", example='"Jars on a 1.2 x 1.0 m pallet"', max_length=200)
    notes: str = plain("anything worth keeping", "", max_length=10_000)
    as_typed: tuple[str, ...] = plain(
        "fields that were asked about, since they are not usual, and are right",
        (),
        example='["load.mass"]',
        max_length=200,
    )
    load: Load
    film: Film
    carriage: Carriage
    dancer: Dancer | None = None
    machine: Machine
    program: Program
    hold: Hold = Field(default_factory=Hold)
    plant: Plant = Field(default_factory=Plant)
    transport: Transport | None = None
    design: Design | None = None
    shelf: str = plain("file of the things that this case names", "", max_length=400)
    made_of: tuple[MadeOf, ...] = plain("things on a shelf that it was made of", (), max_length=20)
    may_be_named: ClassVar[tuple[str, ...]] = NAMED_TABLES
    _stated: dict[str, Origin] = PrivateAttr(default_factory=dict)

    def with_origins(self, stated: Mapping[str, Origin]) -> Self:
        """This case, with the origins that its file states, by dotted field name."""
        case = self.model_copy()
        case._stated = dict(stated)
        return case

    def stated_origins(self) -> Mapping[str, Origin]:
        """Origins that the case's file states, by dotted field name."""
        return dict(self._stated)

    def doubts(self) -> Iterable[Question]:
        """Questions about values that can hardly stand together."""
        return doubts_of_case(self)

    def confirmed(self) -> tuple[str, ...]:
        """Fields that were asked about and are right."""
        return self.as_typed

    def confirming(self, as_typed: Collection[str]) -> Self:
        """This case, in which more fields were asked about and are right."""
        if not as_typed:
            return self
        names = tuple(dict.fromkeys((*self.as_typed, *as_typed)))
        case: Self = self.model_copy(update={"as_typed": names})
        return case

    def change(self, changes: Mapping[str, Any], as_typed: Collection[str] = ()) -> Self:
        """This case with other values, read and checked as a case file is.

        Args:
            changes: by dotted field name: what would stand in the file, {"film.thickness":
                "47 gauge"}; None leaves the field out. An entry of a list is written with its
                index: "carriage.rollers[0].x".
            as_typed: fields that were asked about and are right; one that is changed is asked
                about again.

        Raises:
            InputError: one problem for each field that cannot be used, or else one question for
                each that can hardly be.
        """
        case, stated = changed(self, changes)
        heads = tuple(f"{path}{after}" for path in changes for after in (".", "["))
        kept = {
            field: origin
            for field, origin in self._stated.items()
            if field not in changes and not field.startswith(heads)
        }
        if "as_typed" not in changes:
            still = [
                each for each in self.as_typed if each not in changes and not each.startswith(heads)
            ]
            case = case.model_copy(update={"as_typed": tuple(still)}).confirming(as_typed)
        require_answers(case, as_typed)
        return case.with_origins({**kept, **stated})

    def with_section_of(self, name: str, other: Case) -> Self:
        """This case with one section, and its origins, taken from another case."""
        case: Self = self.model_copy(update={name: getattr(other, name)})
        mine = {key: each for key, each in self._stated.items() if not key.startswith(f"{name}.")}
        theirs = {key: each for key, each in other._stated.items() if key.startswith(f"{name}.")}
        return case.with_origins({**mine, **theirs})

    def with_values(self, changes: Mapping[str, Any]) -> Self:
        """This case with other SI values, unchecked, by dotted field name ("film.thickness").

        A field inside a list is written with its index: "carriage.rollers[0].x".
        """
        case: Self = _replaced(self, changes)
        if case._stated:
            # What was stated of a table goes with it when another takes its place.
            gone = tuple(
                f"{path}{after}"
                for path, value in changes.items()
                if isinstance(value, Section | tuple) and value is not getattr(self, path, None)
                for after in (".", "[")
            )
            case._stated = {
                field: origin
                for field, origin in case._stated.items()
                if not (gone and field.startswith(gone))
            }
        return case

    def with_drawn(self, values: Mapping[str, float]) -> Self:
        """This case at one draw of its inputs, each then known exactly.

        Args:
            values: by dotted field name, SI.
        """
        case = self.with_values(values)
        drawn = dict.fromkeys(values, _GIVEN)
        return case.with_origins({**case._stated, **drawn})

    def inputs(self) -> tuple[Input, ...]:
        """Every number of the case, with its origin."""
        idle = self._idle()
        return tuple(each for each in _inputs(self, "", self._stated) if each.field not in idle)

    def placeholders(self) -> tuple[Input, ...]:
        """The numbers that nobody measured."""
        idle = self._idle()
        inputs = _inputs(self, "", self._stated, may_be_placeholder=True)
        return tuple(
            each for each in inputs if each.origin.is_placeholder and each.field not in idle
        )

    @property
    def width_is_measured(self) -> bool:
        """Whether the film's width on the load was measured, so that no law is asked for it."""
        carriage = self.carriage
        return carriage.film_width_on_load is not None or carriage.neck_down is not None

    def _idle(self) -> tuple[str, ...]:
        """Numbers that say nothing, because a measurement stands in another table."""
        if self.width_is_measured:
            return ("film.neck_down_error", "film.width_loss", "carriage.slow_roller_diameter")
        return ()

    def range_of(self, path: str) -> tuple[float, float]:
        """Range of one number of the case; the value twice where nothing is known of it.

        Args:
            path: dotted name of a number, such as "film.reload_modulus".
        """
        value, origin = self.known_of(path)
        low = value if origin.low is None else min(origin.low, value)
        high = value if origin.high is None else max(origin.high, value)
        return low, high

    def known_of(self, path: str) -> tuple[float, Origin]:
        """One number of the case, and where it came from.

        Args:
            path: dotted name of a number, such as "film.reload_modulus".
        """
        *tables, name = path.split(".")
        section: Any = self
        for table in tables:
            section = getattr(section, table)
        value = float(getattr(section, name))
        model: type[BaseModel] = type(section)
        typed = name in section.model_fields_set
        return value, self._stated_origins().get(path) or _origin(model, name, value, typed)

    def _stated_origins(self) -> Mapping[str, Origin]:
        """Origins that the case states, past the model's own way to what is private: it is asked
        for with every number."""
        stated: Mapping[str, Origin] = (self.__pydantic_private__ or {}).get("_stated", {})
        return stated

    @property
    def currency(self) -> str:
        """Code of the money in this case; '' where no price is given."""
        return next((money.currency for money in self._prices().values()), "")

    def _prices(self) -> dict[str, Money]:
        """Every amount of money in the case, by dotted field name."""
        given = {
            "film.price": self.film.price,
            "plant.standstill_price": self.plant.standstill_price,
            "carriage.price": self.carriage.price,
        }
        taxes = {
            f"plant.packaging_tax[{index}].rate": each.rate
            for index, each in enumerate(self.plant.packaging_tax)
        }
        return {name: money for name, money in (given | taxes).items() if money is not None}

    @model_validator(mode="after")
    def _one_currency(self) -> Self:
        prices = self._prices()
        if len({money.currency for money in prices.values()}) > 1:
            given = ", ".join(f"{name} ({money.currency})" for name, money in prices.items())
            raise ValueError(say("one currency for all of {prices}", prices=given))
        return self


def _inputs(
    section: BaseModel, path: str, stated: Mapping[str, Origin], may_be_placeholder: bool = False
) -> Iterator[Input]:
    """Numbers of a section and of those inside it; or only those that may be placeholders."""
    model: type[BaseModel] = type(section)
    unused = section.unused() if isinstance(section, Section) else ()
    # Any field whose origin is stated may have been called a placeholder there.
    some = may_be_placeholder and not stated
    for name in doubtful_names(model) if some else field_names(model):
        value, here = getattr(section, name), f"{path}{name}"
        if value is None or isinstance(value, str) or name in unused:
            continue
        facts = facts_of(model, name)
        if isinstance(value, Section):
            yield from _inputs(value, f"{here}.", stated, may_be_placeholder)
        elif isinstance(value, tuple) and value and isinstance(value[0], Section):
            for index, each in enumerate(value):
                yield from _inputs(each, f"{here}[{index}].", stated, may_be_placeholder)
        elif may_be_placeholder and not facts.placeholder and here not in stated:
            continue
        elif isinstance(value, Money):
            yield Input(here, value.amount, facts.kind, stated.get(here, _GIVEN), is_amount=False)
        elif isinstance(value, float | int) and not isinstance(value, bool):
            typed = name in section.model_fields_set
            origin = stated.get(here) or _origin(model, name, float(value), typed)
            is_amount = facts.nature != "place" and not isinstance(value, int)
            kind = facts.kind or "ratio"
            is_normal = facts.nature == "deviation"
            yield Input(here, float(value), kind, origin, is_amount, is_normal)


_GIVEN = Origin(to_say("given in the case"), is_placeholder=False, is_ours=True)
_DEFAULT = Origin(to_say("default"), is_placeholder=False, is_ours=True)


@functools.lru_cache(maxsize=1024)
@functools.lru_cache(maxsize=512)
def _origin(model: type[BaseModel], name: str, value: float, typed: bool) -> Origin:
    """Origin of a value of which the case states none.

    A field that has a placeholder stays one until its origin is stated, even when it was typed;
    but not a count, which nobody types without having counted.
    """
    facts = facts_of(model, name)
    if not facts.placeholder or (facts.nature == "count" and typed):
        return _GIVEN if typed else _DEFAULT
    low, high = facts.low, facts.high
    if low is not None and high is not None and not low <= value <= high:
        middle = 0.5 * (low + high)
        if middle == 0.0:
            low, high = value + low, value + high
        else:
            low, high = value * low / middle, value * high / middle
    return Origin(facts.placeholder, True, low, high, is_ours=True, is_typed=typed)


def _replaced(section: Any, changes: Mapping[str, Any]) -> Any:
    grouped: dict[str, dict[str, Any]] = {}
    update: dict[str, Any] = {}
    for path, value in changes.items():
        head, _, rest = path.partition(".")
        if rest:
            grouped.setdefault(head, {})[rest] = value
        else:
            update[head] = value
    for head, inner in grouped.items():
        match = re.fullmatch(r"(\w+)\[(\d+)\]", head)
        if match is None:
            update[head] = _replaced(getattr(section, head), inner)
        else:
            name, index = match[1], int(match[2])
            items = list(update.get(name, getattr(section, name)))
            items[index] = _replaced(items[index], inner)
            update[name] = tuple(items)
    return section.model_copy(update=update)
