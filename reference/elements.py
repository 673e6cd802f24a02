"""Biquadratic finite elements on a graded rectangle, solved by Newton's method.

Coordinates are x along the gap and eta, the place across the undrawn film that a streamline came
from. Both free boundaries of the draw are straight in them. Lengths are in gaps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

GAUSS = np.polynomial.legendre.leggauss(3)
EDGE_SCALE = 0.15  # in gaps, how near to the edge its elements are fine
STEP = 1e-30  # of a complex step: exact derivatives


def quadratic(s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Quadratic shape functions on -1..1 and their slopes, shape (points, 3)."""
    return (
        np.stack([0.5 * s * (s - 1), 1 - s**2, 0.5 * s * (s + 1)], axis=-1),
        np.stack([s - 0.5, -2 * s, s + 0.5], axis=-1),
    )


def graded_both(count: int, strength: float) -> np.ndarray:
    """Ends of elements on 0..1, finer towards both ends."""
    s = np.linspace(-1, 1, count + 1)
    return 0.5 * (1 + np.tanh(strength * s) / np.tanh(strength))


def graded_to_edge(count: int, half_width: float) -> np.ndarray:
    """Ends of elements on 0..half width, finer towards the free edge, where film narrows."""
    s = np.linspace(0, 1, count + 1)
    reach = np.arcsinh(half_width / EDGE_SCALE)
    ends = half_width - EDGE_SCALE * np.sinh(reach * (1 - s))
    ends[0] = 0.0  # and not nearly: the middle is found by its place
    return ends


@dataclass
class Mesh:
    """Elements, nodes and quadrature of a rectangle.

    Args:
        x_ends, eta_ends: ends of the elements along both axes.
    """

    x_ends: np.ndarray
    eta_ends: np.ndarray
    x: np.ndarray = field(init=False)
    eta: np.ndarray = field(init=False)
    cells: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        def nodes(ends: np.ndarray) -> np.ndarray:
            middles = 0.5 * (ends[1:] + ends[:-1])
            return np.insert(ends, np.arange(1, len(ends)), middles)

        xs, etas = nodes(self.x_ends), nodes(self.eta_ends)
        self.x, self.eta = (each.ravel() for each in np.meshgrid(xs, etas, indexing="ij"))
        across = len(etas)
        i, j = np.meshgrid(np.arange(len(self.x_ends) - 1), np.arange(len(self.eta_ends) - 1))
        corner = (2 * i.ravel() * across + 2 * j.ravel())[:, None]
        local = (np.arange(3)[:, None] * across + np.arange(3)[None, :]).ravel()
        self.cells = corner + local
        place, weight = GAUSS
        shape, slope = quadratic(place)
        width = np.diff(self.x_ends)[i.ravel()]
        height = np.diff(self.eta_ends)[j.ravel()]
        # Shapes (points, 9) and slopes (elements, points, 9), x index outermost as in `local`.
        self.shape = np.einsum("pa,qb->pqab", shape, shape).reshape(9, 9)
        along = np.einsum("pa,qb->pqab", slope, shape).reshape(9, 9)
        over = np.einsum("pa,qb->pqab", shape, slope).reshape(9, 9)
        self.slope_x = along[None] * (2 / width)[:, None, None]
        self.slope_eta = over[None] * (2 / height)[:, None, None]
        self.weight = (width * height / 4)[:, None] * np.outer(weight, weight).ravel()[None]
        # The exit's line elements: the last column of elements, their side at x = 1.
        self.exit = np.flatnonzero(i.ravel() == len(self.x_ends) - 2)
        self.exit_shape = np.einsum("a,qb->qab", [0.0, 0.0, 1.0], shape).reshape(3, 9)
        exit_slope = np.einsum("a,qb->qab", [0.0, 0.0, 1.0], slope).reshape(3, 9)
        self.exit_slope_eta = exit_slope[None] * (2 / height[self.exit])[:, None, None]
        self.exit_weight = (height[self.exit] / 2)[:, None] * weight[None]

    @property
    def count(self) -> int:
        """Number of nodes."""
        return len(self.x)

    def size(self) -> np.ndarray:
        """Length of each element along x, shape (elements, 1)."""
        return np.max(self.x[self.cells], axis=1, keepdims=True) - np.min(
            self.x[self.cells], axis=1, keepdims=True
        )


def solve(
    mesh: Mesh,
    start: np.ndarray,
    fixed: np.ndarray,
    residual: Callable[[np.ndarray], np.ndarray],
    exit_residual: Callable[[np.ndarray], np.ndarray] | None = None,
    most_steps: int = 60,
) -> np.ndarray | None:
    """Fields, shape (fields, nodes), for which the residual vanishes; None where it does not.

    Args:
        mesh: the elements.
        start: first guess, with the fixed values in place.
        fixed: which values are given, shape (fields, nodes).
        residual: of elements' fields (elements, fields, 9), the same shape.
        exit_residual: likewise of the elements at the exit, for its line.
    """
    fields = start.shape[0]
    unknowns = fields * mesh.count
    places = (np.arange(fields)[None, :, None] * mesh.count + mesh.cells[:, None, :]).reshape(
        len(mesh.cells), -1
    )
    free = np.flatnonzero(~fixed.ravel())
    state = start.ravel().astype(float)

    def assembled(values: np.ndarray) -> np.ndarray:
        total = np.zeros(unknowns)
        for function, cells in ((residual, slice(None)), (exit_residual, mesh.exit)):
            if function is not None:
                local = values[places[cells]].reshape(-1, fields, 9)
                np.add.at(total, places[cells], function(local).reshape(len(local), -1))
        return total

    def slopes(values: np.ndarray) -> sp.csc_matrix:
        rows, columns, entries = [], [], []
        for function, cells in ((residual, slice(None)), (exit_residual, mesh.exit)):
            if function is None:
                continue
            own = places[cells]
            local = values[own].astype(complex)
            for each in range(own.shape[1]):
                moved = local.copy()
                moved[:, each] += 1j * STEP
                change = function(moved.reshape(-1, fields, 9)).imag.reshape(len(own), -1) / STEP
                rows.append(own.ravel())
                columns.append(np.repeat(own[:, each], own.shape[1]))
                entries.append(change.ravel())
        return sp.csc_matrix(
            (np.concatenate(entries), (np.concatenate(rows), np.concatenate(columns))),
            shape=(unknowns, unknowns),
        )

    with np.errstate(all="ignore"):
        left = assembled(state)
        for _ in range(most_steps):
            size = np.linalg.norm(left[free])
            if not np.isfinite(size):
                return None
            if size < 1e-10:
                return state.reshape(fields, -1)
            step = np.zeros(unknowns)
            try:
                step[free] = splu(slopes(state)[free][:, free]).solve(-left[free])
            except RuntimeError:
                return None
            part = 1.0
            while part > 1e-4:
                tried = state + part * step
                left = assembled(tried)
                if np.linalg.norm(left[free]) < (1 - 0.1 * part) * size:
                    break
                part *= 0.5
            else:
                return None
            state = tried
    return None
