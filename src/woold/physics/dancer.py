"""The dancer's arm and its springs: lengths, torques, and the film tension that balances them.

The arm turns about its pivot without gravity in play (its axis stands upright). Its angle φ counts
from the position where the film lines stand square to the arm; a growing angle stores film, and the
spring pulls that way. x runs along the arm at φ = 0, y the way the spring pulls.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, Problem
from woold.words import say

__all__ = [
    "DancerArm",
    "Spring",
    "balance_tension",
    "film_store",
    "spring_energy",
    "spring_length",
    "spring_stiffness",
    "spring_torque",
]

Floats = NDArray[np.float64]


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
            Problem(
                f"dancer.{field}",
                f"{value:g} {unit}",
                say("above zero {unit}", unit=unit),
                say("Mend the value."),
            )
            for field, value, unit in (
                ("arm_length", self.arm_length, "m"),
                ("inertia", self.inertia, "kg m²"),
                ("film_lines", self.film_lines, say("lines of film")),
                ("stop_stiffness", self.stop_stiffness, "N m/rad"),
            )
            if not 0 < value < np.inf
        ]
        problems += [
            Problem(
                f"dancer.{field}",
                f"{value:g} {unit}",
                say("zero or more {unit}", unit=unit),
                say("Mend the value."),
            )
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
                        "{lower:.4g}° and {upper:.4g}°",
                        lower=np.degrees(self.lower_stop),
                        upper=np.degrees(self.upper_stop),
                    ),
                    say(
                        "lower below upper, both within 90° of where film stands square to the arm"
                    ),
                    say("Measure both from where film stands square to the arm."),
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
                f"dancer.springs.{field}",
                f"{value:g} {unit}",
                say("above zero {unit}", unit=unit),
                say("Mend the value."),
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
                    "dancer.springs.preload",
                    f"{self.preload:g} N",
                    say("zero or more newtons"),
                    say("Mend the value."),
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
                    say("Mend one of the two, or leave longest_length out."),
                )
            )
        if problems:
            raise InputError.many(problems)


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
