"""The arm's angle in every frame, with its standard error, from the tags on frame and arm."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.filmed.plane import aligned, applied, laid_flat, plane_maps, steady_corners, turned
from woold.filmed.readout import (
    Timed,
    corner_speeds,
    deviations,
    exposure,
    in_one_instant,
    row_delay,
)
from woold.filmed.tag_tracks import TagTrack, TagTracks
from woold.filmed.tags import ARM, FRAME

__all__ = ["ArmAngle", "arm_angle"]

Floats = NDArray[np.float64]

_STEADY_S = 1.0  # over which the camera's slant is taken to change little
_SURE = 3.0
_UNDERRATED = 1.35  # on films of a known arm: compression moves a tag more than its shape shows
_LONGEST_READOUT = 0.04  # s; whatever is slower is no camera's


@dataclass(frozen=True, eq=False)
class ArmAngle:
    """The arm over a film.

    Args:
        time: at which the arm was seen in each frame [s], shape (n,).
        angle: turn of the arm's tag from the frame's, clockwise as seen, unwrapped; NaN where a
            tag was not seen [rad], shape (n,).
        error: standard error of it [rad], shape (n,).
        readout: time from a picture's first row to its last; below zero from the last to the first.
        shutter: time for which the shutter was open; None where nothing tells it.
        slant: of the camera to the plane, by how the frame's tag is foreshortened; None where no
            tag tells it [rad].
    """

    time: Floats
    angle: Floats
    error: Floats
    readout: Timed
    shutter: Timed | None
    slant: float | None

    @property
    def seen(self) -> NDArray[np.bool_]:
        """In which frames there is an angle, shape (n,)."""
        return np.asarray(np.isfinite(self.angle))


def arm_angle(tracks: TagTracks, rows: int, axis: int) -> ArmAngle:
    """The arm's angle from the tags.

    Args:
        tracks: of the tags.
        rows: of the camera's picture.
        axis: along which rows follow each other in the upright picture: 0 x, 1 y.
    """
    frame, arm, time = tracks.tags[FRAME], tracks.tags[ARM], tracks.time
    seen = frame.seen & arm.seen
    steady = steady_corners(frame.corners, time, _STEADY_S)
    angle, error = np.full(len(time), np.nan), np.full(len(time), np.nan)
    if not seen.any():
        return ArmAngle(time, angle, error, Timed(0.0, np.inf), None, 0.0)
    maps = plane_maps(steady[seen])
    speeds = corner_speeds(time, arm.corners)
    moving = speeds[seen]
    corners = arm.corners[seen]
    found = row_delay(maps, corners, moving, axis)
    is_found = abs(found.value) > _SURE * found.error
    is_found &= abs(found.value) * rows <= _LONGEST_READOUT
    delay = found.value if is_found else 0.0
    late = min(found.error, _LONGEST_READOUT / rows)
    mended = in_one_instant(corners, moving, delay, axis)
    turns = turned(laid_flat(maps, mended))[0]
    later = turned(laid_flat(maps, in_one_instant(corners, moving, delay + late, axis)))[0]
    angle[seen] = np.unwrap(turns)
    error[seen] = np.sqrt(
        _turn_error(deviations(maps, mended), arm.error[seen]) ** 2
        + _frame_error(frame, steady, seen) ** 2
        + _wrapped(later - turns) ** 2
    )
    middle = np.nan_to_num(arm.corners[..., axis].mean(axis=1) - rows / 2)
    return ArmAngle(
        time=time + delay * np.where(seen, middle, 0.0),
        angle=angle,
        error=error,
        readout=Timed(delay * rows, late * rows),
        shutter=exposure(_part(arm, seen), moving),
        slant=_slant(steady[seen]),
    )


def _turn_error(away: Floats, error: Floats) -> Floats:
    """Standard error of a tag's turn, from how its shape changes: noise of every kind moves it.

    Four of a tag's eight numbers are its place, turn and size; what noise does to the other four,
    it does to those. A corner off by s in sides of the tag turns it by s / sqrt(2).
    """
    noise = float(np.sqrt(((away - np.median(away, axis=0)) ** 2).mean() * 2))
    return np.asarray(_UNDERRATED * noise / np.sqrt(2) * np.maximum(error / np.median(error), 0.5))


def _frame_error(frame: TagTrack, steady: Floats, seen: NDArray[np.bool_]) -> Floats:
    fit = aligned(frame.corners[seen], steady[seen])
    away = applied(fit, frame.corners[seen]) - steady[seen]
    sides = np.linalg.norm(np.roll(steady[seen], -1, axis=1) - steady[seen], axis=2).mean(axis=1)
    return _turn_error(away / sides[:, None, None], frame.error[seen])


def _slant(corners: Floats) -> float:
    """Angle away from looking straight at the plane: its cosine is the tag's foreshortening."""
    base = np.median(corners, axis=0)
    across = np.array(
        [base[1] + base[2] - base[0] - base[3], base[2] + base[3] - base[0] - base[1]]
    )
    sizes = np.linalg.svd(across / 2, compute_uv=False)
    return float(np.arccos(np.clip(sizes[1] / sizes[0], 0.0, 1.0)))


def _wrapped(angle: Floats) -> Floats:
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def _part(track: TagTrack, kept: NDArray[np.bool_]) -> TagTrack:
    return replace(
        track,
        corners=track.corners[kept],
        error=track.error[kept],
        spread=track.spread[kept],
        normals=track.normals[kept],
    )
