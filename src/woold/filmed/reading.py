"""A film read: the arm's angle in every frame, turn pulses, and how well all of it was seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.filmed.arm_angle import ArmAngle, arm_angle
from woold.filmed.film_file import FilmFile, film_frames, open_film
from woold.filmed.point_tracks import PickedPoints, follow_points
from woold.filmed.tag_tracks import TagTracks, follow_tags
from woold.filmed.tags import ARM, FRAME, ROLES
from woold.filmed.turn_pulses import TurnPulses, turn_pulses
from woold.physics.trace_analysis import FEWEST_TURNS
from woold.words import say

__all__ = ["FilmReading", "Progress", "read_film"]

Grey = NDArray[np.uint8]

_FEWEST_FRAMES = 50

Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class FilmReading:
    """What was read off a film.

    Args:
        film: its head.
        arm: the arm over time.
        still: a frame in which most was seen.
        still_number: its place among the frames.
        pulses: turns, by the load's tag; None where that was not seen often enough.
        tracks: of the tags; None where points were picked.
        picked: the points; None where tags were followed.
        kept_share: of the flow's features, that came back to where they began; None with tags.
        is_to_the_end: whether the whole film was looked at.
    """

    film: FilmFile
    arm: ArmAngle
    still: Grey
    still_number: int
    pulses: TurnPulses | None = None
    tracks: TagTracks | None = None
    picked: PickedPoints | None = None
    kept_share: float | None = None
    is_to_the_end: bool = True


def read_film(
    path: Path | str,
    picked: PickedPoints | None = None,
    span: tuple[float, float | None] = (0.0, None),
    progress: Progress | None = None,
) -> FilmReading:
    """A film's arm, from the tags or from two points.

    Args:
        path: the film.
        picked: pivot and arm in the first picture that is looked at; tags are looked for if none.
        span: part of the film that is looked at, from its first frame [s].
        progress: called with frames read and frames in all (0 where the film does not say).

    Raises:
        InputError: the film cannot be used: empty, broken, too short, or tags not seen.
    """
    film = open_film(path)
    tell = (lambda number: progress(number, film.frames)) if progress is not None else None
    frames = film_frames(film, *span)
    is_whole = span == (0.0, None)
    if picked is not None:
        followed = follow_points(frames, picked, tell)
        _require_frames(film, 0 if followed is None else len(followed.angle.time))
        assert followed is not None
        return FilmReading(
            film,
            followed.angle,
            followed.still,
            0,
            picked=picked,
            kept_share=followed.kept_share,
            is_to_the_end=is_whole,
        )
    tracks = follow_tags(frames, tell)
    _require_frames(film, 0 if tracks is None else len(tracks.time))
    assert tracks is not None
    _require_tags(film, tracks)
    is_level = film.rows_run_down
    arm = arm_angle(tracks, film.height if is_level else film.width, 1 if is_level else 0)
    pulses = turn_pulses(tracks, FEWEST_TURNS + 1)
    place = tracks.still_number
    return FilmReading(film, arm, tracks.still, place, pulses, tracks, is_to_the_end=is_whole)


def _require_frames(film: FilmFile, count: int) -> None:
    if count < _FEWEST_FRAMES:
        raise InputError.one(
            str(film.path),
            say("pictures with a time of their own: {count}", count=count),
            say("{fewest} or more", fewest=_FEWEST_FRAMES),
            say(
                "Film half a minute of wrapping; if the film is longer, it is broken: copy it"
                " again."
            ),
        )


def _require_tags(film: FilmFile, tracks: TagTracks) -> None:
    """Both tags in one frame at least; else what was seen, and what to do."""
    frame, arm = tracks.tags[FRAME].seen, tracks.tags[ARM].seen
    if (frame & arm).any():
        return
    counts = ", ".join(
        say("{tag}: {seen} of {frames} frames", tag=say(ROLES[role]), seen=int(seen.sum()),
            frames=len(seen))
        for role, seen in ((FRAME, frame), (ARM, arm))
    )  # fmt: skip
    raise InputError.one(
        str(film.path),
        say("tags seen: {counts}", counts=counts),
        say("the tags of frame and arm together"),
        say(
            "Print them with woold dancer tags, go nearer, add light, and film in 1080p; or pick"
            " two points with --pivot-at and --arm-at."
        ),
    )
