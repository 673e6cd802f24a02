"""Changes of a checked model by text, read and checked as its file is."""

from __future__ import annotations

import re
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from woold.case.fields import Section, field_names, field_paths, inner_section
from woold.case.origin import Origin
from woold.case.reader import UNREADABLE, Reader
from woold.case.usual import require_possible
from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["changed"]

AnySection = typing.TypeVar("AnySection", bound=Section)

_STEP = re.compile(r"(\w+)(?:\[(\d+)\])?")


def changed(
    section: AnySection, changes: Mapping[str, Any]
) -> tuple[AnySection, dict[str, Origin]]:
    """The section with other values, and the origins that the changes state.

    Args:
        section: a checked model of a file.
        changes: by dotted field name, such as "film.thickness" or "carriage.rollers[0].x": what
            would stand in the file, or None to leave the field out.

    Raises:
        InputError: one problem for each field that cannot be used.
    """
    values = _values(section)
    reader = Reader(type(section))
    for path, given in changes.items():
        place = _place(reader, values, path)
        if place is not None:
            place.put(reader, path, given)
    if reader.problems:
        raise InputError.many(reader.problems)
    try:
        made = type(section).model_validate(values)
    except ValidationError as error:
        raise InputError.many(reader.problem(each) for each in error.errors()) from None
    require_possible(made)
    return made, reader.stated


def _values(section: BaseModel) -> dict[str, Any]:
    """Values that were given, in tables as a file has them; what was left out stays out."""

    def plain(value: Any) -> Any:
        if isinstance(value, BaseModel):
            return _values(value)
        if isinstance(value, tuple):
            return [plain(each) for each in value]
        return value

    names = (name for name in field_names(type(section)) if name in section.model_fields_set)
    return {name: plain(getattr(section, name)) for name in names}


def _place(reader: Reader, values: dict[str, Any], path: str) -> _Place | None:
    """Where a path leads to; None, with its problem, where it leads nowhere."""
    model: type[BaseModel] = reader.root
    table: dict[str, Any] = values
    here = ""
    steps = path.split(".")
    for depth, step in enumerate(steps):
        match = _STEP.fullmatch(step)
        name = match[1] if match else step
        if match is None or name not in model.model_fields:
            reader.problems.append(_no_such_field(reader, model, name, here, path))
            return None
        held: Any = table.get(name)
        index = None if match[2] is None else int(match[2])
        problem = _misplaced(path, held, index, is_last=depth == len(steps) - 1)
        inner = inner_section(model, name)
        if problem is None and depth == len(steps) - 1:
            return _Place(table, model, name, index)
        if problem is None and inner is None:
            problem = Problem(
                path,
                repr(steps[depth + 1]),
                say("a field without others inside"),
                say("Name the field alone."),
            )
        if problem is not None or inner is None:
            reader.problems += [problem] if problem is not None else []
            return None
        if index is None:
            held = table[name] = held or {}
        else:
            held = held[index]
        table, model, here = held, inner, f"{here}{step}."
    return None


def _misplaced(path: str, held: Any, index: int | None, *, is_last: bool) -> Problem | None:
    """What is wrong with an entry's index, or with a list that is named without one."""
    entries = held if isinstance(held, list) else []
    if index is None:
        if is_last or not isinstance(held, list):
            return None
        given = say("a list of {count}", count=len(entries))
        return Problem(path, given, say("one entry of it"), say("Write its index: [0]."))
    if index < len(entries):
        return None
    if not entries:
        return Problem(
            path,
            f"[{index}]",
            say("the name alone: there is no list here"),
            say("Take the index away."),
        )
    allowed = say("an index from 0 to {last}", last=len(entries) - 1)
    return Problem(path, f"[{index}]", allowed, say("Count from 0."))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a change belongs: a field of a table, or one entry of it."""

    table: dict[str, Any]
    model: type[BaseModel]
    name: str
    index: int | None

    def put(self, reader: Reader, path: str, given: Any) -> None:
        """Read what is given and put it there."""
        if given is None:
            self.table.pop(self.name, None)
            return
        raw = given if self.index is None else [given]
        read = reader.field(self.model, self.name, raw, path)
        if read is not UNREADABLE:
            if self.index is None:
                self.table[self.name] = read
            else:
                self.table[self.name][self.index] = read[0]


def _no_such_field(
    reader: Reader, model: type[BaseModel], name: str, here: str, path: str
) -> Problem:
    """The problem, with the field's full name where it stands in a table of its own."""
    elsewhere = [each for each in field_paths(reader.root) if each.rpartition(".")[2] == name]
    if not here and elsewhere:
        return Problem(
            path,
            say('unknown key "{key}"', key=name),
            ", ".join(model.model_fields),
            say('Did you mean "{key}"?', key=elsewhere[0]),
        )
    return reader.unknown(model, name, here)
