"""Carriages that were found, as a file of things: the listed one with its rollers anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from woold.case.shelf import Shelf
from woold.case.text import toml_from_table
from woold.errors import InputError
from woold.line.envelope_result import EnvelopeSearch, FoundRoller
from woold.line.things import LineThings
from woold.words import say

__all__ = ["found_text"]


def found_text(things: LineThings, results: Sequence[EnvelopeSearch]) -> str:
    """The text of a file with the carriages that were found.

    Args:
        things: of the line, with what was typed of the listed carriages.
        results: of the search.

    Raises:
        InputError: none was found.
    """
    tables = [_table(things, each) for each in results if each.found]
    if not tables:
        raise InputError.one(
            "--found", say("no carriage that was found"),
            say("a line with [[envelopes]], in whose room a carriage can be built"),
            say("State in [[envelopes]] what is free of which carriage, or widen its room."),
        )  # fmt: skip
    return toml_from_table({"carriages": tables}, Shelf)


def _table(things: LineThings, result: EnvelopeSearch) -> dict[str, Any]:
    typed = dict(things.typed["carriages", result.carriage].typed)
    carriage = dict(typed["carriage"])
    by_name = {each["name"]: each for each in carriage["rollers"]}
    carriage["rollers"] = [_roller(by_name[each.name], each) for each in result.rollers]
    if result.prestretch_geared is not None and any(each.teeth for each in result.rollers):
        carriage["prestretch"] = f"{100.0 * result.prestretch_geared:.6g} %"
    return {"name": result.found, **typed, "carriage": carriage}


def _roller(typed: dict[str, Any], found: FoundRoller) -> dict[str, Any]:
    table = dict(typed)
    for name, value in (("x", found.x_m), ("y", found.y_m), ("diameter", found.diameter_m)):
        table[name] = f"{1e3 * value:.6g} mm"
    if found.teeth is not None:
        table["teeth"] = found.teeth
    if found.cover and found.friction is not None:
        table["friction"] = f"{found.friction:g}"
    return table
