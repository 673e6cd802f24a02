"""How sure a verdict is: in how many draws of what is not known exactly the load holds."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from woold.case.model import Case
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.uncertainty.draws import draw_unknowns
from woold.uncertainty.spread import unknown_inputs
from woold.verdict.result import Sureness
from woold.verdict.verdict import holds_all

__all__ = ["DRAWS", "sureness"]

DRAWS = 200
"""Draws, unless asked otherwise."""

_SECTIONS = ("load.", "film.", "carriage.", "machine.", "program.", "hold.", "transport.")
"""Tables of the case that a verdict rests on."""

_CHOSEN = (
    "transport.acceleration",
    "transport.slip_limit",
    "transport.lean_limit",
    "transport.kept_limit",
    "transport.pallet_grip",
    "transport.pressing_force",
    "carriage.roughness",
    "film.density",
    "film.roll_mass",
    "machine.end_time",
    "machine.rethread_time",
)
"""Numbers that are chosen and not measured, or that no part of a verdict rests on."""

_Z95 = 1.959964


def sureness(
    case: Case,
    draws: int = DRAWS,
    seed: int = 1,
    progress: Callable[[int], None] | None = None,
) -> Sureness:
    """Share of the draws in which the load holds all that is asked of it.

    Every input that is known within a range only is drawn, the law of the film's width with them;
    a draw whose values cannot be together counts as one that does not hold.

    Args:
        case: a case that asks something.
        draws: how many.
        seed: of the draws.
        progress: called with the number of draws done.

    Source: interval of the share: Wilson, Journal of the American Statistical Association 22
        (1927) 209-212.
    """
    unknowns = unknown_inputs(case, _SECTIONS, _CHOSEN)
    drawn = draw_unknowns(unknowns, draws, np.random.default_rng(seed))
    held = refused = 0
    verdict: bool | None = None
    for index in range(draws):
        values = {name: float(each[index]) for name, each in drawn.items()}
        try:
            if index == 0 or unknowns:
                verdict = _holds(case.with_drawn(values))
            held += verdict is True
        except WooldError:
            refused += 1
        if progress is not None:
            progress(index + 1)
    low, high = _interval(held / draws, draws)
    return Sureness(
        share=held / draws,
        low=low,
        high=high,
        draws=draws,
        refused=refused,
        seed=seed,
        varied=tuple(each.name for each in unknowns),
    )


def _holds(case: Case) -> bool | None:
    return holds_all(case, predict(case))


def _interval(share: float, draws: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share of draws."""
    z2 = _Z95**2
    centre = (share + z2 / (2.0 * draws)) / (1.0 + z2 / draws)
    half = math.sqrt(z2 * (share * (1.0 - share) / draws + z2 / (4.0 * draws**2)))
    half /= 1.0 + z2 / draws
    return max(centre - half, 0.0), min(centre + half, 1.0)
