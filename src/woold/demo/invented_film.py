"""An invented film: the dancer that bounces, with printed tags on, as a phone would see it."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.demo.dancer_traces import TURN, bouncing_angle

__all__ = ["write_film"]

Floats = NDArray[np.float64]

_WIDTH, _HEIGHT = 400, 300
_RATE = 25.0
_LENGTH = 29.0  # s
_FINE = 2  # each pixel is drawn by so many each way
_PIVOT, _REACH = (120.0, 190.0), 130.0


def write_film(path: Path, seed: int = 20_252) -> None:
    """Write the film, where the extra that reads films is installed; else nothing.

    Args:
        path: file to write, an AVI.
        seed: of the camera's noise.
    """
    if find_spec("cv2") is None:
        return
    from woold.filmed.vision import vision

    cv2 = vision()
    random = np.random.default_rng(seed)
    time = np.arange(0.0, _LENGTH, 1 / _RATE)
    angle = np.radians(bouncing_angle(time, random))
    code = cv2.VideoWriter_fourcc(*"mp4v")
    film = cv2.VideoWriter(str(path), cv2.CAP_FFMPEG, code, _RATE, (_WIDTH, _HEIGHT), True)
    ground = np.full((_HEIGHT, _WIDTH), 120, np.uint8)
    noise = random.normal(0.0, 2.0, (8, _HEIGHT, _WIDTH)).astype(np.float32)
    for place, (at, turn) in enumerate(zip(time, angle, strict=True)):
        picture = ground.copy()
        for role, middle, side, lies in _tags(float(at), float(turn)):
            _lay(cv2, picture, role, middle, side, lies)
        grey = np.clip(picture + noise[place % len(noise)], 0, 255).astype(np.uint8)
        film.write(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR))
    film.release()


def _tags(time: float, angle: float) -> Iterator[tuple[int, tuple[float, float], float, float]]:
    """Number, middle, side and turn of each tag in the picture."""
    yield 0, (70.0, 80.0), 48.0, 0.1
    arm = (_PIVOT[0] + _REACH * np.cos(angle), _PIVOT[1] - _REACH * np.sin(angle))
    yield 1, (float(arm[0]), float(arm[1])), 48.0, -angle
    table = 2 * np.pi * time / TURN
    load = (330.0 + 260.0 * np.cos(table), 330.0 + 260.0 * np.sin(table))
    if 190 < load[0] < 380 and load[1] < 110:
        yield 2, (float(load[0]), float(load[1])), 48.0, table


def _lay(
    cv2: Any,
    picture: NDArray[np.uint8],
    role: int,
    middle: tuple[float, float],
    side: float,
    turn: float,
) -> None:
    """Draw a tag with its white rim."""
    from woold.filmed.tags import CELLS, tag_cells

    cells = np.pad(np.where(tag_cells(role), 30, 220).astype(np.uint8), 1, constant_values=220)
    grain = 16
    texture = np.kron(cells, np.ones((grain, grain), np.uint8))
    half = int(side * (CELLS + 2) / CELLS * 0.75) + 2
    left, top = int(middle[0]) - half, int(middle[1]) - half
    size = 2 * half
    scale = _FINE * side / CELLS / grain
    c, s = scale * np.cos(turn), scale * np.sin(turn)
    whole = len(texture) / 2 - 0.5
    at = (np.array(middle) - (left, top) + 0.5) * _FINE - 0.5
    shift = at - np.array([[c, -s], [s, c]]) @ (whole, whole)
    matrix = np.array([[c, -s, shift[0]], [s, c, shift[1]]])
    wide = (size * _FINE, size * _FINE)
    drawn = cv2.warpAffine(texture, matrix, wide, flags=cv2.INTER_LINEAR, borderValue=120)
    small = cv2.resize(drawn, (size, size), interpolation=cv2.INTER_AREA)
    right, bottom = min(left + size, _WIDTH), min(top + size, _HEIGHT)
    x, y = max(left, 0), max(top, 0)
    picture[y:bottom, x:right] = small[y - top : bottom - top, x - left : right - left]
