"""The dancer: its cycle, its tuning, a recorded trace; values as text with units."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from pathlib import Path

from woold.case.model import Case
from woold.dancer.asked import ask_about, hole_radius, trace_stops, turning_speed
from woold.dancer.cycle import simulate_cycle
from woold.dancer.results import CycleStudy, TraceStudy, TuneStudy
from woold.dancer.trace_study import TraceAsk, study_trace
from woold.dancer.tuning import TuneAsk, tune_case

__all__ = ["judge_trace", "simulate_dancer", "tune_dancer"]


def simulate_dancer(
    case: Case,
    *,
    spring: int | None = None,
    hole: str | None = None,
    speed: str | None = None,
    as_typed: Collection[str] = (),
) -> CycleStudy:
    """The dancer over one cycle of the case's program: tension, swing, stops, slack, resonance.

    Args:
        case: a case with a dancer.
        spring: number of the spring; the case's or the best if not given.
        hole: pivot to hole, "140 mm".
        speed: turning speed instead of the machine's, "15 rpm".
        as_typed: fields that were asked about and are right, "dancer.hole" or "machine.speed".

    Raises:
        WooldError: no springs in the case, values that cannot be, or a question about one that
            can hardly be.
    """
    asked = {"dancer.hole": hole, "machine.speed": speed}
    ask_about(case, asked, {}, as_typed)
    study, _motion, _dancer = simulate_cycle(
        case,
        spring,
        hole_radius(hole, "hole"),
        turning_speed(speed, "speed"),
    )
    return study


def tune_dancer(
    case: Case,
    *,
    spring: int | None = None,
    hole: str | None = None,
    slowest: str | None = None,
    fastest: str | None = None,
) -> TuneStudy:
    """Highest smooth turning speed, and the spring, hole and gain with the least ripple.

    Args:
        case: a case with a dancer.
        spring: number of the spring as set.
        hole: pivot to hole as set, "140 mm".
        slowest, fastest: turning speeds tried, "8 rpm".

    Raises:
        WooldError: no springs in the case, or values that cannot be.
    """
    ask = TuneAsk(
        spring=spring,
        hole=hole_radius(hole, "hole"),
        slowest=turning_speed(slowest, "slowest"),
        fastest=turning_speed(fastest, "fastest"),
    )
    return tune_case(case, ask)


def judge_trace(
    path: Path | str,
    *,
    speed: str | None = None,
    stops: tuple[str, str] | None = None,
    reverse: bool = False,
    corners: int = 4,
    case: Case | None = None,
    fit: Sequence[str] = (),
) -> TraceStudy:
    """A recorded trace of the dancer: smooth or not, and what tells so.

    Args:
        path: text table whose headings name time and position, with their units.
        speed: turning speed, "12 rpm".
        stops: lower and upper stop, ("-30 deg", "30 deg").
        reverse: growing positions give film away.
        corners: of the load.
        case: whose dancer it was.
        fit: constants of the case's dancer to fit, "inertia" or "damping".

    Raises:
        WooldError: a file that cannot be read, or values that cannot be.
    """
    turning = turning_speed(speed, "speed")
    ask = TraceAsk(
        turn_period=None if turning is None else 2.0 * math.pi / turning,
        stops=trace_stops(stops, "stops"),
        reverse=reverse,
        corners=corners,
        fit=tuple(fit),
    )
    study, _analysis = study_trace(path, ask, case)
    return study
