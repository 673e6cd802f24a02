"""What is asked of the dancer, read from text: a turning speed, a hole, the stops of a trace."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from woold.case.asked import asked_quantity
from woold.case.model import Case
from woold.errors import InputError, Question
from woold.units import parse_quantity
from woold.words import say

__all__ = [
    "ASKED_OF_FILM",
    "ASKED_OF_TRACE",
    "ask_about",
    "hole_radius",
    "trace_stops",
    "turning_speed",
]

ASKED_OF_TRACE = ("speed", "stop_angle", "stop_length", "stop_share", "corners")
"""Fields of :class:`~woold.case.asked.Asked` that are asked for beside a trace."""

ASKED_OF_FILM = (*ASKED_OF_TRACE, "arm_length")
"""The same beside a film."""


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


def turning_speed(
    text: str | None, field: str, name: str = "speed", as_typed: Collection[str] = ()
) -> float | None:
    """A turning speed above zero [rad/s]; None where none is given.

    Args:
        text: "12 rpm".
        field: what it is called where it was typed, for messages.
        name: of the field of :class:`~woold.case.asked.Asked` that judges it.
        as_typed: names of what was asked about and is right.

    Raises:
        InputError: no turning speed, none above zero, or a question about one that is not usual.
    """
    return None if text is None else asked_quantity(name, text, field, as_typed)


def hole_radius(
    text: str | None, field: str, as_typed: Collection[str] = ("hole",)
) -> float | None:
    """Pivot to hole, above zero [m]; None where none is given.

    Args:
        text: "140 mm".
        field: for messages.
        as_typed: as above; a hole of a case's dancer is asked about as :func:`ask_about` does.

    Raises:
        InputError: no length, or none above zero.
    """
    return None if text is None else asked_quantity("hole", text, field, as_typed)


_STOPS = {"angle": "stop_angle", "small_length": "stop_length", "fraction": "stop_share"}


def trace_stops(
    texts: tuple[str, str] | None, field: str, as_typed: Collection[str] = ()
) -> tuple[float, float] | None:
    """Two stops, of whatever kind the trace is: an angle, a length or a share of the travel [SI].

    Args:
        texts: ("-30 deg", "30 deg").
        field: for messages.
        as_typed: names of what was asked about and is right.

    Raises:
        InputError: no two positions of one kind, or a question about one that is not usual.
    """
    if texts is None:
        return None
    for kind, name in _STOPS.items():
        try:
            for text in texts:
                parse_quantity(text, kind, field)
        except InputError:
            continue
        low, high = (asked_quantity(name, text, field, as_typed) for text in texts)
        return low, high
    raise InputError.one(
        field,
        ", ".join(map(str, texts)),
        say('two positions such as "-30 deg" "30 deg"'),
        say("Write both with their unit, the lower first."),
    )
