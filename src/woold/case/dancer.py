"""The case's dancer: arm, springs, holes and drive."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Self

from pydantic import Field, model_validator

from woold.case.fields import COMMON_PRACTICE, Section, plain, quantity
from woold.errors import Question
from woold.units import show
from woold.words import say

__all__ = ["Dancer", "DancerDrive", "DancerSpring"]


class DancerSpring(Section):
    """An extension spring to choose from."""

    rate: float = quantity(
        "stiffness",
        "force per extension; name springs by it",
        example="0.9 N/mm",
        gt=0,
        usual=("0.05 N/mm", "20 N/mm"),
        le=1e7,
    )
    free_length: float = quantity(
        "small_length",
        "between its hooks, without load",
        example="180 mm",
        gt=0,
        le=2,
        usual=("20 mm", "700 mm"),
    )
    preload: float = quantity(
        "force", "at which its coils part", "0 N", ge=0, usual=("0 N", "300 N"), le=100_000
    )
    longest_length: float | None = quantity(
        "small_length", "that it must not exceed", None, gt=0, le=5, usual=("30 mm", "1.5 m")
    )

    @model_validator(mode="after")
    def _may_be_drawn(self) -> Self:
        if self.longest_length is not None and self.longest_length <= self.free_length:
            raise ValueError(say("longest_length above free_length"))
        return self


class DancerDrive(Section):
    """How the carriage's drive follows the dancer."""

    set_angle: float = quantity(
        "angle",
        "dancer angle that the drive steers to",
        "0 deg",
        span=("-15 deg", "15 deg"),
        placeholder="middle of the travel; read it off where the dancer stands in a steady turn",
        gt=-1.5708,
        lt=1.5708,
        usual=("-45 deg", "45 deg"),
    )
    gain: float = quantity(
        "drive_gain",
        "film speed per dancer angle",
        "1.2 m/s/rad",
        span=("0.4 m/s/rad", "4 m/s/rad"),
        placeholder="estimate; a fit of the gain to a recorded swing finds it",
        ge=0,
        usual=("0 m/s/rad", "30 m/s/rad"),
        le=1000,
    )
    integral_gain: float = quantity(
        "drive_integral_gain",
        "film speed per dancer angle and time",
        "0.5 m/s/rad/s",
        span=("0 m/s/rad/s", "2 m/s/rad/s"),
        placeholder="estimate; read it off the drive's settings",
        ge=0,
        usual=("0 m/s/rad/s", "60 m/s/rad/s"),
        le=10_000,
    )
    feed_forward: float = quantity(
        "fraction",
        "share of the mean film demand given without the dancer",
        "100 %",
        span=("0 %", "110 %"),
        placeholder="estimate; 0 % for a drive that only looks at the dancer",
        ge=0,
        le=3,
        usual=("0 %", "150 %"),
    )
    lag: float = quantity(
        "time",
        "time constant of the drive",
        "0.1 s",
        span=("0.03 s", "0.4 s"),
        placeholder="estimate; a fit of the lag to a recorded swing finds it",
        gt=0,
        le=10,
        usual=("2 ms", "2 s"),
    )
    acceleration_limit: float = quantity(
        "acceleration",
        "of the film speed",
        "3 m/s^2",
        span=("1 m/s^2", "10 m/s^2"),
        placeholder="estimate; read it off the drive's settings",
        gt=0,
        usual=("0.1 m/s^2", "100 m/s^2"),
        le=10_000,
    )
    speed_limit: float = quantity(
        "speed",
        "of the film at the fast roller",
        "2.5 m/s",
        span=("1.5 m/s", "4 m/s"),
        placeholder="estimate; read it off the drive's settings",
        gt=0,
        usual=("0.2 m/s", "10 m/s"),
        le=100,
    )


class Dancer(Section):
    """The dancer: a spring-loaded arm that stores film and sets its tension.

    Angles count from where the film stands square to the arm; a growing angle stores film. The
    anchor's x runs along the arm there, its y the way the spring pulls.
    """

    arm_length: float = quantity(
        "small_length",
        "pivot to dancer roller",
        "250 mm",
        span=("150 mm", "400 mm"),
        placeholder="measure it",
        gt=0,
        le=2,
        usual=("50 mm", "700 mm"),
    )
    inertia: float = quantity(
        "inertia",
        "of arm and roller about the pivot",
        "0.05 kg*m^2",
        span=("0.02 kg*m^2", "0.2 kg*m^2"),
        placeholder="estimate; a fit of the inertia to a recorded swing finds it",
        gt=0,
        usual=("0.0005 kg*m^2", "2 kg*m^2"),
        le=1000,
    )
    damping: float = quantity(
        "damping",
        "torque per speed at the pivot",
        "0.4 N*m*s",
        span=("0.1 N*m*s", "1.5 N*m*s"),
        placeholder="estimate; a fit of the damping to a recorded swing finds it",
        ge=0,
        usual=("0 N*m*s", "20 N*m*s"),
        le=10_000,
    )
    friction_torque: float = quantity(
        "torque",
        "dry friction at the pivot",
        "0.2 N*m",
        span=("0.05 N*m", "1 N*m"),
        placeholder="estimate; hang weights on the arm until it moves",
        ge=0,
        usual=("0 N*m", "10 N*m"),
        le=10_000,
    )
    lower_stop: float = quantity(
        "angle",
        "smallest angle, least film stored",
        "-30 deg",
        span=("-45 deg", "-20 deg"),
        placeholder="measure it",
        gt=-1.5708,
        lt=1.5708,
        usual=("-85 deg", "30 deg"),
    )
    upper_stop: float = quantity(
        "angle",
        "largest angle, most film stored",
        "30 deg",
        span=("20 deg", "45 deg"),
        placeholder="measure it",
        gt=-1.5708,
        lt=1.5708,
        usual=("-30 deg", "85 deg"),
    )
    stop_stiffness: float = quantity(
        "torsion_stiffness",
        "of the stops",
        "2000 N*m/rad",
        span=("500 N*m/rad", "10000 N*m/rad"),
        placeholder="estimate for rubber bumpers",
        gt=0,
        usual=("20 N*m/rad", "200000 N*m/rad"),
        le=1e9,
    )
    stop_damping: float = quantity(
        "damping",
        "of the stops",
        "5 N*m*s",
        span=("1 N*m*s", "20 N*m*s"),
        placeholder="estimate for rubber bumpers",
        ge=0,
        usual=("0 N*m*s", "500 N*m*s"),
        le=1e6,
    )
    film_lines: float = plain(
        "lines of film that the dancer roller carries", 2, gt=0, le=20, usual=(1, 8)
    )
    fixed_length: float = quantity(
        "length",
        "film from fast roller to exit point with the arm at 0 deg",
        "1 m",
        span=("0.3 m", "2 m"),
        placeholder="measure it along the film",
        ge=0,
        le=20,
        usual=("0.05 m", "6 m"),
    )
    anchor: tuple[float, float] = quantity(
        "small_length",
        "where the spring is fixed, from the pivot: along the arm, the way the spring pulls",
        ("100 mm", "350 mm"),
        example='["100 mm", "350 mm"]',
        placeholder="measure it; 0 to 200 mm and 200 to 500 mm",
        usual=("-700 mm", "1 m"),
        each=(-5, 5),
    )
    holes: tuple[float, ...] = quantity(
        "small_length",
        "on the arm, from the pivot",
        ("80 mm", "110 mm", "140 mm", "170 mm"),
        example='["80 mm", "110 mm", "140 mm", "170 mm"]',
        placeholder="measure them; 50 to 250 mm",
        min_length=1,
        max_length=50,
        usual=("10 mm", "600 mm"),
        each=(0, 2),
    )
    hole: float | None = quantity(
        "small_length",
        "in use; the best for the force if left out",
        None,
        gt=0,
        usual=("10 mm", "600 mm"),
        le=2,
    )
    spring: int | None = plain(
        "in use, 1 the first; the best for the force if left out", None, ge=1
    )
    springs: tuple[DancerSpring, ...] = plain("springs to choose from", (), max_length=50)
    drive: DancerDrive = Field(default_factory=DancerDrive)

    @model_validator(mode="after")
    def _known_choice(self) -> Self:
        if self.spring is not None and self.spring > len(self.springs):
            raise ValueError(
                say(
                    "spring from 1 to {count}, the number of springs given", count=len(self.springs)
                )
            )
        if any(not hole > 0 for hole in self.holes):
            raise ValueError(say("holes farther from the pivot than zero"))
        if len(set(self.holes)) < len(self.holes):
            raise ValueError(say("each of the holes once"))
        if self.lower_stop >= self.upper_stop:
            raise ValueError(say("lower_stop below upper_stop"))
        return self

    def doubts(self) -> Iterator[Question]:
        beyond = [hole for hole in (self.hole, *self.holes) if hole and hole > self.arm_length]
        if beyond:
            yield Question(
                "hole" if self.hole is not None and self.hole > self.arm_length else "holes",
                show(max(beyond), "small_length"),
                say(
                    "at most the arm's length, {arm} ({source})",
                    arm=show(self.arm_length, "small_length"),
                    source=say(COMMON_PRACTICE),
                ),
                say("Is the hole on this arm, and are both in the right unit?"),
            )
