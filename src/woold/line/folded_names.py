"""Names as they are compared: one thing may be written in several ways."""

from __future__ import annotations

__all__ = ["folded"]


def folded(name: str) -> str:
    """A name without what people write differently: capitals and spaces.

    Args:
        name: of a machine, a model, a film or a carriage.
    """
    return " ".join(name.casefold().split())
