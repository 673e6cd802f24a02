"""The dancer at rest: springs, holes, and the film tension they ask for.

The arm turns about its pivot without gravity in play (its axis stands upright). Its angle φ counts
from the position where the film lines stand square to the arm; a growing angle stores film, and the
spring pulls that way. x runs along the arm at φ = 0, y the way the spring pulls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, Problem
from woold.words import say

__all__ = [
    "DancerArm",
    "Spring",
    "SpringChoice",
    "balance_tension",
    "film_store",
    "spring_choices",
    "spring_energy",
    "spring_length",
    "spring_stiffness",
    "spring_torque",
]

Floats = NDArray[np.float64]

_TRAVEL_SAMPLES = 401


@dataclass(frozen=True)
class DancerArm:
    """The dancer's arm.

    Args:
        arm_length: pivot to dancer roller r [m].
        inertia: J about the pivot, roller included [kg m²].
        damping: viscous torque per speed c [N m s].
        friction_torque: Coulomb friction at the pivot [N m].
        lower_stop: smallest angle, least film stored [rad].
        upper_stop: largest angle [rad].
        film_lines: N, lines of film that the roller carries (2 where film turns back round it).
        anchor: where the spring is fixed, from the pivot, (x, y) [m].
        stop_stiffness: torque of a stop per angle that the arm presses into it [N m/rad].
        stop_damping: torque of a stop per speed of the arm in it [N m s].
    """

    arm_length: float
    inertia: float
    damping: float
    friction_torque: float
    lower_stop: float
    upper_stop: float
    film_lines: float
    anchor: tuple[float, float]
    stop_stiffness: float
    stop_damping: float

    def __post_init__(self) -> None:
        problems = [
            Problem(f"dancer.{field}", f"{value:g} {unit}", say("above zero {unit}", unit=unit))
            for field, value, unit in (
                ("arm_length", self.arm_length, "m"),
                ("inertia", self.inertia, "kg m²"),
                ("film_lines", self.film_lines, "lines"),
                ("stop_stiffness", self.stop_stiffness, "N m/rad"),
            )
            if not 0 < value < np.inf
        ]
        problems += [
            Problem(f"dancer.{field}", f"{value:g} {unit}", say("zero or more {unit}", unit=unit))
            for field, value, unit in (
                ("damping", self.damping, "N m s"),
                ("friction_torque", self.friction_torque, "N m"),
                ("stop_damping", self.stop_damping, "N m s"),
            )
            if not 0 <= value < np.inf
        ]
        if not -np.pi / 2 < self.lower_stop < self.upper_stop < np.pi / 2:
            problems.append(
                Problem(
                    "dancer.lower_stop, dancer.upper_stop",
                    say(
                        "{degrees:.4g}° and {degrees_2:.4g}°",
                        degrees=np.degrees(self.lower_stop),
                        degrees_2=np.degrees(self.upper_stop),
                    ),
                    say(
                        "lower below upper, both within 90° of where film stands square to the arm"
                    ),
                )
            )
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True)
class Spring:
    """An extension spring.

    Args:
        rate: force per extension [N/m].
        free_length: length between its hooks without load [m].
        preload: force at which its coils part (initial tension) [N].
        longest_length: length it must not exceed [m].
    """

    rate: float
    free_length: float
    preload: float = 0.0
    longest_length: float = np.inf

    def __post_init__(self) -> None:
        problems = [
            Problem(
                f"dancer.springs.{field}", f"{value:g} {unit}", say("above zero {unit}", unit=unit)
            )
            for field, value, unit in (
                ("rate", self.rate, "N/m"),
                ("free_length", self.free_length, "m"),
            )
            if not 0 < value < np.inf
        ]
        if not 0 <= self.preload < np.inf:
            problems.append(
                Problem(
                    "dancer.springs.preload", f"{self.preload:g} N", say("zero or more newtons")
                )
            )
        if not self.longest_length > self.free_length:
            problems.append(
                Problem(
                    "dancer.springs.longest_length",
                    f"{self.longest_length:g} m",
                    say(
                        "more than the free length, {free_length:g} m", free_length=self.free_length
                    ),
                )
            )
        if problems:
            raise InputError.many(problems)


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


def spring_length(arm_angle: ArrayLike, anchor: tuple[float, float], hole_radius: float) -> Floats:
    """Distance from the spring's hole on the arm to its anchor.

    L = √((X - a cos φ)² + (Y - a sin φ)²)

    Args:
        arm_angle: φ [rad], any shape.
        anchor: (X, Y) from the pivot [m].
        hole_radius: a [m].

    Returns:
        Length [m], shape of arm_angle.
    """
    angle = np.asarray(arm_angle, dtype=np.float64)
    return np.hypot(
        anchor[0] - hole_radius * np.cos(angle), anchor[1] - hole_radius * np.sin(angle)
    )


def _spring_force(length: Floats, spring: Spring) -> Floats:
    extension = length - spring.free_length
    return np.where(extension > 0, spring.preload + spring.rate * extension, 0.0)


def spring_torque(
    arm_angle: ArrayLike, anchor: tuple[float, float], spring: Spring, hole_radius: float
) -> Floats:
    """Torque of the spring about the pivot, towards more stored film.

    τ = -F dL/dφ = F a (Y cos φ - X sin φ)/L, F = F0 + k (L - L0), none while L <= L0

    Args:
        arm_angle: φ [rad], any shape.
        anchor: (X, Y) from the pivot [m].
        spring: rate k, free length L0, preload F0.
        hole_radius: a [m].

    Returns:
        Torque [N m], shape of arm_angle.
    """
    angle = np.asarray(arm_angle, dtype=np.float64)
    length = spring_length(angle, anchor, hole_radius)
    lever = hole_radius * (anchor[1] * np.cos(angle) - anchor[0] * np.sin(angle)) / length
    return np.asarray(_spring_force(length, spring) * lever)


def spring_energy(
    arm_angle: ArrayLike, anchor: tuple[float, float], spring: Spring, hole_radius: float
) -> Floats:
    """Energy held by the spring.

    V = F0 (L - L0) + k (L - L0)²/2, none while L <= L0

    Args:
        arm_angle: φ [rad], any shape.
        anchor: (X, Y) from the pivot [m].
        spring: rate k, free length L0, preload F0.
        hole_radius: a [m].

    Returns:
        Energy [J], shape of arm_angle.
    """
    extension = np.maximum(spring_length(arm_angle, anchor, hole_radius) - spring.free_length, 0.0)
    return np.asarray(extension * (spring.preload + spring.rate * extension / 2))


def spring_stiffness(
    arm_angle: ArrayLike, anchor: tuple[float, float], spring: Spring, hole_radius: float
) -> Floats:
    """Loss of spring torque per angle.

    -dτ/dφ = k m² + F (a (Y sin φ + X cos φ) - m²)/L, m the lever of the spring

    Args:
        arm_angle: φ [rad], any shape.
        anchor: (X, Y) from the pivot [m].
        spring: the spring.
        hole_radius: a [m].

    Returns:
        Stiffness [N m/rad], shape of arm_angle.
    """
    angle = np.asarray(arm_angle, dtype=np.float64)
    length = spring_length(angle, anchor, hole_radius)
    force = _spring_force(length, spring)
    lever = hole_radius * (anchor[1] * np.cos(angle) - anchor[0] * np.sin(angle)) / length
    along = hole_radius * (anchor[1] * np.sin(angle) + anchor[0] * np.cos(angle))
    rate = np.where(length > spring.free_length, spring.rate, 0.0)
    return np.asarray(rate * lever**2 + force * (along - lever**2) / length)


def film_store(arm_angle: ArrayLike, arm: DancerArm) -> Floats:
    """Film that the dancer holds, counted from the angle where film stands square to the arm.

    s = N r sin φ

    Args:
        arm_angle: φ [rad], any shape.
        arm: lines N, arm length r.

    Returns:
        Length [m], shape of arm_angle.
    """
    return np.asarray(arm.film_lines * arm.arm_length * np.sin(arm_angle))


def balance_tension(
    arm_angle: ArrayLike, arm: DancerArm, spring: Spring, hole_radius: float
) -> Floats:
    """Film tension that holds the arm still against the spring.

    T = τ(φ)/(N r cos φ)

    Args:
        arm_angle: φ [rad], any shape.
        arm: lines N, arm length r, anchor.
        spring: the spring.
        hole_radius: a [m].

    Returns:
        Tension [N], shape of arm_angle; negative where the spring pulls the wrong way.
    """
    torque = spring_torque(arm_angle, arm.anchor, spring, hole_radius)
    return np.asarray(torque / (arm.film_lines * arm.arm_length * np.cos(arm_angle)))


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
    _require_choices(springs, hole_radii, tension, thickness, stop_margin)
    choices = [
        _choice(arm, spring, hole, tension, thickness, stop_margin)
        for spring in springs
        for hole in hole_radii
    ]
    order = sorted(range(len(choices)), key=lambda index: _merit(choices[index], tension))
    return tuple(
        SpringChoice(**{**choices[index].__dict__, "rank": place})
        for place, index in enumerate(order, start=1)
    )


def _merit(choice: SpringChoice, tension: float) -> tuple[int, float]:
    share, per_film = choice.travel_share, choice.tension_per_film
    if choice.fits and share is not None and per_film is not None:
        return (0 if 1 / 3 <= share <= 2 / 3 else 1), per_film
    return 2, abs(choice.tension_middle - tension)


def _choice(
    arm: DancerArm,
    spring: Spring,
    hole: float,
    tension: float,
    thickness: float,
    stop_margin: float,
) -> SpringChoice:
    angles = np.linspace(arm.lower_stop, arm.upper_stop, _TRAVEL_SAMPLES)
    balance = balance_tension(angles, arm, spring, hole)
    longest = float(spring_length(angles, arm.anchor, hole).max())
    shortest = float(spring_length(angles, arm.anchor, hole).min())
    usable = balance[
        (angles >= _share(arm, stop_margin)) & (angles <= _share(arm, 1 - stop_margin))
    ]
    scale = thickness / tension
    angle = _balance_angle(angles, balance, arm, spring, hole, tension)
    stiffness = per_film = share = None
    if angle is not None:
        grip = arm.film_lines * arm.arm_length
        stiffness = float(
            spring_stiffness(angle, arm.anchor, spring, hole) - tension * grip * np.sin(angle)
        )
        per_film = stiffness / (grip * np.cos(angle)) ** 2
        share = (angle - arm.lower_stop) / (arm.upper_stop - arm.lower_stop)
    fits, reason = _judge(
        share, stiffness, longest, shortest, balance, spring, tension, stop_margin
    )
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
    from scipy.optimize import brentq

    above = balance - tension
    crossings = np.flatnonzero(np.sign(above[:-1]) != np.sign(above[1:]))
    if not len(crossings):
        return None
    falling = crossings[above[crossings] > above[crossings + 1]]
    candidates = falling if len(falling) else crossings
    nearest = candidates[np.abs(candidates - len(angles) // 2).argmin()]
    return float(
        brentq(
            lambda angle: float(balance_tension(angle, arm, spring, hole)) - tension,
            angles[nearest],
            angles[nearest + 1],
            xtol=1e-12,
        )
    )


def _judge(
    share: float | None,
    stiffness: float | None,
    longest: float,
    shortest: float,
    balance: Floats,
    spring: Spring,
    tension: float,
    stop_margin: float,
) -> tuple[bool, str]:
    if share is None or stiffness is None:
        low, high = float(balance.min()), float(balance.max())
        if high < tension:
            return False, f"too weak: {high:.3g} N at most, {tension:.3g} N asked"
        return False, f"too strong: {low:.3g} N at least, {tension:.3g} N asked"
    if shortest <= spring.free_length:
        return False, "goes slack before the arm reaches its upper stop"
    if longest > spring.longest_length:
        return False, (
            f"drawn to {1e3 * longest:.0f} mm, beyond its longest length "
            f"{1e3 * spring.longest_length:.0f} mm"
        )
    if stiffness <= 0:
        return False, "tension grows as film is stored: the arm would run to a stop"
    if share < stop_margin:
        return False, f"balances at {share:.0%} of the travel, too near the lower stop"
    if share > 1 - stop_margin:
        return False, f"balances at {share:.0%} of the travel, too near the upper stop"
    spread = float(balance.max() - balance.min()) / tension
    return True, (
        f"balances at {share:.0%} of the travel; tension changes by {spread:.0%} of the asked "
        "force from stop to stop"
    )


def _require_choices(
    springs: Sequence[Spring],
    hole_radii: Sequence[float],
    tension: float,
    thickness: float,
    stop_margin: float,
) -> None:
    problems = []
    if not springs:
        problems.append(Problem("dancer.springs", say("none"), say("one spring or more")))
    if not len(hole_radii):
        problems.append(Problem("dancer.holes", say("none"), say("one hole or more")))
    problems += [
        Problem("dancer.holes", f"{hole:g} m", say("a length above zero"))
        for hole in hole_radii
        if not 0 < hole < np.inf
    ]
    if not 0 < tension < np.inf:
        problems.append(
            Problem("program.force_to_load", f"{tension:g} N", say("a force above zero"))
        )
    if not 0 < thickness < np.inf:
        problems.append(
            Problem("film.thickness", f"{thickness:g} m", say("a thickness above zero"))
        )
    if not 0 <= stop_margin < 0.5:
        problems.append(Problem("stop_margin", f"{stop_margin:g}", say("from 0 to below 0.5")))
    if problems:
        raise InputError.many(problems)
