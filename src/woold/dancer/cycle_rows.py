"""A simulated cycle of the dancer in words, for the screen and the operator's sheet alike."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.dancer.placeholder_rows import note_list, placeholder_table
from woold.dancer.results import CycleStudy, SteadyState
from woold.rows.blocks import Block, Cautions, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording

__all__ = ["cycle_blocks", "set_up_rows"]

_EVEN = 1e-6
"""Film given and taken, and energy, that differ by less are one: nobody weighs a millionth."""


def cycle_blocks(study: CycleStudy, say: Wording, brief: Wording) -> Iterator[Block]:
    """One simulated cycle.

    Args:
        study: the cycle.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    yield Heading(study.title or say("A case without a title"))
    yield Paragraph(_answer(study, say), is_strong=True)
    yield from note_list(say("Findings"), study.findings, say)
    yield Facts(say("The dancer"), tuple(_dancer_rows(study, say)))
    yield Facts(say("Over the cycle"), tuple(_cycle_rows(study, say)))
    yield Facts(say("At the steady speed"), tuple(_steady_rows(study, say)))
    if study.orders:
        yield _orders_table(study, say, brief)
    yield from placeholder_table(study.rests_on, say, brief)
    yield Cautions(say("Take care"), tuple(say(each) for each in study.cautions))


def _answer(study: CycleStudy, say: Wording) -> str:
    steady = study.steady
    if not study.fits:
        if steady.is_smooth:
            return say(
                "This spring does not fit this hole: {reason}. Do not use it, though its swing"
                " at this speed is even.",
                reason=study.reason,
            )
        return say(
            "This spring does not fit this hole: {reason}. At this speed: {faults}.",
            reason=study.reason,
            faults=faults_text(steady, say),
        )
    if steady.is_smooth:
        return say("Smooth at this speed.")
    return say("Not smooth at this speed: {faults}.", faults=faults_text(steady, say))


def set_up_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    """What the operator needs of it: spring, hole, swing, tension, bounce."""
    yield from _spring_rows(study, say)
    yield _swing_row(study, say)
    yield _tension_row(study.steady, say)
    yield from _bounce_rows(study, say)


def _spring_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    yield Row(
        say("spring"),
        say(
            "no. {number}: {rate}, {length} long when free ({chosen})",
            number=study.spring,
            rate=say.amount(study.spring_rate_n_per_m, "stiffness"),
            length=say.amount(study.spring_free_length_m, "small_length"),
            chosen=say(study.chosen),
        ),
    )
    yield Row(say("hole, from the pivot"), say.amount(study.hole_m, "small_length"))


def _swing_row(study: CycleStudy, say: Wording) -> Row:
    steady = study.steady
    return Row(
        say("arm swings"),
        say(
            "{range}, {share} of the way from mid travel to a stop; stops at {stops}",
            range=say.span(steady.arm_angle_low_rad, steady.arm_angle_high_rad, "angle"),
            share=say.percent(steady.travel_used, 0),
            stops=say.span(study.lower_stop_rad, study.upper_stop_rad, "angle"),
        ),
    )


def _tension_row(steady: SteadyState, say: Wording) -> Row:
    return Row(
        say("film tension"),
        say(
            "{range}, mean {mean}, peak {times} times the mean",
            range=say.span(steady.tension_low_n, steady.tension_peak_n, "force"),
            mean=say.amount(steady.tension_mean_n, "force"),
            times=say.fixed(steady.peak_over_mean, 2),
        ),
    )


def _bounce_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    if study.bounce_frequency_hz is not None and study.bounce_damping is not None:
        yield Row(
            say("it would bounce at"),
            _mode_text(study.bounce_frequency_hz, study.bounce_damping, say),
        )


def _mode_text(frequency: float, damping: float, say: Wording) -> str:
    return say(
        "{frequency}, damping ratio {damping}",
        frequency=say.amount(frequency, "frequency"),
        damping=say.fixed(damping, 3),
    )


def _dancer_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    yield from _spring_rows(study, say)
    yield Row(say("turning speed"), say.amount(study.turning_speed_rad_per_s, "turning_speed"))
    yield from _bounce_rows(study, say)
    if study.undriven_frequency_hz is not None:
        still = say.amount(study.undriven_frequency_hz, "frequency")
        yield Row(say("with drive and load at rest"), still)
    for mode in study.modes:
        if mode.oscillates and mode.frequency_hz != study.bounce_frequency_hz:
            text = _mode_text(mode.frequency_hz, mode.damping, say)
            yield Row(say("the drive's own swing"), text)


def _cycle_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    yield Row(
        say("turns, time"),
        say(
            "{turns} turns, {time}",
            turns=say.fixed(study.turns, 1),
            time=say.amount(study.duration_s, "time"),
        ),
    )
    yield Row(say("tension at full speed, mean"), say.amount(study.tension_mean_n, "force"))
    yield Row(say("tension, most"), say.amount(study.tension_peak_n, "force"))
    yield Row(say("arm"), say.span(study.arm_angle_low_rad, study.arm_angle_high_rad, "angle"))
    yield Row(say("stop hits"), hits_text(study.lower_hits, study.upper_hits, say))
    yield Row(say("slack film"), say.amount(study.slack_time_s, "time"))
    film, energy = abs(study.film_residual), abs(study.energy_residual)
    yield Row(
        say("film and energy that the calculation keeps"),
        say("all")
        if max(film, energy) < _EVEN
        else say(
            "all but {film} and {energy}", film=say.percent(film, 3), energy=say.percent(energy, 3)
        ),
    )
    if study.reference_angle_rad is not None and study.reference_tension_n is not None:
        yield Row(
            say("other integrator, largest difference"),
            say.sentence(f"{study.reference_angle_rad:.1e} rad, {study.reference_tension_n:.1e} N"),
        )


def hits_text(lower: int, upper: int, say: Wording) -> str:
    """How often each stop was hit."""
    return say("lower {lower}, upper {upper}", lower=lower, upper=upper)


def _steady_rows(study: CycleStudy, say: Wording) -> Iterator[Row]:
    steady = study.steady
    yield _tension_row(steady, say)
    yield Row(
        say("tension ripple"), say("{share} of the mean", share=say.percent(steady.tension_ripple))
    )
    yield _swing_row(study, say)
    yield Row(
        say("swing that comes with the corners"),
        say("{share} of its energy", share=say.percent(steady.corner_share)),
    )
    yield Row(say("smooth"), smooth_text(steady, say))


def smooth_text(steady: SteadyState, say: Wording) -> str:
    """Yes, or no and why."""
    if steady.is_smooth:
        return say("yes")
    return say("no: {faults}", faults=faults_text(steady, say))


def faults_text(steady: SteadyState, say: Wording) -> str:
    """Why a swing is not smooth."""
    return "; ".join(say.sentence(each) for each in steady.faults)


def _orders_table(study: CycleStudy, say: Wording, brief: Wording) -> Table:
    return Table(
        say("What comes how often in a turn (small motions)"),
        (
            say("times a turn"),
            say("frequency"),
            say("swing"),
            say("tension"),
            say("of bounce"),
            say("amplified"),
        ),
        tuple(
            (
                say("{order} resonant", order=each.order) if each.resonant else f"{each.order}",
                brief.amount(each.frequency_hz, "frequency"),
                f"{say.fixed(math.degrees(each.swing_rad), 2)}°",
                f"{say.fixed(each.tension_n, 2)} N",
                say.fixed(each.frequency_ratio, 2),
                say.fixed(each.amplification, 2),
            )
            for each in study.orders
        ),
    )
