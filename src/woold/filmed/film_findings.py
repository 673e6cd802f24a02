"""What to know of a film before its trace is believed: what it hides, and what it cannot show."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from woold.filmed.reading import FilmReading
from woold.filmed.results import FilmStudy
from woold.filmed.tags import LOAD, ROLES
from woold.prediction.result import Finding
from woold.words import say, to_say

__all__ = ["ANGLE_SURE", "film_findings"]

_FILM = to_say("film")
"""What findings on the film itself are about."""

ANGLE_SURE = math.radians(0.25)
"""Standard error of an angle in a frame up to which 0.3° is kept: those that films state were found
to be short by up to a fifth."""

_ANGLE_WANTED = math.radians(0.3)
_MOST_SLANT = math.radians(40.0)
_LEAST_TAG = 24.0  # px
_EDGE = 0.12  # of the picture, in which lenses bend
_SAME_LENGTH = 0.9  # of the frames that the film's head promises
_UNEVEN = 1.5  # longest over shortest step
_PALER = 0.05
_FLOW_KEPT = 0.6


def film_findings(study: FilmStudy, reading: FilmReading) -> Iterator[Finding]:
    """Findings on how the film was taken, those that weigh most first.

    Args:
        study: the film, judged.
        reading: the film as it was read.
    """
    yield from _what_is_lost(study)
    yield from _what_is_too_fast(study)
    yield from _how_sure(study)
    yield from _tags(study, reading)
    yield from _points(study)
    yield from _turns(study)
    yield from _times(study, reading)
    if study.trace is not None and study.trace.lower_hits is None:
        yield Finding(
            "stops-unknown",
            _FILM,
            say(
                "The film does not tell where the stops are, so hits and slack are not counted."
                " Move the arm to both by hand, the machine locked out, and give the"
                " times at which it stood there."
            ),
        )


def _what_is_lost(study: FilmStudy) -> Iterator[Finding]:
    if study.lost_share > 0.02:
        yield Finding(
            "arm-hidden",
            _FILM,
            say(
                "The arm was not seen in {share:.0%} of the frames, {longest:.1f} s at a stretch;"
                " beyond 20% there is no verdict. Look for film, hands or glare over a tag.",
                share=study.lost_share,
                longest=study.gap_longest_s,
            ),
        )


def _what_is_too_fast(study: FilmStudy) -> Iterator[Finding]:
    yield Finding(
        "ringing-shown-up-to",
        _FILM,
        say(
            "{rate:.0f} frames a second show ringing up to {half:.0f} Hz; whether anything rings"
            " faster than that, this film cannot say.",
            rate=study.frame_rate_hz,
            half=study.frequency_highest_hz,
        ),
    )
    bounce = None if study.trace is None else study.trace.bounce
    if bounce is None or not study.exposure_s:
        return
    paler = 1 - float(np.sinc(bounce.frequency_hz * study.exposure_s))
    if paler > _PALER:
        yield Finding(
            "ringing-blurred",
            _FILM,
            say(
                "The shutter is open for {time:.0f} ms a frame: the ringing looks {share:.0%}"
                " smaller than it is. More light shortens it.",
                time=1e3 * study.exposure_s,
                share=paler,
            ),
        )


def _how_sure(study: FilmStudy) -> Iterator[Finding]:
    error = study.angle_error_rad
    if error is None or error <= ANGLE_SURE:
        return
    told, wanted = math.degrees(error), math.degrees(_ANGLE_WANTED)
    if study.method == "points":
        yield Finding(
            "angle-unsure",
            _FILM,
            say(
                "The arm's angle is read to ±{error:.2f}° in a frame (standard error): this film"
                " cannot give {wanted:.1f}°. Pick points farther apart, go nearer, add light, or"
                " use printed tags.",
                error=told,
                wanted=wanted,
            ),
        )
        return
    sides = [each.side_px for each in study.tags[:LOAD] if each.side_px is not None]
    yield Finding(
        "angle-unsure",
        _FILM,
        say(
            "The arm's angle is read to ±{error:.2f}° in a frame (standard error): this film cannot"
            " give {wanted:.1f}°. The smaller tag is {side:.0f} pixels wide; have both"
            " {needed:.0f} or more: go nearer, print them larger, film in 1080p in its best"
            " quality, and add light.",
            error=told,
            wanted=wanted,
            side=min(sides, default=0.0),
            needed=min(sides, default=0.0) * error / ANGLE_SURE,
        ),
    )


def _tags(study: FilmStudy, reading: FilmReading) -> Iterator[Finding]:
    if reading.tracks is None:
        return
    for role in reading.tracks.doubled:
        yield Finding(
            "tag-twice",
            ROLES[role],
            say(
                "The tag of the {tag} stands in the picture more than once; the one nearest to its"
                " last place was followed. Cover the others and film again.",
                tag=say(ROLES[role]),
            ),
        )
    for tag in study.tags:
        if tag.side_px is not None and tag.side_px < _LEAST_TAG:
            yield Finding(
                "tag-small",
                tag.tag,
                say(
                    "The tag of the {tag} is {side:.0f} pixels wide; from {least:.0f} on its"
                    " corners are sure. Go nearer or print it larger.",
                    tag=say(tag.tag),
                    side=tag.side_px,
                    least=_LEAST_TAG,
                ),
            )
    if study.slant_rad is not None and study.slant_rad > _MOST_SLANT:
        yield Finding(
            "camera-slanted",
            _FILM,
            say(
                "The camera looks at the arm under about {angle:.0f}° from straight on; stay below"
                " 40°.",
                angle=math.degrees(study.slant_rad),
            ),
        )
    size = np.array([study.width_px, study.height_px])
    for role, track in enumerate(reading.tracks.tags[:2]):
        places = track.corners[track.seen].reshape(-1, 2) / size
        if len(places) and float(((places < _EDGE) | (places > 1 - _EDGE)).mean()) > 0.2:
            yield Finding(
                "tag-near-edge",
                ROLES[role],
                say(
                    "The tag of the {tag} runs near the picture's edge, where lenses bend straight"
                    " lines. Keep it in the middle.",
                    tag=say(ROLES[role]),
                ),
            )


def _points(study: FilmStudy) -> Iterator[Finding]:
    if study.method != "points":
        return
    yield Finding(
        "perspective-kept",
        "film",
        say(
            "Two points do not tell the camera's slant: seen 30° from straight on, a swing looks up"
            " to 15% larger or smaller than it is. Times, frequency and damping hold all the same."
        ),
    )
    kept = study.features_kept_share
    if kept is not None and kept < _FLOW_KEPT:
        yield Finding(
            "flow-unsure",
            _FILM,
            say(
                "Of the marks around the two points {share:.0%} came back to where they began;"
                " {least:.0%} or more are sure. Pick places with more marks, or use printed tags.",
                share=kept,
                least=_FLOW_KEPT,
            ),
        )


def _turns(study: FilmStudy) -> Iterator[Finding]:
    filled = study.turn_pulses - study.turn_pulses_seen
    if filled:
        yield Finding(
            "turns-set",
            ROLES[LOAD],
            say(
                "The load's tag was missed in {filled} of {turns} turns; they were set between"
                " their neighbours.",
                filled=filled,
                turns=study.turn_pulses,
            ),
        )
    elif not study.turn_pulses and study.method == "tags":
        yield Finding(
            "turns-unseen",
            ROLES[LOAD],
            say(
                "The load's tag was not seen for four turns: the turn is taken from the swing, or"
                " from --speed."
            ),
        )


def _times(study: FilmStudy, reading: FilmReading) -> Iterator[Finding]:
    if study.step_longest_s > _UNEVEN * study.step_shortest_s:
        yield Finding(
            "steps-uneven",
            _FILM,
            say(
                "Frames come {shortest:.0f} to {longest:.0f} ms apart; the time of each was taken"
                " from the film.",
                shortest=1e3 * study.step_shortest_s,
                longest=1e3 * study.step_longest_s,
            ),
        )
    promised = reading.film.frames
    is_whole = study.frames >= _SAME_LENGTH * promised
    if not is_whole and reading.is_to_the_end:
        yield Finding(
            "film-cut-short",
            _FILM,
            say(
                "The file promises {promised} frames and {frames} could be read: its end may be"
                " missing.",
                promised=promised,
                frames=study.frames,
            ),
        )
