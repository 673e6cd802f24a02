"""Motion of a wrapped stack on a vehicle, in the plane of the movement, over time.

Rigid tiers on a pallet that slide with stick-slip friction, lift, rotate and land again; film as
shear panels between tiers and down to the pallet. A tier is one body, film has no losses, and
film does not keep a tier from lifting: the last two err to the safe side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError
from woold.physics.interface_friction import GRAVITY
from woold.physics.numeric import refuse_unless
from woold.physics.restraint import ShearedFilm
from woold.words import say, to_say

__all__ = [
    "SINK",
    "BaseMotion",
    "MovingStack",
    "StackMotion",
    "film_panels",
    "pulse",
    "recorded_motion",
    "stack_motion",
]

Floats = NDArray[np.float64]

SINK: Final = 2e-5
"""By how much the whole weight presses the lowest contacts in: stiff enough to be rigid [m]."""

_CONTACT_DAMPING = 0.3  # of a contact under the lightest body, a share of critical
_STEP = 0.5  # of the shortest swing's 1/omega, as if bodies only moved up and down
_LONGEST = 600.0  # s


@dataclass(frozen=True, eq=False)
class MovingStack:
    """Bodies on one another, the pallet first; an interface is the one under its body.

    Args:
        ahead: from a body's middle of mass to its front edge, shape (b,) [m].
        behind: and to its rear edge, shape (b,) [m].
        heights: shape (b,) [m].
        masses: shape (b,) [kg].
        friction: static friction under each body, shape (b,) [-].
        kinetic_share: kinetic over static friction, one or shape (b,) [-].
        panels: film over each interface as shear panels, most force [N] and scale d0 [m], shape
            (b, k, 2); the pallet's on the vehicle has none.
        foot_blocked: something keeps the pallet's foot from sliding.
        pressing_force: straps or a cap press the tiers on the pallet with it [N].
        give: by how much all of the weight presses an interface in: stiff enough to be rigid as
            it stands; soft packages give millimetres [m].
    """

    ahead: Floats
    behind: Floats
    heights: Floats
    masses: Floats
    friction: Floats
    kinetic_share: float | Floats
    panels: Floats
    foot_blocked: bool = True
    pressing_force: float = 0.0
    give: float = SINK


@dataclass(frozen=True, eq=False)
class BaseMotion:
    """Accelerations that every body feels in the vehicle, straight between the times given.

    Args:
        times: growing, shape (n,) [s].
        along: inertia over mass in the direction of the movement, shape (n,) [m/s^2].
        down: weight over mass, shape (n,) [m/s^2].
    """

    times: Floats
    along: Floats
    down: Floats


@dataclass(frozen=True, eq=False)
class StackMotion:
    """What a stack did.

    Args:
        times: samples, shape (n,) [s].
        positions: middle of each body from where the pallet stood on the floor, along and up
            [m], and its turn, counter-clockwise [rad], shape (n, b, 3).
        slips: travel of each body over the one below, shape (n, b) [m].
        largest_slips: at any time, shape (b,) [m].
        largest_lift: widest gap between two bodies at any time [m].
        largest_turns: rotation of each body at any time, shape (b,) [rad].
        top_travel: most travel of the top's middle over the pallet's at any time [m].
        top_travel_kept: that at the end [m].
        fell_at: when a body turned by more than half a radian, or None [s].
    """

    times: Floats
    positions: Floats
    slips: Floats
    largest_slips: Floats
    largest_lift: float
    largest_turns: Floats
    top_travel: float
    top_travel_kept: float
    fell_at: float | None


def film_panels(film: ShearedFilm) -> Floats:
    """Film over interfaces as shear panels, walls that lie alike put together.

    Equation: most force kappa N L |cos|, scale h N/(G n t |cos|).

    Args:
        film: film over each interface, its hoop tension and stiffness of shape (m,).

    Returns:
        Shape (m, walls, 2): [N], [m].
    """
    lengths, along = film.walls
    cosines, group = np.unique(np.round(along, 9), return_inverse=True)
    together = np.bincount(group, weights=lengths)
    cosines, together = cosines[cosines > 0.0], together[cosines > 0.0]
    hoop, stiffness = np.asarray(film.hoop)[:, None], np.asarray(film.shear_stiffness)[:, None]
    most = np.where(stiffness > 0.0, film.calibration * hoop * together * cosines, 0.0)
    scales = film.slip_zone * hoop / (np.where(stiffness > 0.0, stiffness, 1.0) * cosines)
    return np.stack([most, np.where(most > 0.0, scales, 1.0)], axis=-1)


def pulse(
    horizontal: float,
    ramp_time: float,
    hold_time: float,
    rest_time: float = 1.0,
    vertical: float = 1.0,
) -> BaseMotion:
    """An acceleration that grows evenly, stays, and goes as it came.

    Args:
        horizontal: its level as a share of gravity [-].
        ramp_time: time in which it grows, and in which it goes [s].
        hold_time: time for which it stays [s].
        rest_time: time after it in which the stack comes to rest [s].
        vertical: downward acceleration, as a share of gravity [-].

    Raises:
        InputError: a time that is negative, or none at all.
    """
    durations = np.array([ramp_time, hold_time, ramp_time, rest_time])
    refuse_unless(durations >= 0.0, "pulse", durations, to_say("times of 0 s or more"))
    # A jump takes a microsecond, far less than a step.
    times = np.concatenate([[0.0], np.cumsum(np.maximum(durations, 1e-6))])
    refuse_unless(times[-1] <= _LONGEST, "pulse", times[-1], to_say("at most 600 s in all"))
    along = horizontal * GRAVITY * np.array([0.0, 1.0, 1.0, 0.0, 0.0])
    return BaseMotion(times, along, np.full(5, vertical * GRAVITY))


def recorded_motion(
    times: ArrayLike, acceleration: ArrayLike, vertical: ArrayLike | None = None
) -> BaseMotion:
    """What bodies feel in a vehicle whose acceleration was recorded.

    Args:
        times: growing, shape (n,) [s].
        acceleration: of the vehicle, positive the way it speeds up; bodies are pushed the other
            way, which is the direction of the movement here, shape (n,) [m/s^2].
        vertical: of the vehicle, upward, without gravity, shape (n,); level if None [m/s^2].

    Raises:
        InputError: times that do not grow, another number of values, or values that are not finite.
    """
    times, along = np.asarray(times, dtype=float), -np.asarray(acceleration, dtype=float)
    down = np.full(times.shape, GRAVITY)
    if vertical is not None:
        down = GRAVITY + np.asarray(vertical, dtype=float)
    if times.ndim != 1 or len(times) < 2 or not times.shape == along.shape == down.shape:
        raise InputError.one(
            "trace",
            say("times: {count}, accelerations: {values}", count=times.size, values=along.size),
            say("two rows or more, with an acceleration for each time"),
            say("Look for a row that lacks a value."),
        )
    sound = np.isfinite(times) & np.isfinite(along) & np.isfinite(down)
    refuse_unless(sound, "trace", along, to_say("finite times and accelerations"))
    refuse_unless(np.diff(times) > 0.0, "trace", np.diff(times), to_say("times that grow"))
    refuse_unless(
        times[-1] - times[0] <= _LONGEST,
        "trace",
        times[-1] - times[0],
        to_say("at most 600 s in all"),
    )
    return BaseMotion(times - times[0], along, down)


def stack_motion(
    stack: MovingStack, base: BaseMotion, sample_times: ArrayLike | None = None
) -> StackMotion:
    """What a stack does under the accelerations of its vehicle.

    Equation: m v' = inertia + weight + contacts + film, J w' = their moments, symplectic steps.

    Args:
        stack: at rest, its bodies flush with one another's middle.
        base: what every body feels.
        sample_times: when to look, growing; 200 even steps if not given [s].

    Raises:
        InputError: bodies without mass or size, or negative friction or film.

    Source: Newton and Euler; Coulomb friction with a stiff spring while it sticks, as in
        P. A. Cundall and O. D. L. Strack, Geotechnique 29 (1979) 47; from memory.
    """
    from woold.physics import stack_kernel as kernel

    bodies = _constants(stack)
    weight = float(stack.masses.sum()) * GRAVITY
    lightest = float(stack.masses.min())
    stiffness = 0.5 * (weight + stack.pressing_force) / stack.give
    contacts = kernel.Contacts(
        foot_blocked=stack.foot_blocked,
        pressing_force=stack.pressing_force,
        stiffness=stiffness,
        damping=_CONTACT_DAMPING * float(np.sqrt(stiffness * lightest)),
    )
    if sample_times is None:
        sample_times = np.linspace(base.times[0], base.times[-1], 201)
    times = np.asarray(sample_times, dtype=float)
    history, last, fell = kernel.move(
        bodies,
        np.ascontiguousarray(stack.panels, dtype=float),
        contacts,
        np.column_stack([base.times, base.along, base.down]),
        times,
        _STEP * float(np.sqrt(lightest / (8.0 * stiffness))),
    )
    top = history[-1, -1, 0] - 0.5 * stack.heights[-1] * np.sin(history[-1, -1, 2])
    return StackMotion(
        times=times,
        positions=history[:, :, :3],
        slips=history[:, :, 3],
        largest_slips=last[:, kernel.MOST_SLIP],
        largest_lift=float(last[:, kernel.MOST_LIFT].max()),
        largest_turns=last[:, kernel.MOST_ANGLE],
        top_travel=float(last[-1, kernel.MOST_TOP]),
        top_travel_kept=float(abs(top - history[-1, 0, 0])),
        fell_at=float(fell) if fell >= 0.0 else None,
    )


def _constants(stack: MovingStack) -> Floats:
    """Columns of the compiled motion, checked."""
    parts: Sequence[tuple[str, Floats]] = (
        ("ahead", stack.ahead),
        ("behind", stack.behind),
        ("heights", stack.heights),
        ("masses", stack.masses),
    )
    for name, values in parts:
        refuse_unless(np.asarray(values) > 0.0, f"stack.{name}", values, to_say("more than 0"))
    refuse_unless(stack.friction >= 0.0, "stack.friction", stack.friction, to_say("0 or more"))
    share = np.broadcast_to(np.asarray(stack.kinetic_share, dtype=float), stack.masses.shape)
    refuse_unless((share >= 0.0) & (share <= 1.0), "kinetic_share", share, to_say("from 0 to 1"))
    refuse_unless(stack.panels >= 0.0, "stack.panels", stack.panels, to_say("0 or more"))
    refuse_unless(stack.give > 0.0, "stack.give", stack.give, to_say("more than 0"))
    widths = stack.ahead + stack.behind
    inertias = stack.masses * (widths**2 + stack.heights**2) / 12.0
    return np.column_stack(
        [
            *(values for _, values in parts),
            inertias,
            stack.friction,
            share * stack.friction,
        ]
    )
