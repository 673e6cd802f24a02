"""A result as a JSON document: it says which schema it follows and which woold made it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import woold

__all__ = ["errors_document", "stamped"]


def stamped(schema: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the name of its schema and woold's version in front.

    Args:
        schema: name of the document, as docs/json.md lists it: "prediction".
        body: its keys and values; units are suffixes of the keys.
    """
    return {"schema": schema, "woold": woold.__version__, **body}


def errors_document(problems: tuple[Any, ...]) -> dict[str, Any]:
    """What cannot be used, and what to do about it, as a document.

    Args:
        problems: of an error, each a `woold.errors.Problem`.
    """
    names = ("field", "given", "allowed", "todo")
    return stamped(
        "errors",
        {
            "errors": [
                {name: getattr(each, name) for name in names} | {"message": str(each)}
                for each in problems
            ]
        },
    )
