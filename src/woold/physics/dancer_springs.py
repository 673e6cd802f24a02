"""Which spring in which hole: every one of them at rest, ranked for the asked film tension."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, Problem
from woold.physics.dancer import (
    DancerArm,
    Spring,
    balance_tension,
    spring_length,
    spring_stiffness,
)
from woold.physics.numeric import bracketed_root
from woold.words import say

__all__ = ["SpringChoice", "spring_choices"]

Floats = NDArray[np.float64]

_TRAVEL_SAMPLES = 401


@dataclass(frozen=True)
class SpringChoice:
    """One spring in one hole, for an asked film tension.

    Args:
        spring: the spring.
        hole_radius: pivot to hole [m].
        tension_lower: film tension that balances it at the lower stop [N].
        tension_middle: the same in the middle of the travel [N].
        tension_upper: the same at the upper stop [N].
        balance_angle: angle at which it balances the asked tension, or None [rad].
        travel_share: where that is, 0 at the lower stop, 1 at the upper, or None.
        arm_stiffness: torque per angle there at constant tension [N m/rad].
        tension_per_film: change of tension per length of film taken from the dancer [N/m].
        serves: thinnest and thickest film it serves at the asked tension's stress [m].
        fits: whether it can be used as asked.
        reason: why it stands where it stands.
        rank: 1 is the best.
    """

    spring: Spring
    hole_radius: float
    tension_lower: float
    tension_middle: float
    tension_upper: float
    balance_angle: float | None
    travel_share: float | None
    arm_stiffness: float | None
    tension_per_film: float | None
    serves: tuple[float, float]
    fits: bool
    reason: str
    rank: int = 0


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a spring is chosen for."""

    tension: float
    thickness: float
    stop_margin: float


@dataclass(frozen=True, eq=False)
class _AtRest:
    """A spring in a hole over the travel; share and stiffness are None where nothing balances."""

    spring: Spring
    balance: Floats
    lengths: Floats
    travel_share: float | None
    stiffness: float | None


def spring_choices(
    arm: DancerArm,
    springs: Sequence[Spring],
    hole_radii: Sequence[float],
    tension: float,
    thickness: float,
    stop_margin: float = 0.15,
) -> tuple[SpringChoice, ...]:
    """Every spring in every hole, the best for the asked tension first.

    A choice fits when it balances the asked tension inside the travel, away from the stops by
    stop_margin of it, pulls film back when film is taken (tension falls as film is stored), never
    goes slack and is never drawn beyond its longest length. Of those that fit, those that balance
    in the middle third of the travel come first, and among these the one whose tension changes
    least per length of film taken: it passes the corners with the least ripple. The others follow
    in order of how far their tension in mid travel is from the asked one.

    Args:
        arm: the dancer's arm.
        springs: springs to choose from.
        hole_radii: holes on the arm [m].
        tension: asked film tension, force to load [N].
        thickness: of the film on the roll [m].
        stop_margin: share of the travel kept free at either stop.

    Returns:
        One choice for each spring and hole, ranked.

    Raises:
        InputError: no spring, no hole, or a value that is not positive.
    """
    asked = _Asked(tension, thickness, stop_margin)
    _require_choices(springs, hole_radii, asked)
    choices = [_choice(arm, spring, hole, asked) for spring in springs for hole in hole_radii]
    ranked = sorted(choices, key=lambda choice: _merit(choice, tension))
    return tuple(replace(choice, rank=place) for place, choice in enumerate(ranked, start=1))


def _merit(choice: SpringChoice, tension: float) -> tuple[int, float]:
    share, per_film = choice.travel_share, choice.tension_per_film
    if choice.fits and share is not None and per_film is not None:
        return (0 if 1 / 3 <= share <= 2 / 3 else 1), per_film
    return 2, abs(choice.tension_middle - tension)


def _choice(arm: DancerArm, spring: Spring, hole: float, asked: _Asked) -> SpringChoice:
    angles = np.linspace(arm.lower_stop, arm.upper_stop, _TRAVEL_SAMPLES)
    balance = balance_tension(angles, arm, spring, hole)
    lengths = spring_length(angles, arm.anchor, hole)
    margin = asked.stop_margin
    usable = balance[(angles >= _share(arm, margin)) & (angles <= _share(arm, 1 - margin))]
    scale = asked.thickness / asked.tension
    angle = _balance_angle(angles, balance, arm, spring, hole, asked.tension)
    stiffness = per_film = share = None
    if angle is not None:
        grip = arm.film_lines * arm.arm_length
        stiffness = float(
            spring_stiffness(angle, arm.anchor, spring, hole) - asked.tension * grip * np.sin(angle)
        )
        per_film = stiffness / (grip * np.cos(angle)) ** 2
        share = (angle - arm.lower_stop) / (arm.upper_stop - arm.lower_stop)
    fits, reason = _judge(_AtRest(spring, balance, lengths, share, stiffness), asked)
    return SpringChoice(
        spring=spring,
        hole_radius=hole,
        tension_lower=float(balance[0]),
        tension_middle=float(balance[len(balance) // 2]),
        tension_upper=float(balance[-1]),
        balance_angle=angle,
        travel_share=share,
        arm_stiffness=stiffness,
        tension_per_film=per_film,
        serves=(max(float(usable.min()), 0.0) * scale, max(float(usable.max()), 0.0) * scale),
        fits=fits,
        reason=reason,
    )


def _share(arm: DancerArm, share: float) -> float:
    return arm.lower_stop + share * (arm.upper_stop - arm.lower_stop)


def _balance_angle(
    angles: Floats, balance: Floats, arm: DancerArm, spring: Spring, hole: float, tension: float
) -> float | None:
    """The stable balance nearest the middle of the travel; an unstable one if there is no other."""
    above = balance - tension
    crossings = np.flatnonzero(np.sign(above[:-1]) != np.sign(above[1:]))
    if not len(crossings):
        return None
    falling = crossings[above[crossings] > above[crossings + 1]]
    candidates = falling if len(falling) else crossings
    nearest = candidates[np.abs(candidates - len(angles) // 2).argmin()]
    return float(
        bracketed_root(
            lambda angle: balance_tension(angle, arm, spring, hole) - tension,
            angles[nearest],
            angles[nearest + 1],
        )
    )


def _judge(rest: _AtRest, asked: _Asked) -> tuple[bool, str]:
    """Whether a spring in its hole fits, and why."""
    tension, margin, share = asked.tension, asked.stop_margin, rest.travel_share
    low, high = float(rest.balance.min()), float(rest.balance.max())
    if share is None or rest.stiffness is None:
        if high < tension:
            return False, say(
                "too weak: {high:.3g} N at most, {asked:.3g} N asked", high=high, asked=tension
            )
        return False, say(
            "too strong: {low:.3g} N at least, {asked:.3g} N asked", low=low, asked=tension
        )
    if rest.lengths.min() <= rest.spring.free_length:
        return False, say("goes slack before the arm reaches its upper stop")
    longest = float(rest.lengths.max())
    if longest > rest.spring.longest_length:
        return False, say(
            "drawn to {longest:.0f} mm, beyond its longest length {allowed:.0f} mm",
            longest=1e3 * longest,
            allowed=1e3 * rest.spring.longest_length,
        )
    if rest.stiffness <= 0:
        return False, say("tension grows as film is stored: the arm would run to a stop")
    if share < margin:
        return False, say(
            "balances at {share:.0%} of the travel, too near the lower stop", share=share
        )
    if share > 1 - margin:
        return False, say(
            "balances at {share:.0%} of the travel, too near the upper stop", share=share
        )
    return True, say(
        "balances at {share:.0%} of the travel; tension changes by {spread:.0%} of the asked"
        " force from stop to stop",
        share=share,
        spread=(high - low) / tension,
    )


def _require_choices(springs: Sequence[Spring], hole_radii: Sequence[float], asked: _Asked) -> None:
    tension, thickness, stop_margin = asked.tension, asked.thickness, asked.stop_margin
    problems = []
    if not springs:
        problems.append(
            Problem(
                "dancer.springs",
                say("none"),
                say("one spring or more"),
                say("Write a [[dancer.springs]] table for each spring."),
            )
        )
    if not len(hole_radii):
        problems.append(
            Problem(
                "dancer.holes",
                say("none"),
                say("one hole or more"),
                say("List the distances of the holes from the pivot."),
            )
        )
    problems += [
        Problem("dancer.holes", f"{hole:g} m", say("a length above zero"), say("Mend the value."))
        for hole in hole_radii
        if not 0 < hole < np.inf
    ]
    if not 0 < tension < np.inf:
        problems.append(
            Problem(
                "program.force_to_load",
                f"{tension:g} N",
                say("a force above zero"),
                say("Mend the value."),
            )
        )
    if not 0 < thickness < np.inf:
        problems.append(
            Problem(
                "film.thickness",
                f"{thickness:g} m",
                say("a thickness above zero"),
                say("Mend the value."),
            )
        )
    if not 0 <= stop_margin < 0.5:
        problems.append(
            Problem(
                "stop_margin",
                f"{stop_margin:g}",
                say("from 0 to below 0.5"),
                say("Choose a share in that range."),
            )
        )
    if problems:
        raise InputError.many(problems)
