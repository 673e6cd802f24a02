"""What is usual for the readings of a load that is about to be written down, as a form shows it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from woold.store import Cell
from woold.trial.alike import Held, ReadingsAlike
from woold.trial.odd_readings import held, quantities
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.worksheet import zone_heights, zone_limits
from woold.trial.written_readings import Context, LoadFacts, OneRow

__all__ = ["usual_readings"]

_NEXT = "\0next"
"""Key of a load that is not wrapped yet."""
_NEAR = 1e-3

Spans = dict[str, tuple[float, float]]


def usual_readings(setup: TrialSetup, rows: Sequence[OneRow]) -> dict[str, dict[str, Spans]]:
    """Lowest and highest value (SI) that nobody asks about, by load type, treatment and field.

    Fields are named "load.film_mass" (net), "load.mark_after" (over the distance on the roll),
    "width.film_width" and so on; pull readings by zone, "pull.force.0" from the bottom up.

    Args:
        setup: the trial.
        rows: what is on record.
    """
    context = Context(setup)
    context.learn(rows)
    found: dict[str, dict[str, Spans]] = {
        each.name: {treatment: {} for treatment in TREATMENTS} for each in setup.trial.load_types
    }
    for quantity in quantities(context):
        if quantity.kind == "gauge" or quantity.name == "roll_length":
            continue
        readings: list[Held] = [
            held(quantity, context, row, value)
            for row in rows
            if row.kind == quantity.kind and (value := quantity.value(row)) and value > 0.0
        ]
        alike = ReadingsAlike(readings, quantity.manner)
        for load_type, by_treatment in found.items():
            for treatment, spans in by_treatment.items():
                context.loads[_NEXT] = LoadFacts(load_type.casefold(), treatment)
                for name, row in _rows(setup, load_type, quantity.kind, quantity.name):
                    usual = alike.usual(held(quantity, context, row, 1.0), is_among=False)
                    if usual is not None:
                        spans[name] = (usual.low, usual.high)
    return found


def _rows(setup: TrialSetup, load_type: str, kind: str, name: str) -> Iterator[tuple[str, OneRow]]:
    """Rows of the next load, one for each zone where that counts."""
    if kind != "pull":
        yield f"{kind}.{name}", OneRow(kind, _NEXT, {})
        return
    limits = zone_limits(setup, load_type)
    if limits is None:
        return
    inside = [each - _NEAR for each in limits] + [(limits[-1] if limits else 0.0) + _NEAR]
    heights = zone_heights(setup, load_type) or inside
    for zone, height in enumerate(heights):
        cells = {"height": Cell(f"{height:g}", "m", height)}
        yield f"{kind}.{name}.{zone}", OneRow(kind, _NEXT, cells)
