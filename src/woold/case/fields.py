"""What is known of a field of the case besides its value: kind, words, default, placeholder."""

from __future__ import annotations

import functools
import math
import typing
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal, TypedDict, Unpack

from pydantic import BaseModel, ConfigDict, Field

from woold.errors import Question
from woold.units import Money, parse_money, parse_quantity
from woold.words import to_say

__all__ = [
    "COMMON_PRACTICE",
    "FieldFacts",
    "Section",
    "SettingsFile",
    "as_chosen",
    "as_in",
    "choices_of",
    "doubtful_names",
    "facts_of",
    "field_names",
    "field_paths",
    "holds_truth",
    "inner_section",
    "most_entries",
    "plain",
    "quantity",
]

COMMON_PRACTICE = to_say("common practice, no source")
"""Where most of what is called usual comes from."""

Nature = Literal["amount", "place", "count", "deviation"]


@dataclass(frozen=True, slots=True)
class FieldFacts:
    """What is known of a case field besides its value.

    Args:
        kind: key of `woold.units.KINDS`; "money/kg", "money/s", "money"; "" for words and counts.
        doc: one line for the person who fills the case in.
        example: text for a new case file.
        placeholder: where the default came from, if nobody measured it.
        low, high: the placeholder's range, SI.
        usual: what nobody is asked about, SI; None where anything is.
        usual_from: where that comes from.
        hard: least and most that a single value can be, SI.
        each: hard limits of each entry of a list, SI; for a single value pydantic has them.
        nature: an "amount" can be varied by a share of itself, a "place" on a drawing cannot; a
            "count" was counted by whoever typed it, so that its placeholder's range goes; the range
            of a "deviation" is the middle 90 % of a normal distribution, and has no hard ends.
    """

    kind: str
    doc: str
    example: str = ""
    placeholder: str = ""
    low: float | None = None
    high: float | None = None
    nature: Nature = "amount"
    usual: tuple[float, float] | None = None
    usual_from: str = COMMON_PRACTICE
    each: tuple[float, float] | None = None
    hard: tuple[float, float] = (-math.inf, math.inf)


class Limits(TypedDict, total=False):
    """What a field may hold: pydantic's limits in SI, and what is usual, as text or count."""

    gt: float
    ge: float
    lt: float
    le: float
    min_length: int
    max_length: int
    strict: bool
    usual: tuple[str, str] | tuple[float, float]
    usual_from: str
    each: tuple[float, float]


_MOST_ENTRIES = 10_000
"""Of a list that has no limit of its own."""

_FOR_FACTS = ("usual", "usual_from", "each")


def quantity(
    kind: str,
    doc: str,
    default: Any = ...,
    *,
    example: str = "",
    placeholder: str = "",
    span: tuple[str, str] | None = None,
    nature: Nature = "amount",
    **limits: Unpack[Limits],
) -> Any:
    """A field that holds a quantity.

    Args:
        kind: see :class:`FieldFacts`.
        doc: one line for the person who fills the case in.
        default: text with its unit, a list of such, None, or nothing where the field is required.
        example: text for a new case file.
        placeholder: where the default came from, if nobody measured it.
        span: the placeholder's range, as two texts.
        nature: see :class:`FieldFacts`.
        limits: hard ones, and what is usual.
    """

    def si(text: Any) -> Any:
        if isinstance(text, tuple):
            return tuple(si(each) for each in text)
        if not isinstance(text, str):
            return text
        if kind.startswith("money"):
            return parse_money(text, kind.partition("/")[2], doc)
        return parse_quantity(text, kind, doc)

    facts = FieldFacts(
        kind=kind,
        doc=doc,
        example=example or (default if isinstance(default, str) else ""),
        placeholder=placeholder,
        low=si(span[0]) if span else None,
        high=si(span[1]) if span else None,
        nature=nature,
        **_limit_facts(limits, si),
    )
    return Field(si(default), json_schema_extra={"facts": facts}, **_hard(limits))  # type: ignore[dict-item]


def _limit_facts(limits: Limits, si: typing.Callable[[Any], Any]) -> dict[str, Any]:
    """What is usual, SI, where it comes from, and limits of each entry of a list."""
    found: dict[str, Any] = {name: limits.get(name) for name in _FOR_FACTS if name in limits}
    least = limits.get("ge", limits.get("gt", -math.inf))
    found["hard"] = (least, limits.get("le", limits.get("lt", math.inf)))
    if "usual" in limits:
        low, high = (si(each) for each in limits["usual"])
        is_money = isinstance(low, Money)
        found["usual"] = (low.amount, high.amount) if is_money else (low, high)
    return found


def _hard(limits: Limits) -> dict[str, Any]:
    return {name: value for name, value in limits.items() if name not in _FOR_FACTS}


def plain(doc: str, default: Any = ..., *, example: str = "", **limits: Unpack[Limits]) -> Any:
    """A field that holds words, a count, a choice or tables of its own."""
    known = _limit_facts(limits, lambda value: value)
    facts = FieldFacts(kind="", doc=doc, example=example, **known)
    return Field(default, json_schema_extra={"facts": facts}, **_hard(limits))  # type: ignore[dict-item]


def as_in(model: type[BaseModel], name: str, doc: str, default: Any = ...) -> Any:
    """A field that holds what another section's field does: its kind, its limits, what is usual.

    Args:
        model, name: where the other field stands.
        doc: one line for the person who fills this one in.
        default: nothing where the field is required.
    """
    facts = replace(facts_of(model, name), doc=doc)
    metadata = model.model_fields[name].metadata
    ends = ("gt", "ge", "lt", "le")
    hard = {end: getattr(each, end) for each in metadata for end in ends if hasattr(each, end)}
    return Field(default, json_schema_extra={"facts": facts}, **hard)  # type: ignore[dict-item]


@functools.cache
def facts_of(model: type[BaseModel], name: str) -> FieldFacts:
    """Facts of a model's field."""
    extra = model.model_fields[name].json_schema_extra
    facts = extra.get("facts") if isinstance(extra, dict) else None
    return facts if isinstance(facts, FieldFacts) else FieldFacts(kind="", doc="")


@functools.cache
def field_names(model: type[BaseModel]) -> tuple[str, ...]:
    """Names of a model's fields, in their order."""
    return tuple(model.model_fields)


@functools.cache
def doubtful_names(model: type[BaseModel]) -> tuple[str, ...]:
    """Names of the fields that have a placeholder, or may hold a table that has one."""
    facts = {name: facts_of(model, name) for name in field_names(model)}
    return tuple(name for name, each in facts.items() if each.placeholder or not each.kind)


@functools.cache
def choices_of(model: type[BaseModel], name: str) -> tuple[str, ...]:
    """Words that a field may hold; none where it may hold others."""
    found: list[str] = []
    kinds = [model.model_fields[name].annotation]
    while kinds:
        kind = kinds.pop()
        if typing.get_origin(kind) is Literal:
            found += [each for each in typing.get_args(kind) if isinstance(each, str)]
        else:
            kinds += [each for each in typing.get_args(kind) if each is not Ellipsis]
    return tuple(found)


@functools.cache
def holds_truth(model: type[BaseModel], name: str) -> bool:
    """Whether a field may hold true or false."""
    annotation = model.model_fields[name].annotation
    return bool in (annotation, *typing.get_args(annotation))


def as_chosen(read: object, choices: Collection[str]) -> object:
    """A word, or each of a list, as it stands among the choices, however it is spaced or cased.

    Args:
        read: what was typed.
        choices: words that may stand there.
    """
    if isinstance(read, list | tuple):
        return [as_chosen(each, choices) for each in read]
    if not isinstance(read, str) or read in choices:
        return read
    alike = [each for each in choices if _bare(each) == _bare(read)]
    return alike[0] if len(alike) == 1 else read


def _bare(text: str) -> str:
    return "".join(each for each in text.casefold() if each.isalnum())


def inner_section(model: type[BaseModel], name: str) -> type[Section] | None:
    """The section that a field holds, alone or in a list; None where it holds a value."""
    annotation = model.model_fields[name].annotation
    for candidate in (annotation, *typing.get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, Section):
            return candidate
    return None


@functools.cache
def most_entries(model: type[BaseModel], name: str) -> int:
    """Entries that a field's list may have."""
    metadata = model.model_fields[name].metadata
    limits = (getattr(each, "max_length", None) for each in metadata)
    return next((each for each in limits if each is not None), _MOST_ENTRIES)


@functools.cache
def field_paths(model: type[BaseModel], here: str = "") -> tuple[str, ...]:
    """Dotted names of all fields of a model and of the tables in it, without indices."""
    found: list[str] = []
    for name in field_names(model):
        inner = inner_section(model, name)
        found.append(f"{here}{name}")
        found += field_paths(inner, f"{here}{name}.") if inner is not None else ()
    return tuple(found)


class Section(BaseModel):
    """A table of the case file."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, arbitrary_types_allowed=True
    )

    may_be_named: typing.ClassVar[tuple[str, ...]] = ()
    """Tables instead of which the name of a thing on a shelf may stand."""

    def unused(self) -> frozenset[str]:
        """Names of fields that do not count here, because others say the same."""
        return frozenset()

    def doubts(self) -> Iterable[Question]:
        """Questions about values that can hardly stand together; named from this section on."""
        return ()

    def confirmed(self) -> Collection[str]:
        """Fields that were asked about and are right."""
        return ()


class SettingsFile(Section):
    """A file whose head may say which fields were asked about and are right."""

    as_typed: tuple[str, ...] = plain(
        "fields that were asked about, since they are not usual, and are right",
        (),
        example='["film.price"]',
        max_length=200,
    )

    def confirmed(self) -> tuple[str, ...]:
        """Fields that were asked about and are right."""
        return self.as_typed
