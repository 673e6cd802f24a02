"""The dancer on the operator's sheet: spring and hole, and what a good one looks like."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.case.model import Case
from woold.dancer.results import CycleStudy
from woold.dancer.study import simulate_cycle
from woold.prediction.predict import load_outline
from woold.prediction.result import Prediction
from woold.report.model import Block, Bullets, Facts, Heading
from woold.report.voice import Voice

__all__ = ["cycle_of", "dancer_blocks"]


def cycle_of(case: Case, say: Voice) -> CycleStudy | None:
    """The dancer over the case's cycle; None where the case describes none with a spring."""
    if case.dancer is None or not case.dancer.springs:
        return None
    return simulate_cycle(case, units=say.units)[0]


def dancer_blocks(case: Case, p: Prediction, study: CycleStudy | None, say: Voice) -> list[Block]:
    """Spring and hole where they are known, and what to look for.

    Args:
        case: the case.
        p: its prediction.
        study: its dancer over the cycle; None where the case describes none.
        say: words and numbers.
    """
    looks = Bullets(tuple(_looks(case, p, say)))
    if study is None:
        return [Heading(say("dancer.heading")), looks]
    rows = tuple(_rows(case, study, say))
    return [Heading(say("dancer.heading_with_spring")), Facts(say("dancer.caption"), rows), looks]


def _rows(case: Case, study: CycleStudy, say: Voice) -> Iterator[tuple[str, str]]:
    assert case.dancer is not None
    spring, steady = case.dancer.springs[study.spring - 1], study.steady
    yield (
        say("dancer.spring"),
        say(
            "dancer.spring_is",
            number=study.spring,
            rate=say.amount(spring.rate, "stiffness"),
            length=say.amount(spring.free_length, "small_length"),
            chosen=study.chosen,
        ),
    )
    yield say("dancer.hole"), say.amount(study.hole_m, "small_length")
    stops = (case.dancer.lower_stop, case.dancer.upper_stop)
    yield (
        say("dancer.swing"),
        say(
            "dancer.swing_is",
            range=say.span(steady.arm_angle_low_rad, steady.arm_angle_high_rad, "angle"),
            stops=say.span(*stops, "angle"),
        ),
    )
    yield (
        say("dancer.tension"),
        say(
            "dancer.tension_is",
            mean=say.amount(steady.tension_mean_n, "force"),
            range=say.span(steady.tension_low_n, steady.tension_peak_n, "force"),
        ),
    )
    if study.bounce_frequency_hz is not None:
        yield say("dancer.bounce"), say.amount(study.bounce_frequency_hz, "frequency")


def _looks(case: Case, p: Prediction, say: Voice) -> Iterator[str]:
    outline = load_outline(case)
    if outline.corner_radius:
        yield say("dancer.round")
    else:
        yield say(
            "dancer.corners",
            corners=len(outline.vertices),
            low=say.amount(p.film_speed_min_m_per_s, "speed"),
            high=say.amount(p.film_speed_max_m_per_s, "speed"),
            turn=say.amount(2.0 * math.pi / case.machine.speed, "time"),
        )
    yield say("dancer.middle")
    yield say("dancer.stops")
    yield say("dancer.settles")
