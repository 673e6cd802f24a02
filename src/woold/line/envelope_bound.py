"""What no choice of a carriage's free dimensions can do better: share served, and film."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.line.free_carriage import FreeCarriage
from woold.line.width_range import WidthRange, gap_steps, geared_choices
from woold.line.width_tables import WidthGroup, WidthTables

__all__ = ["EnvelopeBound", "envelope_bound"]

Floats = NDArray[np.float64]
_EQUAL = 1e-9


@dataclass(frozen=True, slots=True)
class EnvelopeBound:
    """What no choice can do better.

    Args:
        film_share: of the line's film that any one carriage can serve at most [-].
        film_kg: least film of a year, on loads that the found one serves and whose least is known,
            of a carriage that serves as much [kg].
        bounded_share: part of the found one's film for which that is said [-].
        width_step: distance of the film widths that were looked at [m].
    """

    film_share: float
    film_kg: float
    bounded_share: float
    width_step: float


def envelope_bound(
    free: FreeCarriage,
    tables: WidthTables,
    weights: Floats,
    found: tuple[NDArray[np.bool_], Floats],
) -> EnvelopeBound:
    """Bounds for all choices, by branches: each ratio of the wheels with each step of the gap.

    In a branch a load counts as served where it is at any width that the film can have there,
    within any limit of the drive that is broken everywhere in it; and its film is at least that of
    the widest and lightest film. Each load may take another carriage of the branch, so that no one
    carriage does better.

    Args:
        free: the carriage.
        tables: the loads, judged at some widths.
        weights: film of a year of each load, by which shares are counted [kg].
        found: loads that the best carriage found serves, and the film of a year on each [kg].
    """
    total = max(float(weights.sum()), 1e-300)
    serves, taken = found
    share_found = float(weights[serves].sum()) / total
    parts = [_branches(group, tables.cases[group.film_case].widths) for group in tables.groups]
    bounded = serves & _bounded(tables)
    most, least = 0.0, np.inf
    case = tables.cases[0].case
    for ratio in geared_choices(case, free):
        for gap in range(gap_steps(free).size - 1):
            able = np.zeros(tables.count, dtype=bool)
            mass, any_mass = np.full((2, tables.count), np.inf)
            for group, part in zip(tables.groups, parts, strict=True):
                if part is None or not tables.cases[group.film_case].can_serve:
                    continue
                film = tables.cases[group.film_case]
                rated = film.case.film.rated_prestretch
                widths = film.widths
                assert widths is not None
                last = int(np.searchsorted(widths.stretches, ratio * (1.0 - 1e-12)))
                if (rated is not None and ratio > rated * (1.0 + 1e-12)) or last < 1:
                    continue
                last = min(last, part.able.shape[0])
                rows = group.rows
                able[rows] |= part.able[:last, gap].any(axis=0)
                mass[rows] = np.minimum(mass[rows], part.mass[last - 1, gap])
                any_mass[rows] = np.minimum(any_mass[rows], part.any_mass[last - 1, gap])
            share = float(weights[able].sum()) / total
            most = max(most, share)
            if share >= share_found - _EQUAL:
                # A load that the branch does not serve takes what film does at least, and nothing
                # where none gets there.
                there = np.where(able, mass, any_mass)
                there = np.where(np.isfinite(there), there, 0.0)
                least = min(least, float((there * tables.per_year)[bounded].sum()))
    whole = float(taken[serves].sum())
    return EnvelopeBound(
        film_share=max(most, share_found),
        film_kg=min(least, float(taken[bounded].sum())) if np.isfinite(least) else 0.0,
        bounded_share=float(taken[bounded].sum()) / whole if whole > 0.0 else 0.0,
        width_step=tables.step(),
    )


def _bounded(tables: WidthTables) -> NDArray[np.bool_]:
    """Loads whose least film is known, in all films in which they may be wrapped."""
    known = np.ones(tables.count, dtype=bool)
    for group in tables.groups:
        if tables.cases[group.film_case].can_serve:
            known[group.rows] &= group.has_bound
    return known


@dataclass(frozen=True, eq=False)
class _Branches:
    """Loads of a group in each step of stretch and gap.

    Args:
        able: the load may be served there, shape (steps, gaps, loads).
        mass: least film on it up to that step of stretch, where it may be served, likewise [kg].
        any_mass: the same wherever film gets there.
    """

    able: NDArray[np.bool_]
    mass: Floats
    any_mass: Floats


def _branches(group: WidthGroup, film: WidthRange | None) -> _Branches | None:
    if film is None:
        return None
    last = group.widths.size - 1
    # A film as wide as between two widths counts as both.
    low = np.clip(np.searchsorted(group.widths, film.narrowest, side="right") - 1, 0, last)
    high = np.clip(np.searchsorted(group.widths, film.widest, side="left"), 0, last)
    held = np.concatenate([np.zeros((1, group.rows.size), dtype=np.int64),
                           np.cumsum(group.holds, axis=0)])  # fmt: skip
    able = (held[high + 1] - held[low]) > 0
    slack = 1.0 + 1e-9
    able &= (film.torque <= group.torque * slack)[:, None, None]
    for asked, rated in ((film.power, group.power), (film.film_speed, group.film_speed)):
        able &= (asked[:, None] * group.fastest <= rated * slack)[:, None, :]
    # The film is the shorter the wider it is: the next width above counts.
    lengths = np.where(np.isnan(group.lengths), np.inf, group.lengths)
    mass = lengths[high] * film.masses[:, None, None]
    served, anyhow = (
        np.minimum.accumulate(each, axis=0) for each in (np.where(able, mass, np.inf), mass)
    )
    return _Branches(able, served, anyhow)
