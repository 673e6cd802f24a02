"""The arm without tags: two points picked on the first picture, followed by optical flow.

Each point stands for the patch around it. In every frame the patch is laid back into the first
picture by the last known shift, turn and size, and what is left between the two is found by flow
from the first picture forwards and back again: nothing adds up from frame to frame.

Source: Z. Kalal, K. Mikolajczyk, J. Matas, "Forward-backward error: automatic detection of tracking
failures", ICPR 2010, for the check; B. D. Lucas, T. Kanade, IJCAI 1981, for the flow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.filmed.arm_angle import ArmAngle
from woold.filmed.film_file import Frame
from woold.filmed.readout import Timed
from woold.filmed.vision import vision
from woold.words import say

__all__ = ["PickedPoints", "PointTracks", "follow_points"]

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

_PATCH = 0.07  # half a patch over the picture's shorter side
_FEATURES = 40
_FEWEST = 6
_THERE_AND_BACK = 0.5  # px
_OFF = 1.0  # px from the common motion
_LEAST_APART = 0.08  # of the picture's shorter side
_WRONG_SIZE = 1.5
_LEAST_ERROR = 0.02  # px
_UNDERRATED = 3.0  # on films of a known arm: marks of one patch err together


@dataclass(frozen=True, slots=True)
class PickedPoints:
    """Where the pivot and the arm's far end stand in the first picture that is looked at.

    Args:
        pivot, arm: x and y, from the upper left corner [px].
    """

    pivot: tuple[float, float]
    arm: tuple[float, float]


@dataclass(frozen=True, eq=False)
class PointTracks:
    """Two points over a film.

    Args:
        angle: of the line from one to the other, and all that is known of it.
        still: the first picture.
        kept_share: share of the flow's small features that came back to where they began [-].
    """

    angle: ArmAngle
    still: Grey
    kept_share: float


class _Patch:
    """What surrounds a point in the first picture, and how it has moved since."""

    def __init__(self, grey: Grey, point: tuple[float, float], name: str) -> None:
        cv2 = vision()
        height, width = grey.shape
        self.half = max(int(_PATCH * min(grey.shape)), 12)
        x, y = point
        if not (self.half <= x < width - self.half and self.half <= y < height - self.half):
            raise InputError.one(
                name,
                f"{x:.0f}, {y:.0f}",
                say(
                    "a point of the picture, {edge} or more from its edges, which is {width} by"
                    " {height}",
                    edge=self.half,
                    width=width,
                    height=height,
                ),
                say("Pick another one, or film from farther away."),
            )
        self.corner = np.array([int(x) - self.half, int(y) - self.half], dtype=np.float64)
        left, top = self.corner.astype(int)
        size = 2 * self.half + 1
        self.key = np.ascontiguousarray(grey[top : top + size, left : left + size])
        found = cv2.goodFeaturesToTrack(self.key, _FEATURES, 0.02, 4)
        if found is None or len(found) < _FEWEST:
            raise InputError.one(
                name,
                say("a place without marks: {x:.0f}, {y:.0f}", x=x, y=y),
                say("a place with marks that flow can follow: a bolt, an edge's corner, print"),
                say("Stick a printed tag on it, or pick another point."),
            )
        self.features = found.astype(np.float32)
        self.inner = np.array([x, y]) - self.corner
        # From the patch to the picture: a shift, turn and size.
        self.fit = np.column_stack([np.eye(2), self.corner])
        self.before = self.fit
        self.kept = 0.0

    def follow(self, grey: Grey) -> tuple[Floats, float] | None:
        """The point in another picture, and its standard error each way; None where it is lost."""
        ahead = self.fit.copy()
        ahead[:, 2] += self.fit[:, 2] - self.before[:, 2]
        for guess in (ahead, self.fit):
            found = self._found(grey, guess)
            if found is not None:
                fit, error = found
                self.before, self.fit = self.fit, fit
                return fit[:, :2] @ self.inner + fit[:, 2], error
        self.before = self.fit
        return None

    def _found(self, grey: Grey, guess: Floats) -> tuple[Floats, float] | None:
        """The patch's place near a guess, and the standard error of its middle each way."""
        cv2 = vision()
        size = (self.key.shape[1], self.key.shape[0])
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        laid = cv2.warpAffine(grey, guess, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
        moved = _flow(self.key, laid, self.features)
        if moved is None:
            return None
        begun, ended = moved
        change, inside = cv2.estimateAffinePartial2D(
            begun, ended, method=cv2.RANSAC, ransacReprojThreshold=_OFF
        )
        if change is None or inside.sum() < _FEWEST:
            return None
        fit = _composed(guess, change)
        scale = float(np.sqrt(abs(np.linalg.det(fit[:, :2]))))
        if not 1 / _WRONG_SIZE < scale < _WRONG_SIZE:
            return None
        self.kept += len(begun) / len(self.features)
        kept = inside.ravel().astype(bool)
        rest = ended[kept] - (begun[kept] @ change[:, :2].T + change[:, 2])
        error = float(np.sqrt((rest**2).sum() / (2 * kept.sum() - 4) / kept.sum()))
        return fit, _UNDERRATED * scale * max(error, _LEAST_ERROR)


def _flow(key: Grey, laid: Grey, features: Any) -> tuple[Floats, Floats] | None:
    """Features that come back to where they began: begins and ends."""
    cv2 = vision()
    wide = max(min(key.shape) // 5, 7)
    ask = {"winSize": (wide, wide), "maxLevel": 2}
    ends, there, _ = cv2.calcOpticalFlowPyrLK(key, laid, features, None, **ask)
    back, again, _ = cv2.calcOpticalFlowPyrLK(laid, key, ends, None, **ask)
    off = np.linalg.norm((back - features).reshape(-1, 2), axis=1)
    good = (there.ravel() == 1) & (again.ravel() == 1) & (off <= _THERE_AND_BACK)
    if good.sum() < _FEWEST:
        return None
    begun = features.reshape(-1, 2)[good].astype(np.float64)
    return begun, ends.reshape(-1, 2)[good].astype(np.float64)


def _composed(outer: Floats, inner: Floats) -> Floats:
    linear = outer[:, :2] @ inner[:, :2]
    return np.column_stack([linear, outer[:, :2] @ inner[:, 2] + outer[:, 2]])


def follow_points(
    frames: Iterable[Frame], picked: PickedPoints, progress: Callable[[int], None] | None = None
) -> PointTracks | None:
    """The line from the pivot to the arm in every frame.

    Args:
        frames: of the film, in order.
        picked: the two points in the first of them.
        progress: called with the number of each frame.

    Returns:
        The tracks; None where there is no frame.

    Raises:
        InputError: a point outside the picture, too near to the other, or without marks around it.
    """
    patches: list[_Patch] = []
    still: Grey | None = None
    times: list[float] = []
    angles: list[float] = []
    errors: list[float] = []
    for frame in frames:
        if still is None:
            still = frame.grey
            _require_apart(picked, still)
            patches = [_Patch(still, picked.pivot, "pivot"), _Patch(still, picked.arm, "arm")]
        places = [patch.follow(frame.grey) for patch in patches]
        pivot, arm = places
        times.append(frame.time)
        if pivot is None or arm is None:
            angles.append(np.nan)
            errors.append(np.nan)
        else:
            line = arm[0] - pivot[0]
            angles.append(float(np.arctan2(line[1], line[0])))
            errors.append(float(np.hypot(arm[1], pivot[1]) / np.linalg.norm(line)))
        if progress is not None:
            progress(frame.number)
    if still is None:
        return None
    angle = np.array(angles)
    seen = np.isfinite(angle)
    angle[seen] = np.unwrap(angle[seen])
    kept = min(patch.kept for patch in patches) / len(times)
    unknown = Timed(0.0, np.inf)
    found = ArmAngle(np.array(times), angle, np.array(errors), unknown, None, None)
    return PointTracks(found, still, kept)


def _require_apart(picked: PickedPoints, still: Grey) -> None:
    apart = float(np.hypot(*np.subtract(picked.pivot, picked.arm)))
    least = _LEAST_APART * min(still.shape)
    if apart < least:
        raise InputError.one(
            "arm",
            say("{apart:.0f} pixels from the pivot", apart=apart),
            say("{least:.0f} or more", least=least),
            say("Pick a point near the arm's far end."),
        )
