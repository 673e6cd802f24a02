"""Tables of a prediction: the parts of the program, and film over the load's height."""

from __future__ import annotations

from collections.abc import Sequence

from woold.prediction.result import HeightPoint, Prediction
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["height_columns", "height_rows", "part_columns", "part_rows"]


def part_columns(say: Wording) -> tuple[str, ...]:
    """Heads of the table of the program's parts."""
    return tuple(
        say(name)
        for name in (
            to_say("part of the program"),
            to_say("turns"),
            to_say("film length"),
            to_say("film mass"),
            to_say("time"),
        )
    )


def part_rows(p: Prediction, say: Wording) -> tuple[tuple[str, ...], ...]:
    """Turns, film and time of each part of the program."""
    return tuple(
        (
            say(part.part),
            say.fixed(part.turns, 2),
            say.amount(part.film_length_m, "film_length"),
            say.amount(part.film_mass_kg, "small_mass"),
            say.amount(part.time_s, "time"),
        )
        for part in p.parts
    )


def height_columns(p: Prediction, say: Wording) -> tuple[str, ...]:
    """Heads of the table over the load's height."""
    later = say("force after {time}", time=say.amount(p.later_s, "hours"))
    return (
        say("above the deck"),
        say("layers"),
        say("force now"),
        later,
        say("range by loss alone"),
    )


def height_rows(p: Prediction, say: Wording) -> tuple[tuple[str, ...], ...]:
    """Layers and force from the top down, wherever the least layers change."""
    return tuple(
        (
            say.amount(point.height_m, "length"),
            say.number(point.layers_min, 2),
            say.amount(point.force_n, "force"),
            say.amount(point.force_later_n, "force"),
            say.span(point.force_later_low_n, point.force_later_high_n, "force"),
        )
        for point in _steps(p.containment_profile)
    )


def _steps(points: Sequence[HeightPoint]) -> list[HeightPoint]:
    """Points at which the least layers change, the lowest and the highest, from the top down."""
    kept = [points[-1]]
    for point in reversed(points[:-1]):
        if point.layers_min != kept[-1].layers_min or point is points[0]:
            kept.append(point)
    return kept
