"""A sudden start: how far film lets a tier slip when the acceleration comes at once.

A tier that breaks loose is not set down gently on the film: it gains speed while the film is still
slack in shear, and overshoots the travel at which film and need balance. The work that the need
does up to the turning point equals the work that film takes up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from woold.physics.numeric import FloatOrArray, bracketed_root
from woold.physics.restraint import ShearedFilm, mean_restraint, restraint_limit, walls_lie_along

__all__ = [
    "film_chain_frequency",
    "largest_ramp_residual",
    "ramp_residual",
    "started_slip",
    "static_reach",
    "sudden_reach",
    "sudden_share",
    "sudden_slip",
]

Floats = NDArray[np.float64]


def static_reach(share: FloatOrArray) -> FloatOrArray:
    """Slip at which a shear panel balances a need that grew slowly, over its own scale d0.

    Equation: x/sqrt(1 + x^2) = f, so x_s = f/sqrt(1 - f^2).

    Args:
        share: need over the panel's limit f [-].

    Returns:
        x = delta/d0 [-]; infinite from f = 1.
    """
    share = np.asarray(share, dtype=float)
    held = np.where(share < 1.0, share, 0.0)
    return np.where(share < 1.0, held / np.sqrt(1.0 - held**2), np.inf)[()]


def sudden_reach(share: FloatOrArray) -> FloatOrArray:
    """Slip that a suddenly applied need reaches on a shear panel, over its own scale d0.

    Equation: f = (sqrt(1 + x^2) - 1)/x, so x_d = 2 f/(1 - f^2): 2/sqrt(1 - f^2) times the static
    slip.

    Args:
        share: need over the panel's limit f [-].

    Returns:
        x = delta/d0 [-]; infinite from f = 1.

    Source: work balance, derived here; no film damping, which is the safe side.
    """
    share = np.asarray(share, dtype=float)
    held = np.where(share < 1.0, share, 0.0)
    return np.where(share < 1.0, 2.0 * held / (1.0 - held**2), np.inf)[()]


def sudden_slip(force: FloatOrArray, film: ShearedFilm) -> FloatOrArray:
    """Slip that a suddenly applied need reaches before film turns the tier round.

    Equation: mean_restraint(delta) = force; for walls along the movement `sudden_reach`.

    Args:
        force: what the tier asks of the film at once and for longer than the swing [N].
        film: the film beside it.

    Returns:
        Slip [m]; 0 for no force, infinite where film cannot take up the work.

    Source: work balance, derived here.
    """
    force, limit, hoop, stiffness = np.broadcast_arrays(
        *(
            np.asarray(each, dtype=float)
            for each in (force, restraint_limit(film), film.hoop, film.shear_stiffness)
        )
    )
    possible = (force > 0.0) & (force < limit) & (stiffness > 0.0)
    share = np.where(possible, force / np.where(possible, limit, 1.0), 0.0)
    scale = hoop * np.asarray(film.slip_zone) / np.where(possible, stiffness, 1.0)
    if walls_lie_along(film):
        slip = scale * sudden_reach(share)
    else:
        # Walls along the movement would need the least travel.
        low = np.log(np.maximum(scale * sudden_reach(share), 1e-300))
        low = np.where(possible, low, 0.0)

        def missing(log_slip: FloatOrArray) -> FloatOrArray:
            given = mean_restraint(np.exp(log_slip), film)
            return np.where(possible, given / np.where(possible, force, 1.0) - 1.0, log_slip)

        slip = np.exp(bracketed_root(missing, low - 1e-9, low + 12.0 * np.log(10.0)))
    return np.where(possible, slip, np.where(force > 0.0, np.inf, 0.0))[()]


def film_chain_frequency(
    mass_above: FloatOrArray, stiffness: FloatOrArray, slips: FloatOrArray
) -> FloatOrArray:
    """Lowest natural frequency of tiers that only film holds to each other, from below.

    Equation: 1/omega^2 = sum m_i/k_i over the interfaces that slip (Dunkerley); m_i is the mass
    above interface i. The true frequency is this or higher, so that a start never seems gentler
    than it is.

    Args:
        mass_above: mass above each interface, shape (..., m) [kg].
        stiffness: film's force over travel at each interface, shape (..., m) [N/m].
        slips: the interface slips, shape (..., m).

    Returns:
        omega [rad/s], shape (...); infinite where nothing slips, 0 where film holds nothing.

    Source: S. Dunkerley, Phil. Trans. R. Soc. A 185 (1894) 279, from memory.
    """
    moving = np.asarray(slips, dtype=bool)
    with np.errstate(divide="ignore"):
        soft = np.where(moving, np.asarray(mass_above) / np.where(moving, stiffness, 1.0), 0.0)
        frequency: FloatOrArray = (1.0 / np.sqrt(soft.sum(axis=-1)))[()]
    return frequency


def ramp_residual(frequency: FloatOrArray, ramp_time: FloatOrArray) -> FloatOrArray:
    """Swing that stays after a force has grown evenly over a time, over that of a sudden one.

    Equation: R = |sin(omega t/2)/(omega t/2)|.

    Args:
        frequency: natural frequency omega [rad/s].
        ramp_time: time t in which the force grows [s].

    Returns:
        Share [-]: 1 for a sudden force.

    Source: undamped oscillator under a ramp, textbook result.
    """
    # numpy's sinc(x) is sin(pi x)/(pi x).
    turns = np.asarray(frequency, dtype=float) * np.asarray(ramp_time) / (2.0 * np.pi)
    return np.abs(np.sinc(np.where(np.isfinite(turns), turns, 0.5)))[()]


def largest_ramp_residual(frequency: FloatOrArray, ramp_time: FloatOrArray) -> FloatOrArray:
    """Most swing that may stay after a ramp, where frequency and time are not known well.

    Equation: sin(a)/a up to a = pi/2, then 1/a, a = omega t/2: never less than `ramp_residual`,
    and never growing with the frequency.

    Args:
        frequency: natural frequency omega, or a lower bound of it [rad/s].
        ramp_time: time t in which the force grows [s].

    Returns:
        Share [-]: 1 for a sudden force.

    Source: envelope of `ramp_residual`.
    """
    omega = np.asarray(frequency, dtype=float)
    # What is rigid does not swing, however sudden the start.
    is_rigid = np.isinf(omega)
    half = np.where(is_rigid, np.inf, 0.5 * np.where(is_rigid, 0.0, omega) * np.asarray(ramp_time))
    near = ramp_residual(np.where(half < 0.5 * np.pi, 2.0 * half, 0.0), 1.0)
    return np.where(half < 0.5 * np.pi, near, 1.0 / np.maximum(half, 1.0))[()]


def sudden_share(
    force: FloatOrArray,
    friction_drop: FloatOrArray,
    residual: FloatOrArray,
) -> FloatOrArray:
    """Part of the need that comes at once although the acceleration grows over a ramp.

    Equation: s = [drop + R (need - drop)]/need; per weight
    [(mu - mu_k) + R (c - mu)]/(c - mu_k). The drop from static to kinetic friction is itself
    sudden, however slow the start (a tilt has R = 0).

    Args:
        force: need beyond kinetic friction, W (c - mu_k) [N].
        friction_drop: static less kinetic friction force, W (mu - mu_k) [N].
        residual: R, as `ramp_residual` gives it [-].

    Returns:
        Share, 0 to 1; 1 where nothing is needed [-].
    """
    force = np.asarray(force, dtype=float)
    needed = np.where(force > 0.0, force, 1.0)
    drop = np.minimum(np.asarray(friction_drop, dtype=float), needed)
    share = (drop + np.asarray(residual) * (needed - drop)) / needed
    return np.where(force > 0.0, share, 1.0)[()]


def started_slip(static: FloatOrArray, sudden: FloatOrArray, share: FloatOrArray) -> FloatOrArray:
    """Slip under a need of which a part comes at once.

    Equation: x = x_s + s (x_d - x_s).

    Args:
        static: slip under the need if it grew slowly [m].
        sudden: slip if all of it came at once [m].
        share: part s that comes at once [-].

    Returns:
        Slip [m]; infinite where film does not hold at all.

    Source: interpolation, checked against a time simulation of the stack.
    """
    finite = np.isfinite(sudden)
    with np.errstate(invalid="ignore"):
        between = static + np.asarray(share) * (np.asarray(sudden) - static)
    return np.where(finite, between, np.inf)[()]
