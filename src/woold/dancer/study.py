"""The dancer of a case: its springs at rest, its cycle in motion, its tuning."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.dancer import Dancer
from woold.case.model import Case
from woold.dancer.results import (
    CycleStudy,
    DancerMode,
    MotionSample,
    OrderAnswer,
    SpringRow,
    SpringTable,
    SteadyState,
    TunedRow,
    TuneStudy,
)
from woold.errors import InputError, PhysicsError
from woold.physics import dancer_modes, dancer_tuning
from woold.physics.dancer import DancerArm, Spring, SpringChoice, spring_choices
from woold.physics.dancer_motion import (
    DancerSetup,
    Drive,
    FilmSpan,
    Motion,
    Turning,
    simulate,
)
from woold.physics.orders import corner_orders
from woold.prediction.clock import cycle_clock
from woold.prediction.predict import film_on_load, load_outline, program_legs, rests_on
from woold.units import UnitSystem, show
from woold.words import say

__all__ = [
    "RESTS_ON",
    "CaseDancer",
    "case_dancer",
    "cycle_turning",
    "simulate_cycle",
    "spring_table",
    "steady_state",
    "tune_case",
]

Floats = NDArray[np.float64]

_AT_REST = ("dancer.arm_length", "dancer.lower_stop", "dancer.upper_stop")
RESTS_ON = (
    "film.yield_stress",
    "film.hardening_modulus",
    "film.extensibility",
    "film.elastic_modulus",
    "film.reload_modulus",
    "dancer",
    "machine.ramp_up",
    "machine.ramp_down",
)
"""Names of the case's fields that the dancer's motion rests on, where they are placeholders."""

_MOST_SAMPLES = 2000
_MOST_TUNED = 12
# A ramp of no length would need an endless acceleration.
_SHORTEST_RAMP = 1e-3


@dataclass(frozen=True, eq=False)
class CaseDancer:
    """A case's dancer with one of its springs in one of its holes.

    Args:
        setup: the dancer and all that hangs on it.
        spring: number of the spring, 1 the first.
        chosen: how spring and hole were chosen.
        film_force: force that stretches the film in the carriage [N].
    """

    setup: DancerSetup
    spring: int
    chosen: str
    film_force: float


def spring_table(case: Case) -> SpringTable:
    """Every spring in every hole, ranked for the case's film and force."""
    dancer = _dancer(case)
    springs = _springs(dancer)
    numbers = {id(spring): number for number, spring in enumerate(springs, start=1)}
    choices = _choices(case, dancer, springs)
    return SpringTable(
        title=case.title,
        force_to_load_n=case.program.force_to_load,
        film_thickness_m=case.film.thickness,
        choices=tuple(_row(choice, numbers[id(choice.spring)]) for choice in choices),
        rests_on=rests_on(case, _AT_REST),
    )


def _row(choice: SpringChoice, number: int) -> SpringRow:
    return SpringRow(
        rank=choice.rank,
        spring=number,
        rate_n_per_m=choice.spring.rate,
        free_length_m=choice.spring.free_length,
        preload_n=choice.spring.preload,
        hole_m=choice.hole_radius,
        tension_lower_n=choice.tension_lower,
        tension_middle_n=choice.tension_middle,
        tension_upper_n=choice.tension_upper,
        balance_angle_rad=choice.balance_angle,
        travel_share=choice.travel_share,
        arm_stiffness_n_m_per_rad=choice.arm_stiffness,
        tension_per_film_n_per_m=choice.tension_per_film,
        serves_thinnest_m=choice.serves[0],
        serves_thickest_m=choice.serves[1],
        fits=choice.fits,
        reason=choice.reason,
    )


def _dancer(case: Case) -> Dancer:
    if case.dancer is None or not case.dancer.springs:
        raise InputError.one(
            "dancer.springs",
            say("none"),
            say("one spring or more"),
            say("Add a [dancer] table with [[dancer.springs]]; woold case new shows one."),
        )
    return case.dancer


def _springs(dancer: Dancer) -> tuple[Spring, ...]:
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


def _choices(case: Case, dancer: Dancer, springs: Sequence[Spring]) -> tuple[SpringChoice, ...]:
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
    stiffness = case.film.reload_modulus * section
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
    dancer = _dancer(case)
    springs = _springs(dancer)
    asked_spring, asked_hole = spring or dancer.spring, hole or dancer.hole
    if asked_spring is not None and not 1 <= asked_spring <= len(springs):
        raise InputError.one("--spring", asked_spring, say("1 to {springs}", springs=len(springs)))
    if asked_spring is None or asked_hole is None:
        best = next(
            choice
            for choice in _choices(case, dancer, springs)
            if asked_spring is None or choice.spring is springs[asked_spring - 1]
            if asked_hole is None
            or choice.hole_radius == asked_hole
            or asked_hole not in dancer.holes
        )
        chosen = "ranked first for the force"
        asked_spring = asked_spring or 1 + next(
            number for number, each in enumerate(springs) if each is best.spring
        )
        asked_hole = asked_hole or best.hole_radius
    else:
        chosen = "as asked" if spring or hole else "in use, as the case says"
    film, force = _film_span(case, dancer)
    drive = dancer.drive
    setup = DancerSetup(
        arm=_arm(dancer),
        spring=springs[asked_spring - 1],
        hole_radius=asked_hole,
        span=film,
        drive=Drive(
            set_angle=drive.set_angle,
            gain=drive.gain,
            integral_gain=drive.integral_gain,
            feed_forward=drive.feed_forward,
            lag=drive.lag,
            acceleration_limit=drive.acceleration_limit,
            speed_limit=drive.speed_limit,
        ),
        outline=load_outline(case),
        exit_distance=case.machine.exit_distance,
    )
    return CaseDancer(setup, asked_spring, chosen, force)


def cycle_turning(case: Case, turning_speed: float | None = None) -> Turning:
    """Speed of turning over the case's program, with ramps and pauses.

    Args:
        case: a checked case.
        turning_speed: instead of the machine's [rad/s].
    """
    legs = program_legs(case, film_on_load(case).width)
    clock = cycle_clock(case, legs, turning_speed, _SHORTEST_RAMP)
    return Turning(clock.times, clock.speeds)


def simulate_cycle(
    case: Case,
    spring: int | None = None,
    hole: float | None = None,
    turning_speed: float | None = None,
    check: bool = False,
    units: UnitSystem = "both",
) -> tuple[CycleStudy, Motion, CaseDancer]:
    """The dancer over the whole cycle of the case's program.

    Args:
        case: a checked case with a dancer.
        spring: number of the spring.
        hole: pivot to hole [m].
        turning_speed: instead of the machine's [rad/s].
        check: integrate once more by another integrator, and say how far apart they are.
        units: of the sentences.

    Returns:
        The study, the motion it rests on, and the dancer.
    """
    dancer = case_dancer(case, spring, hole)
    setup = dancer.setup
    speed = turning_speed or case.machine.speed
    turning = cycle_turning(case, speed)
    motion = simulate(setup, turning)
    swing = dancer_tuning.steady_swing(setup, speed)
    steady = steady_state(swing)
    at_speed = turning.speed(motion.time) > 0.99 * speed
    tension = motion.tension[at_speed] if at_speed.any() else motion.tension
    undriven, bounce, modes, orders, findings = _linear(setup, speed)
    findings += _cycle_findings(motion, steady, dancer, units)
    apart = _reference(setup, turning, motion) if check else (None, None)
    thin = max(len(motion.time) // _MOST_SAMPLES, 1)
    study = CycleStudy(
        title=case.title,
        spring=dancer.spring,
        hole_m=setup.hole_radius,
        chosen=dancer.chosen,
        turning_speed_rad_per_s=speed,
        turns=float(turning.turned[-1] / (2 * np.pi)),
        duration_s=float(turning.times[-1]),
        tension_mean_n=float(tension.mean()),
        tension_peak_n=float(motion.tension.max()),
        arm_angle_low_rad=float(motion.arm_angle.min()),
        arm_angle_high_rad=float(motion.arm_angle.max()),
        lower_hits=motion.lower_hits,
        upper_hits=motion.upper_hits,
        slack_time_s=motion.slack_time,
        breaking_hint_n=dancer.film_force,
        film_laid_m=motion.film_laid,
        work_by_load_j=motion.work_by_load,
        film_residual=motion.film_residual,
        energy_residual=motion.energy_residual,
        undriven_frequency_hz=undriven,
        bounce_frequency_hz=bounce.frequency_hz if bounce else None,
        bounce_damping=bounce.damping if bounce else None,
        modes=modes,
        orders=orders,
        steady=steady,
        samples=tuple(
            MotionSample(*(float(value) for value in row))
            for row in zip(
                motion.time[::thin],
                motion.theta[::thin],
                motion.arm_angle[::thin],
                motion.tension[::thin],
                motion.film_speed[::thin],
                motion.demand[::thin],
                strict=True,
            )
        ),
        reference_angle_rad=apart[0],
        reference_tension_n=apart[1],
        findings=tuple(findings),
        rests_on=rests_on(case, RESTS_ON),
    )
    return study, motion, dancer


def steady_state(swing: dancer_tuning.SteadySwing) -> SteadyState:
    """A steady swing in the words of the documents."""
    mean = swing.tension_mean
    return SteadyState(
        turning_speed_rad_per_s=swing.turning_speed,
        tension_mean_n=mean,
        tension_peak_n=swing.tension_peak,
        tension_low_n=swing.tension_low,
        tension_ripple=swing.ripple if np.isfinite(swing.ripple) else 0.0,
        peak_over_mean=swing.tension_peak / mean if mean > 0 else 1.0,
        arm_angle_low_rad=swing.angle_low,
        arm_angle_high_rad=swing.angle_high,
        travel_used=swing.travel_used,
        corner_share=swing.corner_share,
        stop_hits=swing.stop_hits,
        slack_time_s=swing.slack_time,
        is_smooth=swing.is_smooth,
        faults=swing.faults,
    )


def _linear(
    setup: DancerSetup, speed: float
) -> tuple[
    float | None, DancerMode | None, tuple[DancerMode, ...], tuple[OrderAnswer, ...], list[str]
]:
    """Modes and orders about the operating point; none where the drive cannot hold one."""
    try:
        point = dancer_modes.operating_point(setup, speed)
    except PhysicsError as error:
        reason = error.problems[0]
        return None, None, (), (), [f"No steady state between the stops: {reason}"]
    orders = corner_orders(setup.outline, setup.exit_distance)
    answers = tuple(
        OrderAnswer(
            order=each.order,
            frequency_hz=each.frequency,
            film_demand_m_per_s=each.demand_amplitude,
            swing_rad=each.swing_amplitude,
            tension_n=each.tension_amplitude,
            frequency_ratio=each.frequency_ratio,
            amplification=each.amplification,
            resonant=each.resonant,
        )
        for each in dancer_modes.order_responses(setup, point, orders)
    )
    found = [
        f"Order {each.order} comes at {each.frequency_hz:.2f} Hz, close to the bounce: it is "
        f"amplified {each.amplification:.1f} times. Turn faster or slower, or add damping."
        for each in answers
        if each.resonant
    ]
    modes = tuple(
        DancerMode(mode.frequency, mode.damping, mode.oscillates)
        for mode in dancer_modes.modes(setup, point)
    )
    if any(mode.damping <= 0 for mode in modes):
        found.append("The drive makes the dancer swing by itself: lower its gain.")
    bounce = dancer_modes.bounce_mode(setup, point)
    return (
        dancer_modes.undriven_frequency(setup, point),
        DancerMode(bounce.frequency, bounce.damping, True) if bounce is not None else None,
        modes,
        answers,
        found,
    )


def _cycle_findings(
    motion: Motion, steady: SteadyState, dancer: CaseDancer, units: UnitSystem
) -> list[str]:
    found = []
    peak = float(motion.tension.max())
    if peak > dancer.film_force:
        found.append(
            f"Tension peaks at {show(peak, 'force', units)}, more than the "
            f"{show(dancer.film_force, 'force', units)} that stretches the film in the carriage: "
            "it would stretch further or tear, which this model does not follow."
        )
    hits = motion.lower_hits + motion.upper_hits
    if hits:
        found.append(f"The arm runs into its stops {hits} times in the cycle.")
    if motion.slack_time > 0:
        found.append(f"Film hangs slack for {motion.slack_time:.2f} s of the cycle.")
    found += [f"At the steady speed {fault}." for fault in steady.faults]
    return found


def _reference(setup: DancerSetup, turning: Turning, motion: Motion) -> tuple[float, float]:
    from woold.physics.dancer_reference import reference_motion

    _, angle, tension = reference_motion(setup, turning, relative_tolerance=1e-9)
    return (
        float(np.abs(angle - motion.arm_angle).max()),
        float(np.abs(tension - motion.tension).max()),
    )


def tune_case(
    case: Case,
    spring: int | None = None,
    hole: float | None = None,
    slowest: float | None = None,
    fastest: float | None = None,
    gains: tuple[float, float, int] | None = None,
    progress: Callable[[], None] | None = None,
) -> TuneStudy:
    """Highest smooth turning speed as set; then spring, hole and gain with the least ripple.

    Args:
        case: a checked case with a dancer.
        spring: number of the spring.
        hole: pivot to hole [m].
        slowest, fastest: turning speeds tried, a third and two and a half times the machine's if
            not given [rad/s].
        gains: lowest and highest gain [m/s per rad] and how many, evenly spaced in ratio.
        progress: called after each step.
    """
    dancer = case_dancer(case, spring, hole)
    speed = case.machine.speed
    low, high = slowest or speed / 3, fastest or 2.5 * speed
    as_set = dancer_tuning.highest_smooth_speed(dancer.setup, low, high, progress=progress)
    own = dancer.setup.drive.gain or 1.0
    first, last, count = gains or (own / 4, own * 8, 16)
    grid = np.geomspace(first, last, count)
    section = _dancer(case)
    springs = _springs(section)
    tried = dancer_tuning.tune(
        dancer.setup,
        springs,
        section.holes,
        speed,
        case.program.force_to_load,
        grid.tolist(),
        progress=progress,
    )
    best = tried[0]
    notes = []
    tuned: float | None = None
    if best.fits:
        setup = replace(
            dancer.setup,
            spring=best.spring,
            hole_radius=best.hole_radius,
            drive=replace(dancer.setup.drive, gain=best.gain),
        )
        tuned = dancer_tuning.highest_smooth_speed(setup, low, high, progress=progress).highest
        if best.gain in (grid[0], grid[-1]):
            notes.append(
                "The best gain stands at the end of those tried: widen them with --gains. A high "
                "gain also carries the sensor's noise into the film."
            )
    else:
        notes.append("Nothing tried is smooth and near the asked force; the nearest comes first.")
    numbers = {id(each): number for number, each in enumerate(springs, start=1)}
    return TuneStudy(
        title=case.title,
        method=f"full grid: {len(springs)} springs, {len(section.holes)} holes, {count} gains, "
        "each simulated until its start has died out; no optimiser",
        turning_speed_rad_per_s=speed,
        force_to_load_n=case.program.force_to_load,
        spring=dancer.spring,
        hole_m=dancer.setup.hole_radius,
        highest_smooth_speed_rad_per_s=as_set.highest,
        speeds=tuple(steady_state(swing) for swing in as_set.swings),
        tried=len(tried),
        best=tuple(
            TunedRow(
                spring=numbers[id(each.spring)],
                rate_n_per_m=each.spring.rate,
                hole_m=each.hole_radius,
                gain_m_per_s_rad=each.gain,
                fits=each.fits,
                tension_error=each.tension_error,
                steady=steady_state(each.swing),
            )
            for each in tried[:_MOST_TUNED]
        ),
        tuned_highest_smooth_speed_rad_per_s=tuned,
        notes=tuple(notes),
        rests_on=rests_on(case, RESTS_ON),
    )
