"""The mean film force that a recording of the dancer tells, how far it may be off, or why none."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.dancer import Dancer
from woold.case.model import Case
from woold.dancer.case_dancer import RANKED_FIRST, CaseDancer, case_dancer
from woold.errors import PhysicsError
from woold.physics.arm_force import mean_film_force, relative_error_of_mean
from woold.physics.dancer_setup import DancerSetup
from woold.words import say, to_say

__all__ = ["FilmForce", "ForceDoubt", "film_force_told"]

Floats = NDArray[np.float64]

_LENGTH_OFF = 0.003
"""How well lengths of arm and spring are measured, nine in ten (placeholder, engineering estimate:
2 to 5 mm) [m]."""

_RATE_OFF, _PRELOAD_OFF = 0.10, 0.15
"""The same of a spring's rate and preload, as shares: a spring is rarely what its list says.

Placeholders: what is usual for cold-coiled extension springs (common practice, no source).
"""

_ZERO_OFF = math.radians(2.0)
"""The same of the recorded angle's zero (placeholder, engineering estimate: 1 to 5 degrees)."""

MODEL_OFF = 0.03
"""The same of what the arm's balance leaves out: drag of rollers between dancer and load, and that
film is laid fastest at the corners (placeholder, engineering estimate: 1 to 5 %) [-]."""

_AT_STOP = 0.01
"""Nearness to a stop that counts as touching it, as share of the travel [-]."""

_STOPS_OFF = math.radians(4.0)
"""By how much the way between the stops may differ from the case's: each is read to 2 degrees."""

_NEEDED = ("arm_length", "anchor", "lower_stop", "upper_stop")
"""What of the dancer has to be stated: no spread of a guess is worth a reading."""


@dataclass(frozen=True, slots=True)
class ForceDoubt:
    """One cause for which a mean film force may be off, nine in ten within `share` of it."""

    cause: str
    share: float


@dataclass(frozen=True, slots=True)
class FilmForce:
    """Mean film force at the dancer over whole turns; nine in ten lie between low and high.

    `force_to_load_n` is the case's own.
    """

    film_force_n: float
    film_force_low_n: float
    film_force_high_n: float
    force_to_load_n: float
    turns: int
    spring: int
    hole_m: float
    film_lines: float
    doubts: tuple[ForceDoubt, ...]


def film_force_told(
    case: Case,
    turns: Floats,
    stops: tuple[float, float] | None,
    kind: str,
    spring: int | None = None,
    hole: float | None = None,
) -> tuple[FilmForce | None, str]:
    """The mean film force over whole turns, or why it cannot be said.

    Args:
        case: whose dancer it was.
        turns: positions over whole turns, one row a turn, drift and all, shape (turns, per turn).
        stops: lower and upper stop in the same unit, from which angles are counted; None where they
            are not known.
        kind: of the positions: an angle, or what grows evenly with it.
        spring: number of the spring that was in use, where the case does not say.
        hole: its hole [m], likewise.
    """
    dancer = case.dancer
    if dancer is None or not dancer.springs:
        return None, say("the case has no [dancer] with springs")
    if stops is None:
        return None, say(
            "where the stops lie in the recording is not known, and with them the arm's angle:"
            " state them (--stops, of a film --stop-times)"
        )
    guessed = [f"dancer.{name}" for name in _NEEDED if _is_guess(case, dancer, name)]
    if guessed:
        return None, say("nobody measured {fields}", fields=", ".join(guessed))
    try:
        chosen = case_dancer(case, spring, hole)
    except PhysicsError as error:
        return None, str(error.problems[0])
    if chosen.chosen == RANKED_FIRST:
        return None, say(
            "which spring was in which hole is not known: state dancer.spring and dancer.hole in"
            " the case, or --spring and --hole"
        )
    travel, recorded = dancer.upper_stop - dancer.lower_stop, stops[1] - stops[0]
    if kind == "angle" and abs(recorded - travel) > _STOPS_OFF:
        return None, say(
            "the stops lie {recorded:.3g}° apart in the recording and {travel:.3g}° in the case",
            recorded=math.degrees(recorded),
            travel=math.degrees(travel),
        )
    share = (turns - stops[0]) / recorded
    touched = int(np.any((share <= _AT_STOP) | (share >= 1.0 - _AT_STOP), axis=1).sum())
    if touched:
        return None, say(
            "the arm touches a stop in {touched} of {turns} turns, and the stop then bears some of"
            " the spring's pull",
            touched=touched,
            turns=len(turns),
        )
    return _told(case, chosen, dancer.lower_stop + travel * share)


def _is_guess(case: Case, dancer: Dancer, name: str) -> bool:
    """Whether nobody stated it; one that was typed without its origin has the range of a guess."""
    stated = case.stated_origins().get(f"dancer.{name}")
    if stated is not None:
        return stated.is_placeholder
    return name not in dancer.model_fields_set


def _told(case: Case, chosen: CaseDancer, angles: Floats) -> tuple[FilmForce | None, str]:
    setup = chosen.setup
    force = _force(setup, angles, {})
    moved = {
        name: tuple(_force(setup, angles, {name: way * off}) for way in (-1.0, 1.0))
        for name, off in _tolerances(case, chosen)
    }
    if min(force, *(min(each) for each in moved.values())) <= 0.0:
        return None, say("with this spring in this hole the film may as well hang slack")
    arm = setup.arm
    friction = case.range_of("dancer.friction_torque")[1]
    lever = arm.film_lines * arm.arm_length * float(np.cos(angles).mean())
    of_turn = [_force(setup, each, {}) for each in angles]
    shares = {name: abs(math.log(high / low)) / 2.0 for name, (low, high) in moved.items()}
    shares[to_say("dry friction")] = friction / lever / force
    shares[to_say("turns that differ")] = relative_error_of_mean(of_turn)
    shares[to_say("what the arm's balance leaves out")] = MODEL_OFF
    off = math.hypot(*shares.values())
    return FilmForce(
        film_force_n=force,
        film_force_low_n=force * math.exp(-off),
        film_force_high_n=force * math.exp(off),
        force_to_load_n=case.program.force_to_load,
        turns=len(angles),
        spring=chosen.spring,
        hole_m=setup.hole_radius,
        film_lines=arm.film_lines,
        doubts=tuple(
            ForceDoubt(name, share)
            for name, share in sorted(shares.items(), key=lambda each: -each[1])
        ),
    ), ""


def _force(setup: DancerSetup, angles: Floats, off: Mapping[str, float]) -> float:
    """Mean film force, with one of its measures off by so much."""
    arm, spring = setup.arm, setup.spring
    x, y = arm.anchor
    arm = replace(
        arm,
        arm_length=arm.arm_length + off.get(_ARM, 0.0),
        anchor=(x + off.get(_ANCHOR_X, 0.0), y + off.get(_ANCHOR_Y, 0.0)),
    )
    spring = replace(
        spring,
        rate=spring.rate + off.get(_RATE, 0.0),
        preload=max(spring.preload + off.get(_PRELOAD, 0.0), 0.0),
        free_length=spring.free_length + off.get(_FREE, 0.0),
        longest_length=np.inf,
    )
    hole = setup.hole_radius + off.get(_HOLE, 0.0)
    return mean_film_force(angles + off.get(_ZERO, 0.0), arm, spring, hole)


_ARM, _HOLE, _ZERO = to_say("the arm's length"), to_say("the hole"), to_say("the angle's zero")
_ANCHOR_X, _ANCHOR_Y = to_say("the anchor, along the arm"), to_say("the anchor, across it")
_RATE, _PRELOAD, _FREE = (
    to_say("the spring's rate"),
    to_say("the spring's preload"),
    to_say("the spring's free length"),
)


def _tolerances(case: Case, chosen: CaseDancer) -> Iterator[tuple[str, float]]:
    """How far each measure may be off, by its own range where the case has one."""
    origins = {each.field: each for each in case.inputs() if each.field.startswith("dancer.")}

    def known(field: str, usual: float) -> float:
        given = origins.get(f"dancer.{field}")
        if given is None or given.origin.low is None or given.origin.high is None:
            return usual
        return max(given.value - given.origin.low, given.origin.high - given.value, 0.0)

    spring, own = chosen.setup.spring, f"springs[{chosen.spring - 1}]"
    yield _RATE, known(f"{own}.rate", _RATE_OFF * spring.rate)
    yield _PRELOAD, known(f"{own}.preload", _PRELOAD_OFF * spring.preload)
    yield _FREE, known(f"{own}.free_length", _LENGTH_OFF)
    yield _ARM, known("arm_length", _LENGTH_OFF)
    yield _HOLE, known("hole", _LENGTH_OFF)
    yield _ANCHOR_X, _LENGTH_OFF
    yield _ANCHOR_Y, _LENGTH_OFF
    yield _ZERO, _ZERO_OFF
