"""The dancer of a case tuned: how fast it may turn, and which spring, hole and gain suit it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from woold.case.model import Case
from woold.dancer.case_dancer import RESTS_ON, case_dancer, dancer_of, springs_of
from woold.dancer.cycle import steady_state
from woold.dancer.results import TunedRow, TuneStudy
from woold.physics import dancer_tuning
from woold.physics.dancer import Spring
from woold.physics.dancer_tuning import Tuning, TuningAim, TuningGrid
from woold.prediction.predict import rests_on
from woold.words import say

__all__ = ["TuneAsk", "tune_case"]

_MOST_TUNED = 12


@dataclass(frozen=True, slots=True)
class TuneAsk:
    """What a tuning begins with and tries.

    Args:
        spring: number of the spring as set; the case's or the best if not given.
        hole: pivot to hole as set [m].
        slowest, fastest: turning speeds tried, a third and two and a half times the machine's if
            not given [rad/s].
        gains: lowest and highest gain [m/s per rad] and how many, evenly spaced in ratio; from a
            quarter to eight times the one as set if not given.
    """

    spring: int | None = None
    hole: float | None = None
    slowest: float | None = None
    fastest: float | None = None
    gains: tuple[float, float, int] | None = None


def tune_case(
    case: Case, ask: TuneAsk = TuneAsk(), progress: Callable[[], None] | None = None
) -> TuneStudy:
    """Highest smooth turning speed as set; then spring, hole and gain with the least ripple.

    Args:
        case: a checked case with a dancer.
        ask: what to begin with and to try.
        progress: called after each step.
    """
    dancer = case_dancer(case, ask.spring, ask.hole)
    setup, speed = dancer.setup, case.machine.speed
    low, high = ask.slowest or speed / 3, ask.fastest or 2.5 * speed
    as_set = dancer_tuning.highest_smooth_speed(setup, low, high, progress=progress)
    own = setup.drive.gain or 1.0
    gains = np.geomspace(*(ask.gains or (own / 4, own * 8, 16)))
    section = dancer_of(case)
    springs = springs_of(section)
    grid = TuningGrid(springs, section.holes, gains.tolist())
    tried = dancer_tuning.tune(setup, grid, TuningAim(speed, case.program.force_to_load), progress)
    best, tuned, notes = tried[0], None, []
    if best.fits:
        other = replace(
            setup,
            spring=best.spring,
            hole_radius=best.hole_radius,
            drive=replace(setup.drive, gain=best.gain),
        )
        tuned = dancer_tuning.highest_smooth_speed(other, low, high, progress=progress).highest
        if best.gain in (gains[0], gains[-1]):
            notes.append(
                say(
                    "The best gain stands at the end of those tried: widen them with --gains. A"
                    " high gain also carries the sensor's noise into the film."
                )
            )
    else:
        notes.append(
            say("Nothing tried is smooth and near the asked force; the nearest comes first.")
        )
    return TuneStudy(
        title=case.title,
        method=say(
            "full grid (springs: {springs}, holes: {holes}, gains: {gains}), each simulated until"
            " its start has died out; no optimiser",
            springs=len(springs),
            holes=len(section.holes),
            gains=len(gains),
        ),
        turning_speed_rad_per_s=speed,
        force_to_load_n=case.program.force_to_load,
        spring=dancer.spring,
        hole_m=setup.hole_radius,
        highest_smooth_speed_rad_per_s=as_set.highest,
        speeds=tuple(steady_state(swing) for swing in as_set.swings),
        tried=len(tried),
        best=_rows(tried[:_MOST_TUNED], springs),
        tuned_highest_smooth_speed_rad_per_s=tuned,
        notes=tuple(notes),
        rests_on=rests_on(case, RESTS_ON),
    )


def _rows(tried: Sequence[Tuning], springs: Sequence[Spring]) -> tuple[TunedRow, ...]:
    numbers = {id(each): number for number, each in enumerate(springs, start=1)}
    return tuple(
        TunedRow(
            spring=numbers[id(each.spring)],
            rate_n_per_m=each.spring.rate,
            hole_m=each.hole_radius,
            gain_m_per_s_rad=each.gain,
            fits=each.fits,
            tension_error=each.tension_error,
            steady=steady_state(each.swing),
        )
        for each in tried
    )
