"""Printed square tags of an open family: their cells, and where they stand in a picture.

Source: S. Garrido-Jurado et al., "Automatic generation and detection of highly reliable fiducial
markers under occlusion", Pattern Recognition 47 (2014) 2280-2292: the family of four by four cells,
of which the first three are used.
"""

from __future__ import annotations

import functools
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.filmed.vision import vision
from woold.words import to_say

__all__ = [
    "ARM",
    "CELLS",
    "FAMILY",
    "FRAME",
    "LOAD",
    "ROLES",
    "Region",
    "found_tags",
    "side_length",
    "tag_cells",
]

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

FAMILY = "DICT_4X4_50"
"""The family's name in OpenCV."""

CELLS = 6
"""Cells along a tag's side, its black border included."""

FRAME, ARM, LOAD = range(3)
"""Numbers of the tags in the family, by where they are stuck."""

ROLES = (to_say("frame"), to_say("arm"), to_say("load"))
"""What each tag is stuck on, to be said."""

_LEAST_SIDE = 14.0  # px; below it four by four cells cannot be told apart


class Region(NamedTuple):
    """A part of a picture, its right and lower edge excluded [px]."""

    left: int
    top: int
    right: int
    bottom: int


@functools.cache
def tag_cells(role: int) -> NDArray[np.bool_]:
    """Cells of a tag from its top left one, true where black, shape (6, 6).

    Args:
        role: number of the tag.
    """
    cv2 = vision()
    family = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, FAMILY))
    return np.asarray(cv2.aruco.generateImageMarker(family, role, CELLS) < 128)


@functools.cache
def _detector() -> Any:
    cv2 = vision()
    family = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, FAMILY))
    # Three of fifty: whatever else looks like a tag is none.
    ours = cv2.aruco.Dictionary(family.bytesList[: len(ROLES)].copy(), family.markerSize)
    ours.maxCorrectionBits = family.maxCorrectionBits
    ask = cv2.aruco.DetectorParameters()
    ask.errorCorrectionRate = 0.0
    ask.adaptiveThreshWinSizeMin, ask.adaptiveThreshWinSizeMax = 5, 45
    ask.adaptiveThreshWinSizeStep = 20
    ask.perspectiveRemoveIgnoredMarginPerCell = 0.2
    return cv2.aruco.ArucoDetector(ours, ask)


def found_tags(
    grey: Grey, region: Region | None = None, coarse: int = 1
) -> dict[int, list[Floats]]:
    """Tags in a picture, each by the four corners of its black border.

    Args:
        grey: the picture, shape (height, width).
        region: part of it that is looked at; all of it if not given.
        coarse: how many pixels count as one each way: quicker where tags are large.

    Returns:
        By number of the tag, every place where it stands, the largest first: corners clockwise from
        the tag's own top left one, centres of pixels being whole [px], shape (4, 2).
    """
    cv2 = vision()
    height, width = grey.shape
    left, top, right, bottom = region or Region(0, 0, width, height)
    part = grey[top:bottom, left:right]
    if min(part.shape) < _LEAST_SIDE * coarse:
        return {}
    if coarse > 1:
        size = (part.shape[1] // coarse, part.shape[0] // coarse)
        # Whole blocks of pixels: those are averaged several times as quickly as others.
        whole_blocks = part[: size[1] * coarse, : size[0] * coarse]
        part = cv2.resize(whole_blocks, size, interpolation=cv2.INTER_AREA)
    corners, numbers, _ = _detector().detectMarkers(part)
    found: dict[int, list[Floats]] = {}
    for quad, number in zip(corners, [] if numbers is None else numbers.ravel(), strict=True):
        whole = coarse * (np.asarray(quad, dtype=np.float64).reshape(4, 2) + 0.5) - 0.5
        if side_length(whole) >= _LEAST_SIDE:
            found.setdefault(int(number), []).append(whole + np.array([left, top]))
    return {number: sorted(quads, key=side_length)[::-1] for number, quads in found.items()}


def side_length(corners: Floats) -> float:
    """Side of the square of the same area as a tag in a picture [px].

    Args:
        corners: shape (4, 2).
    """
    x, y = corners.T
    return float(np.sqrt(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2))
