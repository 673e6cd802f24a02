"""Steady draw of a solid that yields and hardens: J2 deformation theory with Gent hardening.

W = Y e_eq - Gp Jm/2 ln(1 - (I1 - 3)/Jm), e_eq the equivalent Hencky strain, incompressible, plane
stress. Unknown are the way xi = v0 x (time since the slow roller) and the place y of the particle
at x that came from eta. With F = d(x, y)/d(xi, eta) and P = dW/dF, equilibrium is

    integral of (P_i1 - P_i2 xi_eta) phi_x + P_i2 xi_x phi_eta = exit's traction.

Slow roller, x = 0: xi = 0, y = eta. Fast roller, x = 1: speed lambda and no sideways motion,
xi_x = 1/lambda, y_x = 0. Edge: free. Middle: y = 0.
"""

from __future__ import annotations

import numpy as np

from reference.elements import Mesh, graded_both, graded_to_edge, solve

SOFT = 1e-4  # strain over which the yield stress sets in


def stresses(f: tuple[np.ndarray, ...], flow: float, limit: float) -> tuple[np.ndarray, ...]:
    """Nominal stresses P11, P12, P21, P22 over Gp from F11, F12, F21, F22."""
    f11, f12, f21, f22 = f
    jacobian = f11 * f22 - f12 * f21
    square = f11**2 + f12**2 + f21**2 + f22**2
    lock = 1.0 / (1.0 - (square + jacobian**-2 - 3.0) / limit)
    growth = np.log(jacobian)
    half = square / (2.0 * jacobian)  # cosh of the difference of the two principal strains
    # arccosh without loss where both are nearly equal.
    difference = np.log(half + np.sqrt((half - 1.0) * (half + 1.0)))
    strain = np.sqrt(growth**2 + difference**2 / 3.0 + SOFT**2)
    shear = flow * difference / (3.0 * strain * np.sqrt((half - 1.0) * (half + 1.0)))
    by_square = shear / (2.0 * jacobian) + 0.5 * lock
    by_jacobian = (
        flow * growth / (strain * jacobian)
        - shear * square / (2.0 * jacobian**2)
        - lock * jacobian**-3
    )
    return (
        2.0 * by_square * f11 + by_jacobian * f22,
        2.0 * by_square * f12 - by_jacobian * f21,
        2.0 * by_square * f21 - by_jacobian * f12,
        2.0 * by_square * f22 + by_jacobian * f11,
    )


def width_ratio(
    gap_share: float, stretch: float, flow: float, limit: float, fineness: int = 12
) -> float:
    """w/w0 behind the gap.

    Args:
        gap_share: gap over roll width, G/w0.
        stretch: lambda.
        flow: yield stress over hardening modulus, Y/Gp.
        limit: extensibility Jm.
        fineness: elements along the gap; twice that across half of the film.
    """
    half_width = 0.5 / gap_share
    mesh = Mesh(graded_both(fineness, 1.6), graded_to_edge(2 * fineness, half_width))
    start = np.stack([mesh.x / stretch, mesh.eta])
    fixed = np.stack([mesh.x == 0.0, (mesh.x == 0.0) | (mesh.eta == 0.0)])
    # From a rubber to the film by steps: each draw is the next one's first guess.
    at, step = 0.0, flow
    fields = _solved(mesh, start, fixed, stretch, 0.0, limit)
    while fields is not None and at < flow:
        tried = _solved(mesh, fields, fixed, stretch, min(at + step, flow), limit)
        if tried is not None:
            fields, at = tried, min(at + step, flow)
        else:
            step *= 0.5
            if step < 1e-3 * flow:
                return float("nan")
    if fields is None:
        return float("nan")
    corner = np.flatnonzero((mesh.x == 1.0) & (mesh.eta == mesh.eta_ends[-1]))[0]
    return float(fields[1, corner] / half_width)


def _solved(
    mesh: Mesh, start: np.ndarray, fixed: np.ndarray, stretch: float, flow: float, limit: float
) -> np.ndarray | None:
    def residual(local: np.ndarray) -> np.ndarray:
        along = np.einsum("efn,epn->efp", local, mesh.slope_x)
        across = np.einsum("efn,epn->efp", local, mesh.slope_eta)
        xi_x, y_x, xi_eta, y_eta = along[:, 0], along[:, 1], across[:, 0], across[:, 1]
        f = (1 / xi_x, -xi_eta / xi_x, y_x / xi_x, y_eta - y_x * xi_eta / xi_x)
        p11, p12, p21, p22 = stresses(f, flow, limit)
        out = [
            np.einsum("ep,epn->en", mesh.weight * (first - second * xi_eta), mesh.slope_x)
            + np.einsum("ep,epn->en", mesh.weight * second * xi_x, mesh.slope_eta)
            for first, second in ((p11, p12), (p21, p22))
        ]
        return np.stack(out, axis=1)

    def exit_residual(local: np.ndarray) -> np.ndarray:
        across = np.einsum("efn,epn->efp", local, mesh.exit_slope_eta)
        xi_eta, y_eta = across[:, 0], across[:, 1]
        f = (stretch + 0 * xi_eta, -stretch * xi_eta, 0 * xi_eta, y_eta)
        p11, p12, p21, p22 = stresses(f, flow, limit)
        out = [
            -np.einsum("ep,pn->en", mesh.exit_weight * (first - second * xi_eta), mesh.exit_shape)
            for first, second in ((p11, p12), (p21, p22))
        ]
        return np.stack(out, axis=1)

    return solve(mesh, start, fixed, residual, exit_residual)
