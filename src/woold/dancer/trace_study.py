"""A recorded trace of the dancer: taken apart, judged, laid over the model, fitted."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.case_dancer import RESTS_ON
from woold.dancer.film_force import FilmForce, film_force_told
from woold.dancer.results import BounceFound, EnergyPart, TraceDoubt, TraceFinding, TraceStudy
from woold.dancer.trace_file import TraceColumns, TraceFile, read_trace
from woold.dancer.trace_fit import FitAsk, laid_over_trace, thinned
from woold.errors import InputError
from woold.physics.alias import alias_readings
from woold.physics.orders import CORNER_ORDERS, corner_orders
from woold.physics.swing_energy import PARTS
from woold.physics.swing_findings import SwingThresholds
from woold.physics.trace_analysis import TraceAnalysis, analyse_trace
from woold.physics.trace_verdict import SwingVerdict, judge_trace
from woold.prediction.predict import load_outline, rests_on
from woold.words import say, to_say

__all__ = [
    "THRESHOLDS_ORIGIN",
    "TraceAsk",
    "read_thresholds",
    "require_case_for_fit",
    "study_recording",
    "study_trace",
]

Floats = NDArray[np.float64]

THRESHOLDS_ORIGIN = to_say("common practice, no source; change any with --limit NAME=VALUE")
_ORDERS = range(1, 25)
_SLOWEST_TOLD = 4.5  # times a turn: what rings so fast is heard, or left uncertain


@dataclass(frozen=True, slots=True)
class TraceAsk:
    """What is known of a trace and asked of it.

    Args:
        columns: which column holds what.
        turn_period: of the turn if known [s].
        stops: lower and upper stop if known, SI of the trace's position.
        reverse: growing positions give film away.
        corners: of the load.
        thresholds: where a swing stops being smooth.
        fit: constants to fit, none for no fit.
        spring: number of the case's spring.
        hole: of the case's dancer [m].
        zero_is_free: angles count from an arbitrary zero, so that the case's stops are not theirs.
    """

    columns: TraceColumns = field(default_factory=TraceColumns)
    turn_period: float | None = None
    stops: tuple[float, float] | None = None
    reverse: bool = False
    corners: int = 4
    thresholds: SwingThresholds = field(default_factory=SwingThresholds)
    fit: tuple[str, ...] = ()
    spring: int | None = None
    hole: float | None = None
    zero_is_free: bool = False


def read_thresholds(texts: Sequence[str]) -> SwingThresholds:
    """Thresholds changed by texts such as "corner_share=0.7".

    Raises:
        InputError: no such threshold, or a value that is no number of zero or more.
    """
    known = {each.name for each in fields(SwingThresholds)}
    changes: dict[str, float] = {}
    for text in texts:
        name, _, value = text.partition("=")
        name = name.strip().replace("-", "_")
        if name not in known:
            raise InputError.one(
                "--limit",
                text,
                say("NAME=VALUE with one of {names}", names=", ".join(sorted(known))),
                say("Write --limit with one of these names."),
            )
        try:
            changes[name] = float(value)
        except ValueError:
            changes[name] = -1.0
        if not 0 <= changes[name] < np.inf:
            raise InputError.one(
                "--limit",
                text,
                say("a number of zero or more"),
                say("Write a plain number behind the =."),
            )
    return replace(SwingThresholds(), **changes)


def study_trace(
    path: Path | str,
    ask: TraceAsk,
    case: Case | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[TraceStudy, TraceAnalysis]:
    """A trace file, taken apart and judged; with a case also laid over its model.

    Args:
        path: the trace.
        ask: what is known of it and asked of it.
        case: whose dancer it was.
        progress: called with bytes read and bytes in all.

    Returns:
        The study, and the analysis it rests on.

    Raises:
        InputError: the trace cannot be used, or a fit is asked for without a case.
    """
    require_case_for_fit(ask, case)
    return study_recording(read_trace(path, ask.columns, progress), ask, case, str(path))


def study_recording(
    recorded: TraceFile, ask: TraceAsk, case: Case | None = None, name: str = "trace"
) -> tuple[TraceStudy, TraceAnalysis]:
    """A recording, wherever it comes from, taken apart and judged.

    Args:
        recorded: the trace, with standard errors and gaps where they are known.
        ask: what is known of it and asked of it; its columns do not count here.
        case: whose dancer it was; with it the trace is laid over the model.
        name: what the recording is called.

    Returns:
        The study, and the analysis it rests on.

    Raises:
        InputError: the trace cannot be used, or a fit is asked for without a case.
    """
    require_case_for_fit(ask, case)
    trace = recorded.trace
    if ask.reverse:
        trace = replace(trace, position=-trace.position)
    stops = _stops(ask, case, recorded.kind)
    orders = CORNER_ORDERS if case is None else _corner_orders(case)
    analysis = analyse_trace(
        trace,
        turn_period=ask.turn_period,
        stops=stops,
        orders=orders,
        corners=ask.corners,
        expected_period=None if case is None else 2 * np.pi / case.machine.speed,
    )
    asked = FitAsk(ask.fit, ask.spring, ask.hole)
    laid, fit, unlaid = laid_over_trace(case, analysis, asked, recorded.kind)
    film_force, untold = _film_force(case, analysis, ask, (recorded.kind, stops))
    verdict = judge_trace(analysis, stops, ask.thresholds)
    notes = (recorded.read_as, *_doubts(analysis, stops, verdict), *unlaid, *untold)
    readings = _frequency_readings(analysis)
    turn, count = analysis.turn, len(analysis.turns)
    study = TraceStudy(
        file=name,
        rows=recorded.rows,
        rows_missing=recorded.missing,
        duration_s=float(trace.time[-1] - trace.time[0]),
        position_kind=recorded.kind,
        turn_period_s=turn.period,
        turning_speed_rad_per_s=2 * np.pi / turn.period,
        turn_is_certain=turn.is_certain,
        turn_readings_s=turn.readings,
        repeat_s=turn.repeat,
        turns_used=count,
        working_time_s=analysis.working_time,
        level=analysis.level,
        swing_peak_to_peak=analysis.swing_peak_to_peak,
        swing_rms=analysis.swing_rms,
        drift=analysis.drift,
        corner_orders=tuple(orders),
        energy=_energy(analysis),
        bounce=None if readings else _bounce(analysis),
        frequency_readings_hz=readings,
        oscillation_hz=None if readings else analysis.energy.oscillation,
        rate_hz=analysis.rate,
        hunting_hz=analysis.energy.hunting,
        **_contacts(analysis),
        orders=tuple(float(order) for order in _ORDERS),
        order_amplitudes=tuple(float(analysis.amplitudes[order * count]) for order in _ORDERS),
        mean_turn=thinned(analysis.turns.mean(axis=0)),
        verdict=verdict.word,
        sentence=verdict.sentence,
        trace_findings=_findings(verdict),
        may_be=verdict.may_be,
        doubts=tuple(TraceDoubt(each.code, each.reason) for each in verdict.doubts),
        thresholds=asdict(ask.thresholds),
        thresholds_origin=THRESHOLDS_ORIGIN,
        film_force=film_force,
        simulated=laid,
        fit=fit,
        notes=tuple(filter(None, notes)),
        rests_on=rests_on(case, RESTS_ON) if case is not None and laid is not None else (),
    )
    return study, analysis


def _film_force(
    case: Case | None,
    analysis: TraceAnalysis,
    ask: TraceAsk,
    counted: tuple[str, tuple[float, float] | None],
) -> tuple[FilmForce | None, list[str]]:
    """The mean film force, or why none is told; positions are of a kind, between their stops."""
    if case is None:
        return None, []
    kind, stops = counted
    found, why_not = film_force_told(case, analysis.whole, stops, kind, ask.spring, ask.hole)
    return found, [say("No film force is told: {reason}.", reason=why_not)] if why_not else []


def _findings(verdict: SwingVerdict) -> tuple[TraceFinding, ...]:
    return tuple(
        TraceFinding(each.code, each.evidence, each.try_first) for each in verdict.findings
    )


def require_case_for_fit(ask: TraceAsk, case: Case | None) -> None:
    """Refuses a fit without a case, before anything long is read.

    Args:
        ask: what is asked of a trace.
        case: whose dancer it was.

    Raises:
        InputError: a fit is asked for without a case.
    """
    if ask.fit and case is None:
        raise InputError.one(
            "--fit",
            ",".join(ask.fit),
            say("a fit with --case CASE.toml"),
            say("The model needs a case."),
        )


def _corner_orders(case: Case) -> tuple[int, ...]:
    return corner_orders(load_outline(case), case.machine.exit_distance)


def _doubts(
    analysis: TraceAnalysis, stops: tuple[float, float] | None, verdict: SwingVerdict
) -> Iterator[str]:
    """What was assumed, and what could not be counted."""
    turn = analysis.turn
    if not turn.is_certain:
        yield say(
            "The trace repeats every {repeat:.3g} s. That this is 1/{repeats} of a turn was"
            " assumed: give the turning speed, a turn pulse or the turntable's angle to be sure.",
            repeat=turn.repeat,
            repeats=round(turn.period / turn.repeat),
        )
    if stops is None:
        yield say("Stop hits and slack were not counted: give the stops, or the case.")
    if verdict.word == "smooth" or "smooth" in verdict.may_be:
        yield say(
            "A ringing slower than {slowest:.2g} Hz ({order:g} times a turn) looks like the"
            " corners' own swing and would be counted to it.",
            slowest=_SLOWEST_TOLD / turn.period,
            order=_SLOWEST_TOLD,
        )


def _stops(ask: TraceAsk, case: Case | None, kind: str) -> tuple[float, float] | None:
    """Stops of the trace, the lower one first, once it runs the right way."""
    if ask.stops is not None:
        low, high = sorted(ask.stops)
        return (-high, -low) if ask.reverse else (low, high)
    if kind == "fraction":
        return (-1.0, 0.0) if ask.reverse else (0.0, 1.0)
    if ask.zero_is_free:
        return None
    if kind == "angle" and case is not None and case.dancer is not None:
        return case.dancer.lower_stop, case.dancer.upper_stop
    return None


def _contacts(analysis: TraceAnalysis) -> dict[str, Any]:
    """Contacts with the stops, None where those are not known."""
    found = analysis.contacts
    return {
        "lower_hits": found and found.lower_hits,
        "upper_hits": found and found.upper_hits,
        "slack_spells": found and found.slack_spells,
        "slack_time_s": found and found.slack_time,
    }


def _frequency_readings(analysis: TraceAnalysis) -> tuple[float, ...]:
    """What the seen frequency may be, where the sampling rate does not tell; else none [Hz]."""
    energy = analysis.energy
    seen = energy.bounce.frequency if energy.bounce is not None else energy.oscillation
    if seen is None or not (others := alias_readings(seen, analysis.rate)):
        return ()
    return (seen, *others)


def _energy(analysis: TraceAnalysis) -> tuple[EnergyPart, ...]:
    energy = analysis.energy
    swing = {**energy.swing_shares, "drift": None}
    return tuple(
        EnergyPart(name, float(np.sqrt(square)), energy.shares[name], swing[name])
        for name, square in zip(PARTS, energy.energies, strict=True)
    )


def _bounce(analysis: TraceAnalysis) -> BounceFound | None:
    found = analysis.bounce
    if found is None:
        return None
    return BounceFound(
        frequency_hz=found.frequency,
        frequency_error_hz=found.frequency_error,
        damping=found.damping,
        damping_error=found.damping_error,
        bounce_rms=found.rms,
        explained=found.explained,
        kicks=found.kicks,
    )
