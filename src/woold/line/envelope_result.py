"""What the search of a carriage's free dimensions says. Field names are the document's keys."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.line.envelope_search import EnvelopeBest
from woold.line.placed_rollers import PlacedRoller, PlacedRollers
from woold.line.wrapped_film import WrappedFilm
from woold.physics.rollers import Role, Side

__all__ = ["EnvelopeSearch", "FoundRoller", "envelope_result"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FoundRoller:
    """A roller of the carriage that was found, in the film's order.

    Args:
        teeth: of its wheel; None where none are given.
        cover: name of the cover that was chosen; "" for the one that it has.
        friction: of the film on it [-].
        contact_angle_rad: arc that the film touches; None for roll, nips and way out.
        free_film_after_m: to the next roller; None for nips and the way out.
        opening_after_m: to the next roller with the carriage open, where the film is threaded
            between the two; else None.
    """

    name: str
    role: Role
    side: Side | None
    x_m: float
    y_m: float
    diameter_m: float
    teeth: int | None
    cover: str
    friction: float | None
    contact_angle_rad: float | None
    free_film_after_m: float | None
    opening_after_m: float | None


@dataclass(frozen=True, slots=True)
class EnvelopeSearch:
    """The free dimensions of a carriage, searched.

    Args:
        carriage: whose they are.
        found: what the found carriage is called; "" where none can be built.
        film_share, listed_film_share: of the line's film that it and the listed one serve [-].
        film_share_bound: that no choice serves more of [-].
        film_per_year_kg: of the loads that it serves [kg].
        film_gap_share: how much less film, at most, a carriage that serves as much could take on
            them; None where nothing is known of it [-].
        bounded_share: part of its film for which that is said [-].
        width_step_m: distance of the film widths at which loads were judged for both bounds [m].
        tries: carriages that were looked at.
        prestretch_geared: by its wheels [-].
        gap_m: free film between slow and fast roller [m].
        opening_m: least, with the carriage open, of those that film is threaded between [m].
        threading_room_m: that was asked for [m].
        parts, most_parts: rollers and nips, and how many there may be.
        left_out: rollers that it does without.
        lacking_m: where none can be built, what the nearest lacks [m].
    """

    carriage: str
    found: str
    film_share: float
    listed_film_share: float
    film_share_bound: float
    film_per_year_kg: float
    film_gap_share: float | None
    bounded_share: float
    width_step_m: float
    tries: int
    prestretch_geared: float | None
    gap_m: float | None
    opening_m: float | None
    threading_room_m: float
    parts: int
    most_parts: int | None
    rollers: tuple[FoundRoller, ...]
    left_out: tuple[str, ...]
    lacking_m: float | None


def envelope_result(
    best: EnvelopeBest, listed: WrappedFilm, film: Floats, per_year: Floats
) -> EnvelopeSearch:
    """What was found, in numbers that a person acts on.

    Args:
        best: what was found.
        listed: the loads by the carriage as it is listed.
        film: of a year on each load, by which shares are counted [kg].
        per_year: of each load.
    """
    placed, envelope = best.placed, best.free.envelope
    total = float(film.sum())
    there = placed is not None
    serves = best.wrapped.serves & there
    taken = float((best.wrapped.mass * per_year)[serves].sum()) if there else 0.0
    bounded = best.bound.bounded_share * taken
    names = {each.entry.name for each in placed.rollers} if placed is not None else set()
    return EnvelopeSearch(
        carriage=best.free.base.name,
        found=best.carriage.name if there else "",
        film_share=float(film[serves].sum()) / total,
        listed_film_share=float(film[listed.serves].sum()) / total,
        film_share_bound=best.bound.film_share,
        film_per_year_kg=taken,
        film_gap_share=1.0 - best.bound.film_kg / bounded if bounded > 0.0 else None,
        bounded_share=best.bound.bounded_share,
        width_step_m=best.bound.width_step,
        tries=best.tries,
        prestretch_geared=None
        if placed is None
        else placed.geared(best.free.base.carriage.prestretch) - 1.0,
        gap_m=None if placed is None or placed.path is None else placed.path.gap,
        opening_m=None if placed is None or math.isinf(placed.opening) else placed.opening,
        threading_room_m=envelope.threading_room,
        parts=0 if placed is None else placed.parts,
        most_parts=envelope.most_parts,
        rollers=() if placed is None else tuple(_rollers(best, placed)),
        left_out=tuple(
            each.name for each in best.free.base.carriage.rollers if each.name not in names
        )
        if there
        else (),
        lacking_m=None if there else best.lacking,
    )


def _rollers(best: EnvelopeBest, placed: PlacedRollers) -> Iterator[FoundRoller]:
    """The rollers in the film's order, with the film on and behind each."""
    path = placed.path
    assert path is not None
    arcs = {each.roller.name: each.contact_angle for each in path.contacts}
    spans = {each.start_name: each for each in path.spans}
    by_name = {each.entry.name: each for each in placed.rollers}
    for each in placed.rollers:
        name, role = each.entry.name, each.role
        span = spans.get(name)
        after = by_name.get(span.end_name) if span is not None else None
        yield FoundRoller(
            name=name,
            role=role,
            side=each.entry.side,
            x_m=each.x,
            y_m=each.y,
            diameter_m=each.diameter,
            teeth=each.teeth,
            cover=each.cover,
            friction=None
            if role in ("roll", "load")
            else each.friction or best.free.base.carriage.friction,
            contact_angle_rad=arcs.get(name),
            free_film_after_m=None if span is None else span.length,
            opening_after_m=_opening(each, after),
        )


def _opening(each: PlacedRoller, after: PlacedRoller | None) -> float | None:
    """Free distance to the next roller with the carriage open, where film goes between the two."""
    if after is None or after.role == "load" or after.side == each.side:
        return None
    return each.opened().apart(after.opened())
