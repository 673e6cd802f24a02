"""The best program between the steps of the settings.

Layers are whole numbers, so the best force lies just where a layer less will do, or at a limit, and
the best rise where a whole layer more is laid: seldom on a step. So the best on the steps is looked
at more closely: all forces by finer steps, rises that lay whole layers, then both around the best.
That nothing better lies between the finest steps is not proven here (`woold.design.proof`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from woold.design.candidate import Objective
from woold.design.choices import FINEST, Choices
from woold.design.search import Search
from woold.design.settings import with_film
from woold.design.tiers import MOST_LAYERS
from woold.design.verified import Verified, best_verified
from woold.prediction.film_over_height import layer_force_later

__all__ = ["best_between", "with_layer_forces"]

_FORCE_STEP = 0.1
"""Finest step of the force, around the best [N]."""

_RISE_STEPS = (1e-3, FINEST)
"""Finer steps of rise and fall, around the best [m]."""

_FINE = 0.01
"""Finest step of a force at which a layer less will do [N]."""

_OLDEST = 300.0
"""Age that the first film of a cycle seldom passes when it ends [s]."""

_AROUND = 10
"""So many finer steps are looked at on either side."""

_MOST_FILMS = 4
"""Films with their pre-stretch that are looked at more closely."""

_WORTH = 1.15
"""Film whose best on the steps is this far above the best of all is not looked at again [-]."""


def best_between(
    search: Search, choices: Choices, objective: Objective, best: Verified | None
) -> tuple[Verified | None, Choices]:
    """The best program between the steps, and the choices with its settings among them.

    Args:
        search: the search, with its targets.
        choices: what may be chosen, by steps.
        objective: what is made small.
        best: the best on the steps; None where none holds there.
    """
    if best is None:
        # A limit on edges may leave room only just where a layer less will do.
        best, _ = best_verified(search, with_layer_forces(search, choices), objective)
    if best is None:
        return None, choices
    for place, prestretch in _films_worth(search, choices, objective, best):
        near = replace(choices, films=(place,), prestretches=(prestretch,)).between_steps()
        best = _better(search, near, objective, best)
    for step in _RISE_STEPS:
        near = _around(choices, best, step)
        if search.case.hold.edge_load_limit is None:
            # A program that holds holds at more force too, with no more film.
            force = best.candidate.settings.force_to_load_n
            near = replace(near, forces=tuple(each for each in near.forces if each >= force))
        best = _better(search, near, objective, best)
    return best, choices.including(best.candidate.settings)


def with_layer_forces(search: Search, choices: Choices) -> Choices:
    """The choices between the steps, with the least forces at which so many layers hold a zone.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
    """
    low, high = min(choices.forces), max(choices.forces)
    between, found = choices.between_steps(), set()
    for place in choices.films:
        case = with_film(search.case, search.shelf[place])
        kept = layer_force_later(case, _OLDEST, is_safe=True) / case.program.force_to_load
        for zone in search.targets.zones if kept > 0.0 else ():
            layers = np.arange(1.0, MOST_LAYERS + 1.0)
            forces = np.ceil(search.targets.scale * zone.force / kept / layers / _FINE) * _FINE
            found |= {round(each, 9) for each in forces.tolist() if low <= each <= high}
    return replace(between, forces=tuple(sorted({*between.forces, *found})))


def _films_worth(
    search: Search, choices: Choices, objective: Objective, best: Verified
) -> Iterator[tuple[int, float]]:
    """Films and pre-stretches that may be best between the steps, the best on them first."""
    made = best.candidate
    first = (made.place, made.settings.prestretch)
    yield first
    scores: dict[tuple[int, float], float] = {}
    for group in search.groups(choices, objective)[0]:
        key = (group.place, group.case.carriage.prestretch)
        if key not in scores and key != first:
            scores[key] = group.bound
    hopeful = sorted((score, key) for key, score in scores.items() if score < made.score)
    tried = []
    for _, (place, prestretch) in hopeful[: 3 * _MOST_FILMS]:
        alone = replace(choices, films=(place,), prestretches=(prestretch,))
        found, _ = search.best(alone, objective, keep=1)
        if found and found[0].score < _WORTH * made.score:
            tried.append((found[0].score, (place, prestretch)))
    yield from (key for _, key in sorted(tried)[: _MOST_FILMS - 1])


def _better(search: Search, choices: Choices, objective: Objective, best: Verified) -> Verified:
    limit = best.candidate.score * (1.0 - 1e-9)
    found, _ = best_verified(search, choices, objective, below=limit)
    return best if found is None else found


def _around(choices: Choices, best: Verified, step: float) -> Choices:
    """Finer steps of force, rise and fall around a program."""
    made = best.candidate.settings
    fall = made.fall_per_turn_m
    return replace(
        choices,
        films=(best.candidate.place,),
        prestretches=(made.prestretch,),
        forces=_near(choices.forces, made.force_to_load_n, _FORCE_STEP),
        rises=_near(choices.rises, made.rise_per_turn_m, step),
        falls=() if fall is None else _near(choices.falls, fall, step),
        whole_rises=True,
    )


def _near(values: tuple[float, ...], middle: float, step: float) -> tuple[float, ...]:
    """Finer steps around a value, within the values' range."""
    if len(values) < 2:
        return values
    near = (round(middle + count * step, 9) for count in range(-_AROUND, _AROUND + 1))
    return tuple(each for each in near if min(values) <= each <= max(values))
