"""Compiled motion of a stack in the plane of its movement; `stack_motion` is its face.

Rigid bodies on one another, the lowest on the vehicle, seen from the vehicle. Symplectic steps of
even length. Each interface has two stiff, damped contacts at the ends of its overlap, which press
and never pull; one stick-slip friction on what both press with; and the film over it as shear
panels. Bodies may lift, rotate, slide and land again.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Columns of a body's constants; frictions are of the interface under it.
AHEAD, BEHIND, HEIGHT, MASS, INERTIA, STATIC, KINETIC = range(7)
# Columns of a panel of the film over an interface [N], [m].
LIMIT, SCALE = range(2)
# Columns of the base's motion.
TIME, ALONG, DOWN = range(3)
# Columns of a body's state: place and speed; forces of this step; the interface under it
# (friction's spring, the way it slides, slip, its speed); most of each so far.
X, Y, ANGLE, SPEED_X, SPEED_Y, TURNING, COS, SIN, FORCE_X, FORCE_Y, MOMENT = range(11)
SPRING, SLIDING, SLIP, MOST_SLIP, MOST_LIFT, MOST_ANGLE, MOST_TOP = range(11, 18)
STATES = 18
# A sample: x, y, angle, slip.
SAMPLED = 4

# A sliding interface sticks again once its speed has fallen to this [m/s].
_STICKING_SPEED = 1e-4
# Beyond this a body has fallen [rad].
_FALLEN = 0.5
_FAR = 1e9
# The order of sums may change; what is no number stays so.
_LOOSE = {"contract", "reassoc", "arcp", "nsz"}


class Contacts(NamedTuple):
    """What all bodies and interfaces share, SI."""

    foot_blocked: bool
    pressing_force: float
    stiffness: float
    damping: float


@njit(cache=True)
def settled(stack: Floats, contacts: Contacts, gravity: float) -> Floats:
    """State of the stack at rest under its weight, its contacts pressed in."""
    state = np.zeros((len(stack), STATES))
    weight = stack[:, MASS].sum() * gravity
    top = 0.0
    for body in range(len(stack)):
        pressed = weight + (contacts.pressing_force if body > 0 else 0.0)
        # Even sinking: where a body's middle is not in the middle, the rest settles at once.
        top -= pressed / (2.0 * contacts.stiffness)
        state[body, Y] = top + 0.5 * stack[body, HEIGHT]
        top += stack[body, HEIGHT]
        weight -= stack[body, MASS] * gravity
    return state


@njit(cache=True, fastmath=_LOOSE)
def move(
    stack: Floats, panels: Floats, contacts: Contacts, base: Floats, times: Floats, step: float
) -> tuple[Floats, Floats, float]:
    """Samples at the asked times, the last state with what was most, and when the stack fell."""
    count, samples = len(stack), len(times)
    history = np.zeros((samples, count, SAMPLED))
    state = settled(stack, contacts, base[0, DOWN])
    fell, time, knot, sample = -1.0, base[0, TIME], 0, 0
    steps = math.ceil((times[samples - 1] - time) / step)
    for number in range(steps + 1):
        while knot < len(base) - 2 and time > base[knot + 1, TIME]:
            knot += 1
        share = (time - base[knot, TIME]) / (base[knot + 1, TIME] - base[knot, TIME])
        share = min(max(share, 0.0), 1.0)
        along = base[knot, ALONG] + share * (base[knot + 1, ALONG] - base[knot, ALONG])
        down = base[knot, DOWN] + share * (base[knot + 1, DOWN] - base[knot, DOWN])
        for body in range(count):
            _begin(stack, state, body, along, down)
        state[count - 1, FORCE_Y] -= contacts.pressing_force
        state[0, FORCE_Y] += contacts.pressing_force
        for body in range(count):
            _interface(stack, panels, contacts, state, body, step)
        while sample < samples and time >= times[sample] - 0.5 * step:
            _sample(state, history[sample])
            sample += 1
        for body in range(count):
            # A body that is no number has fallen as well.
            if not abs(state[body, ANGLE]) < _FALLEN:
                fell = time
        if fell >= 0.0:
            break
        for body in range(count):
            _advance(stack, state, body, step)
        time = base[0, TIME] + (number + 1) * step
    while sample < samples:  # a stack that fell stays as it was last seen
        _sample(state, history[sample])
        sample += 1
    return history, state, fell


@njit(cache=True, forceinline=True)
def _sample(state: Floats, row: Floats) -> None:
    for body in range(len(state)):
        row[body, 0] = state[body, X]
        row[body, 1] = state[body, Y]
        row[body, 2] = state[body, ANGLE]
        row[body, 3] = state[body, SLIP]


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _begin(stack: Floats, state: Floats, body: int, along: float, down: float) -> None:
    """Sine and cosine of a body, inertia and weight on it, and what was most so far."""
    angle = state[body, ANGLE]
    square = angle * angle
    # Series to the eighth power: 3e-9 off at most before a body has fallen.
    sin = angle * (1.0 - square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0)))
    cos = 1.0 - 0.5 * square * (1.0 - square / 12.0 * (1.0 - square / 30.0 * (1.0 - square / 56.0)))
    state[body, SIN], state[body, COS] = sin, cos
    state[body, FORCE_X] = stack[body, MASS] * along
    state[body, FORCE_Y] = -stack[body, MASS] * down
    state[body, MOMENT] = 0.0
    # Middle of the top over the pallet's middle, which the pallet's own sliding moves along.
    top = abs(state[body, X] - sin * 0.5 * stack[body, HEIGHT] - state[0, X])
    state[body, MOST_TOP] = max(state[body, MOST_TOP], top)
    state[body, MOST_ANGLE] = max(state[body, MOST_ANGLE], abs(angle))


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _advance(stack: Floats, state: Floats, body: int, step: float) -> None:
    per_mass = step / stack[body, MASS]
    state[body, SPEED_X] += per_mass * state[body, FORCE_X]
    state[body, SPEED_Y] += per_mass * state[body, FORCE_Y]
    state[body, TURNING] += step / stack[body, INERTIA] * state[body, MOMENT]
    state[body, X] += step * state[body, SPEED_X]
    state[body, Y] += step * state[body, SPEED_Y]
    state[body, ANGLE] += step * state[body, TURNING]


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _film(panels: Floats, body: int, slip: float) -> float:
    """Force of the film over an interface against its slip."""
    force = 0.0
    for wall in range(panels.shape[1]):
        if panels[body, wall, LIMIT] > 0.0:
            reach = slip / panels[body, wall, SCALE]
            force += panels[body, wall, LIMIT] * reach / math.sqrt(1.0 + reach * reach)
    return force


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _parting(state: Floats, body: int, x: float, y: float) -> tuple[float, float]:
    """Speed of a body against the one below, at a point of both."""
    speed_x = state[body, SPEED_X] - state[body, TURNING] * (y - state[body, Y])
    speed_y = state[body, SPEED_Y] + state[body, TURNING] * (x - state[body, X])
    if body > 0:
        speed_x -= state[body - 1, SPEED_X] - state[body - 1, TURNING] * (y - state[body - 1, Y])
        speed_y -= state[body - 1, SPEED_Y] + state[body - 1, TURNING] * (x - state[body - 1, X])
    return speed_x, speed_y


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _friction(
    stack: Floats,
    contacts: Contacts,
    state: Floats,
    body: int,
    pressed: float,
    speed: float,
    step: float,
) -> float:
    """A stiff spring while the interface sticks, kinetic friction while it slides."""
    way: float = state[body, SLIDING]
    drag: float
    if way != 0.0 and speed * way > _STICKING_SPEED:
        drag = way * stack[body, KINETIC] * pressed
    else:
        way = 0.0
        drag = state[body, SPRING] + 2.0 * contacts.stiffness * speed * step
        state[body, SPRING] = drag
        drag += 2.0 * contacts.damping * speed
        most = stack[body, STATIC] * pressed
        if abs(drag) <= most or (body == 0 and contacts.foot_blocked):
            state[body, SLIDING] = 0.0
            return drag
        way = 1.0 if drag > 0.0 else -1.0
        drag = way * (stack[body, KINETIC] * pressed if speed * way > 0.0 else most)
    state[body, SLIDING] = way
    state[body, SPRING] = drag
    return drag


@njit(cache=True, forceinline=True, fastmath=_LOOSE)
def _interface(
    stack: Floats, panels: Floats, contacts: Contacts, state: Floats, body: int, step: float
) -> None:
    """Add the forces between a body and what it stands on."""
    below = body - 1
    # The face below: its middle, its direction (tx, ty), and where it ends.
    tx, ty, face_x, face_y, front, back = 1.0, 0.0, 0.0, 0.0, _FAR, -_FAR
    if below >= 0:
        tx, ty = state[below, COS], state[below, SIN]
        face_x = state[below, X] - 0.5 * stack[below, HEIGHT] * ty
        face_y = state[below, Y] + 0.5 * stack[below, HEIGHT] * tx
        front, back = stack[below, AHEAD], -stack[below, BEHIND]
    cos, sin = state[body, COS], state[body, SIN]
    dx = state[body, X] + 0.5 * stack[body, HEIGHT] * sin - face_x
    dy = state[body, Y] - 0.5 * stack[body, HEIGHT] * cos - face_y
    slip, rise = dx * tx + dy * ty, dy * tx - dx * ty
    lean = cos * tx + sin * ty
    slope = (sin * tx - cos * ty) / lean
    right = min(slip + stack[body, AHEAD] * lean, front)
    left = max(slip - stack[body, BEHIND] * lean, back)
    pressed, moment = 0.0, 0.0
    for end in range(2):
        place = right if end == 0 else left
        gap = rise + slope * (place - slip)
        state[body, MOST_LIFT] = max(state[body, MOST_LIFT], gap)
        if gap < 0.0 and left < right:
            parting = _parting(state, body, face_x + place * tx, face_y + place * ty)
            closing = parting[0] * ty - parting[1] * tx
            normal = -contacts.stiffness * gap + contacts.damping * closing
            if normal > 0.0:
                pressed += normal
                moment += normal * place
    place = moment / pressed if pressed > 0.0 else slip
    x, y = face_x + place * tx, face_y + place * ty
    parting = _parting(state, body, x, y)
    speed = parting[0] * tx + parting[1] * ty
    drag = _friction(stack, contacts, state, body, pressed, speed, step)
    state[body, SLIP] = slip
    state[body, MOST_SLIP] = max(state[body, MOST_SLIP], abs(slip))
    along = -drag - _film(panels, body, slip)
    force_x, force_y = along * tx - pressed * ty, along * ty + pressed * tx
    state[body, FORCE_X] += force_x
    state[body, FORCE_Y] += force_y
    state[body, MOMENT] += (x - state[body, X]) * force_y - (y - state[body, Y]) * force_x
    if below >= 0:
        state[below, FORCE_X] -= force_x
        state[below, FORCE_Y] -= force_y
        state[below, MOMENT] -= (x - state[below, X]) * force_y - (y - state[below, Y]) * force_x
