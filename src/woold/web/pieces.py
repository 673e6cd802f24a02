"""What sending in pieces has in common, of pictures and of films."""

from __future__ import annotations

import hashlib
from typing import Any

from woold.web.people import Person

__all__ = ["BYTES", "upload_name"]

BYTES: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
"""A body of bytes, in the description of the interface."""


def upload_name(person: Person, id: str) -> str:
    """Name under which an upload is kept: nobody goes on with somebody else's.

    Args:
        person: who sends it.
        id: what they call it.
    """
    return hashlib.sha256(f"{person.name}|{id}".encode()).hexdigest()
