"""Trials drawn from the model itself, or from one that is wrong in a known way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from woold.learning.density import SITE_SPREADS, SPREAD_OF_SPREADS, WAY_SPREADS
from woold.learning.log_readings import log_readings
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.uncertainty.draws import values_at_scores

__all__ = ["RIGHT", "Simulated", "Wrong", "simulated", "values_of", "without_sites"]

Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Wrong:
    """In what the simulated world differs from the model.

    Args:
        width_lost: factor on the width that the film loses.
        thickness: factor on the film's thickness.
        friction_drift: part of the grip that rubber loses from each site to the next, instead of
            what the model takes for drift.
    """

    width_lost: float = 1.0
    thickness: float = 1.0
    friction_drift: float = 0.0


RIGHT = Wrong()


@dataclass(frozen=True)
class Simulated:
    """A simulated world.

    Args:
        wrapped: with the averages that were measured.
        truth: all numbers in the order of `LogDensity`, shape (count,).
        true_logs: by (load type, average): ln of its true value.
    """

    wrapped: list[Wrapped]
    truth: Array
    true_logs: dict[tuple[int, int], float]


def simulated(
    wrapped: Sequence[Wrapped], random: np.random.Generator, wrong: Wrong = RIGHT
) -> Simulated:
    """Inputs, spreads, sites and errors drawn from what is taken for them beforehand.

    Readings come of the whole model. Draws in which film tears are drawn again: learning leaves
    them out as well.

    Args:
        wrapped: what is wrapped; of its averages only places, ages and errors are taken.
        random: seeded source.
        wrong: in what the world differs from the model.
    """
    unknowns = SharedUnknowns(wrapped)
    kinds = _kinds(wrapped)
    trials = list(dict.fromkeys(each.trial for each in wrapped))
    while True:
        at = random.standard_normal(unknowns.count)
        if wrong.friction_drift:
            for each in unknowns.drifts:
                at[each.own] = 0.0
        scores = unknowns.scores(at)
        logs = [
            _logs(each, values_of(unknowns, scores, own), wrong, trials.index(each.trial))
            for each, own in zip(wrapped, unknowns.places, strict=True)
        ]
        if all(np.isfinite(each).all() for each in logs):
            break
    spreads = random.standard_normal((2, len(kinds)))
    sites = {
        what: SITE_SPREADS[what] * np.exp(SPREAD_OF_SPREADS * spreads[0, index])
        for index, what in enumerate(kinds)
    }
    ways = {
        what: WAY_SPREADS[what] * np.exp(SPREAD_OF_SPREADS * spreads[1, index])
        for index, what in enumerate(kinds)
    }
    added: dict[tuple[str, ...], float] = {}
    seen, true = [], {}
    for load, (each, level) in enumerate(zip(wrapped, logs, strict=True)):
        averages = []
        for place, average in enumerate(each.averages):
            what = average.what
            site, way = (each.trial, what), (each.trial, each.treatment, what)
            if site not in added:
                added[site] = sites[what] * random.standard_normal()
            if way not in added:
                added[way] = ways[what] * random.standard_normal()
            whole = float(level[place] + added[site] + added[way])
            true[load, place] = whole
            read = whole + average.log_error * random.standard_normal()
            averages.append(replace(average, log_mean=read))
        seen.append(replace(each, averages=tuple(averages)))
    return Simulated(seen, np.concatenate([scores, *spreads]), true)


def without_sites(world: Simulated, held_back: Sequence[str]) -> list[Wrapped]:
    """What was measured elsewhere."""
    return [each for each in world.wrapped if each.trial not in held_back]


def _kinds(wrapped: Sequence[Wrapped]) -> list[str]:
    """Kinds of reading in the order in which a density has them."""
    rows = sorted((each.trial, average.what) for each in wrapped for average in each.averages)
    return list(dict.fromkeys(what for _, what in rows))


def values_of(unknowns: SharedUnknowns, scores: Array, own: Array) -> dict[str, Array]:
    """One case's inputs, each of shape (1,), from the scores of all unknowns.

    Args:
        unknowns: all of them.
        scores: of all of them.
        own: places of the case's.
    """
    of_case = [(place, unknowns.all[place].unknown) for place in own]
    return {each.name: values_at_scores(scores[place : place + 1], each) for place, each in of_case}


def _logs(each: Wrapped, values: dict[str, Array], wrong: Wrong, site: int) -> Array:
    if "film.thickness" in values:
        values["film.thickness"] = values["film.thickness"] * wrong.thickness
    if "carriage.friction" in values:
        values["carriage.friction"] = (
            values["carriage.friction"] * (1.0 - wrong.friction_drift) ** site
        )
    case = each.case
    if wrong.width_lost != 1.0:
        laid = lay_film(each.case, lacing_of(each.case), values)
        roll = each.case.film.roll_width
        width = roll - wrong.width_lost * (roll - np.broadcast_to(laid.width, 1))
        # A width that is stated counts instead of the law's.
        case = case.with_values({"carriage.film_width_on_load": float(width[0])})
    found: Array = log_readings(case, each.averages, values, 1)[0]
    return found
