"""How each kind of quantity is shown in the browser: unit and factor, metric and trade."""

from __future__ import annotations

from pydantic import BaseModel

from woold.units import KINDS, from_si, unit_symbol

__all__ = ["KindUnits", "display_units"]


class ShownUnit(BaseModel):
    """A unit: shown = factor x SI value + offset."""

    symbol: str
    factor: float
    offset: float


class KindUnits(BaseModel):
    """The two units that a kind of quantity is shown in."""

    metric: ShownUnit
    trade: ShownUnit


def display_units() -> dict[str, KindUnits]:
    """Units by kind of quantity."""
    return {
        name: KindUnits(metric=_unit(name, kind.metric), trade=_unit(name, kind.trade))
        for name, kind in KINDS.items()
    }


def _unit(kind: str, unit: str) -> ShownUnit:
    at_zero, at_one = (from_si(value, kind, unit) for value in (0.0, 1.0))
    return ShownUnit(symbol=unit_symbol(unit), factor=at_one - at_zero, offset=at_zero)
