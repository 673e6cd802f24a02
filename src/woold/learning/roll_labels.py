"""What labels on the shelf say of the rolls of a film: data as good as any of a trial's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from woold.case.shelf import Shelf
from woold.case.things import FilmLot, ShelfFilm
from woold.learning.wrapped import Wrapped
from woold.trial.averages import rolls_averaged

__all__ = ["with_roll_labels"]


def with_roll_labels(wrapped: Sequence[Wrapped], shelf: Shelf | None) -> list[Wrapped]:
    """The same, with film mass over length off the labels of each film's rolls.

    A film's labels count once, with what was wrapped of it first. Rolls that failed what was asked
    of them are left out, and so are films that a case took from the shelf and then changed.

    Args:
        wrapped: what was wrapped.
        shelf: where the films' lots are; None for none.
    """
    films = {} if shelf is None else {(each.name, each.version): each for each in shelf.films}
    found = []
    for each in wrapped:
        names = [(one.name, one.version) for one in each.case.made_of if one.kind == "films"]
        name = next((name for name in names if name in films), None)
        if name is not None and each.averages and _is_as_kept(each, films[name]):
            film = films.pop(name)
            per_metre = np.array([_per_metre(lot, film) for lot in film.lots])
            labels = rolls_averaged(each.averages[0].load_type, per_metre)
            each = replace(each, averages=(*each.averages, *labels))
        found.append(each)
    return found


def _is_as_kept(wrapped: Wrapped, film: ShelfFilm) -> bool:
    """Whether the case's film has the width and thickness that the shelf says."""
    own = wrapped.case.film
    return (own.roll_width, own.thickness) == (film.roll_width, film.thickness)


def _per_metre(lot: FilmLot, film: ShelfFilm) -> float:
    """Film mass over length of a roll as wide as the film is said to be [kg/m]; NaN if untold."""
    if lot.roll_mass is None or lot.roll_length is None or lot.accepted is False:
        return float("nan")
    wide = film.roll_width / (lot.roll_width or film.roll_width)
    return lot.roll_mass / lot.roll_length * wide
