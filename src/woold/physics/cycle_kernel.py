"""Paths and clocks of very many wrap cycles at once: what `woold.physics.pattern` lays, compiled.

One row of numbers is one cycle; rows that share a program share its stops. A test holds the result
against the same cycles one by one.
"""

from __future__ import annotations

import math
from typing import Final

from woold.physics.compiled import compiled
from woold.physics.pattern import SEAM

__all__ = ["CYCLE_NUMBERS", "LEG_NUMBERS", "ROPE_NUMBERS", "STOP_AT", "lay_cycles"]

CYCLE_NUMBERS: Final = (
    "load_height",
    "film_width",
    "perimeter",
    "perimeter_below",
    "start_height",
    "top_overlap",
    "rise_per_turn",
    "fall_per_turn",
    "turning_speed",
    "ramp_up",
    "ramp_down",
)
"""Columns of a cycle's numbers, in SI; the perimeter below the deck is NaN where there is none."""

LEG_NUMBERS: Final = ("first_turn", "last_turn", "first_edge", "last_edge", "film_width", "age")
"""Columns of a leg's numbers, as `woold.physics.pattern.Leg` has them; ages to the end [s]."""

ROPE_NUMBERS: Final = ("first_turn", "last_turn", "width", "is_upper")
"""Columns of turns with gathered film; each adds two legs at most."""

STOP_AT: Final = ("start height", "top", "height of its own")
"""Where the carriage stands still: the number of one of these is a stop's first."""

# Results of a cycle: legs, turns, film length, wrapping time, ramps, pauses, fault.
_MOST_TURNS = 400.0


@compiled(inline="always")
def _lay_legs(numbers, stops, parts, legs, leg_parts):  # type: ignore[no-untyped-def]
    """Legs of one cycle; their number, or one below 0 for a cycle that cannot be."""
    height, width = numbers[0], numbers[1]
    start, overlap = numbers[4], numbers[5]
    top = height + overlap - width
    if (overlap < 0.0 and top >= start) or start > height:
        return -1
    highest = max(top, start)
    turn, edge, count = 0.0, start, 0
    for stop in range(stops.shape[0]):
        at, own, wraps = stops[stop, 0], stops[stop, 1], stops[stop, 2]
        if at < 0.0:
            break
        if at == 0.0:
            to = start
        elif at == 1.0:
            to = highest
        else:
            to = own
            if not start <= own <= highest:
                return -1
        is_rising = to >= edge
        pitch = numbers[6] if is_rising else numbers[7]
        for move in range(2):
            length = abs(to - edge) / pitch if move == 0 else wraps
            if length > 0.0:
                legs[count, 0] = turn
                legs[count, 1] = turn + length
                legs[count, 2] = edge
                legs[count, 3] = to
                legs[count, 4] = width
                leg_parts[count] = (1 if is_rising else 4) if move == 0 else parts[stop]
                turn += length
                count += 1
            edge = to
    if not 0.0 < turn <= _MOST_TURNS:
        return -1
    return count


@compiled(inline="always")
def _gather(ropes, legs, leg_parts, count):  # type: ignore[no-untyped-def]
    """Cut and narrow the legs where film is gathered; their number, below 0 where it cannot be."""
    for rope in range(ropes.shape[0]):
        first, last, width = ropes[rope, 0], ropes[rope, 1], ropes[rope, 2]
        if not 0.0 <= first < last <= legs[count - 1, 1] + SEAM:
            return -1
        for leg in range(count):
            is_there = legs[leg, 0] < last and legs[leg, 1] > first
            if is_there and width >= legs[leg, 4]:
                return -1
        for turn in (first, last):
            for leg in range(count):
                begin, end = legs[leg, 0], legs[leg, 1]
                if not begin < turn < end:
                    continue
                for other in range(count, leg, -1):
                    legs[other] = legs[other - 1]
                    leg_parts[other] = leg_parts[other - 1]
                rise = legs[leg, 3] - legs[leg, 2]
                edge = legs[leg, 2] + (turn - begin) / (end - begin) * rise
                legs[leg, 1], legs[leg, 3] = turn, edge
                legs[leg + 1, 0], legs[leg + 1, 2] = turn, edge
                count += 1
                break
        for leg in range(count):
            if legs[leg, 0] >= first - SEAM and legs[leg, 1] <= last + SEAM:
                shift = ropes[rope, 3] * (legs[leg, 4] - width)
                legs[leg, 2] += shift
                legs[leg, 3] += shift
                legs[leg, 4] = width
    return count


@compiled(inline="always")
def _film_length(numbers, legs, count):  # type: ignore[no-untyped-def]
    """Film that the legs lay on the load [m], as `woold.physics.pattern.film_length` has it."""
    around, below_deck = numbers[2], numbers[3]
    total = 0.0
    for leg in range(count):
        turns = legs[leg, 1] - legs[leg, 0]
        rise = (legs[leg, 3] - legs[leg, 2]) / turns
        here = math.hypot(around, rise)
        length = turns * here
        low, high = min(legs[leg, 2], legs[leg, 3]), max(legs[leg, 2], legs[leg, 3])
        if not math.isnan(below_deck) and low < 0.0:
            below = 1.0 if high <= 0.0 else -low / (high - low)
            length += turns * below * (math.hypot(below_deck, rise) - here)
        total += length
    return total


@compiled(inline="always")
def _clock(numbers, waits, legs, leg_parts, count, knots):  # type: ignore[no-untyped-def]
    """Knots of the time course (time, speed, turned), their number, and all standstills [s]."""
    speed, up, down = numbers[8], numbers[9], numbers[10]
    full, last = 2.0 * math.pi, legs[count - 1, 1]
    pauses, kept = 0.0, 1
    knots[0, 0], knots[0, 1], knots[0, 2] = 0.0, 0.0, 0.0
    time, at_speed, turned = 0.0, 0.0, 0.0
    begin, leg, known = 0.0, 0, 0
    while True:
        # The standstill before the leg that begins here, and the next leg that one stands before.
        wait = 0.0
        if leg == 0 or begin > 0.0:
            part = leg_parts[leg]
            if waits[part] > 0.0 and not (known >> part) & 1:
                wait = waits[part]
            known |= 1 << part
        end = last
        after = leg + 1
        while after < count:
            part = leg_parts[after]
            if waits[part] > 0.0 and not (known >> part) & 1:
                end = legs[after, 0]
                break
            known |= 1 << part
            after += 1
        angle, in_ramps = full * (end - begin), speed * 0.5 * (up + down)
        if in_ramps <= angle:
            top, steady = speed, (angle - in_ramps) / speed
        else:
            top, steady = speed * math.sqrt(angle / in_ramps), 0.0
        pauses += wait
        for piece in range(4):
            if piece == 0:
                if wait == 0.0:
                    continue
                duration, reached = wait, 0.0
            elif piece == 1:
                duration, reached = up * top / speed, top
            elif piece == 2:
                duration, reached = steady, top
            else:
                duration, reached = down * top / speed, 0.0
            turned += 0.5 * (at_speed + reached) * duration / full
            # A knot that stands twice with one speed tells nothing.
            if duration > 0.0 or reached != at_speed:
                knots[kept, 0], knots[kept, 1], knots[kept, 2] = time + duration, reached, turned
                kept += 1
            time += duration
            at_speed = reached
        if after >= count:
            return kept, pauses, time
        begin, leg = end, after


@compiled(inline="always")
def _time_at(knots, kept, turns):  # type: ignore[no-untyped-def]
    """When so many turns have been made [s], as `woold.prediction.clock.Clock.time_at` has it."""
    piece = 0
    while piece < kept - 2 and knots[piece + 1, 2] <= turns:
        piece += 1
    begin, length = knots[piece, 1], knots[piece + 1, 0] - knots[piece, 0]
    gain = (knots[piece + 1, 1] - begin) / length if length > 0.0 else 0.0
    angle = 2.0 * math.pi * max(turns - knots[piece, 2], 0.0)
    mean = begin + math.sqrt(max(begin**2 + 2.0 * gain * angle, 0.0))
    since = 2.0 * angle / mean if mean > 0.0 else 0.0
    return knots[piece, 0] + min(since, length)


@compiled(nogil=True)
def lay_cycles(numbers, programs, stops, parts, waits, ropes, room):  # type: ignore[no-untyped-def]
    """Legs, film length and times of many cycles.

    Args:
        numbers: shape (cycles, len(CYCLE_NUMBERS)).
        programs: number of each cycle's program, shape (cycles,).
        stops: where each program's carriage stands still, in order: (number in STOP_AT, edge of its
            own [m], turns), the rest -1, shape (programs, stops, 3).
        parts: part of the program of each stop: 0 bottom wraps, 2 band, 3 top wraps, 5 closing
            wraps; a rise is 1 and a fall 4, shape (programs, stops).
        waits: standstill before each part [s], shape (programs, 6).
        ropes: turns with gathered film, shape (programs, ropes, len(ROPE_NUMBERS)).
        room: legs (cycles, legs, len(LEG_NUMBERS)), counts (cycles,) of them, below 0 for a cycle
            that cannot be, and results (cycles, 4): film length [m], time of turning at full
            speed, of ramps and of standstills [s].
    """
    legs, counts, results, knots, leg_parts = room
    for cycle in range(numbers.shape[0]):
        program = programs[cycle]
        count = _lay_legs(numbers[cycle], stops[program], parts[program], legs[cycle], leg_parts)
        if count > 0:
            count = _gather(ropes[program], legs[cycle], leg_parts, count)
        counts[cycle] = count
        if count <= 0:
            continue
        results[cycle, 0] = _film_length(numbers[cycle], legs[cycle], count)
        kept, pauses, turning = _clock(
            numbers[cycle], waits[program], legs[cycle], leg_parts, count, knots
        )
        speed = numbers[cycle, 8]
        wrapping = legs[cycle, count - 1, 1] * (2.0 * math.pi) / speed
        results[cycle, 1] = wrapping
        ramped = numbers[cycle, 9] + numbers[cycle, 10] > 0.0
        results[cycle, 2] = max(turning - wrapping - pauses, 0.0) if ramped else 0.0
        results[cycle, 3] = pauses
        for leg in range(count):
            middle = 0.5 * (legs[cycle, leg, 0] + legs[cycle, leg, 1])
            age = turning - _time_at(knots, kept, middle)
            legs[cycle, leg, 5] = max(age, 0.0)
