"""Film demand: how fast a turning load of any convex outline takes film.

Everything is seen from the load, in the frame whose origin is the axis of turning. The film's exit
point then travels round the load; `theta` is its angle, counter-clockwise. A turntable that turns
clockwise seen from above does just this, and so do a rotary arm or a ring that turn counter-
clockwise; the other sense is the mirror image.

The film runs tangent to the load's outline. Its line is a supporting line of the outline, so the
distance from the axis to it is a value of the support function: its extremes do not depend on where
the exit point stands, and its mean over a turn is the perimeter over 2π.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.physics.outlines import (
    Outline,
    largest_radius,
    perimeter,
    require_clear_exit,
    side_vectors,
)

__all__ = [
    "DemandRange",
    "FlushSides",
    "demand_range",
    "film_demand",
    "film_line_distance",
    "flush_sides",
    "free_span",
    "touch_vertex",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DemandRange:
    """Slowest, mean and fastest film demand over a turn [m/s]."""

    slowest: float
    mean: float
    fastest: float


@dataclass(frozen=True, eq=False)
class FlushSides:
    """Where film lies flush on a side, which is where the demand's slope jumps.

    Args:
        theta: angle of the exit point [rad], shape (n,), one for each side.
        acceleration_jump: jump of the film's acceleration there [m/s²], shape (n,).
    """

    theta: Floats
    acceleration_jump: Floats


def film_line_distance(theta: ArrayLike, outline: Outline, exit_distance: float) -> Floats:
    """Distance from the axis to the film's line between the exit point and the load.

    p = R sin γ, γ = max over V of [angle at the exit point from the axis to V + asin(c/|V - P|)];
    for a sharp-edged load p = |P × (V - P)|/|V - P| at the tangent corner V.
    Negative while the axis lies outside the load and beyond the film.

    Args:
        theta: angle of the exit point P round the load [rad], any shape.
        outline: the load's outline.
        exit_distance: R = |P| [m].

    Returns:
        p [m], shape of theta.

    Raises:
        PhysicsError: the exit point lies within the circle that the load sweeps.

    Source: geometry; the supporting line of a convex set from a point.
    """
    sight, _, _ = _film_line(theta, outline, exit_distance)
    return np.asarray(exit_distance * np.sin(sight), dtype=np.float64)


def film_demand(
    theta: ArrayLike, outline: Outline, exit_distance: float, turning_speed: float
) -> Floats:
    """Speed at which the turning load takes film.

    v = Ω p(θ)

    Args:
        theta: angle of the exit point round the load [rad], any shape.
        outline: the load's outline.
        exit_distance: exit point from the axis [m].
        turning_speed: Ω [rad/s].

    Returns:
        Film demand [m/s], shape of theta.

    Raises:
        PhysicsError: as `film_line_distance`.
    """
    return turning_speed * film_line_distance(theta, outline, exit_distance)


def free_span(theta: ArrayLike, outline: Outline, exit_distance: float) -> Floats:
    """Length of film between the exit point and the point where it touches the load.

    ℓ = √(|V - P|² - c²)

    Args:
        theta: angle of the exit point P round the load [rad], any shape.
        outline: the load's outline.
        exit_distance: |P| [m].

    Returns:
        Free span [m], shape of theta.

    Raises:
        PhysicsError: as `film_line_distance`.
    """
    _, span, _ = _film_line(theta, outline, exit_distance)
    return span


def touch_vertex(theta: ArrayLike, outline: Outline, exit_distance: float) -> NDArray[np.intp]:
    """Index of the outline's corner that the film touches.

    Args:
        theta: angle of the exit point round the load [rad], any shape.
        outline: the load's outline.
        exit_distance: exit point from the axis [m].

    Returns:
        Index into `outline.vertices`, shape of theta.

    Raises:
        PhysicsError: as `film_line_distance`.
    """
    _, _, touched = _film_line(theta, outline, exit_distance)
    return touched


def demand_range(outline: Outline, turning_speed: float) -> DemandRange:
    """Slowest, mean and fastest film demand over a turn, exactly.

    Ω × (min h, perimeter/2π, max h) with h the outline's support function

    Args:
        outline: the load's outline.
        turning_speed: Ω [rad/s].

    Returns:
        The three speeds; the exit point's distance does not change them.

    Source: Cauchy's formula for the perimeter of a convex set (mean of the support function).
    """
    corners = outline.vertices
    sides = side_vectors(corners)
    # The support function is smallest across a side, or straight through the nearest corner when
    # the axis lies outside the load.
    normals = np.concatenate([np.column_stack([sides[:, 1], -sides[:, 0]]), -corners])
    lengths = np.hypot(normals[:, 0], normals[:, 1])
    directions = normals[lengths > 0] / lengths[lengths > 0, None]
    heights = (directions @ corners.T).max(axis=1) if len(directions) else np.zeros(1)
    nearest = float(heights.min()) + outline.corner_radius
    mean = perimeter(outline) / (2 * np.pi)
    return DemandRange(
        turning_speed * nearest, turning_speed * mean, turning_speed * largest_radius(outline)
    )


def flush_sides(outline: Outline, exit_distance: float, turning_speed: float) -> FlushSides:
    """Angles where film lies flush on a side, and how much its acceleration jumps there.

    Δa = Ω² (R² - p²)(1/ℓ_after - 1/ℓ_before), ℓ the free span to either end of the side

    Args:
        outline: the load's outline; a round load has no side.
        exit_distance: R [m].
        turning_speed: Ω [rad/s].

    Returns:
        Angles and jumps, one for each side, in the order of the outline's corners.

    Raises:
        PhysicsError: as `film_line_distance`.
    """
    require_clear_exit(outline, exit_distance)
    start, end = outline.vertices, np.roll(outline.vertices, -1, axis=0)
    if len(start) == 1:
        return FlushSides(np.empty(0), np.empty(0))
    along = (end - start) / np.hypot(*(end - start).T)[:, None]
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    distance = (normal * start).sum(axis=1) + outline.corner_radius
    half_chord = np.sqrt(exit_distance**2 - distance**2)
    exit_point = distance[:, None] * normal + half_chord[:, None] * along
    after = half_chord - (along * end).sum(axis=1)
    before = half_chord - (along * start).sum(axis=1)
    return FlushSides(
        np.arctan2(exit_point[:, 1], exit_point[:, 0]) % (2 * np.pi),
        turning_speed**2 * half_chord**2 * (1 / after - 1 / before),
    )


def _film_line(
    theta: ArrayLike, outline: Outline, exit_distance: float
) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Angle at the exit point from the axis to the film, free span, touched corner."""
    require_clear_exit(outline, exit_distance)
    angle = np.asarray(theta, dtype=np.float64)[..., None]
    vx, vy = outline.vertices.T
    # In axes with x from the exit point to the axis; every corner then lies at positive x.
    ahead = exit_distance - (np.cos(angle) * vx + np.sin(angle) * vy)
    aside = np.sin(angle) * vx - np.cos(angle) * vy
    distance = np.hypot(ahead, aside)
    sight = np.arctan2(aside, ahead) + np.arcsin(outline.corner_radius / distance)
    touched = sight.argmax(axis=-1)
    pick = touched[..., None]
    reach = np.take_along_axis(distance, pick, axis=-1)[..., 0]
    return (
        np.take_along_axis(sight, pick, axis=-1)[..., 0],
        np.sqrt(reach**2 - outline.corner_radius**2),
        touched,
    )
