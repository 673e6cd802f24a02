"""Cases that are sent may name things: what the names stand for comes from this server's shelf."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from threading import Lock
from typing import Any

from fastapi import Depends, Request
from pydantic import BaseModel
from sqlalchemy import Engine

from woold.case.named import is_named, self_contained
from woold.case.shelf import Shelf
from woold.case.text import table_from_toml, toml_from_table
from woold.case.things import NAMED_TABLES
from woold.errors import InputError, Problem
from woold.shelf.kept import KeptShelf
from woold.words import say

__all__ = ["ShelfNow", "shelf_of", "taken_by_name", "texts_with_shelf", "with_shelf"]


class ShelfNow:
    """The store's shelf as it is now: read and checked anew only after something was added.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.kept = KeptShelf(engine)
        self._lock = Lock()
        self._read: tuple[int, Shelf | None] = (0, None)

    def shelf(self) -> Shelf | None:
        """All of it; None where nothing is kept yet."""
        last = self.kept.last()
        with self._lock:
            if self._read[0] != last:
                self._read = (last, self.kept.shelf())
            return self._read[1]


def shelf_of(request: Request) -> ShelfNow:
    """The shelf of the server that is asked."""
    found: ShelfNow = request.app.state.shelf
    return found


def taken_by_name(request: Request, table: Mapping[str, Any]) -> dict[str, Any]:
    """A case's tables with every name replaced by what it stands for on this server's shelf.

    Args:
        request: who asks.
        table: a case file's tables, unchecked.

    Raises:
        InputError: one problem for each name that cannot be found.
    """
    if not is_named(table):
        return dict(table)
    shelf = shelf_of(request).shelf()
    if shelf is None:
        raise InputError.many(
            Problem(
                name,
                repr(table[name])[:200],
                say("a table of fields, or the name of a thing on this server's shelf"),
                say("Nothing is on the shelf yet: put it there at /shelf, or write the table out."),
            )
            for name in NAMED_TABLES
            if isinstance(table.get(name), str)
        )
    return self_contained(table, shelf)


def with_shelf(body: type[BaseModel]) -> Any:
    """A dependency: a body whose cases name nothing any more.

    Args:
        body: model of the body; each of its fields that holds a case's tables is looked through.
    """

    def resolved(request: Request, body: Any) -> Any:
        found = {
            name: taken_by_name(request, table)
            for name, table in body
            if name in _CASES and isinstance(table, dict) and is_named(table)
        }
        return body.model_copy(update=found) if found else body

    # The model is known only here: the framework reads it as that of the parameter.
    resolved.__annotations__ = {"request": Request, "body": body, "return": body}
    return Depends(resolved)


def texts_with_shelf(body: type[BaseModel]) -> Any:
    """A dependency: a body whose case files, sent as texts, name nothing any more.

    Args:
        body: model of the body, with `cases` by file name, or with cases of a `name` and a `toml`.
    """

    def resolved(request: Request, body: Any) -> Any:
        found: dict[str, Any] = {}
        for name, value in body:
            if name == "cases":
                found[name] = {file: _written_out(request, file, value[file]) for file in value}
            elif name in _CASES:
                text = _written_out(request, value.name, value.toml)
                found[name] = value.model_copy(update={"toml": text})
        return body.model_copy(update=found)

    resolved.__annotations__ = {"request": Request, "body": body, "return": body}
    return Depends(resolved)


def _written_out(request: Request, file: str, text: str) -> str:
    # Nearly every case is written out already: read twice is only what may hold a name.
    if not _NAME.search(text):
        return text
    try:
        table = table_from_toml(text)
        return toml_from_table(taken_by_name(request, table)) if is_named(table) else text
    except InputError as error:
        told = (replace(each, field=f"{file}, {each.field}") for each in error.problems)
        raise InputError.many(told) from error


_NAME = re.compile(r"""=\s*["']@""")
_CASES = ("case", "base", "candidate", "against")
"""Fields of a body that hold a case's tables."""
