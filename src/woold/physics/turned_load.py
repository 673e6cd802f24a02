"""A load that is turned itself: the push outward, and the jerk as it starts and stops."""

from __future__ import annotations

import math

from woold.errors import InputError
from woold.words import say

__all__ = ["outward_share", "start_share", "turned_load_share"]

_GRAVITY = 9.80665


def outward_share(turning_speed: float, radius: float) -> float:
    """Outward acceleration of what is turned, as a share of gravity.

    a = omega^2 r / g

    Args:
        turning_speed: omega [rad/s].
        radius: distance from the axis of turning [m].

    Returns:
        Share of gravity [-].

    Source:
        Uniform motion on a circle; any textbook of mechanics.
    """
    return turning_speed**2 * radius / _GRAVITY


def start_share(turning_speed: float, radius: float, ramp: float) -> float:
    """Acceleration along the circle while the speed grows or falls evenly, as a share of gravity.

    a = omega r / (t g)

    Args:
        turning_speed: omega at the end of the ramp [rad/s].
        radius: distance from the axis of turning [m].
        ramp: time from standstill to full speed [s].

    Returns:
        Share of gravity [-].

    Raises:
        InputError: no time.
    """
    if not ramp > 0.0:
        raise InputError.one("ramp", f"{ramp:g} s", say("a time above 0"), say("Mend the value."))
    return turning_speed * radius / (ramp * _GRAVITY)


def turned_load_share(turning_speed: float, radius: float, ramp: float) -> float:
    """Largest acceleration of what is turned, at the end of its ramp, as a share of gravity.

    a = sqrt(a_outward^2 + a_start^2); a ramp of no time leaves the outward part

    Args:
        turning_speed, radius, ramp: as for :func:`start_share`.

    Returns:
        Share of gravity [-].
    """
    along = start_share(turning_speed, radius, ramp) if ramp > 0.0 else 0.0
    return math.hypot(outward_share(turning_speed, radius), along)
