"""Steady draw of a Newtonian sheet: plane stress, no inertia, thickness from what flows in.

Unknown are the speeds u and v over v0 and the place y of the particle at x that came from eta.
A streamline carries its volume, thickness t = t0/(u y_eta), so with D the rate of strain

    integral of (1/u) (D + tr D I) : grad phi = 0,        u y_x = v.

Slow roller, x = 0: u = 1, v = 0, y = eta. Fast roller, x = 1: u = lambda, v = 0. Edge: free.
Middle: v = 0, y = 0.
"""

from __future__ import annotations

import numpy as np

from reference.elements import Mesh, graded_both, graded_to_edge, solve


def width_ratio(gap_share: float, stretch: float, fineness: int = 12) -> float:
    """w/w0 behind the gap.

    Args:
        gap_share: gap over roll width, G/w0.
        stretch: lambda.
        fineness: elements along the gap; twice that across half of the film.
    """
    half_width = 0.5 / gap_share
    mesh = Mesh(graded_both(fineness, 1.6), graded_to_edge(2 * fineness, half_width))
    entry, exit_, middle = mesh.x == 0.0, mesh.x == 1.0, mesh.eta == 0.0
    fixed = np.stack([entry | exit_, entry | exit_ | middle, entry | middle])
    fields = np.stack([1.0 + 0.0 * mesh.x, 0.0 * mesh.x, mesh.eta])
    for draw in np.geomspace(1.0, stretch, max(3, round(4 * np.log(stretch))))[1:]:
        # The speeds of a wide film, whose force is the same along the gap, grow like this.
        fields[0] *= (draw / fields[0][exit_].max()) ** mesh.x
        found = _solved(mesh, fields, fixed)
        if found is None:
            return float("nan")
        fields = found
    corner = np.flatnonzero(exit_ & (mesh.eta == mesh.eta_ends[-1]))[0]
    return float(fields[2, corner] / half_width)


def _solved(mesh: Mesh, start: np.ndarray, fixed: np.ndarray) -> np.ndarray | None:
    # Streamlines are followed against the flow: the test function looks upstream.
    upstream = 0.5 * mesh.size()

    def residual(local: np.ndarray) -> np.ndarray:
        here = np.einsum("efn,pn->efp", local, mesh.shape)
        along = np.einsum("efn,epn->efp", local, mesh.slope_x)
        across = np.einsum("efn,epn->efp", local, mesh.slope_eta)
        y_x, y_eta = along[:, 2], across[:, 2]

        def gradient(field: int) -> tuple[np.ndarray, np.ndarray]:
            by_y = across[:, field] / y_eta
            return along[:, field] - by_y * y_x, by_y

        u, v = here[:, 0], here[:, 1]
        (u_x, u_y), (v_x, v_y) = gradient(0), gradient(1)
        xx, yy, xy = (2 * u_x + v_y) / u, (u_x + 2 * v_y) / u, 0.5 * (u_y + v_x) / u
        out = []
        for first, second in ((xx, xy), (xy, yy)):
            # grad phi = (phi_x - phi_eta y_x/y_eta, phi_eta/y_eta)
            to_eta = (second - first * y_x) / y_eta
            out.append(
                np.einsum("ep,epn->en", mesh.weight * first, mesh.slope_x)
                + np.einsum("ep,epn->en", mesh.weight * to_eta, mesh.slope_eta)
            )
        carried = mesh.weight * (y_x - v / u)
        out.append(
            np.einsum("ep,pn->en", carried, mesh.shape)
            + np.einsum("ep,epn->en", carried * upstream, mesh.slope_x)
        )
        return np.stack(out, axis=1)

    return solve(mesh, start, fixed, residual)
