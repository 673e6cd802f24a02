"""The fields of a model as a form needs them: kind, words, default, placeholder, limits."""

from __future__ import annotations

import typing
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from woold.case.field_words import field_label, in_field_words, section_label
from woold.case.fields import FieldFacts, Section, facts_of
from woold.case.model import Case
from woold.case.usual import usual_text
from woold.trial.setup import Trial
from woold.units import KINDS, parse_quantity, show, show_range
from woold.watch.settings import WatchSettings
from woold.web.documents import Value
from woold.words import say

__all__ = [
    "Choice",
    "FormField",
    "FormSection",
    "case_sections",
    "form_sections",
    "trial_sections",
    "watch_sections",
]


class Choice(BaseModel):
    """One of the words that may stand in a field, and how the reader says it."""

    code: str
    label: str


class FormField(BaseModel):
    """A field of a form: its name in the file and in words, and what may be typed into it."""

    name: str
    label: str
    kind: str
    type: Literal["choice", "list", "list of lists", "flag", "count", "number", "text"]
    choices: list[Choice]
    doc: str
    example: str
    default: Value | None
    placeholder: str
    low: float | None
    high: float | None
    range: str | None
    usual: str
    units: list[str]
    limits: dict[str, float]
    required: bool


class FormSection(BaseModel):
    """A table of a case file: one, or a list of such."""

    name: str
    label: str
    doc: str
    is_list: bool
    fields: list[FormField]


def case_sections() -> list[FormSection]:
    """Every table of a case file that is filled in, in the order in which a new file has them."""
    found = form_sections(Case, "", is_list=False, head=say("About this case"))
    # What a case was made of is kept when things are taken from the shelf, and typed by nobody.
    return [each for each in found if each.name != "made_of"]


def trial_sections() -> list[FormSection]:
    """Every table of a trial file, in the order of its fields."""
    return list(form_sections(Trial, "", is_list=False, head=say("About this trial")))


def watch_sections() -> list[FormSection]:
    """Every table of a watch's settings."""
    return list(form_sections(WatchSettings, "", is_list=False, head=say("About this watch")))


def form_sections(
    model: type[BaseModel], path: str, is_list: bool, head: str = ""
) -> typing.Iterator[FormSection]:
    """The tables of a model, each before those within it.

    Args:
        model: the table's.
        path: its dotted name.
        is_list: there may be many of it.
        head: what the fields outside of any table are called.
    """
    fields: list[FormField] = []
    inner: list[FormSection] = []
    for name, field in model.model_fields.items():
        section = _inner(field.annotation)
        if section is None:
            fields.append(_field(name, field, facts_of(model, name)))
        else:
            many = typing.get_origin(_without_none(field.annotation)) is tuple
            inner += form_sections(section, f"{path}.{name}".lstrip("."), many)
    doc = (model.__doc__ or "").partition("\n")[0]
    label = section_label(path) if path else head
    yield FormSection(name=path, label=label, doc=say(doc), is_list=is_list, fields=fields)
    yield from inner


def _field(name: str, field: FieldInfo, facts: FieldFacts) -> FormField:
    kind = KINDS.get(facts.kind)
    limits = {
        end: getattr(constraint, end)
        for constraint in field.metadata
        for end in ("gt", "ge", "lt", "le", "max_length", "min_length")
        if getattr(constraint, end, None) is not None
    }
    span = None
    if kind and facts.low is not None and facts.high is not None:
        span = show_range(facts.low, facts.high, facts.kind)
    return FormField(
        name=name,
        label=field_label(name),
        kind=facts.kind,
        type=_type(field.annotation),
        choices=[Choice(code=each, label=say(each)) for each in _choices(field.annotation)],
        doc=in_field_words(say(facts.doc)) if facts.doc else "",
        example=facts.example.strip('"'),
        default=None if field.is_required() else _text(field.default, facts),
        placeholder=in_field_words(say(facts.placeholder)) if facts.placeholder else "",
        usual=usual_text(facts),
        low=facts.low,
        high=facts.high,
        range=span,
        units=[kind.metric, kind.trade] if kind else [],
        limits=limits,
        required=field.is_required(),
    )


def _text(default: Any, facts: FieldFacts) -> Any:
    """A default as it would be typed."""
    if isinstance(default, tuple):
        return [_text(each, facts) for each in default]
    if default is None or not facts.kind or facts.kind not in KINDS:
        return default
    is_list = facts.example.startswith("[")
    if facts.example and not is_list and _si(facts) == default:
        return facts.example
    return show(default, facts.kind, "si")


def _si(facts: FieldFacts) -> float:
    return parse_quantity(facts.example, facts.kind, facts.doc)


def _without_none(annotation: Any) -> Any:
    arguments = [each for each in typing.get_args(annotation) if each is not type(None)]
    if len(arguments) == 1 and type(None) in typing.get_args(annotation):
        return arguments[0]
    return annotation


def _inner(annotation: Any) -> type[Section] | None:
    annotation = _without_none(annotation)
    for candidate in (annotation, *typing.get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, Section):
            return candidate
    return None


def _choices(annotation: Any) -> tuple[str, ...]:
    annotation = _without_none(annotation)
    return typing.get_args(annotation) if typing.get_origin(annotation) is Literal else ()


def _type(annotation: Any) -> Any:
    annotation = _without_none(annotation)
    if _choices(annotation):
        return "choice"
    if typing.get_origin(annotation) is tuple:
        inner = typing.get_args(annotation)[0]
        return "list of lists" if typing.get_origin(inner) is tuple else "list"
    names = {bool: "flag", int: "count", float: "number"}
    return names.get(annotation, "text")
