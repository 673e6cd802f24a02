"""A result as a JSON document: it says which schema it follows and which woold made it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, Self

import woold
from woold.words import say

__all__ = ["ErrorsDocument", "JsonDocument", "OneError", "errors_document", "plain", "stamped"]


_SAID = {"caution", "cautions", "thresholds_origin"}
"""Fields with texts of ours that are said where they are shown; what else is text was said."""


class JsonDocument:
    """Base of the dataclasses whose fields are a document's keys, but for those left uncompared.

    `told_as` is its name, as docs/json.md lists it.
    """

    __slots__ = ()

    told_as = ""

    def to_json(self) -> dict[str, Any]:
        """Keys and values of the document."""
        document = {
            each.name: plain(getattr(self, each.name))
            for each in fields(self)  # type: ignore[arg-type]
            if each.compare
        }
        for name in _SAID & document.keys():
            found = document[name]
            document[name] = say(found) if isinstance(found, str) else [say(each) for each in found]
        return document

    def to_dict(self) -> dict[str, Any]:
        """The document that the command prints with --json: values in SI units."""
        return stamped(self.told_as, self.to_json())

    @classmethod
    def with_more(cls, result: Any, **more: Any) -> Self:
        """A document that holds all that a result has, and more.

        Args:
            result: of a class that this one is made from.
            more: values of the other fields.
        """
        return cls(**{each.name: getattr(result, each.name) for each in fields(result)}, **more)


def plain(thing: Any) -> Any:
    """A result as plain dicts, lists, text and numbers.

    Args:
        thing: a dataclass, a named tuple, a table of settings, or tables and lists of them.
    """
    if isinstance(thing, JsonDocument):
        return thing.to_json()
    if is_dataclass(thing) and not isinstance(thing, type):
        return {each.name: plain(getattr(thing, each.name)) for each in fields(thing)}
    if isinstance(thing, tuple) and hasattr(thing, "_asdict"):
        return {name: plain(each) for name, each in thing._asdict().items()}
    if isinstance(thing, Mapping):
        return {name: plain(each) for name, each in thing.items()}
    if isinstance(thing, tuple | list):
        return [plain(each) for each in thing]
    return thing.model_dump() if hasattr(thing, "model_dump") else thing


def stamped(schema: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the name of its schema and woold's version in front.

    Args:
        schema: name of the document, as docs/json.md lists it: "prediction".
        body: its keys and values; units are suffixes of the keys.
    """
    return {"schema": schema, "woold": woold.__version__, **body}


@dataclass(frozen=True, slots=True)
class OneError:
    """One thing that cannot be used, in parts and as one sentence; `file` is "" where none is."""

    field: str
    given: str
    allowed: str
    todo: str
    message: str
    kind: str
    file: str = ""

    @classmethod
    def of(cls, problem: Any) -> OneError:
        """A `woold.errors.Problem`; a question may be confirmed, and is no error."""
        parts = (problem.field, problem.given, problem.allowed, problem.todo)
        kinds = {"Question": "question", "ManyQuestions": "question", "OnRecord": "on record"}
        kind = kinds.get(type(problem).__name__, "error")
        return cls(*parts, message=str(problem), kind=kind, file=problem.file)


@dataclass(frozen=True, slots=True)
class ErrorsDocument(JsonDocument):
    """What cannot be used, and what to do about it."""

    told_as = "errors"

    errors: tuple[OneError, ...]


def errors_document(problems: tuple[Any, ...]) -> dict[str, Any]:
    """What cannot be used, and what to do about it, as a document.

    Args:
        problems: of an error, each a `woold.errors.Problem`.
    """
    return ErrorsDocument(tuple(map(OneError.of, problems))).to_dict()
