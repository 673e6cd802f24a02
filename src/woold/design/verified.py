"""The best program that holds when it is predicted: the search proposes, the prediction decides."""

from __future__ import annotations

import math
from dataclasses import dataclass

from woold.case.model import Case
from woold.design.candidate import Candidate, Count, Objective, Relaxed
from woold.design.choices import Choices
from woold.design.search import Search
from woold.design.settings import Settings
from woold.prediction.predict import predict
from woold.prediction.result import Prediction

__all__ = [
    "Verified",
    "best_verified",
    "keeps_limits",
    "most_containment",
    "spares_edges",
    "verify",
]

_FIRST_KEEP = 8
_MOST_KEEP = 64
_SCALE_STEPS = 40
_LEAST_SCALE = 1e-3
"""Least multiple of the targets that is told from none [-]."""


@dataclass(frozen=True, slots=True)
class Verified:
    """A candidate whose prediction misses no target.

    Args:
        candidate: the program.
        case: the case with its settings.
        prediction: its prediction.
    """

    candidate: Candidate
    case: Case
    prediction: Prediction


def verify(search: Search, candidate: Candidate) -> Verified | None:
    """The candidate with its prediction; None where that misses a target."""
    case = search.case_of(candidate)
    prediction = predict(case)
    if search.targets.shortfalls(case, prediction):
        return None
    return Verified(candidate, case, prediction)


def keeps_limits(search: Search, made: Candidate) -> bool:
    """Whether a program that is measured keeps the limits that a search keeps."""
    settings, machine = made.settings, search.case.machine
    force, place = (settings.force_to_load_n,), made.place
    laid = search.films.at_forces(place, settings.prestretch, force)
    longest = search.limits.cycle_time_limit
    steepest = max(settings.rise_per_turn_m, settings.fall_per_turn_m or 0.0)
    travel, most = steepest * settings.speed_rad_per_s / (2.0 * math.pi), math.inf
    if machine.carriage_speed_limit is not None:
        most = machine.carriage_speed_limit * (1.0 + 1e-9)
    return (
        bool(laid)
        and search.films.may_be_used(*laid[0], frozenset())
        and (longest is None or made.cycle_time <= longest + 1e-9)
        and travel <= most
    )


def spares_edges(search: Search, made: Verified) -> bool:
    """Whether the load's corners bear a program."""
    limit, force = search.case.hold.edge_load_limit, made.prediction.corner_force_max_n_per_m
    return limit is None or force is None or force <= limit * (1.0 + 1e-9)


def best_verified(
    search: Search,
    choices: Choices,
    objective: Objective,
    relaxed: Relaxed = frozenset(),
    below: float = math.inf,
) -> tuple[Verified | None, Count]:
    """The best program that may be chosen and that holds when it is predicted.

    Candidates are predicted in the order of their score until one holds. Only where the loss of
    force during the cycle decides about a whole layer can one fail; after many such the oldest
    film is reckoned with, so that what holds is never overlooked. Only scores below a given one
    count.
    """
    if search.targets.beyond_film:
        return None, search.count_all(choices)
    seen: set[Settings] = set()
    count = Count()
    for keep, safe in ((_FIRST_KEEP, False), (_MOST_KEEP, False), (_FIRST_KEEP, True)):
        found, count = search.best(choices, objective, relaxed, keep, safe, below)
        for candidate in found:
            if candidate.settings in seen:
                continue
            seen.add(candidate.settings)
            verified = verify(search, candidate)
            if verified is not None:
                return verified, count
        if len(found) < keep and not safe:
            break
    return None, count


def most_containment(
    search: Search,
    choices: Choices,
    film_mass: float,
    near: float = 1e-4,
    is_short: bool = False,
) -> tuple[Verified | None, Count, float]:
    """The program that holds most of the targets with no more film than given.

    The largest multiple of all targets for which the least film is still enough, by halving.

    Args:
        search: the search.
        choices: what may be chosen.
        film_mass: film that may be used [kg].
        near: how near to the largest multiple it is left at [-].
        is_short: it is known already that nothing holds all of the targets.

    Returns:
        The program, the count of programs dealt with, and the multiple.
    """
    total = Count()

    def at(scale: float) -> Verified | None:
        nonlocal total
        scaled = search.with_targets(search.targets.scaled(scale))
        verified, count = best_verified(scaled, choices, "film")
        total += count
        enough = verified is not None and verified.candidate.film_mass <= film_mass * (1.0 + 1e-9)
        return verified if enough else None

    low, high = 0.0, 1.0
    best: Verified | None = None
    found = None if is_short else at(high)
    if found is None:
        # Where next to nothing cannot be held either, no halving finds more.
        best, low = at(_LEAST_SCALE), _LEAST_SCALE
        if best is None:
            return None, total, 0.0
    while found is not None and high < 1e3:
        best, low, high = found, high, 2.0 * high
        found = at(high)
    for _ in range(_SCALE_STEPS):
        if high - low <= near * high:
            break
        middle = 0.5 * (low + high)
        found = at(middle)
        if found is None:
            high = middle
        else:
            best, low = found, middle
    return best, total, low
