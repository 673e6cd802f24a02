"""The dancer's constants and state as its equations of motion number them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# State: angle, its speed, film speed of the drive, strain, integral of the angle's error, then
# unloaded film that came in, that was laid, work done by the load, work done by all else.
ANGLE, SPEED, FILM_SPEED, STRAIN, INTEGRAL, FILM_IN, FILM_LAID, WORK_LOAD, WORK_REST = range(9)
STATES = DEMAND = 9  # a sampled state also carries the film demand
DYNAMIC = 5  # the first five feed back into the equations
# Columns of a piece of the cycle.
START, END, THETA, TURNING, TURNING_RATE, CORNER_X, CORNER_Y, LAID_AT_END = range(8)
# Columns of the tally.
LOWER_HITS, UPPER_HITS, SLACK_TIME, STEPS, FAILED = range(5)


class Constants(NamedTuple):
    """All constants of the equations, SI."""

    inertia: float
    damping: float
    friction_torque: float
    lower_stop: float
    upper_stop: float
    stop_stiffness: float
    stop_damping: float
    film_reach: float  # N r
    anchor_x: float
    anchor_y: float
    hole_radius: float
    spring_rate: float
    spring_free_length: float
    spring_preload: float
    film_stiffness: float
    roller_strain: float
    fixed_length: float
    exit_distance: float
    corner_radius: float
    mean_distance: float
    set_angle: float
    gain: float
    integral_gain: float
    feed_forward: float
    lag: float
    acceleration_limit: float
    speed_limit: float
