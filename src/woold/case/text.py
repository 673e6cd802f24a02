"""A case file's tables as TOML text, the same whoever writes it: the form, a program, a search."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import InlineTable

from woold.case.fields import Section
from woold.case.model import Case
from woold.case.toml_text import parsed_toml
from woold.errors import InputError
from woold.words import say

__all__ = ["plain_table", "table_from_toml", "toml_from_table"]

LARGEST_TEXT = 1_000_000
"""A case file with more letters than this is some other file."""

_DEEPEST = 8


def table_from_toml(text: str) -> dict[str, Any]:
    """The tables of a case file's text, unchecked; dates and unwritable numbers as their text.

    Raises:
        InputError: too long, or not TOML.
    """
    allowed = say("the TOML text of a case file")
    if len(text) > LARGEST_TEXT:
        raise InputError.one(
            "toml", say("{count:,} letters", count=len(text)), allowed, say("Is it the right file?")
        )
    table = parsed_toml(text.removeprefix("\ufeff"), "toml", allowed)
    plain: dict[str, Any] = _plain(table, 0)
    return plain


def toml_from_table(table: Mapping[str, Any], model: type[Section] = Case) -> str:
    """TOML text of a file's tables, in the order of its fields; empty values left out.

    Args:
        table: the tables.
        model: what the file holds: a case, or a shelf.

    Raises:
        InputError: something that TOML cannot hold.
    """
    document = tomlkit.document()
    ordered = _in_order(_plain(table, 0), tuple(model.model_fields))
    tables = {name: each for name, each in ordered.items() if _is_table(each) or _is_list(each)}
    for name, each in ordered.items():
        if name not in tables:
            document.add(name, _item(each))
    for name, each in tables.items():
        if each:
            document.add(name, _list(each) if _is_list(each) else _table(each))
    return tomlkit.dumps(document)


def _table(values: Mapping[str, Any]) -> tomlkit.items.Table:
    table = tomlkit.table()
    later: dict[str, Any] = {}
    for name, each in values.items():
        if _is_list(each) or _is_table(each):
            later[name] = each
        else:
            table.add(name, _item(each))
    for name, each in later.items():
        table.add(name, _list(each) if _is_list(each) else _table(each))
    return table


def _list(values: Sequence[Mapping[str, Any]]) -> tomlkit.items.AoT:
    tables = tomlkit.aot()
    for each in values:
        tables.append(_table(each))
    return tables


def _is_list(value: Any) -> bool:
    """Whether it is a list of tables."""
    return isinstance(value, list) and bool(value) and all(_is_table(each) for each in value)


def _item(value: Any) -> Any:
    """A value; a value with its origin stays on its line."""
    if isinstance(value, Mapping):
        inline: InlineTable = tomlkit.inline_table()
        for name, each in value.items():
            inline.add(name, _item(each))
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        for each in value:
            array.append(_item(each))
        return array
    return tomlkit.item(value)


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping) and "value" not in value


def _in_order(table: Mapping[str, Any], names: tuple[str, ...]) -> dict[str, Any]:
    known = {name: table[name] for name in names if name in table}
    return known | {name: each for name, each in table.items() if name not in known}


def plain_table(table: Mapping[str, Any]) -> dict[str, Any]:
    """A file's tables as text can hold them, whoever sent them.

    Args:
        table: the tables, unchecked.

    Raises:
        InputError: tables in tables too deep, or letters that no text has.
    """
    found: dict[str, Any] = _plain(dict(table), 0)
    return found


def _plain(value: Any, depth: int) -> Any:
    """Only what both TOML and JSON can hold; nothing where nothing was given."""
    if depth > _DEEPEST:
        raise InputError.one(
            "case",
            say("nested too deeply"),
            say("at most {count} levels", count=_DEEPEST),
            say("Take inner tables apart."),
        )
    if isinstance(value, Mapping):
        return {
            _clean(str(name)): _plain(each, depth + 1)
            for name, each in value.items()
            if each is not None
        }
    if isinstance(value, list):
        return [_plain(each, depth + 1) for each in value if each is not None]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 2**53:
        return str(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return _clean(value) if isinstance(value, str) else value


def _clean(text: str) -> str:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise InputError.one("case", repr(text), say("plain text"), say("Type it again.")) from None
    return text
