"""The dancer: its cycle, its tuning, a recorded trace; values as text with units."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import TypedDict, Unpack

from woold.case.asked import asked_count, confirmed_names
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
        turning_speed(speed, "speed", as_typed=("speed",)),
    )
    return study


def tune_dancer(
    case: Case,
    *,
    spring: int | None = None,
    hole: str | None = None,
    slowest: str | None = None,
    fastest: str | None = None,
    as_typed: Collection[str] = (),
) -> TuneStudy:
    """Highest smooth turning speed, and the spring, hole and gain with the least ripple.

    Args:
        case: a case with a dancer.
        spring: number of the spring as set.
        hole: pivot to hole as set, "140 mm".
        slowest, fastest: turning speeds tried, "8 rpm".
        as_typed: fields that were asked about and are right, "dancer.hole" or "fastest".

    Raises:
        WooldError: no springs in the case, values that cannot be, or a question about one that
            can hardly be.
    """
    right, of_case = confirmed_names(as_typed, ("slowest", "fastest"))
    ask_about(case, {"dancer.hole": hole}, {"dancer.hole": "hole"}, of_case)
    ask = TuneAsk(
        spring=spring,
        hole=hole_radius(hole, "hole"),
        slowest=turning_speed(slowest, "slowest", "slowest", right),
        fastest=turning_speed(fastest, "fastest", "fastest", right),
    )
    return tune_case(case, ask)


class KnownOfTrace(TypedDict, total=False):
    """What is known of a recorded trace beside its columns."""

    speed: str | None
    stops: tuple[str, str] | None
    reverse: bool
    corners: int


def judge_trace(
    path: Path | str,
    *,
    case: Case | None = None,
    fit: Sequence[str] = (),
    as_typed: Collection[str] = (),
    **known: Unpack[KnownOfTrace],
) -> TraceStudy:
    """A recorded trace of the dancer: smooth or not, and what tells so.

    Args:
        path: text table whose headings name time and position, with their units.
        case: whose dancer it was.
        fit: constants of the case's dancer to fit, "inertia" or "damping".
        as_typed: what was asked about and is right, "speed", "stop_angle" or "corners".
        known: `speed`, the turning speed, "12 rpm"; `stops`, the lower and the upper one, ("-30
            deg", "30 deg"); `reverse`, growing positions give film away; `corners` of the load, 4
            if not given.

    Raises:
        WooldError: a file that cannot be read, or values that cannot be.
    """
    turning = turning_speed(known.get("speed"), "speed", as_typed=as_typed)
    ask = TraceAsk(
        turn_period=None if turning is None else 2.0 * math.pi / turning,
        stops=trace_stops(known.get("stops"), "stops", as_typed),
        reverse=known.get("reverse", False),
        corners=asked_count("corners", known.get("corners", 4), as_typed=as_typed),
        fit=tuple(fit),
    )
    study, _analysis = study_trace(path, ask, case)
    return study
