"""The reader of every settings file: text with units becomes the SI values of a checked model.

Every problem is gathered, each with its field, what was given, what is allowed and what to do.
"""

from __future__ import annotations

import difflib
import math
import re
import typing
from collections.abc import Collection, Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from woold.case.fields import (
    FieldFacts,
    Section,
    as_chosen,
    choices_of,
    facts_of,
    holds_truth,
    inner_section,
    most_entries,
)
from woold.case.origin import Origin
from woold.case.toml_text import require_printable
from woold.case.usual import require_answers, require_possible, units_meant
from woold.errors import InputError, Problem, Question, UnitError
from woold.units import KINDS, parse_money, parse_quantity, show, show_range, unit_typed
from woold.words import say, to_say

__all__ = ["UNREADABLE", "Reader", "answered", "checked", "facts_at"]

AnySection = typing.TypeVar("AnySection", bound=Section)

UNREADABLE = object()
"""What stands for a value that cannot be read."""

_MOST_PROBLEMS = 20


def checked(
    model: type[AnySection], table: Mapping[str, Any], as_typed: Collection[str] = ()
) -> tuple[AnySection, dict[str, Origin]]:
    """The checked model of a file's tables, and the origins that the file states.

    Args:
        model: what the file holds.
        table: nested tables, quantities as text.
        as_typed: fields that were asked about and are right.

    Raises:
        InputError: one problem for each field that cannot be used, or else one question for each
            that can hardly be.
    """
    reader = Reader(model)
    values = reader.section(model, table, "")
    try:
        made = model.model_validate(values)
    except ValidationError as error:
        problems = (reader.problem(each) for each in error.errors())
        reader.problems += [each for each in problems if each.field not in reader.blamed]
        made = None
    if reader.problems or made is None:
        shown = reader.problems[:_MOST_PROBLEMS]
        raise InputError.many(shown)
    require_possible(made)
    require_answers(made, as_typed)
    return made, reader.stated


def answered(model: type[Section], table: Mapping[str, Any]) -> dict[str, Any]:
    """A file's tables with every open question answered: each was asked when they were kept.

    Args:
        model: what the file holds.
        table: nested tables, quantities as text.

    Raises:
        InputError: values that cannot be used.
    """
    right: list[str] = []
    while True:
        try:
            checked(model, table, right)
        except InputError as error:
            if not all(isinstance(each, Question) for each in error.problems):
                raise
            right += [each.field for each in error.problems]
        else:
            return (
                {**table, "as_typed": [*table.get("as_typed", ()), *right]} if right else {**table}
            )


class Reader:
    """Turns text into SI values, gathering every problem on the way."""

    def __init__(self, root: type[Section]) -> None:
        self.root = root
        self.problems: list[Problem] = []
        self.stated: dict[str, Origin] = {}
        self.typed: dict[str, str] = {}
        self.last_units: dict[str, str] = {}

    @property
    def name(self) -> str:
        """What the whole is called: "case", "quote facts"."""
        return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", self.root.__name__).lower()

    @property
    def blamed(self) -> set[str]:
        return {problem.field for problem in self.problems}

    def section(self, model: type[BaseModel], table: object, path: str) -> dict[str, Any] | None:
        if not isinstance(table, Mapping):
            name = path.rstrip(".") or self.name
            self.problems.append(
                Problem(
                    name,
                    repr(table),
                    say("a table of fields"),
                    say("Write [{name}] and its fields.", name=name),
                )
            )
            return None
        values: dict[str, Any] = {}
        for key, raw in table.items():
            here = f"{path}{key}"
            if key not in model.model_fields:
                self.problems.append(self.unknown(model, key, path))
                continue
            read = self.field(model, key, raw, here)
            if read is not UNREADABLE:
                values[key] = read
        return values

    def field(self, model: type[BaseModel], name: str, raw: object, here: str) -> Any:
        """What a field of a model holds; UNREADABLE, with its problem, where it cannot be read."""
        inner = inner_section(model, name)
        if isinstance(raw, list) and len(raw) > most_entries(model, name):
            # Each would be read, and given a problem of its own.
            given = say("a list of {count}", count=len(raw))
            most = _count_allowed("too_long", here, {"max_length": most_entries(model, name)})
            self.problems.append(Problem(here, given, most, say("Mend the list.")))
            return UNREADABLE
        if inner is None:
            if isinstance(raw, bool) and not holds_truth(model, name):
                # Python would take it for 1 or 0.
                given = "true" if raw else "false"
                allowed = say("a quantity or a text, not true or false")
                self.problems.append(Problem(here, given, allowed, say("Mend the value.")))
                return UNREADABLE
            try:
                read = self._value(facts_of(model, name), raw, here)
                choices = choices_of(model, name)
                return as_chosen(read, choices) if choices else read
            except UnitError as error:
                self.problems += error.problems
                return UNREADABLE
        if isinstance(raw, list):
            return [
                self.section(inner, each, f"{here}[{index}].") for index, each in enumerate(raw)
            ]
        return self.section(inner, raw, f"{here}.")

    def _value(self, facts: FieldFacts, raw: object, here: str) -> Any:
        if isinstance(raw, Mapping):
            raw = self._with_origin(facts, raw, here)
        if isinstance(raw, list):
            values = [self._value(facts, each, here) for each in raw]
            short = raw and len(raw) <= 4 and all(isinstance(each, str | int) for each in raw)
            self.typed[here] = (
                ", ".join(map(str, raw)) if short else say("a list of {count}", count=len(raw))
            )
            return values
        self.typed[here] = raw if isinstance(raw, str) else repr(raw)
        if isinstance(raw, str):
            require_printable(raw, here)
        if facts.kind.startswith("money"):
            return parse_money(raw, facts.kind.partition("/")[2], here)
        if facts.kind:
            about, typed = KINDS[facts.kind].name, unit_typed(raw)
            last = self.last_units.get(about, "")
            meant: tuple[str, ...] = ()
            if not typed:
                meant = units_meant(facts, raw, last)
                last = last if last in meant else ""
            value = parse_quantity(raw, facts.kind, here, last, meant)
            self.last_units[about] = typed or self.last_units.get(about, "")
            return value
        return raw

    def _with_origin(self, facts: FieldFacts, raw: Mapping[str, Any], here: str) -> object:
        """The value of a table form; its origin is kept."""
        known = ("value", "origin", "low", "high")
        for key in raw:
            if key not in known:
                self.problems.append(_unknown_key(f"{here}.{key}", key, known))
        if "value" not in raw or not isinstance(raw.get("origin"), str):
            raise UnitError.one(
                here,
                repr(dict(raw)),
                say('{ value = "...", origin = "..." }'),
                say("Write the value, and where it came from."),
            )
        ends = {
            end: self._end(facts, raw[end], f"{here}.{end}")
            for end in ("low", "high")
            if end in raw
        }
        self._require_order(facts, raw["value"], ends, here)
        text = raw["origin"]
        self.stated[here] = Origin(
            text, text.lower().startswith("placeholder"), ends.get("low"), ends.get("high")
        )
        return raw["value"]

    def _end(self, facts: FieldFacts, raw: object, here: str) -> float:
        """An end of a value's range, which the field itself could hold."""
        if facts.kind.startswith("money"):
            end = parse_money(raw, facts.kind.partition("/")[2], here).amount
            self.typed[here] = str(raw)
            if end < 0.0:
                raise UnitError.one(
                    here, repr(raw), say("a price of 0 or more"), say("Mend the value.")
                )
            return end
        end = parse_quantity(raw, facts.kind or "ratio", here)
        low, high = facts.hard
        if not low <= end <= high:
            span = f"{low:g}, {high:g}"
            if facts.kind and math.isfinite(low + high):
                span = show_range(low, high, facts.kind)
            raise UnitError.one(here, repr(raw), span, say("The field itself cannot be that."))
        return end

    def _require_order(
        self, facts: FieldFacts, raw: object, ends: Mapping[str, float], here: str
    ) -> None:
        """Refuses a range that does not hold its value, or is in another currency."""
        if facts.kind.startswith("money"):
            per = facts.kind.partition("/")[2]
            money = parse_money(raw, per, here)
            value = money.amount
            for end in ends:
                typed = parse_money(self.typed[f"{here}.{end}"], per, f"{here}.{end}")
                if typed.currency != money.currency:
                    raise UnitError.one(
                        f"{here}.{end}", typed.currency, money.currency, say("Use one currency.")
                    )
        else:
            value = parse_quantity(raw, facts.kind or "ratio", here)
        if not ends.get("low", value) <= value <= ends.get("high", value):
            raise UnitError.one(
                here,
                say("a value outside of its low and high"),
                say("low at most the value, and high at least"),
                say("Check all three."),
            )

    def unknown(self, model: type[BaseModel], key: str, path: str) -> Problem:
        """A key that a table does not have."""
        return _unknown_key(f"{path}{key}", key, tuple(model.model_fields))

    def problem(self, error: Any) -> Problem:
        """A model's complaint, in the words of the case file."""
        where = ""
        for step in error["loc"]:
            where += f"[{step}]" if isinstance(step, int) else f".{step}" if where else str(step)
        kind, context = error["type"], error.get("ctx", {})
        if kind == "missing":
            return Problem(
                where, say("nothing"), say("a value"), _missing_todo(self.root, error["loc"])
            )
        # Of a list it is kept what all of it was.
        given = self.typed.get(where, self.typed.get(where.rpartition("[")[0]))
        given = repr(given) if given == "" else given or say("what is there")
        if kind == "value_error":
            allowed = str(context["error"])
            given = given if where in self.typed else self._named(where, allowed)
            where = where or self.name
            return Problem(where, given, allowed, say("Mend one of the fields, or take it out."))
        if kind in _LIMITS:
            return Problem(where, given, self._limit(error), say("Mend the value."))
        if kind in ("too_short", "too_long"):
            return Problem(
                where, given, _count_allowed(kind, where, context), say("Mend the list.")
            )
        return Problem(where, given, _allowed_by_model(error), say("Mend the value."))

    def _named(self, where: str, text: str) -> str:
        """Fields of a table that a text names, and what was typed there."""
        start = f"{where}." if where else ""
        found = []
        for path, typed in self.typed.items():
            name = path.removeprefix(start).partition("[")[0]
            if path.startswith(start) and name and re.search(rf"\b{re.escape(name)}\b", text):
                found.append(f"{path.removeprefix(start)} {typed}")
        return ", ".join(found) or say("what stands there")

    def _limit(self, error: Any) -> str:
        """What a limit allows, with its unit."""
        limit = next(iter(error["ctx"].values()))
        facts = facts_at(self.root, error["loc"])
        if facts.kind and not facts.kind.startswith("money"):
            limit = show(float(limit), facts.kind)
        elif isinstance(limit, float):
            limit = f"{limit:,.12g}"
        return say(_LIMITS[error["type"]], limit=limit)


_LIMITS = {
    "greater_than": to_say("more than {limit}"),
    "greater_than_equal": to_say("{limit} or more"),
    "less_than": to_say("less than {limit}"),
    "less_than_equal": to_say("at most {limit}"),
}


def _count_allowed(kind: str, where: str, limits: Mapping[str, Any]) -> str:
    """How many entries a list may have, or letters a text."""
    is_outline = where.endswith("footprint")
    if kind == "too_short":
        least = limits["min_length"]
        if is_outline:
            return say("at least {count} corners", count=least)
        return say("1 entry or more") if least == 1 else say("{count} entries or more", count=least)
    most = limits["max_length"]
    if is_outline:
        return say("at most {count} corners", count=most)
    return say("at most {count} entries", count=most)


def _allowed_by_model(error: Any) -> str:
    """What a field of no quantity allows."""
    context = error.get("ctx", {})
    match error["type"]:
        case "literal_error":
            choices = re.findall(r"'([^']*)'", context["expected"])
            return say("one of {choices}", choices=", ".join(f'"{each}"' for each in choices))
        case "string_too_short":
            least = context["min_length"]
            return (
                say("1 letter or more")
                if least == 1
                else say("{count} letters or more", count=least)
            )
        case "string_too_long":
            return say("at most {count} letters", count=context["max_length"])
        case "string_type":
            return say("a text")
        case "int_parsing" | "int_type" | "int_from_float":
            return say("a whole number")
        case "float_parsing" | "float_type" | "finite_number":
            return say("a number")
        case "bool_parsing" | "bool_type":
            return say("true or false")
        case kind if kind.startswith("date_"):
            return say("a date such as 2026-04-01")
        case "tuple_type" | "list_type":
            return say("a list")
        case "model_type" | "model_attributes_type":
            return say("a table of fields")
        case _:
            return say("a value of another kind")


def _unknown_key(where: str, key: str, known: tuple[str, ...]) -> Problem:
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    todo = say('Did you mean "{key}"?', key=near[0]) if near else say("Take it out.")
    return Problem(where, say('unknown key "{key}"', key=key), ", ".join(known), todo)


def facts_at(model: type[BaseModel], location: tuple[str | int, ...]) -> FieldFacts:
    facts = FieldFacts(kind="", doc="")
    for step in location:
        if isinstance(step, int) or step not in model.model_fields:
            continue
        facts = facts_of(model, step)
        model = inner_section(model, step) or model
    return facts


def _missing_todo(root: type[Section], location: tuple[str | int, ...]) -> str:
    facts = facts_at(root, location)
    if facts.example and isinstance(location[-1], int):
        name = next(str(each) for each in reversed(location) if isinstance(each, str))
        return say("Write all of them: {line}.", line=f"{name} = {facts.example}")
    if facts.example:
        example = facts.example if not facts.kind else f'"{facts.example}"'
        return say("Add {line}  ({what}).", line=f"{location[-1]} = {example}", what=say(facts.doc))
    return say("Add a [{name}] table; a new file shows one.", name=location[-1])
