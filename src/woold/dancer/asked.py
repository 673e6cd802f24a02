"""What is asked of the dancer, read from text: a turning speed, a hole, the stops of a trace."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from woold.case.model import Case
from woold.errors import InputError, Question
from woold.units import parse_quantity
from woold.words import say

__all__ = ["ask_about", "hole_radius", "trace_stops", "turning_speed"]


def ask_about(
    case: Case,
    asked: Mapping[str, str | None],
    names: Mapping[str, str],
    as_typed: Collection[str] = (),
) -> None:
    """Checks what is asked of a case's dancer as if it stood in the case's file.

    Args:
        case: the case.
        asked: by dotted field name, what was typed; None where nothing was.
        names: what the fields are called where it was typed, for messages.
        as_typed: fields that were asked about and are right.

    Raises:
        InputError: a value that cannot be used, or a question about one that is not usual.
    """
    given = {field: value for field, value in asked.items() if value is not None}
    if not given or case.dancer is None:
        return
    try:
        case.change(given, (*case.as_typed, *as_typed))
    except InputError as error:
        raise InputError.many(
            # A question keeps the field's name, by which it is confirmed.
            each
            if isinstance(each, Question)
            else replace(each, field=names.get(each.field, each.field))
            for each in error.problems
        ) from None


def turning_speed(text: str | None, field: str) -> float | None:
    """A turning speed above zero [rad/s]; None where none is given.

    Args:
        text: "12 rpm".
        field: for messages.

    Raises:
        InputError: no turning speed, or none above zero.
    """
    if text is None:
        return None
    speed = parse_quantity(text, "turning_speed", field)
    if not speed > 0:
        raise InputError.one(
            field, text, say("a turning speed above zero"), say("Write a speed such as 12 rpm.")
        )
    return speed


def hole_radius(text: str | None, field: str) -> float | None:
    """Pivot to hole, above zero [m]; None where none is given.

    Args:
        text: "140 mm".
        field: for messages.

    Raises:
        InputError: no length, or none above zero.
    """
    if text is None:
        return None
    length = parse_quantity(text, "small_length", field)
    if not length > 0:
        raise InputError.one(
            field, text, say("a length above zero"), say("Write a length such as 140 mm.")
        )
    return length


def trace_stops(texts: tuple[str, str] | None, field: str) -> tuple[float, float] | None:
    """Two stops, of whatever kind the trace is: an angle, a length or a share of the travel [SI].

    Args:
        texts: ("-30 deg", "30 deg").
        field: for messages.

    Raises:
        InputError: no two positions of one kind.
    """
    if texts is None:
        return None
    for kind in ("angle", "small_length", "fraction"):
        try:
            low, high = (parse_quantity(text, kind, field) for text in texts)
        except InputError:
            continue
        return low, high
    raise InputError.one(
        field,
        ", ".join(map(str, texts)),
        say('two positions such as "-30 deg" "30 deg"'),
        say("Write both with their unit, the lower first."),
    )
