"""How far the chosen program can be above the best that this machine can run: branch and bound.

The machine's own programs have a force to load, a rise and a fall that may be set to anything
within their ranges, and whole wraps beside them. Forces are cut into slices, rises and falls into
boxes (`woold.design.boxes`), and no program of a box scores less than the box's bound. Boxes whose
bound is near enough to the chosen program are closed, the others are halved, the lowest first.
Where a box cannot be closed a better program may lie: it is looked for there.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from woold.design.boxes import NearSettings, Slice
from woold.design.candidate import Objective, Query
from woold.design.choices import FINEST, Choices
from woold.design.result import NEAR_ENOUGH, DesignResult
from woold.design.search import Search
from woold.design.verified import Verified, best_verified

__all__ = ["Proof", "any_that_holds", "prove", "proven_best", "with_proof"]

_COARSE = 8
"""Fine steps of the force that are looked at together at first."""

_MOST_OF_SLICE = 300
"""Open boxes after which a slice is cut in two."""

_MOST_OF_FINEST = 1500
"""The same between two fine steps of the force, where cutting seldom helps."""

_FINEST_FORCE = 0.01
"""Slices are cut no finer than this [N]."""

_MOST_BOXES = 16_000
"""Boxes after which it is left at what is proven so far."""

_MOST_ROUNDS = 5
_MOST_HINTS = 3

_ANY_SCORE = 1e9
"""Any program's score is below this."""

_WORTH = 1e-4
"""Smaller gains are not worth a setting that cannot be read off a dial [-]."""

_AROUND = 12
"""So many steps around a hint are looked at on either side."""

_STEPS = (1e-3, FINEST)
"""Those steps [m]."""

_FARTHER, _FORCES = 2.0, 0.25
"""So much less force is looked at, by these steps, beside the wider of them [N]."""

_BELOW = 1e-3
"""Force just below that of a hint, which stands for forces up to it [N]."""


@dataclass(frozen=True, slots=True)
class Proof:
    """What branch and bound has shown.

    Args:
        bound: no program that this machine can run scores less.
        boxes: boxes that were bounded.
        is_closed: every box was closed; if not, the bound could be raised.
        hints: where a better program may lie, the most hopeful first.
    """

    bound: float
    boxes: int
    is_closed: bool
    hints: tuple[NearSettings, ...]


def prove(search: Search, choices: Choices, objective: Objective, score: float) -> Proof | None:
    """A proven bound of the score of every program that this machine can run.

    Args:
        search: the search, with its targets.
        choices: what may be chosen; force, rise and fall may be anything between their steps.
        objective: what is made small.
        score: of the chosen program.

    Returns:
        The proof; None where programs have parts that boxes do not know of: fractions of wraps, or
        stops that are given.
    """
    if choices.bands or choices.bottom[0] % 1.0 or choices.top[0] % 1.0:
        return None
    enough = score / (1.0 + NEAR_ENOUGH)
    query, fine = Query(choices, objective), choices.finer_forces()
    cuts = (*fine[:-1:_COARSE], fine[-1])
    groups = search.slices(query, cuts)
    # What is not looked at scores more than enough.
    bound = min((group.bound for group in groups if group.bound >= enough), default=math.inf)
    made = (Slice(search, choices, objective, each) for each in groups if each.bound < enough)
    slices = [(each.bound, number, each) for number, each in enumerate(made)]
    heapq.heapify(slices)
    boxes, number = 0, len(slices)
    while slices and slices[0][0] < enough and boxes < _MOST_BOXES:
        worst = slices[0][2]
        cuts, is_finest = worst.group.cuts(fine), worst.is_finest()
        is_wide = worst.is_wide_in_force()
        if not cuts and (is_finest or is_wide or worst.open.shape[0] > _MOST_OF_FINEST):
            # What a layer holds at the one end, and corners bear at the other, may exclude another.
            cuts = worst.group.halves(_FINEST_FORCE)
        if cuts and (is_finest or is_wide or worst.open.shape[0] > _MOST_OF_SLICE):
            heapq.heappop(slices)
            for each in _cut(worst, query, cuts):
                number += 1
                heapq.heappush(slices, (each.bound, number, each))
            continue
        if is_finest:
            # The bound rises no more.
            break
        boxes += worst.look_closer(enough)
        heapq.heapreplace(slices, (worst.bound, number := number + 1, worst))
    bound = min([bound, *(each[0] for each in slices)])
    if not math.isfinite(bound):
        return None
    is_closed = bound >= enough
    hints = () if is_closed else tuple(slices[0][2].hints())
    return Proof(min(bound, score), boxes, is_closed, hints)


def _cut(whole: Slice, query: Query, cuts: tuple[float, ...]) -> Iterator[Slice]:
    """Slices for one, each with the boxes that are open."""
    group, choices = whole.group, whole.choices
    for part in whole.search.slices(replace(query, choices=group.alone(choices)), cuts):
        # The lowest force alone is the lower slice's as well.
        if part.weakest < part.strongest:
            yield Slice(whole.search, choices, whole.objective, part, whole)


def proven_best(
    search: Search, choices: Choices, objective: Objective, best: Verified
) -> tuple[Verified, Choices, Proof | None]:
    """The best program, bettered where the proof leaves room for a better one, and the proof.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
        best: the best program so far.

    Returns:
        The program, the choices with its settings among them, and the proof; None where there is
        none.
    """
    proof = prove(search, choices, objective, best.candidate.score)
    for _ in range(_MOST_ROUNDS):
        if proof is None or proof.is_closed:
            break
        better = best
        for hint, step in itertools.product(proof.hints[:_MOST_HINTS], _STEPS):
            limit = better.candidate.score * (1.0 - _WORTH)
            near = _near(choices, hint, step)
            better = best_verified(search, near, objective, below=limit)[0] or better
        if better is best:
            break
        best = better
        choices = choices.including(best.candidate.settings)
        proof = prove(search, choices, objective, best.candidate.score)
    return best, choices, proof


def any_that_holds(
    search: Search, choices: Choices, objective: Objective
) -> tuple[Verified | None, Choices]:
    """A program where boxes leave room for one, though the search found none; and the choices.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
    """
    if search.targets.beyond_film:
        return None, choices
    proof = prove(search, choices, objective, _ANY_SCORE)
    for hint, step in itertools.product(proof.hints[:_MOST_HINTS] if proof else (), _STEPS):
        found, _ = best_verified(search, _near(choices, hint, step), objective)
        if found is not None:
            return found, choices.including(found.candidate.settings)
    return None, choices


def with_proof(result: DesignResult, proof: Proof | None) -> DesignResult:
    """The result with what is proven of its chosen program."""
    if proof is None or result.chosen is None:
        return result
    score = result.bound * (1.0 + result.gap) if result.bound and result.gap is not None else 0.0
    # What no program of any kind gets below, none of this machine does.
    bound = min(max(proof.bound, result.bound or 0.0), score or proof.bound)
    gap = score / bound - 1.0 if score and bound > 0.0 else None
    return replace(result, machine_bound=bound, machine_gap=gap, boxes_bounded=proof.boxes)


def _near(choices: Choices, hint: NearSettings, step: float) -> Choices:
    """Steps around a hint, of its force and of less force by steps that are as wide."""
    less = (0.0, _BELOW) if step == FINEST else np.arange(0.0, _FARTHER, _FORCES)
    forces = tuple(round(hint.force - float(each), 9) for each in less)
    return replace(
        choices,
        films=(hint.place,),
        prestretches=(hint.prestretch,),
        forces=_within(choices.forces, forces),
        rises=_steps(choices.rises, hint.rise, step),
        falls=() if hint.fall is None else _steps(choices.falls, hint.fall, step),
    )


def _steps(values: tuple[float, ...], middle: float, step: float) -> tuple[float, ...]:
    whole = math.floor(middle / step + 1e-6)
    steps = ((whole + count) * step for count in range(-_AROUND, _AROUND + 1))
    return _within(values, tuple(round(each, 9) for each in steps))


def _within(values: tuple[float, ...], near: tuple[float, ...]) -> tuple[float, ...]:
    """Those within the range of what may be chosen; the nearest end where none is."""
    low, high = min(values), max(values)
    found = tuple(sorted(each for each in near if low <= each <= high))
    return found or (min(max(near[0], low), high),)
