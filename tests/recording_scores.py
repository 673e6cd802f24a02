"""Whether a made recording was judged rightly: by the truth that it was made with."""

from __future__ import annotations

from typing import Any

from made_recordings import MadeRecording
from woold.dancer.results import TraceStudy
from woold.dancer.trace_file import TraceFile
from woold.dancer.trace_study import TraceAsk, study_recording
from woold.physics.trace import Trace, pulse_times

WORDS = {"ringing": "bounces", "oscillation": "oscillates", "hunting": "hunts"}
_ASKED_ABOUT = 0.1  # share of the energy from which a disturbance must not go unsaid
_SLIGHT = 0.03  # and below which it need not be said


def judged(made: MadeRecording) -> tuple[TraceStudy, Any]:
    """What the program says of it."""
    trace = Trace(
        made.time,
        made.position,
        turn_times=None if made.pulse is None else pulse_times(made.time, made.pulse),
    )
    ask = TraceAsk(turn_period=made.given_turn, stops=made.stops)
    return study_recording(TraceFile(trace, "angle", len(made.time), 0), ask, None, made.kind)


def shares_of(study: TraceStudy) -> dict[str, float]:
    """Shares of all the energy by what it belongs to."""
    return {part.name: part.share for part in study.energy}


def truth(made: MadeRecording) -> set[str]:
    """Verdicts that the recording earns; none for a smooth one."""
    if made.kind == "stop hits":
        return {"hits its stops"}
    if made.kind == "slack":
        return {"slack"}
    swing = 1.0 - made.shares["drift"]
    return {word for part, word in WORDS.items() if made.shares[part] / swing >= _ASKED_ABOUT}


def scored(made: MadeRecording, study: TraceStudy) -> tuple[str, str]:
    """'right', 'named' (uncertain, the true one among those named) or 'wrong'; and why."""
    wrong = _wrong_turn(made, study) or _wrong_bounce(made, study)
    if wrong:
        return "wrong", wrong
    earned = truth(made)
    said = {finding.code for finding in study.trace_findings}
    if study.verdict == "uncertain":
        if earned <= said | set(study.may_be) if earned else "smooth" in study.may_be:
            return "named", f"uncertain: {', '.join(study.may_be)}"
        return "wrong", f"uncertain: {', '.join(study.may_be)}; it is {earned or 'smooth'}"
    if not earned:
        return ("right", "") if study.verdict == "smooth" else ("wrong", f"said {study.verdict}")
    if study.verdict in earned and earned <= said | set(study.may_be):
        return "right", ""
    return "wrong", f"said {study.verdict}, {sorted(said)}; it is {sorted(earned)}"


def _wrong_turn(made: MadeRecording, study: TraceStudy) -> str:
    readings = [study.turn_period_s]
    if not study.turn_is_certain:
        readings += list(study.turn_readings_s)
    if any(abs(each / made.turn - 1) < 0.02 for each in readings):
        return ""
    return f"turn {made.turn:.3f} s read as {', '.join(f'{each:.3f}' for each in readings)}"


def _wrong_bounce(made: MadeRecording, study: TraceStudy) -> str:
    """A frequency that is told must be the true one."""
    for told, true in (
        (study.bounce and study.bounce.frequency_hz, made.mode and made.mode[0]),
        (study.oscillation_hz, made.oscillation),
    ):
        other = {made.mode and made.mode[0], made.oscillation} - {None}
        share = made.shares["ringing"] + made.shares["oscillation"]
        if told and share > _SLIGHT and not any(abs(told / each - 1) < 0.06 for each in other):
            return f"frequency {true} told as {told:.3f} Hz"
    return ""
