"""Compiled integration of the dancer's motion; `dancer_motion` is its face.

Dormand and Prince's fifth-order pair with error control and dense output (Hairer, Nørsett, Wanner,
Solving Ordinary Differential Equations I, 2nd ed., II.4-II.6). The caller cuts the time where the
film lies flush on a side or the turning changes, so that every piece is smooth.

The film's state is its strain e, not its unloaded content l_r. From
d l_r/dt = v_fast/(1 + e_r) - v_wrapped/(1 + e) and l = l_r (1 + e) follows

    l de/dt = (1 + e) [v_demand + ds/dt - v_fast (1 + e)/(1 + e_r)],

which holds where a whole side is laid at once: l and l_r drop together there and e stays.
"""

from __future__ import annotations

import math

import numpy as np

from woold.physics.compiled import compiled
from woold.physics.dancer_state import (
    ANGLE,
    CORNER_X,
    CORNER_Y,
    DEMAND,
    DYNAMIC,
    END,
    FAILED,
    FILM_IN,
    FILM_LAID,
    FILM_SPEED,
    INTEGRAL,
    LAID_AT_END,
    LOWER_HITS,
    SLACK_TIME,
    SPEED,
    START,
    STATES,
    STEPS,
    STRAIN,
    THETA,
    TURNING,
    TURNING_RATE,
    UPPER_HITS,
    WORK_LOAD,
    WORK_REST,
    Constants,
    Floats,
)

# Dry friction changes sign over this speed of the arm [rad/s], far below that of any swing.
FRICTION_SPEED = 0.02
# The order of sums may change; what is no number stays so.
_LOOSE = {"contract", "reassoc", "arcp"}
_LONGEST_STEP = 0.05
_SHORTEST_STEP = 1e-13


@compiled(forceinline=True, fastmath=_LOOSE)
def film_line(
    constants: Constants, piece: Floats, time: float
) -> tuple[float, float, float, float]:
    """Turning speed, film demand, free span, and speed at which it winds round a rounded corner."""
    since = time - piece[START]
    turning = piece[TURNING] + piece[TURNING_RATE] * since
    theta = piece[THETA] + since * (piece[TURNING] + 0.5 * piece[TURNING_RATE] * since)
    cos, sin = math.cos(theta), math.sin(theta)
    ahead = constants.exit_distance - (cos * piece[CORNER_X] + sin * piece[CORNER_Y])
    aside = sin * piece[CORNER_X] - cos * piece[CORNER_Y]
    square = ahead * ahead + aside * aside
    radius = constants.corner_radius
    span = math.sqrt(square - radius * radius)
    distance = constants.exit_distance * (aside * span + ahead * radius) / square
    winding = turning * (distance - constants.exit_distance * aside / span)
    return turning, turning * distance, span, winding


@compiled(forceinline=True, fastmath=_LOOSE)
def rates(
    constants: Constants,
    film: tuple[float, float, float, float],
    state: Floats,
    rate: Floats,
) -> None:
    """Write the time derivative of the state into `rate`; `film` is what `film_line` gives."""
    c = constants
    turning, demand, span, winding = film
    angle, speed, film_speed, strain = state[ANGLE], state[SPEED], state[FILM_SPEED], state[STRAIN]
    sin = math.sin(angle)
    cos = math.sqrt(1.0 - sin * sin)  # the arm stays well within a quarter turn

    tension = c.film_stiffness * max(strain, 0.0)
    length = span + c.film_reach * sin + c.fixed_length
    film_in = film_speed / (1.0 + c.roller_strain)
    film_laid = winding / (1.0 + strain)
    store_rate = c.film_reach * cos * speed
    rate[STRAIN] = (1.0 + strain) / length * (demand + store_rate - (1.0 + strain) * film_in)

    gap_x, gap_y = c.anchor_x - c.hole_radius * cos, c.anchor_y - c.hole_radius * sin
    spring_length = math.sqrt(gap_x * gap_x + gap_y * gap_y)
    extension = spring_length - c.spring_free_length
    force = c.spring_preload + c.spring_rate * extension if extension > 0.0 else 0.0
    lever = c.hole_radius * (c.anchor_y * cos - c.anchor_x * sin) / spring_length
    stop = 0.0
    if angle < c.lower_stop:
        stop = max(c.stop_stiffness * (c.lower_stop - angle) - c.stop_damping * speed, 0.0)
    elif angle > c.upper_stop:
        stop = min(c.stop_stiffness * (c.upper_stop - angle) - c.stop_damping * speed, 0.0)
    dry = speed / math.sqrt(speed * speed + FRICTION_SPEED * FRICTION_SPEED)
    losses = c.damping * speed + c.friction_torque * dry
    rate[ANGLE] = speed
    rate[SPEED] = (force * lever - tension * c.film_reach * cos + stop - losses) / c.inertia

    error = c.set_angle - angle
    wanted = (
        c.feed_forward * turning * c.mean_distance
        + c.gain * error
        + c.integral_gain * state[INTEGRAL]
    )
    command = min(max(wanted, 0.0), c.speed_limit)
    rate[FILM_SPEED] = min(
        max((command - film_speed) / c.lag, -c.acceleration_limit), c.acceleration_limit
    )
    saturated = (wanted > c.speed_limit and error > 0.0) or (wanted < 0.0 and error < 0.0)
    rate[INTEGRAL] = 0.0 if saturated else error

    held = 0.5 * tension * max(strain, 0.0)  # energy per unloaded length
    rate[FILM_IN] = film_in
    rate[FILM_LAID] = film_laid
    rate[WORK_LOAD] = tension * demand
    rate[WORK_REST] = (
        held * (film_in - film_laid) - tension * (1.0 + strain) * film_in + (stop - losses) * speed
    )


_NODES = np.array([0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1, 1])
_STAGES = np.array(
    [
        [0, 0, 0, 0, 0, 0],
        [1 / 5, 0, 0, 0, 0, 0],
        [3 / 40, 9 / 40, 0, 0, 0, 0],
        [44 / 45, -56 / 15, 32 / 9, 0, 0, 0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0, 0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0],
        [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
_ERROR = np.array([71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])
_DENSE = np.array(
    [
        -12715105075 / 11282082432,
        0,
        87487479700 / 32700410799,
        -10690763975 / 1880347072,
        701980252875 / 199316789632,
        -1453857185 / 822651844,
        69997945 / 29380423,
    ]
)
# What counts as small in each of the dynamic states: rad, rad/s, m/s, strain, rad s.
_SMALL = np.array([0.1, 1.0, 0.1, 0.01, 0.1])


@compiled(forceinline=True, fastmath=_LOOSE)
def try_step(
    constants: Constants,
    piece: Floats,
    span: tuple[float, float],
    state: Floats,
    stage: Floats,
    new: Floats,
) -> None:
    """Write the state after a step into `new`, and the rates on the way into `stage`.

    `span` is the time at its beginning and its length; the first stage is there already.
    """
    time, taken = span
    film = film_line(constants, piece, time)
    # What the equations do not feel is only summed up at the end of the step.
    for number in range(1, 6):
        for place in range(DYNAMIC):
            total = 0.0
            for earlier in range(number):
                total += _STAGES[number, earlier] * stage[earlier, place]
            new[place] = state[place] + taken * total
        film = film_line(constants, piece, time + _NODES[number] * taken)
        rates(constants, film, new, stage[number])
    for place in range(STATES):
        total = 0.0
        for earlier in range(6):
            total += _STAGES[6, earlier] * stage[earlier, place]
        new[place] = state[place] + taken * total
    rates(constants, film, new, stage[6])  # at the same instant as the stage before


@compiled(forceinline=True, fastmath=_LOOSE)
def step_error(taken: float, tolerance: float, state: Floats, stage: Floats, new: Floats) -> float:
    """Error of a step over the allowed one."""
    square = 0.0
    for place in range(DYNAMIC):
        error = 0.0
        for number in range(7):
            error += _ERROR[number] * stage[number, place]
        size = max(abs(state[place]), abs(new[place])) + _SMALL[place]
        square += (taken * error / (tolerance * size)) ** 2
    return math.sqrt(square / DYNAMIC)


@compiled(forceinline=True, fastmath=_LOOSE)
def write_dense(dense: Floats, stage: Floats) -> None:
    """Write what bends the way through a step beyond a cubic into `dense`."""
    dense[:] = 0.0
    for number in range(7):
        for place in range(STATES):
            dense[place] += _DENSE[number] * stage[number, place]


@compiled(forceinline=True, fastmath=_LOOSE)
def write_sample(
    sample: Floats,
    span: tuple[float, float],
    state: Floats,
    stage: Floats,
    new: Floats,
    dense: Floats,
) -> None:
    """Write the state inside a step; `span` is the share of the step and the step's length."""
    share, taken = span
    rest = 1.0 - share
    for place in range(STATES):
        rise = new[place] - state[place]
        bend = taken * stage[0, place] - rise
        curl = rise - taken * stage[6, place] - bend
        sample[place] = state[place] + share * (
            rise + rest * (bend + share * (curl + rest * taken * dense[place]))
        )


@compiled(fastmath=_LOOSE)
def integrate(
    constants: Constants,
    pieces: Floats,
    times: Floats,
    initial: Floats,
    tolerance: float,
) -> tuple[Floats, Floats, Floats]:
    """States and film demand at the asked times, the last state, and the tally."""
    states = np.empty((len(times), STATES + 1))
    tally = np.zeros(5)
    state = initial.copy()
    new, dense = np.empty(STATES), np.empty(STATES)
    stage = np.empty((7, STATES))
    sample = 0
    step, before, growth = 1e-3, 1.0, 5.0
    below, above = state[ANGLE] <= constants.lower_stop, state[ANGLE] >= constants.upper_stop
    for index in range(len(pieces)):
        piece = pieces[index]
        time, end = piece[START], piece[END]
        film = film_line(constants, piece, time)
        rates(constants, film, state, stage[0])
        while time < end:
            # Two steps rather than one and a sliver.
            step = min(step, _LONGEST_STEP)
            left = end - time
            taken = left if step >= left else (0.5 * left if step > 0.5 * left else step)
            try_step(constants, piece, (time, taken), state, stage, new)
            norm = step_error(taken, tolerance, state, stage, new)
            if not norm <= 1.0:
                shrink = 0.9 * norm**-0.2 if norm < 1e12 else 0.1
                step = taken * max(shrink, 0.1)
                growth = 1.0
                if step < _SHORTEST_STEP:
                    tally[FAILED] = time + 1.0
                    return states, state, tally
                continue
            arrival = end if taken == left else time + taken
            if sample < len(times) and times[sample] <= arrival:
                write_dense(dense, stage)
            while sample < len(times) and times[sample] <= arrival:
                share = (times[sample] - time) / taken
                write_sample(states[sample], (share, taken), state, stage, new, dense)
                states[sample, DEMAND] = film_line(constants, piece, times[sample])[1]
                sample += 1
            if state[STRAIN] <= 0.0 and new[STRAIN] <= 0.0:
                tally[SLACK_TIME] += taken
            now_below = new[ANGLE] < constants.lower_stop
            now_above = new[ANGLE] > constants.upper_stop
            tally[LOWER_HITS] += 1.0 if now_below and not below else 0.0
            tally[UPPER_HITS] += 1.0 if now_above and not above else 0.0
            below, above = now_below, now_above
            tally[STEPS] += 1.0
            state[:] = new
            stage[0, :] = stage[6]
            time = arrival
            # The error of the step before steadies the next one (Hairer II.4, PI control).
            norm = max(norm, 1e-4)
            step = taken * min(max(0.9 * norm**-0.17 * before**0.04, 0.2), growth)
            before, growth = norm, 5.0
        # A side of the load is laid at once, with the energy that it holds.
        laid = piece[LAID_AT_END] / (1.0 + state[STRAIN])
        state[FILM_LAID] += laid
        state[WORK_REST] -= 0.5 * constants.film_stiffness * max(state[STRAIN], 0.0) ** 2 * laid
    return states, state, tally
