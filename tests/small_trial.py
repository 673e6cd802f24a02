"""A small trial file as nested tables: two load types, two zones, no cases."""

from __future__ import annotations

import copy
from typing import Any

__all__ = ["small_trial"]

_TABLES: dict[str, Any] = {
    "key": "line-1",
    "title": "A trial",
    "aim": {"saving": "5 %", "margin": "10 %"},
    "zones": {"limits": ["0.5 m", "1.0 m"]},
    "load_types": [
        {"name": "jars", "loads_per_year": 3000},
        {"name": "cans", "loads_per_year": 1000},
    ],
}


def small_trial() -> dict[str, Any]:
    """Tables of its own for whoever changes them."""
    return copy.deepcopy(_TABLES)
