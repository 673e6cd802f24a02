"""What is known of a field of the case besides its value: kind, words, default, placeholder."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from woold.units import parse_money, parse_quantity

__all__ = [
    "FieldFacts",
    "Section",
    "doubtful_names",
    "facts_of",
    "field_names",
    "plain",
    "quantity",
]


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


def quantity(
    kind: str,
    doc: str,
    default: Any = ...,
    *,
    example: str = "",
    placeholder: str = "",
    span: tuple[str, str] | None = None,
    nature: Nature = "amount",
    **limits: Any,
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
        limits: pydantic's limits (gt, ge, lt, le, max_length), SI.
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
    )
    return Field(si(default), json_schema_extra={"facts": facts}, **limits)  # type: ignore[dict-item]


def plain(doc: str, default: Any = ..., *, example: str = "", **limits: Any) -> Any:
    """A field that holds words, a count, a choice or tables of its own."""
    facts = FieldFacts(kind="", doc=doc, example=example)
    return Field(default, json_schema_extra={"facts": facts}, **limits)  # type: ignore[dict-item]


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


class Section(BaseModel):
    """A table of the case file."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, arbitrary_types_allowed=True
    )

    def unused(self) -> frozenset[str]:
        """Names of fields that do not count here, because others say the same."""
        return frozenset()
