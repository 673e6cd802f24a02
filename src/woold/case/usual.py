"""What is usual: a value outside of it is asked about, one that cannot be is refused.

Nobody's plant is refused for being unusual. A question stops a run until whoever typed the value
says that it is right; so no number rests on a value that was only mistyped.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterator
from typing import Any

from pydantic import BaseModel

from woold.case.fields import FieldFacts, Section, facts_of, field_names, field_paths
from woold.errors import InputError, Problem, Question, UnitError
from woold.units import (
    DOLLAR_LIKE,
    KINDS,
    Money,
    UnitSystem,
    parse_quantity,
    show,
    show_range,
    significant,
)
from woold.words import say

__all__ = [
    "is_usual",
    "question_about",
    "questions",
    "require_answers",
    "require_possible",
    "units_meant",
    "usual_span",
    "usual_text",
]

_MOST = 20
_MOST_MONEY = 1e12
"""Money of any currency, for a kilogram, second or alone, at which it cannot be meant."""


def require_possible(section: Section) -> None:
    """Refuses entries of lists and amounts of money beyond their hard limits.

    Raises:
        InputError: one problem for each.
    """
    problems = [
        _impossible(facts, value, here)
        for facts, value, here in _values(section, "")
        if not _is_possible(facts, value)
    ]
    if problems:
        raise InputError.many(problems[:_MOST])


def require_answers(section: Section, as_typed: Collection[str] = ()) -> None:
    """Stops where a value is not usual and nobody said that it is right.

    Args:
        section: a checked model of a file.
        as_typed: fields that were asked about and are right, beside those that it names itself.

    Raises:
        InputError: one question for each; or a name in ``as_typed`` that is no field.
    """
    right = {*section.confirmed(), *as_typed}
    unknown = [each for each in right if _without_index(each) not in field_paths(type(section))]
    if unknown:
        raise InputError.many(_no_field(each, section) for each in sorted(unknown))
    # One mistyped value disagrees with many others: it is asked about first, and alone.
    for asked in (_unusual(section), _doubts(section, "")):
        open_ones = [each for each in asked if each.field not in right]
        if open_ones:
            raise InputError.many(open_ones[:_MOST])


def questions(section: Section) -> Iterator[Question]:
    """Every question about a model: single values first, then values that disagree."""
    yield from _unusual(section)
    yield from _doubts(section, "")


def _unusual(section: Section) -> Iterator[Question]:
    asked = set()
    for facts, value, here in _values(section, ""):
        if not is_usual(facts, value) and here not in asked:
            asked.add(here)
            yield question_about(facts, value, here)


def question_about(facts: FieldFacts, value: float | Money, field: str) -> Question:
    """What is asked about a value that is not usual.

    Args:
        facts: of its field.
        value: SI.
        field: what it is called.
    """
    return Question(
        field,
        _shown(value, facts),
        usual_text(facts, value.currency if isinstance(value, Money) else ""),
        say("Is it right, and in the right unit?") if facts.kind else say("Is it right?"),
    )


def usual_text(facts: FieldFacts, currency: str = "") -> str:
    """What is usual in a field, and where that comes from; "" where anything is.

    Args:
        facts: of the field.
        currency: of the field's money; a dollar where none is given.
    """
    span = usual_span(facts, currency)
    return f"{span} ({say(facts.usual_from)})" if span else ""


def usual_span(facts: FieldFacts, currency: str = "", units: UnitSystem = "both") -> str:
    """What is usual in a field; "" where anything is.

    Args:
        facts, currency: as for :func:`usual_text`.
        units: of the ends.
    """
    if facts.usual is None:
        return ""
    low, high = facts.usual
    if facts.kind.startswith("money"):
        return say(
            "{low} to {high}",
            low=_money(low, facts.kind, ""),
            high=_money(high, facts.kind, currency or DOLLAR_LIKE[0]),
        )
    if facts.kind:
        return show_range(low, high, facts.kind, units)
    return say("{low} to {high}", low=f"{low:,.12g}", high=f"{high:,.12g}")


def _values(section: BaseModel, path: str) -> Iterator[tuple[FieldFacts, Any, str]]:
    """Every number and price of a model that was given, with what is known of its field."""
    model = type(section)
    given = section.model_fields_set
    for name in field_names(model):
        value = getattr(section, name)
        if value is None or isinstance(value, str) or name not in given:
            continue
        here = f"{path}{name}"
        if isinstance(value, BaseModel):
            yield from _values(value, f"{here}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for index, each in enumerate(value):
                yield from _values(each, f"{here}[{index}].")
        else:
            facts = facts_of(model, name)
            if facts.usual is not None or facts.each is not None or isinstance(value, Money):
                for each in _numbers(value):
                    yield facts, each, here


def _numbers(value: Any) -> Iterator[Any]:
    if isinstance(value, tuple):
        for each in value:
            yield from _numbers(each)
    elif isinstance(value, float | int | Money) and not isinstance(value, bool):
        yield value


def _is_possible(facts: FieldFacts, value: float | Money) -> bool:
    if isinstance(value, Money):
        return 0.0 <= value.amount < _MOST_MONEY
    return facts.each is None or facts.each[0] <= value <= facts.each[1]


def is_usual(facts: FieldFacts, value: float | Money) -> bool:
    """Whether a value is one that nobody is asked about."""
    if facts.usual is None:
        return True
    low, high = facts.usual
    if isinstance(value, Money):
        # What a currency is worth is not known here; those below are worth about a dollar.
        return value.currency not in DOLLAR_LIKE or _lies(value.amount, low, high)
    return _lies(value, low, high)


def units_meant(facts: FieldFacts, number: object, last: str = "") -> tuple[str, ...]:
    """Units with which a bare number would be one that nobody is asked about.

    Args:
        facts: of its field.
        number: as it was typed.
        last: unit that was typed last for such a quantity; it comes first if it will do.
    """
    kind = KINDS[facts.kind]
    alike = [
        each
        for each in KINDS.values()
        if each.unit == kind.unit and each.is_elongation == kind.is_elongation
    ]
    units = [last, *(unit for each in (kind, *alike) for unit in (each.metric, each.trade))]
    found = []
    for unit in dict.fromkeys(filter(None, units)):
        try:
            value = parse_quantity(f"{number} {unit}", facts.kind, "")
        except UnitError:
            continue
        if is_usual(facts, value) and facts.hard[0] <= value <= facts.hard[1]:
            found.append(unit)
    return tuple(found)


def _lies(value: float, low: float, high: float) -> bool:
    slack = 1e-9 * max(abs(low), abs(high))
    return low - slack <= value <= high + slack


def _impossible(facts: FieldFacts, value: float | Money, here: str) -> Problem:
    if isinstance(value, Money):
        allowed = (
            say("a price of 0 or more")
            if value.amount < 0.0
            else say("a price below {most}", most=_money(_MOST_MONEY, facts.kind, value.currency))
        )
        return Problem(here, _shown(value, facts), allowed, say("Mend it."))
    assert facts.each is not None
    low, high = facts.each
    span = show_range(low, high, facts.kind) if facts.kind else f"{low:g}, {high:g}"
    return Problem(here, _shown(value, facts), span, say("Mend the value."))


def _shown(value: float | Money, facts: FieldFacts) -> str:
    if isinstance(value, Money):
        return _money(value.amount, facts.kind, value.currency)
    if facts.kind in KINDS:
        return show(value, facts.kind)
    return f"{value:,.12g}"


_PER = {"": (1.0, ""), "kg": (1.0, "/kg"), "s": (3600.0, "/h")}


def _money(amount: float, kind: str, currency: str) -> str:
    """An amount of money, per what the trade states it."""
    factor, per = _PER[kind.partition("/")[2]]
    number = significant(factor * amount) if amount <= _MOST_MONEY else f"{factor * amount:g}"
    return f"{number} {currency}{per}".strip() if currency else number


def _doubts(section: BaseModel, path: str) -> Iterator[Question]:
    """Questions of a model and of the tables in it, each by its full name."""
    if isinstance(section, Section):
        for each in section.doubts():
            yield Question(f"{path}{each.field}", each.given, each.allowed, each.todo)
    for name in field_names(type(section)):
        value = getattr(section, name)
        if isinstance(value, BaseModel):
            yield from _doubts(value, f"{path}{name}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for index, each in enumerate(value):
                yield from _doubts(each, f"{path}{name}[{index}].")


def _without_index(field: str) -> str:
    return re.sub(r"\[\d+\]", "", field)


def _no_field(name: str, section: Section) -> Problem:
    near = difflib.get_close_matches(name, field_paths(type(section)), n=1, cutoff=0.4)
    todo = say('Did you mean "{key}"?', key=near[0]) if near else say("Take it out.")
    return Problem("as_typed", repr(name), say("the full name of a field"), todo)
