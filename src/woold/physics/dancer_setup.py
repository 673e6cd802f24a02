"""A dancer with all that hangs on it: its spring, its film, its drive, and the load it feeds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from woold.errors import InputError, PhysicsError, Problem
from woold.physics.dancer import DancerArm, Spring, film_store
from woold.physics.demand import free_span
from woold.physics.outlines import Outline, require_clear_exit
from woold.words import say

__all__ = ["DancerSetup", "Drive", "FilmSpan"]


@dataclass(frozen=True)
class FilmSpan:
    """The film between fast roller and load.

    Args:
        film_stiffness: EA of the stretched film, force per strain [N].
        roller_strain: strain at which the fast roller delivers film, against no tension [-].
        fixed_length: film in the span apart from dancer store and free span [m].
    """

    film_stiffness: float
    roller_strain: float
    fixed_length: float

    def __post_init__(self) -> None:
        problems = []
        if not 0 < self.film_stiffness < np.inf:
            problems.append(
                Problem(
                    "film.reload_modulus",
                    f"{self.film_stiffness:g} N",
                    say("stiffness above zero"),
                    say("Mend film.reload_modulus, width or thickness."),
                )
            )
        if not 0 <= self.roller_strain < np.inf:
            problems.append(
                Problem(
                    "carriage.prestretch",
                    say("strain {roller_strain:g}", roller_strain=self.roller_strain),
                    say("zero or more"),
                    say("Mend the value."),
                )
            )
        if not 0 <= self.fixed_length < np.inf:
            problems.append(
                Problem(
                    "dancer.fixed_length",
                    f"{self.fixed_length:g} m",
                    say("zero or more"),
                    say("Mend the value."),
                )
            )
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True)
class Drive:
    """How the carriage's drive follows the dancer.

    Speed asked of the fast roller = feed-forward x mean film demand at the present turning speed
    + gain x (set angle - angle) + integral gain x its integral, between zero and the speed limit;
    the roller follows with a lag and no faster than the acceleration limit.

    Args:
        set_angle: angle of the dancer that the drive steers to [rad].
        gain: film speed per angle [m/s per rad].
        integral_gain: film speed per angle and time [m/s per rad s].
        feed_forward: share of the mean film demand that is given without the dancer [-].
        lag: time constant of the drive [s].
        acceleration_limit: of the film speed [m/s²].
        speed_limit: of the film speed [m/s].
    """

    set_angle: float
    gain: float
    integral_gain: float
    feed_forward: float
    lag: float
    acceleration_limit: float
    speed_limit: float

    def __post_init__(self) -> None:
        problems = [
            Problem(
                f"dancer.{field}",
                f"{value:g} {unit}",
                say("above zero {unit}", unit=unit),
                say("Mend the value."),
            )
            for field, value, unit in (
                ("lag", self.lag, "s"),
                ("acceleration_limit", self.acceleration_limit, "m/s²"),
                ("speed_limit", self.speed_limit, "m/s"),
            )
            if not value > 0
        ]
        problems += [
            Problem(f"dancer.{field}", f"{value:g}", say("zero or more"), say("Mend the value."))
            for field, value in (
                ("gain", self.gain),
                ("integral_gain", self.integral_gain),
                ("feed_forward", self.feed_forward),
            )
            if not 0 <= value < np.inf
        ]
        if not (self.gain or self.integral_gain or self.feed_forward):
            problems.append(
                Problem(
                    "dancer.gain",
                    say("0, with no integral gain and no feed-forward"),
                    say("one of the three above zero"),
                    say("Without one the drive never moves."),
                )
            )
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True)
class DancerSetup:
    """A dancer, its spring in a hole, its film and drive, and the load that it feeds.

    Args:
        arm: the arm.
        spring: the spring.
        hole_radius: pivot to the spring's hole [m].
        span: the film.
        drive: the drive.
        outline: the load.
        exit_distance: the film's exit point from the axis of turning [m].
    """

    arm: DancerArm
    spring: Spring
    hole_radius: float
    span: FilmSpan
    drive: Drive
    outline: Outline
    exit_distance: float

    def __post_init__(self) -> None:
        require_clear_exit(self.outline, self.exit_distance)
        arm = self.arm
        if not arm.lower_stop <= self.drive.set_angle <= arm.upper_stop:
            raise PhysicsError.one(
                "dancer.set_angle",
                f"{np.degrees(self.drive.set_angle):.4g}°",
                say(
                    "between the stops, {lower:.4g}° and {upper:.4g}°",
                    lower=np.degrees(arm.lower_stop),
                    upper=np.degrees(arm.upper_stop),
                ),
                say("Mend set_angle or the stops."),
            )
        shortest = float(film_store(arm.lower_stop, arm)) + self.span.fixed_length
        nearest = float(
            free_span(np.linspace(0, 2 * np.pi, 721), self.outline, self.exit_distance).min()
        )
        if shortest + nearest <= 0.05:
            raise PhysicsError.one(
                "dancer.fixed_length",
                f"{self.span.fixed_length:g} m",
                say(
                    "more than {nearest:.3g} m: film must be left in the span with the arm at"
                    " its lower stop",
                    nearest=self.span.fixed_length + 0.05 - shortest - nearest,
                ),
                say("Mend fixed_length, or where the film leaves the arm."),
            )
