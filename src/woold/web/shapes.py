"""What is wrong with the shape of what was sent, in words that a reader of a page can use."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from woold.errors import Problem
from woold.words import say, to_say

__all__ = ["shape_problem"]

_ALLOWED = {
    "missing": to_say("what is asked for"),
    "string_too_long": to_say("at most {limit} letters"),
    "string_too_short": to_say("{limit} letters or more"),
    "too_long": to_say("{limit} at most"),
    "too_short": to_say("{limit} or more"),
    "greater_than": to_say("more than {limit}"),
    "greater_than_equal": to_say("{limit} or more"),
    "less_than": to_say("less than {limit}"),
    "less_than_equal": to_say("at most {limit}"),
    "int_parsing": to_say("a whole number"),
    "int_type": to_say("a whole number"),
    "int_from_float": to_say("a whole number"),
    "float_parsing": to_say("a number"),
    "float_type": to_say("a number"),
    "bool_type": to_say("yes or no"),
    "bool_parsing": to_say("yes or no"),
    "string_type": to_say("a text"),
    "literal_error": to_say("one of {limit}"),
}
_TODO = {
    "missing": to_say("Fill it in."),
    "string_too_long": to_say("Write it shorter."),
    "too_long": to_say("Send fewer at once."),
}
_SHOWN = 60


def shape_problem(error: Mapping[str, Any]) -> Problem:
    """A problem as a reader is told it.

    Args:
        error: one error of pydantic's list.
    """
    kind, context = str(error["type"]), error.get("ctx", {})
    # A cell of the form is sent as what was typed and its unit.
    steps = [each for each in error["loc"] if each != "body"]
    if len(steps) > 1 and steps[-1] == "typed":
        steps.pop()
    field = ""
    for each in steps:
        field += f"[{each}]" if isinstance(each, int) else f".{each}" if field else str(each)
    limit = next(iter(context.values()), "")
    allowed = say(_ALLOWED[kind], limit=limit) if kind in _ALLOWED else str(error["msg"])
    given = say("nothing") if kind == "missing" else _shortly(error.get("input"))
    return Problem(field or "request", given, allowed, say(_TODO.get(kind, _MEND)))


_MEND = to_say("Mend it.")


def _shortly(given: Any) -> str:
    """What was sent; of a long text its beginning and its length."""
    if isinstance(given, str) and len(given) > _SHOWN:
        return say("{start}…, {count} letters", start=repr(given[:_SHOWN])[:-1], count=len(given))
    return repr(given)[:200]
