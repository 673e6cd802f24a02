"""How each kind of quantity is shown in the browser: unit and factor, metric and trade."""

from __future__ import annotations

from typing import Any

from woold.units import KINDS, from_si, unit_symbol

__all__ = ["display_units"]


def display_units() -> dict[str, dict[str, Any]]:
    """Symbol, factor and offset by kind and system: shown = factor x SI value + offset."""
    return {
        name: {
            system: _line(name, unit)
            for system, unit in (("metric", kind.metric), ("trade", kind.trade))
        }
        for name, kind in KINDS.items()
    }


def _line(kind: str, unit: str) -> dict[str, Any]:
    at_zero, at_one = (from_si(value, kind, unit) for value in (0.0, 1.0))
    return {"symbol": unit_symbol(unit), "factor": at_one - at_zero, "offset": at_zero}
