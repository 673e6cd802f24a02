"""The clock of the cycle: standstills, ramps and turning, for prediction and dancer alike."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics.pattern import BOTTOM_WRAPS, CLOSING_WRAPS, FALL, RISE, TOP_WRAPS, Leg

__all__ = ["Clock", "cycle_clock", "time_beside_turning"]

Floats = NDArray[np.float64]

_FULL_TURN = 2.0 * math.pi
_EVERY_PART = (BOTTOM_WRAPS, RISE, TOP_WRAPS, FALL, CLOSING_WRAPS)
_LONG = 100.0
"""Turns in which any ramps end [-]."""


@dataclass(frozen=True, eq=False)
class Clock:
    """Where the cycle's time goes.

    Args:
        times: knots of the time course, from 0 to the end of turning; two may be equal where the
            speed jumps, shape (n,) [s].
        speeds: turning speed at them, linear between, shape (n,) [rad/s].
        turned: turns made at them, shape (n,) [-].
        wrapping: the turns at full turning speed [s].
        ramps: time that speeding up and slowing down adds [s].
        pauses: standstills of the program [s].
        ends: load in, film fixed, film cut, load out; not in the time course [s].
    """

    times: Floats
    speeds: Floats
    turned: Floats
    wrapping: float
    ramps: float
    pauses: float
    ends: float

    @property
    def cycle_time(self) -> float:
        """Time of the whole cycle [s]."""
        return self.wrapping + self.ramps + self.pauses + self.ends

    def time_at(self, turns: Floats) -> Floats:
        """When so many turns have been made; after a standstill at just that turn.

        Equation: time in a piece of evenly changing speed, 2 phi / (w + sqrt(w^2 + 2 a phi)).

        Args:
            turns: turns made, from 0 to all, any shape [-].

        Returns:
            Time from the cycle's beginning, shape of turns [s].
        """
        piece = np.searchsorted(self.turned, turns, "right") - 1
        piece = np.clip(piece, 0, len(self.times) - 2)
        begin, length = self.speeds[piece], np.diff(self.times)[piece]
        gain = np.divide(
            np.diff(self.speeds)[piece], length, out=np.zeros_like(length), where=length > 0.0
        )
        angle = _FULL_TURN * np.maximum(turns - self.turned[piece], 0.0)
        mean = begin + np.sqrt(np.maximum(begin**2 + 2.0 * gain * angle, 0.0))
        since = np.divide(2.0 * angle, mean, out=np.zeros_like(mean), where=mean > 0.0)
        return np.asarray(self.times[piece] + np.minimum(since, length))

    def ages(self, legs: Sequence[Leg]) -> Floats:
        """Time from the middle of each leg to the end of turning, shape (legs,) [s]."""
        middles = np.array([0.5 * (leg.first_turn + leg.last_turn) for leg in legs])
        left: Floats = np.maximum(self.times[-1] - self.time_at(middles), 0.0)
        return left


def cycle_clock(
    case: Case,
    legs: Sequence[Leg],
    turning_speed: float | None = None,
    shortest_ramp: float = 0.0,
) -> Clock:
    """The time course of a cycle.

    Turning stops for a pause and starts again, so a pause brings a ramp down and a ramp up more;
    one before the first turn only makes the cycle begin later. Pauses before the same part are one
    standstill. A pause before a part that the program lacks takes no time: a finding says so. Where
    turns are too few for the full speed, both ramps end at the speed that they allow.

    Args:
        case: says speed, ramps, pauses and the time at both ends.
        legs: the program's path.
        turning_speed: instead of the machine's [rad/s].
        shortest_ramp: a shorter ramp takes this long, for those who cannot take a jump [s].
    """
    machine = case.machine
    speed = turning_speed or machine.speed
    up, down = max(machine.ramp_up, shortest_ramp), max(machine.ramp_down, shortest_ramp)
    waits = _standstills(case, legs)
    last = legs[-1].last_turn
    times, speeds, turned = [0.0], [0.0], [0.0]

    def go_on(duration: float, reached: float) -> None:
        turned.append(turned[-1] + 0.5 * (speeds[-1] + reached) * duration / _FULL_TURN)
        times.append(times[-1] + duration)
        speeds.append(reached)

    for begin, end in itertools.pairwise([0.0, *sorted(set(waits) - {0.0}), last]):
        if begin in waits:
            go_on(waits[begin], 0.0)
        top, steady = _top_speed(speed, end - begin, 0.5 * (up + down))
        go_on(up * top / speed, top)
        go_on(steady, top)
        go_on(down * top / speed, 0.0)
    keep = [True] * len(times)
    # A knot that stands twice with one speed tells nothing.
    for index in range(1, len(times)):
        keep[index] = times[index] > times[index - 1] or speeds[index] != speeds[index - 1]
    wrapping, pauses = last * _FULL_TURN / speed, math.fsum(waits.values())
    return Clock(
        times=np.array(times)[keep],
        speeds=np.array(speeds)[keep],
        turned=np.array(turned)[keep],
        wrapping=wrapping,
        ramps=max(times[-1] - wrapping - pauses, 0.0) if up + down > 0.0 else 0.0,
        pauses=pauses,
        ends=machine.end_time,
    )


def _standstills(case: Case, legs: Sequence[Leg]) -> dict[float, float]:
    """Standing time by the turns made before it; pauses before one part are added up."""
    waits: dict[float, float] = {}
    for pause in case.program.pauses:
        turn = next((leg.first_turn for leg in legs if leg.part == pause.before), None)
        if turn is not None and pause.time > 0.0:
            waits[turn] = waits.get(turn, 0.0) + pause.time
    return waits


def _top_speed(speed: float, turns: float, half_ramps: float) -> tuple[float, float]:
    """Speed that these turns allow [rad/s], and time at it [s].

    Args:
        speed: full turning speed [rad/s].
        turns: between two standstills [-].
        half_ramps: half of the time of both ramps to and from the full speed [s].
    """
    angle, in_ramps = _FULL_TURN * turns, speed * half_ramps
    if in_ramps <= angle:
        return speed, (angle - in_ramps) / speed
    return speed * math.sqrt(angle / in_ramps), 0.0


def time_beside_turning(case: Case) -> float:
    """Time of a cycle beside its turns at full speed, if no part of its program is left out [s].

    Args:
        case: says ramps, pauses and the time at both ends.
    """
    lacking = FALL if case.program.ends_at == "top" else ""
    parts = [part for part in _EVERY_PART if part != lacking]
    legs = [
        Leg(part, index * _LONG, (index + 1) * _LONG, 0.0, 0.0, 1.0)
        for index, part in enumerate(parts)
    ]
    clock = cycle_clock(case, legs)
    return clock.cycle_time - clock.wrapping
