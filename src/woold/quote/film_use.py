"""Film that a load takes, for many draws of film, carriage and program at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.physics import outlines
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.prediction.predict import load_outline

__all__ = ["FilmUse", "film_use"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FilmUse:
    """Film of a load, shape (draws,); NaN where it tears.

    Args:
        mass: of the film on it [kg].
        width: of the film on it [m].
        stretch: of the film on it, as a ratio [-].
    """

    mass: Array
    width: Array
    stretch: Array


def film_use(case: Case, draws: Mapping[str, Array], count: int) -> FilmUse:
    """Film that a load takes.

    L = wraps P + 2 (H + top - w)/(w (1 - overlap)) sqrt(P^2 + rise^2) + tails: bottom, top and
    closing wraps, and a helix up and down that begins and ends at the deck.

    Args:
        case: one that overlaps by a share of the film's width, starts at the deck and has neither
            bands nor ropes.
        draws: values by field, shape (count,).
        count: how many.

    Source: geometry; `woold.physics.pattern`.
    """
    program = case.program
    laid = lay_film(case, lacing_of(case), {k: v for k, v in draws.items() if k not in _PROGRAM})
    width, mass, stretch = (
        np.broadcast_to(np.asarray(each, dtype=float), count)
        for each in (laid.width, laid.mass_per_metre, laid.stretch)
    )
    overlap = draws.get("program.overlap", np.full(count, program.overlap or 0.0))
    bottom = draws.get("program.bottom_wraps", np.full(count, program.bottom_wraps))
    top = draws.get("program.top_wraps", np.full(count, program.top_wraps))
    around = outlines.perimeter(load_outline(case))
    rise = width * (1.0 - overlap)
    travel = np.maximum(case.load.height + program.top_overlap - width, 0.0)
    helix = 2.0 * travel / rise * np.hypot(around, rise)
    tails = program.start_tail + program.end_tail
    length = (bottom + top + program.closing_wraps) * around + helix + tails
    torn = np.broadcast_to(laid.breaks, count).astype(bool)
    return FilmUse(
        np.where(torn, np.nan, length * mass),
        np.where(torn, np.nan, width),
        np.where(torn, np.nan, stretch),
    )


_PROGRAM = ("program.overlap", "program.bottom_wraps", "program.top_wraps")
