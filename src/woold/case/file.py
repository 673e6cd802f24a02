"""The case file: TOML with quantities as text, read into a checked `Case`, written with comments.

Any quantity may be written as text, "400 MPa", or as a table that also says where it came from and
how far it may be off: { value = "400 MPa", origin = "cut-and-weigh", low = "...", high = "..." }.
"""

from __future__ import annotations

import difflib
import re
import tomllib
import typing
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from woold.case.fields import FieldFacts, Section, facts_of
from woold.case.model import Case, Origin
from woold.errors import InputError, Problem, UnitError
from woold.units import parse_money, parse_quantity, show
from woold.words import say, to_say

__all__ = ["case_from_table", "checked", "read_case", "read_toml", "starter_text"]

AnySection = typing.TypeVar("AnySection", bound=Section)

LARGEST_FILE = 1_000_000
"""A case file with more bytes than this is some other file [bytes]."""

_MOST_PROBLEMS = 20


def read_case(path: Path | str) -> Case:
    """The case in a file.

    Raises:
        InputError: the file cannot be read, is no TOML, or holds fields that cannot be used; one
            problem for each of them.
    """
    return case_from_table(read_toml(path))


def read_toml(path: Path | str) -> dict[str, Any]:
    """The tables of a TOML file, unchecked.

    Raises:
        InputError: not there, too large, not UTF-8 text, or not TOML.
    """
    path = Path(path)
    allowed = say("a TOML text file of at most 1 MB")
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = error.strerror or say("cannot be read")
        todo = say("Write a new one with: woold case new FILE")
        raise InputError.one(str(path), reason, allowed, todo) from None
    if len(raw) > LARGEST_FILE:
        raise InputError.one(
            str(path), say("more than 1 MB"), allowed, say("Is it the right file?")
        )
    try:
        return tomllib.loads(raw.decode("utf-8"))
    except UnicodeDecodeError:
        raise InputError.one(
            str(path), say("not UTF-8 text"), allowed, say("Is it the right file?")
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise InputError.one(
            str(path), say("not TOML: {error}", error=error), allowed, say("Mend that line.")
        ) from None
    except RecursionError:
        raise InputError.one(
            str(path), say("tables nested too deeply"), allowed, say("Is it the right file?")
        ) from None


def case_from_table(table: Mapping[str, Any]) -> Case:
    """The checked case of a case file's tables.

    Args:
        table: nested tables, quantities as text.

    Raises:
        InputError: one problem for each field that cannot be used.
    """
    case, stated = checked(Case, table)
    return case.with_origins(stated)


def checked(
    model: type[AnySection], table: Mapping[str, Any]
) -> tuple[AnySection, dict[str, Origin]]:
    """The checked model of a file's tables, and the origins that the file states.

    Args:
        model: what the file holds.
        table: nested tables, quantities as text.

    Raises:
        InputError: one problem for each field that cannot be used.
    """
    reader = _Reader(model)
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
    return made, reader.stated


class _Reader:
    """Turns text into SI values, gathering every problem on the way."""

    def __init__(self, root: type[Section]) -> None:
        self.root = root
        self.problems: list[Problem] = []
        self.stated: dict[str, Origin] = {}
        self.typed: dict[str, str] = {}

    @property
    def blamed(self) -> set[str]:
        return {problem.field for problem in self.problems}

    def section(self, model: type[BaseModel], table: object, path: str) -> dict[str, Any] | None:
        if not isinstance(table, Mapping):
            name = path.rstrip(".") or self.root.__name__.lower()
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
                self._unknown(model, key, path)
                continue
            inner = _inner_section(model, key)
            if inner is None:
                try:
                    values[key] = self._value(facts_of(model, key), raw, here)
                except UnitError as error:
                    self.problems += error.problems
            elif isinstance(raw, list):
                values[key] = [
                    self.section(inner, each, f"{here}[{index}].") for index, each in enumerate(raw)
                ]
            else:
                values[key] = self.section(inner, raw, f"{here}.")
        return values

    def _value(self, facts: FieldFacts, raw: object, here: str) -> Any:
        if isinstance(raw, Mapping):
            raw = self._with_origin(facts, raw, here)
        if isinstance(raw, list):
            values = [self._value(facts, each, here) for each in raw]
            self.typed[here] = say("{count} values", count=len(raw))
            return values
        self.typed[here] = raw if isinstance(raw, str) else repr(raw)
        if facts.kind.startswith("money"):
            return parse_money(raw, facts.kind.partition("/")[2], here)
        if facts.kind:
            return parse_quantity(raw, facts.kind, here)
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
            end: parse_quantity(raw[end], facts.kind or "ratio", f"{here}.{end}")
            for end in ("low", "high")
            if end in raw
        }
        text = raw["origin"]
        self.stated[here] = Origin(
            text, text.lower().startswith("placeholder"), ends.get("low"), ends.get("high")
        )
        return raw["value"]

    def _unknown(self, model: type[BaseModel], key: str, path: str) -> None:
        self.problems.append(_unknown_key(f"{path}{key}", key, tuple(model.model_fields)))

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
        given = self.typed.get(where) or say("what is there")
        if kind == "value_error":
            where = where or self.root.__name__.lower()
            given = self.typed.get(where) or say("fields that disagree")
            return Problem(where, given, str(context["error"]))
        if kind in _LIMITS:
            return Problem(where, given, self._limit(error), say("Mend the value."))
        if kind in ("too_short", "too_long"):
            return Problem(
                where, given, _count_allowed(kind, where, context), say("Mend the list.")
            )
        return Problem(where, given, _allowed_by_model(error), say("Mend the value."))

    def _limit(self, error: Any) -> str:
        """What a limit allows, with its unit."""
        limit = next(iter(error["ctx"].values()))
        facts = _facts_at(self.root, error["loc"])
        if facts.kind and not facts.kind.startswith("money"):
            limit = show(float(limit), facts.kind)
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


def _inner_section(model: type[BaseModel], name: str) -> type[Section] | None:
    """The section that a field holds, alone or in a list; None where it holds a value."""
    annotation = model.model_fields[name].annotation
    for candidate in (annotation, *typing.get_args(annotation)):
        if isinstance(candidate, type) and issubclass(candidate, Section):
            return candidate
    return None


def _facts_at(model: type[BaseModel], location: tuple[str | int, ...]) -> FieldFacts:
    facts = FieldFacts(kind="", doc="")
    for step in location:
        if isinstance(step, int) or step not in model.model_fields:
            continue
        facts = facts_of(model, step)
        model = _inner_section(model, step) or model
    return facts


def _missing_todo(root: type[Section], location: tuple[str | int, ...]) -> str:
    facts = _facts_at(root, location)
    if facts.example:
        example = facts.example if not facts.kind else f'"{facts.example}"'
        return say("Add {line}  ({what}).", line=f"{location[-1]} = {example}", what=say(facts.doc))
    return say("Add a [{name}] table; a new file shows one.", name=location[-1])


_STARTER_HEAD = to_say(
    "A case: one load, one film, one carriage, one machine, one program.\n"
    "Quantities are text with a unit, trade or SI. Any of them may also say where it came\n"
    'from: thickness = { value = "63 gauge", origin = "gauge block", low = "60 gauge",\n'
    'high = "66 gauge" }. A line "# name = value" shows a default: take the "# "\n'
    "away to change it. A placeholder is a value that nobody measured."
)


def starter_text() -> str:
    """A commented case file: what must be filled in, and below it what may be.

    Fields with an example are written out; the rest stands as comments with its default, and a
    placeholder with its range.
    """
    lines = [f"# {line}" for line in say(_STARTER_HEAD).split("\n")] + [""]
    lines += _starter_section(Case, "")
    return "\n".join(lines).rstrip() + "\n"


def _starter_section(model: type[BaseModel], path: str) -> list[str]:
    lines: list[str] = []
    inner: list[str] = []
    for name, field in model.model_fields.items():
        section, facts = _inner_section(model, name), facts_of(model, name)
        if section is None:
            lines.append(_starter_line(name, facts, field.is_required(), field.default))
        else:
            is_list = "tuple" in str(field.annotation)
            header = f"[[{path}{name}]]" if is_list else f"[{path}{name}]"
            doc = say((section.__doc__ or "").partition("\n")[0])
            body = _starter_section(section, f"{path}{name}.")
            if is_list or field.default is None:
                body = [f"# {line}" if line and not line.startswith("#") else line for line in body]
                header = f"# {header}"
            inner += ["", f"{header}  # {doc}", *body]
    return lines + inner


def _starter_line(name: str, facts: FieldFacts, required: bool, default: object) -> str:
    example = facts.example or (str(default) if default is not None else "...")
    example = example.lower() if isinstance(default, bool) else example
    quoted = f'"{example}"' if facts.kind and not example.startswith("[") else example
    if not facts.kind and isinstance(default, str) and not example.startswith('"'):
        quoted = f'"{example}"'
    comment = say(facts.doc)
    if facts.placeholder:
        comment = say("{what} (placeholder: {reason})", what=comment, reason=say(facts.placeholder))
    line = f"{name} = {quoted}"
    shown = required or (bool(facts.example) and default is None) or name in _SHOWN
    return f"{'' if shown else '# '}{line:<34} # {comment}"


_SHOWN = ("title", "tiers", "offset", "kind", "start_height", "bottom_wraps", "top_overlap")
