"""Columns of a catalogue of loads: what they are called, what they hold, what is usual."""

from __future__ import annotations

from typing import NamedTuple

from woold.case.fields import FieldFacts, Section, facts_of
from woold.case.hold import Hold, HoldTarget
from woold.case.load import Load
from woold.case.things import LoadThing
from woold.errors import InputError, UnitError
from woold.tables.text_table import split_heading
from woold.units import KINDS, parse_quantity
from woold.words import say

__all__ = ["AMOUNTS", "LABELS", "NEEDED", "Amount", "ColumnHeading", "known_heading"]


class Amount(NamedTuple):
    """A column of numbers: the field of the case that it fills.

    Args:
        section: model that has the field.
        field: name in it.
    """

    section: type[Section]
    field: str

    @property
    def facts(self) -> FieldFacts:
        """Kind, limits and what is usual."""
        return facts_of(self.section, self.field)


AMOUNTS: dict[str, Amount] = {
    "length": Amount(Load, "length"),
    "width": Amount(Load, "width"),
    "diameter": Amount(Load, "diameter"),
    "height": Amount(Load, "height"),
    "mass": Amount(Load, "mass"),
    "tiers": Amount(Load, "tiers"),
    "hoop_stiffness": Amount(Load, "hoop_stiffness"),
    "deck_height": Amount(Load, "deck_height"),
    "pallet_length": Amount(Load, "pallet_length"),
    "pallet_width": Amount(Load, "pallet_width"),
    "hold": Amount(HoldTarget, "force"),
    "hold_after": Amount(Hold, "after"),
    "hold_temperature": Amount(Hold, "temperature"),
    "edge_load_limit": Amount(Hold, "edge_load_limit"),
    "loads_per_year": Amount(LoadThing, "loads_per_year"),
}
"""Columns of numbers, by name."""

LABELS = ("load", "machine", "film", "recipe")
"""Columns of words."""

NEEDED = ("load", "height", "mass", "loads_per_year")
"""Columns that a catalogue has; length and width, or diameter, beside them."""


class ColumnHeading(NamedTuple):
    """What a column holds.

    Args:
        name: of the column: one of AMOUNTS or LABELS.
        factor, shift: SI value = factor x number + shift; None where cells bring their unit.
    """

    name: str
    factor: float | None = None
    shift: float = 0.0


def known_heading(text: str, is_lenient: bool = False) -> ColumnHeading | None:
    """What a heading says: "height [mm]", "height (mm)", "height_mm", or "height" and a unit in
    each cell; None for a column that is not one of a catalogue's.

    Args:
        text: the heading.
        is_lenient: a unit that it cannot have is passed over.

    Raises:
        InputError: a unit that the column cannot have.
    """
    plain, unit = split_heading(text)
    name = "_".join(plain.lower().replace("-", " ").split())
    if name in LABELS:
        return ColumnHeading(name)
    if name not in AMOUNTS and not unit:
        name, unit = next(
            (
                (each, name.removeprefix(f"{each}_"))
                for each in sorted(AMOUNTS, key=len, reverse=True)
                if name.startswith(f"{each}_")
            ),
            ("", ""),
        )
    if name not in AMOUNTS:
        return None
    kind = AMOUNTS[name].facts.kind
    if not kind or not KINDS[kind].unit:
        return ColumnHeading(name, 1.0)
    if not unit:
        return ColumnHeading(name)
    try:
        zero, one = (parse_quantity(f"{each} {unit}", kind, text) for each in (0, 1))
    except UnitError:
        if is_lenient:
            return ColumnHeading(name)
        examples = ", ".join(KINDS[kind].examples)
        raise InputError.one(
            text, repr(unit), say("a unit such as in {examples}", examples=examples),
            say('Write the unit behind the name, as in "height [mm]".'),
        ) from None  # fmt: skip
    return ColumnHeading(name, one - zero, zero)
