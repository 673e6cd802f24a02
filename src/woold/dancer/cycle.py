"""The dancer of a case in motion, over one cycle of the program and at its steady speed."""

from __future__ import annotations

import numpy as np

from woold.case.model import Case
from woold.dancer.case_dancer import RESTS_ON, CaseDancer, case_dancer
from woold.dancer.results import (
    CycleStudy,
    DancerMode,
    MotionSample,
    OrderAnswer,
    SteadyState,
)
from woold.errors import PhysicsError
from woold.physics import dancer_modes, dancer_tuning
from woold.physics.dancer_motion import Motion, simulate
from woold.physics.dancer_setup import DancerSetup
from woold.physics.dancer_springs import spring_choices
from woold.physics.orders import corner_orders
from woold.physics.turning import Turning
from woold.prediction.clock import cycle_clock
from woold.prediction.predict import film_on_load, program_legs, rests_on
from woold.units import UnitSystem, show
from woold.words import say

__all__ = ["cycle_turning", "simulate_cycle", "steady_state"]

_MOST_SAMPLES = 2000
# A ramp of no length would need an endless acceleration.
_SHORTEST_RAMP = 1e-3


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
    (at_rest,) = spring_choices(
        setup.arm,
        (setup.spring,),
        (setup.hole_radius,),
        case.program.force_to_load,
        case.film.thickness,
    )
    study = CycleStudy(
        title=case.title,
        spring=dancer.spring,
        spring_rate_n_per_m=setup.spring.rate,
        spring_free_length_m=setup.spring.free_length,
        hole_m=setup.hole_radius,
        lower_stop_rad=setup.arm.lower_stop,
        upper_stop_rad=setup.arm.upper_stop,
        chosen=dancer.chosen,
        fits=at_rest.fits,
        reason=at_rest.reason,
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
        samples=_samples(motion),
        reference_angle_rad=apart[0],
        reference_tension_n=apart[1],
        findings=tuple(findings),
        rests_on=rests_on(case, RESTS_ON),
    )
    return study, motion, dancer


def _samples(motion: Motion) -> tuple[MotionSample, ...]:
    """The motion, thinned."""
    thin = max(len(motion.time) // _MOST_SAMPLES, 1)
    columns = (
        motion.time,
        motion.theta,
        motion.arm_angle,
        motion.tension,
        motion.film_speed,
        motion.demand,
    )
    rows = zip(*(each[::thin].tolist() for each in columns), strict=True)
    return tuple(MotionSample(*row) for row in rows)


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
        text = say("No steady state between the stops: {reason}", reason=reason)
        return None, None, (), (), [text]
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
        say(
            "Order {order} comes at {frequency:.2f} Hz, close to the bounce: it is amplified"
            " {amplification:.1f} times. Turn faster or slower, or add damping.",
            order=each.order,
            frequency=each.frequency_hz,
            amplification=each.amplification,
        )
        for each in answers
        if each.resonant
    ]
    modes = tuple(
        DancerMode(mode.frequency, mode.damping, mode.oscillates)
        for mode in dancer_modes.modes(setup, point)
    )
    if any(mode.damping <= 0 for mode in modes):
        found.append(say("The drive makes the dancer swing by itself: lower its gain."))
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
            say(
                "Tension peaks at {peak}, more than the {force} that stretches the film in the"
                " carriage: it would stretch further or tear, which this model does not follow.",
                peak=show(peak, "force", units),
                force=show(dancer.film_force, "force", units),
            )
        )
    hits = motion.lower_hits + motion.upper_hits
    if hits == 1:
        found.append(say("The arm runs into a stop once in the cycle."))
    elif hits:
        found.append(say("The arm runs into its stops {hits} times in the cycle.", hits=hits))
    if motion.slack_time > 0:
        found.append(say("Film hangs slack for {time:.2f} s of the cycle.", time=motion.slack_time))
    found += [say("At the steady speed {fault}.", fault=fault) for fault in steady.faults]
    return found


def _reference(setup: DancerSetup, turning: Turning, motion: Motion) -> tuple[float, float]:
    from woold.physics.dancer_reference import reference_motion

    _, angle, tension = reference_motion(setup, turning, relative_tolerance=1e-9)
    return (
        float(np.abs(angle - motion.arm_angle).max()),
        float(np.abs(tension - motion.tension).max()),
    )
