"""The load's outline seen from above: what film lies on, and how far it reaches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, PhysicsError
from woold.words import say

__all__ = [
    "Outline",
    "convex_hull",
    "largest_radius",
    "perimeter",
    "polygon_outline",
    "rectangle_outline",
    "require_clear_exit",
    "round_outline",
    "side_vectors",
]

Floats = NDArray[np.float64]

_GRID = 2.0**40  # steps across the outline; points nearer than that are one


@dataclass(frozen=True, eq=False)
class Outline:
    """The curve that film lies on: a convex polygon grown by a disc of `corner_radius`.

    A round load is one vertex with its radius; a sharp-edged load has corner radius 0.

    Args:
        vertices: corners, counter-clockwise, from the axis of turning [m], shape (n, 2).
        corner_radius: radius of the disc [m].
    """

    vertices: Floats
    corner_radius: float = 0.0


def convex_hull(points: ArrayLike) -> Floats:
    """Convex hull of points in the plane, counter-clockwise, no three corners on a line.

    Args:
        points: coordinates [m], shape (n, 2), any order.

    Returns:
        Corners [m], shape (m, 2).

    Raises:
        InputError: the points are not pairs of finite numbers, or they all lie on one line.

    Source: A. M. Andrew, Information Processing Letters 9 (1979) 216 (monotone chain).
    """
    wanted = say("three or more points that do not lie on one line, each two finite numbers")
    todo = say("Give the corners of the load's outline seen from above.")
    try:
        given = np.asarray(points, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError.one("load.footprint", points, wanted, todo) from None
    if given.ndim != 2 or given.shape[1] != 2 or not np.isfinite(given).all():
        raise InputError.one("load.footprint", np.array2string(given), wanted, todo)
    size = float(np.ptp(given, axis=0).max()) if len(given) else 0.0
    if size == 0.0:
        raise InputError.one(
            "load.footprint",
            say("points, all in one place: {given}", given=len(given)),
            wanted,
            todo,
        )
    # Whole numbers, so that "left of" is exact and nearly equal points cannot break the chain.
    grid = [tuple(int(x) for x in point) for point in np.rint(given * (_GRID / size))]
    order = sorted(dict(zip(grid, range(len(grid)), strict=True)).items())
    hull = [*_chain(order)[:-1], *_chain(order[::-1])[:-1]]
    if len(hull) < 3:
        raise InputError.one(
            "load.footprint",
            say("points, all on one line: {given}", given=len(given)),
            wanted,
            todo,
        )
    return given[hull]


def _chain(order: list[tuple[tuple[int, ...], int]]) -> list[int]:
    chain: list[tuple[tuple[int, ...], int]] = []
    for place, index in order:
        while len(chain) >= 2:
            (ax, ay), (bx, by) = chain[-2][0], chain[-1][0]
            if (bx - ax) * (place[1] - ay) > (by - ay) * (place[0] - ax):
                break
            chain.pop()
        chain.append((place, index))
    return [index for _, index in chain]


def rectangle_outline(
    length: float, width: float, offset: tuple[float, float] = (0.0, 0.0)
) -> Outline:
    """Outline of a rectangular load.

    Args:
        length: side along x [m].
        width: side along y [m].
        offset: centre of the load from the axis of turning [m].

    Raises:
        InputError: a side that is not positive and finite, or an offset that is not finite.
    """
    _require_sizes({"load.length": length, "load.width": width})
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (length / 2, width / 2)
    return Outline(corners + _offset(offset))


def polygon_outline(points: ArrayLike, offset: tuple[float, float] = (0.0, 0.0)) -> Outline:
    """Outline of a load of any shape: the convex hull of its points, which is what film touches.

    Args:
        points: coordinates [m], shape (n, 2).
        offset: origin of the points from the axis of turning [m].

    Raises:
        InputError: as `convex_hull`, or an offset that is not finite.
    """
    return Outline(convex_hull(points) + _offset(offset))


def round_outline(diameter: float, offset: tuple[float, float] = (0.0, 0.0)) -> Outline:
    """Outline of a round load.

    Args:
        diameter: [m].
        offset: centre of the load from the axis of turning [m].

    Raises:
        InputError: a diameter that is not positive and finite, or an offset that is not finite.
    """
    _require_sizes({"load.diameter": diameter})
    return Outline(_offset(offset)[None, :], diameter / 2)


def side_vectors(vertices: Floats) -> Floats:
    """Sides of an outline, each from its corner to the next.

    Args:
        vertices: corners, counter-clockwise, shape (n, 2) [m].

    Returns:
        Vectors, shape (n, 2) [m].
    """
    return np.concatenate([vertices[1:], vertices[:1]]) - vertices


def perimeter(outline: Outline) -> float:
    """Length of film that one turn lays on the outline.

    L = Σ |V(i+1) - V(i)| + 2π c

    Returns:
        Perimeter [m].
    """
    sides = side_vectors(outline.vertices)
    return float(np.hypot(sides[:, 0], sides[:, 1]).sum() + 2 * np.pi * outline.corner_radius)


def largest_radius(outline: Outline) -> float:
    """Radius of the circle that the turning load sweeps.

    R = max |V| + c

    Returns:
        Radius [m].
    """
    return float(np.hypot(*outline.vertices.T).max() + outline.corner_radius)


def require_clear_exit(outline: Outline, exit_distance: float) -> None:
    """Refuse an exit point that the turning load would hit.

    Raises:
        PhysicsError: the exit distance is not greater than `largest_radius`.
    """
    swept = largest_radius(outline)
    if not swept < exit_distance < np.inf:
        raise PhysicsError.one(
            "machine.exit_distance",
            f"{exit_distance:g} m",
            say(
                "more than {swept:.4g} m, the circle that the load's farthest corner sweeps",
                swept=swept,
            ),
            say(
                "Measure from the axis of turning to the roller that film leaves last, or"
                " centre the load."
            ),
        )


def _offset(offset: tuple[float, float]) -> Floats:
    shift = np.asarray(offset, dtype=np.float64)
    if shift.shape != (2,) or not np.isfinite(shift).all():
        raise InputError.one(
            "load.offset", offset, say("two finite lengths"), say("Mend the value.")
        )
    return shift


def _require_sizes(sizes: dict[str, float]) -> None:
    wrong = [(field, size) for field, size in sizes.items() if not (np.isfinite(size) and size > 0)]
    if wrong:
        raise InputError(
            *(
                problem
                for field, size in wrong
                for problem in InputError.one(
                    field, f"{size} m", say("a length above zero"), say("Mend the value.")
                ).problems
            )
        )
