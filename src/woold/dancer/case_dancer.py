"""The dancer of a case, as the physics takes it: arm, spring in its hole, film, drive, load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from woold.case.dancer import Dancer
from woold.case.model import Case
from woold.errors import InputError
from woold.physics.dancer import DancerArm, Spring
from woold.physics.dancer_setup import DancerSetup, Drive, FilmSpan
from woold.physics.dancer_springs import SpringChoice, spring_choices
from woold.prediction.film_roll import modulus_as_laid
from woold.prediction.predict import film_on_load, load_outline
from woold.words import say, to_say

__all__ = ["RESTS_ON", "CaseDancer", "case_dancer", "choices_of", "dancer_of", "springs_of"]

RESTS_ON = (
    "film.yield_stress",
    "film.hardening_modulus",
    "film.extensibility",
    "film.elastic_modulus",
    "film.reload_modulus",
    "film.temperature",
    "film.softening",
    "dancer",
    "machine.ramp_up",
    "machine.ramp_down",
)
"""Names of the case's fields that the dancer's motion rests on, where they are placeholders."""


AS_ASKED = to_say("as asked")
IN_USE = to_say("in use, as the case says")
RANKED_FIRST = to_say("ranked first for the force")


@dataclass(frozen=True, eq=False)
class CaseDancer:
    """A case's dancer with one of its springs in one of its holes.

    Args:
        setup: the dancer and all that hangs on it.
        spring: number of the spring, 1 the first.
        chosen: how spring and hole were chosen, to be said.
        film_force: force that stretches the film in the carriage [N].
    """

    setup: DancerSetup
    spring: int
    chosen: str
    film_force: float


def dancer_of(case: Case) -> Dancer:
    """The case's [dancer] table.

    Raises:
        InputError: there is none, or it has no springs.
    """
    if case.dancer is None or not case.dancer.springs:
        raise InputError.one(
            "dancer.springs",
            say("none"),
            say("one spring or more"),
            say("List the springs that there are: dancer.springs."),
        )
    return case.dancer


def springs_of(dancer: Dancer) -> tuple[Spring, ...]:
    """Its springs, in the case's order."""
    return tuple(
        Spring(each.rate, each.free_length, each.preload, each.longest_length or np.inf)
        for each in dancer.springs
    )


def _arm(dancer: Dancer) -> DancerArm:
    return DancerArm(
        arm_length=dancer.arm_length,
        inertia=dancer.inertia,
        damping=dancer.damping,
        friction_torque=dancer.friction_torque,
        lower_stop=dancer.lower_stop,
        upper_stop=dancer.upper_stop,
        film_lines=dancer.film_lines,
        anchor=dancer.anchor,
        stop_stiffness=dancer.stop_stiffness,
        stop_damping=dancer.stop_damping,
    )


def choices_of(case: Case, dancer: Dancer, springs: Sequence[Spring]) -> tuple[SpringChoice, ...]:
    """Every spring in every hole, ranked for the case's film and force."""
    return spring_choices(
        _arm(dancer), springs, dancer.holes, case.program.force_to_load, case.film.thickness
    )


def _film_span(case: Case, dancer: Dancer) -> tuple[FilmSpan, float]:
    """The film behind the fast roller, and the force that stretched it.

    Its strain at the fast roller is such that film under the force to load has the stretch on the
    load that the case predicts.
    """
    sheet = film_on_load(case)
    section = case.film.roll_width * case.film.thickness / sheet.delivered
    stiffness = float(modulus_as_laid(case.film)) * section
    strain = case.program.force_to_load / stiffness
    roller_strain = max((1 + strain) * sheet.delivered / sheet.stretch - 1, 0.0)
    return FilmSpan(stiffness, roller_strain, dancer.fixed_length), sheet.drawing_force


def case_dancer(case: Case, spring: int | None = None, hole: float | None = None) -> CaseDancer:
    """The case's dancer, with the spring and hole asked for, in use, or best for the force.

    Args:
        case: a checked case with a dancer.
        spring: number of the spring, 1 the first.
        hole: pivot to hole [m].

    Raises:
        InputError: no springs in the case, or no spring of that number.
        PhysicsError: values that cannot happen together.
    """
    dancer = dancer_of(case)
    springs = springs_of(dancer)
    number, hole_radius, chosen = _spring_and_hole(case, springs, spring, hole)
    film, force = _film_span(case, dancer)
    setup = DancerSetup(
        arm=_arm(dancer),
        spring=springs[number - 1],
        hole_radius=hole_radius,
        span=film,
        drive=_drive(dancer),
        outline=load_outline(case),
        exit_distance=case.machine.exit_distance,
    )
    return CaseDancer(setup, number, chosen, force)


def _spring_and_hole(
    case: Case, springs: Sequence[Spring], spring: int | None, hole: float | None
) -> tuple[int, float, str]:
    """Number of the spring, its hole, and how they were chosen."""
    dancer = dancer_of(case)
    asked_spring = dancer.spring if spring is None else spring
    asked_hole = dancer.hole if hole is None else hole
    if asked_spring is not None and not 1 <= asked_spring <= len(springs):
        raise InputError.one(
            "--spring",
            asked_spring,
            say("1 to {springs}", springs=len(springs)),
            say("Choose one of [[dancer.springs]], counted from 1."),
        )
    if asked_spring is not None and asked_hole is not None:
        asked = spring is not None or hole is not None
        return asked_spring, asked_hole, AS_ASKED if asked else IN_USE
    best = next(
        choice
        for choice in choices_of(case, dancer, springs)
        if asked_spring is None or choice.spring is springs[asked_spring - 1]
        if asked_hole is None or choice.hole_radius == asked_hole or asked_hole not in dancer.holes
    )
    first = next(number for number, each in enumerate(springs, start=1) if each is best.spring)
    return asked_spring or first, asked_hole or best.hole_radius, RANKED_FIRST


def _drive(dancer: Dancer) -> Drive:
    drive = dancer.drive
    return Drive(
        set_angle=drive.set_angle,
        gain=drive.gain,
        integral_gain=drive.integral_gain,
        feed_forward=drive.feed_forward,
        lag=drive.lag,
        acceleration_limit=drive.acceleration_limit,
        speed_limit=drive.speed_limit,
    )
