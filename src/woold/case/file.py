"""The case file: TOML with quantities as text, read into a checked `Case`, written with comments.

Any quantity may be written as text, "400 MPa", or as a table that also says where it came from and
how far it may be off: { value = "400 MPa", origin = "cut-and-weigh", low = "...", high = "..." }.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from woold.case.fields import FieldFacts, facts_of, inner_section
from woold.case.model import Case
from woold.case.named import is_named, self_contained
from woold.case.reader import checked
from woold.case.shelf import Shelf, read_shelf
from woold.case.toml_text import read_toml
from woold.case.usual import usual_span
from woold.errors import names_its_file
from woold.words import say, to_say

__all__ = ["case_from_table", "read_case", "read_case_table", "starter_text"]


@names_its_file
def read_case(path: Path | str, as_typed: Collection[str] = ()) -> Case:
    """The case in a file.

    Args:
        path: the file.
        as_typed: fields that were asked about and are right, beside those that the file names.

    Raises:
        InputError: the file cannot be read, is no TOML, or holds fields that cannot be used; one
            problem for each of them, or else one question for each that can hardly be.
    """
    return case_from_table(read_case_table(path), as_typed)


def read_case_table(path: Path | str) -> dict[str, Any]:
    """The tables of a case file, unchecked, with what it names taken from the shelf that it names.

    Args:
        path: the file; the shelf's is relative to it.

    Raises:
        InputError: a file that cannot be read, or a name that the shelf does not have.
    """
    table = read_toml(path, "woold case new")
    if not is_named(table):
        return table
    beside = table.get("shelf")
    shelf = read_shelf(Path(path).parent / beside) if isinstance(beside, str) and beside else None
    return self_contained(table, shelf)


def case_from_table(
    table: Mapping[str, Any], as_typed: Collection[str] = (), shelf: Shelf | None = None
) -> Case:
    """The checked case of a case file's tables.

    Args:
        table: nested tables, quantities as text; or names of things on the shelf.
        as_typed: fields that were asked about and are right, beside those that the case names.
        shelf: where the things are that it names.

    Raises:
        InputError: one problem for each field that cannot be used, or else one question for each
            that can hardly be.
    """
    if is_named(table):
        table = self_contained(table, shelf)
    case, stated = checked(Case, table, as_typed)
    return case.with_origins(stated).confirming(as_typed)


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
        section, facts = inner_section(model, name), facts_of(model, name)
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
    if facts.usual is not None:
        comment = say("{what}; usual {range}", what=comment, range=usual_span(facts, "", "si"))
    line = f"{name} = {quoted}"
    shown = required or (bool(facts.example) and default is None) or name in _SHOWN
    return f"{'' if shown else '# '}{line:<34} # {comment}"


_SHOWN = ("title", "tiers", "offset", "kind", "start_height", "bottom_wraps", "top_overlap")
