"""The plane of the frame's tag: the camera's movement and perspective taken out of a film.

A tag on the arm in a plane beside the frame tag's, parallel to it, is seen through the camera's
centre: laid into the frame tag's plane it is larger or smaller and shifted, but never turned. So
its angle there is the arm's own, whatever the camera's place and however far apart the planes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["SQUARE", "aligned", "applied", "laid_flat", "plane_maps", "steady_corners", "turned"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_BLOCK = 4096  # frames whose equations are solved together

SQUARE = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
"""Corners of a tag in its own plane, clockwise with y down, its side being one."""


def aligned(corners: Floats, onto: Floats) -> Complexes:
    """Shift, turn and scale that lay corners on others best: a z + b, as complex numbers.

    Args:
        corners: shape (n, 4, 2).
        onto: shape (4, 2) or (n, 4, 2).

    Returns:
        a and b, shape (n, 2), complex.
    """
    z, w = _complex(corners), np.broadcast_to(_complex(onto), corners.shape[:-1])
    z0, w0 = z.mean(axis=-1), w.mean(axis=-1)
    dz, dw = z - z0[..., None], w - w0[..., None]
    square = (np.abs(dz) ** 2).sum(axis=-1)
    turn = (dw * dz.conj()).sum(axis=-1)
    a = np.full(turn.shape, np.nan + 0j)
    np.divide(turn, square, out=a, where=np.isfinite(square) & np.isfinite(turn))
    return np.stack([a, w0 - a * z0], axis=-1)


def steady_corners(corners: Floats, time: Floats, window: float) -> Floats:
    """Corners of a tag whose shape is that of the frames around: only its place, turn and size are
    of the moment.

    A camera that is held or stands changes its slant slowly, and shakes quickly: four corners of
    one frame say little of the slant, those of many say much.

    Args:
        corners: NaN where not seen [px], shape (n, 4, 2).
        time: of the frames [s], shape (n,).
        window: over which the shape is averaged [s].

    Returns:
        Corners, NaN where not seen, shape (n, 4, 2).
    """
    seen = np.isfinite(corners).all(axis=(1, 2))
    if not seen.any():
        return corners.copy()
    there, at = corners[seen], time[seen]
    base = np.median(there, axis=0)
    for _ in range(2):
        moved = applied(aligned(there, base), there)
        base = moved.mean(axis=0)
    moved = applied(aligned(there, base), there)
    first = np.searchsorted(at, at - window / 2, side="left")
    last = np.searchsorted(at, at + window / 2, side="right")
    sums = np.concatenate([np.zeros((1, 4, 2)), np.cumsum(moved, axis=0)])
    shape = (sums[last] - sums[first]) / (last - first)[:, None, None]
    back = aligned(shape, there)
    steady = np.full(corners.shape, np.nan)
    steady[seen] = applied(back, shape)
    return steady


def plane_maps(corners: Floats) -> Floats:
    """Maps of the picture onto the plane of a tag.

    Args:
        corners: of the tag [px], shape (n, 4, 2).

    Returns:
        Three by three matrices that take pixels to sides of the tag from its middle, (n, 3, 3).
    """
    parts = [_maps_of(corners[at : at + _BLOCK]) for at in range(0, len(corners), _BLOCK)]
    return np.concatenate(parts) if parts else np.empty((0, 3, 3))


def _maps_of(corners: Floats) -> Floats:
    count = len(corners)
    x, y = SQUARE.T
    u, v = corners[..., 0], corners[..., 1]
    one, zero = np.ones(4), np.zeros(4)
    rows = np.zeros((count, 8, 8))
    rows[:, :4] = np.stack([x, y, one, zero, zero, zero], axis=-1)[None] @ np.eye(6, 8)
    rows[:, 4:] = np.stack([zero, zero, zero, x, y, one], axis=-1)[None] @ np.eye(6, 8)
    rows[:, :4, 6], rows[:, :4, 7] = -x * u, -y * u
    rows[:, 4:, 6], rows[:, 4:, 7] = -x * v, -y * v
    values = np.concatenate([u, v], axis=1)
    maps = np.full((count, 3, 3), np.nan)
    good = np.isfinite(values).all(axis=1)
    solved = np.linalg.solve(rows[good], values[good][..., None])[..., 0]
    maps[good] = np.linalg.inv(
        np.concatenate([solved, np.ones((len(solved), 1))], axis=1).reshape(-1, 3, 3)
    )
    return maps


def laid_flat(maps: Floats, points: Floats) -> Floats:
    """Points of the picture in the plane of a tag.

    Args:
        maps: of `plane_maps`, shape (n, 3, 3).
        points: [px], shape (n, m, 2).

    Returns:
        In sides of the tag, shape (n, m, 2).
    """
    flat = np.einsum("nij,nmj->nmi", maps[:, :, :2], points) + maps[:, None, :, 2]
    return np.asarray(flat[..., :2] / flat[..., 2:])


def turned(corners: Floats) -> tuple[Floats, Floats, Floats]:
    """How a tag lies in a plane: its turn, its size, and how far it is from a square.

    Args:
        corners: in the plane, shape (n, 4, 2).

    Returns:
        Turn from the plane's own axes, clockwise with y down [rad]; side; root mean square of what
        is left of its corners over its side; each of shape (n,).
    """
    fit = aligned(np.broadcast_to(SQUARE, corners.shape), corners)
    laid = applied(fit, np.broadcast_to(SQUARE, corners.shape))
    size = np.abs(fit[..., 0])
    left = np.sqrt(((corners - laid) ** 2).sum(axis=-1).mean(axis=-1)) / size
    return np.angle(fit[..., 0]), size, left


def _complex(points: Floats) -> Complexes:
    return np.asarray(points[..., 0] + 1j * points[..., 1])


def applied(fit: Complexes, points: Floats) -> Floats:
    """Points after a shift, turn and scale.

    Args:
        fit: of `aligned`, shape (n, 2), complex.
        points: shape (n, m, 2).
    """
    moved = fit[..., :1] * _complex(points) + fit[..., 1:]
    return np.stack([moved.real, moved.imag], axis=-1)
