"""A combination of a line as the tables of a case file: what was typed of its things."""

from __future__ import annotations

from typing import Any

from woold.case.fields import Section, facts_of
from woold.case.things import Kind
from woold.line.things import LineChoice, LineLoad, LineThings
from woold.units import KINDS

__all__ = ["case_table"]

_OWN: dict[Kind, tuple[str, ...]] = {
    "carriages": ("carriage", "dancer"),
    "machine_models": ("machine",),
    "recipes": ("program",),
    "loads": ("load", "hold", "transport"),
}


def case_table(things: LineThings, choice: LineChoice, load: LineLoad) -> dict[str, Any]:
    """The tables of a case file of its own.

    Args:
        things: of the line.
        choice: carriage, machine, film and recipe.
        load: what is wrapped; one of a catalogue is written in SI units, and so is a recipe that
            the line does not have.
    """
    carriage, model, film, recipe = choice
    table: dict[str, Any] = {"title": f"{load.name}, {film.name}, {carriage.name}, {model.name}"}
    right: list[str] = []
    kept = things.typed["films", film.name]
    table["film"] = {name: each for name, each in kept.typed.items() if name != "lots"}
    right += [f"film.{each}" for each in kept.right]
    keys: tuple[tuple[Kind, str], ...] = (
        ("carriages", carriage.name),
        ("machine_models", model.name),
        ("recipes", recipe.name),
        ("loads", load.name),
    )
    for key in keys:
        kept_one = things.typed.get(key)
        if kept_one is None:
            continue
        table |= {name: each for name, each in kept_one.typed.items() if name in _OWN[key[0]]}
        right += [each for each in kept_one.right if each.partition(".")[0] in _OWN[key[0]]]
    if "load" not in table:
        table["load"], table["hold"] = _typed(load.load), _typed(load.hold)
    if "program" not in table:
        table["program"] = _typed(recipe.program)
    return {**table, "as_typed": right} if right else table


def _typed(section: Section) -> dict[str, Any]:
    """A checked table as it could be typed, in SI."""
    model = type(section)
    table: dict[str, Any] = {}
    for name in model.model_fields:
        value = getattr(section, name)
        if name not in section.model_fields_set or value is None or value == ():
            continue
        kind = facts_of(model, name).kind
        if isinstance(value, tuple):
            table[name] = [
                _typed(each) if isinstance(each, Section) else _quantity(each, kind)
                for each in value
            ]
        else:
            table[name] = _quantity(value, kind)
    return table


def _quantity(value: Any, kind: str) -> Any:
    if not kind or kind not in KINDS or not KINDS[kind].unit:
        return value
    if isinstance(value, tuple):
        return [_quantity(each, kind) for each in value]
    # Twelve digits: what a sum of binary fractions leaves behind is nobody's number.
    return f"{value:.12g} {KINDS[kind].unit}"
