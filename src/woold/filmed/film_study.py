"""A film of the dancer judged as a recorded trace is, with what the film can and cannot show."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.results import TraceStudy
from woold.dancer.trace_file import TraceFile
from woold.dancer.trace_study import TraceAsk, require_case_for_fit, study_recording
from woold.errors import InputError
from woold.filmed.film_findings import film_findings
from woold.filmed.point_tracks import PickedPoints
from woold.filmed.reading import FilmReading, Progress, read_film
from woold.filmed.results import FilmStudy, TagSeen
from woold.filmed.tags import ROLES, side_length
from woold.physics.trace import Trace
from woold.physics.trace_analysis import TraceAnalysis
from woold.words import say, to_say

__all__ = ["CANNOT_BE_SAID", "MOST_LOST", "FilmAsk", "FilmResult", "study_film", "study_reading"]

Floats = NDArray[np.float64]

MOST_LOST = 0.2
"""Share of the frames in which the arm may be unseen: beyond it there is no verdict."""

CANNOT_BE_SAID = to_say("cannot be said")

_LEAST_MOVED = 3.0  # standard errors of an angle that its own scatter must be

_AT_STOP_S = 0.2


@dataclass(frozen=True, slots=True)
class FilmAsk:
    """What is known of a film and asked of it.

    Args:
        trace: what is asked of the recording that it becomes.
        picked: pivot and arm in the first picture that is looked at; tags if none.
        start, end: part of the film that is looked at, from its first frame [s].
        arm_length: from the pivot to the roller [m]; with it positions are lengths along its way.
        stop_times: times in the film at which the arm lay at its lower and its upper stop [s].
    """

    trace: TraceAsk = field(default_factory=TraceAsk)
    picked: PickedPoints | None = None
    start: float = 0.0
    end: float | None = None
    arm_length: float | None = None
    stop_times: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class FilmResult:
    """A film judged, and what the judgement rests on.

    Args:
        study: what it says.
        recording: the trace that was read off it, SI.
        reading: the film as it was read.
        analysis: of the trace; None where there is no verdict.
    """

    study: FilmStudy
    recording: TraceFile
    reading: FilmReading
    analysis: TraceAnalysis | None


def study_film(
    path: Path | str, ask: FilmAsk, case: Case | None = None, progress: Progress | None = None
) -> FilmResult:
    """A film read and judged.

    Args:
        path: the film.
        ask: what is known of it and asked of it.
        case: whose dancer it was.
        progress: called with frames read and frames in all.

    Raises:
        InputError: the film or the trace in it cannot be used.
    """
    require_case_for_fit(ask.trace, case)
    reading = read_film(path, ask.picked, (ask.start, ask.end), progress)
    return study_reading(reading, ask, case, str(path))


def study_reading(
    reading: FilmReading, ask: FilmAsk, case: Case | None = None, name: str = "film"
) -> FilmResult:
    """A film that was read, judged.

    Args:
        reading: the film as it was read.
        ask: what is known of it and asked of it.
        case: whose dancer it was.
        name: what the film is called.

    Raises:
        InputError: the trace cannot be used.
    """
    recording, of_trace = _recording(reading, ask, case)
    lost = 1.0 - float(reading.arm.seen.mean())
    trace: TraceStudy | None = None
    analysis: TraceAnalysis | None = None
    why_not = _why_not(recording, lost)
    if not why_not:
        trace, analysis = study_recording(recording, of_trace, case, name)
    study = _study(reading, recording, trace, name, lost)
    return FilmResult(
        replace(study, sentence=why_not or study.sentence), recording, reading, analysis
    )


def _why_not(recording: TraceFile, lost: float) -> str:
    """Why a film is not judged; "" where it is."""
    if lost > MOST_LOST:
        return say("The arm was hidden for too long: a recording with such gaps is not judged.")
    trace = recording.trace
    assert trace.reading_error is not None
    read_to = float(np.sqrt(np.mean(trace.reading_error**2)))
    if float(np.std(trace.position)) < _LEAST_MOVED * read_to:
        return say(
            "The arm moved by little more than this film can be read to: go nearer, print the tags"
            " larger, or film while the machine wraps."
        )
    return ""


def _recording(reading: FilmReading, ask: FilmAsk, case: Case | None) -> tuple[TraceFile, TraceAsk]:
    """The trace, with stops where the film shows them."""
    arm = reading.arm
    seen = arm.seen
    if seen.sum() < 2:
        raise InputError.one(
            str(reading.film.path),
            say("the arm in {count} pictures", count=int(seen.sum())),
            say("the arm in most pictures"),
            say("Pick points that flow can follow, or use printed tags."),
        )
    angle, of_trace = arm.angle, replace(ask.trace, zero_is_free=ask.trace.stops is None)
    if ask.stop_times is not None:
        low, high = (_angle_at(reading, time, "--stop-times") for time in ask.stop_times)
        sign = 1.0 if low <= high else -1.0
        shift = 0.0
        if case is not None and case.dancer is not None:
            dancer = case.dancer
            shift = (dancer.lower_stop + dancer.upper_stop - sign * (low + high)) / 2
        angle = sign * angle + shift
        stops = (sign * low + shift, sign * high + shift)
        of_trace = replace(of_trace, stops=stops, reverse=False, zero_is_free=False)
    scale = ask.arm_length or 1.0
    if of_trace.stops is not None and ask.stop_times is not None:
        of_trace = replace(of_trace, stops=(scale * of_trace.stops[0], scale * of_trace.stops[1]))
    trace = Trace(
        time=arm.time[seen],
        position=scale * angle[seen],
        turn_times=None if reading.pulses is None else reading.pulses.times,
        reading_error=scale * arm.error[seen],
        gaps=_gaps(arm.time, seen),
    )
    kind = "angle" if ask.arm_length is None else "small_length"
    return TraceFile(trace, kind, int(seen.sum()), int((~seen).sum())), of_trace


def _angle_at(reading: FilmReading, time: float, name: str) -> float:
    arm = reading.arm
    near = arm.seen & (np.abs(arm.time - time) <= _AT_STOP_S)
    if not near.any():
        raise InputError.one(
            name,
            say("{time:g} s", time=time),
            say("a time at which the arm is seen, between {first:.1f} and {last:.1f} s",
                first=float(arm.time[0]), last=float(arm.time[-1])),
            say("Look in the film for when the arm lay there."),
        )  # fmt: skip
    return float(np.median(arm.angle[near]))


def _gaps(time: Floats, seen: NDArray[np.bool_]) -> Floats | None:
    """From the last frame before the arm was hidden to the first after it."""
    edges = np.flatnonzero(np.diff(np.concatenate([[True], seen, [True]]).astype(int)))
    spells = [
        (time[max(first - 1, 0)], time[min(last, len(time) - 1)])
        for first, last in zip(edges[::2], edges[1::2], strict=True)
    ]
    return np.array(spells) if spells else None


def _study(
    reading: FilmReading, recording: TraceFile, trace: TraceStudy | None, name: str, lost: float
) -> FilmStudy:
    film, arm = reading.film, reading.arm
    steps = np.diff(arm.time)
    gaps = recording.trace.gaps
    rate = 1.0 / float(np.median(steps))
    error = recording.trace.reading_error
    shutter, slow = arm.shutter, np.isfinite(arm.readout.error)
    study = FilmStudy(
        file=name,
        codec=film.codec,
        width_px=film.width,
        height_px=film.height,
        rotation_deg=film.rotation,
        frames=len(arm.time),
        duration_s=float(arm.time[-1] - arm.time[0]),
        frame_rate_hz=rate,
        step_shortest_s=float(steps.min()),
        step_longest_s=float(steps.max()),
        method="points" if reading.tracks is None else "tags",
        tags=tuple(_tags(reading)),
        features_kept_share=reading.kept_share,
        lost_share=lost,
        gap_longest_s=0.0 if gaps is None else float(np.diff(gaps, axis=1).max()),
        angle_error_rad=float(np.sqrt(np.nanmean(arm.error**2))),
        position_error=None if error is None else float(np.sqrt(np.mean(error**2))),
        readout_s=arm.readout.value if slow else None,
        readout_error_s=arm.readout.error if slow else None,
        exposure_s=None if shutter is None else shutter.value,
        exposure_error_s=None if shutter is None else shutter.error,
        slant_rad=arm.slant,
        frequency_highest_hz=rate / 2,
        turn_pulses=0 if reading.pulses is None else len(reading.pulses.times),
        turn_pulses_seen=0 if reading.pulses is None else reading.pulses.seen,
        verdict=CANNOT_BE_SAID if trace is None else trace.verdict,
        sentence="" if trace is None else trace.sentence,
        findings=(),
        trace=trace,
    )
    return replace(study, findings=tuple(film_findings(study, reading)))


def _tags(reading: FilmReading) -> list[TagSeen]:
    if reading.tracks is None:
        return []
    return [
        TagSeen(
            tag=ROLES[role],
            seen_share=float(track.seen.mean()),
            side_px=(
                float(np.median([side_length(each) for each in track.corners[track.seen]]))
                if track.seen.any()
                else None
            ),
            corner_error_px=float(np.median(track.error[track.seen])) if track.seen.any() else None,
        )
        for role, track in enumerate(reading.tracks.tags)
    ]
