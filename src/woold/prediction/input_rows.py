"""Every number of a case with its origin, in words."""

from __future__ import annotations

import typing
from collections.abc import Iterator

from woold.case.field_words import field_words
from woold.case.fields import Section, facts_of, field_names
from woold.case.model import Case
from woold.prediction.plain_units import with_unit
from woold.rows.blocks import Table
from woold.rows.wording import Wording
from woold.units import KINDS

__all__ = ["input_table"]


def input_table(case: Case, caption: str, say: Wording, only: str = "") -> Table:
    """Every number of a case whose field begins with ``only``, with its origin.

    A field is named in words, and beside them as a file names it: whoever writes the same file
    again needs both.
    """
    rows = tuple(
        (
            each.field,
            with_unit(say.amount(each.value, each.kind), each.field, each.kind)
            if each.kind in KINDS
            else _money(each.value, each.kind, case.currency, say),
            say("placeholder: {origin}", origin=each.origin.words())
            if each.origin.is_placeholder
            else each.origin.words(),
        )
        for each in case.inputs()
        if each.field.startswith(only)
    )
    rows = (*rows, *_beside_numbers(case, say, only))
    told = tuple((field_words(name), value, origin, name) for name, value, origin in rows)
    columns = (say("input"), say("value"), say("where it is from"), say("in the file"))
    return Table(caption, columns, told, words=(0, 2, 3), is_small=True, names=(3,))


def _beside_numbers(case: Case, say: Wording, only: str) -> Iterator[tuple[str, str, str]]:
    """What is chosen among words, and places: the machine's kind, the load's offset."""
    for name in field_names(type(case)):
        section = getattr(case, name)
        if not isinstance(section, Section):
            continue
        for inner in field_names(type(section)):
            here, value = f"{name}.{inner}", getattr(section, inner)
            kind = facts_of(type(section), inner).kind
            shown = ""
            if isinstance(value, str) and value and not kind:
                # Words to choose from are ours; others are whoever's wrote them.
                shown = say(value) if _is_choice(section, inner) else value
            elif isinstance(value, tuple) and 0 < len(value) <= _MOST_SHOWN and kind:
                numbers = [each for each in value if isinstance(each, float)]
                shown = ", ".join(say.amount(each, kind) for each in numbers)
            if shown and here.startswith(only):
                was_given = inner in section.model_fields_set
                yield (
                    here,
                    shown,
                    say("given in the case") if was_given else say("default"),
                )


def _is_choice(section: Section, name: str) -> bool:
    """Whether a field holds one of a few words."""
    return typing.get_origin(type(section).model_fields[name].annotation) is typing.Literal


_MOST_SHOWN = 12
_PER = {"": (1.0, ""), "kg": (1.0, "/kg"), "s": (3600.0, "/h")}


def _money(amount: float, kind: str, currency: str, say: Wording) -> str:
    """A price, per what the trade states it."""
    factor, per = _PER[kind.partition("/")[2]]
    return f"{say.number(factor * amount)} {currency}{per}"
