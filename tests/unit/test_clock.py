"""The clock of the cycle, against times worked out by hand.

At 12 rpm a turn takes 5 s and full speed is 0.2 turns/s. Ramps of 3 s up and 3 s down each make
0.2 * 3 / 2 = 0.3 turns, for which full speed would take 1.5 s: one start and one stop cost 3 s.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from unusual import unusual_case
from woold.case.model import Case
from woold.dancer.cycle import cycle_turning
from woold.physics.pattern import Leg
from woold.prediction.clock import Clock, cycle_clock, time_beside_turning
from woold.prediction.predict import predict

PATH = (
    Leg("bottom wraps", 0.0, 2.0, 0.0, 0.0, 0.5),
    Leg("rise", 2.0, 7.0, 0.0, 1.0, 0.5),
    Leg("top wraps", 7.0, 8.0, 1.0, 1.0, 0.5),
    Leg("fall", 8.0, 12.0, 1.0, 0.0, 0.5),
)
"""Twelve turns: 60 s at full speed."""


def clock_of(table: dict[str, Any], pauses: list[tuple[str, str]], **machine: str) -> Clock:
    """The clock of `PATH` with pauses as (before, time)."""
    table["machine"] |= {"ramp_up": "3 s", "ramp_down": "3 s", "end_time": "30 s"} | machine
    table["program"]["pauses"] = [{"before": before, "time": time} for before, time in pauses]
    return cycle_clock(unusual_case(table), PATH)


def split(clock: Clock) -> tuple[float, ...]:
    return clock.wrapping, clock.ramps, clock.pauses, clock.ends


@pytest.mark.parametrize(
    ("pauses", "ramps", "paused"),
    [
        ([], 3.0, 0.0),
        # Nothing turns yet: no stop and start more.
        ([("bottom wraps", "60 s")], 3.0, 60.0),
        ([("top wraps", "10 s")], 6.0, 10.0),
        # One standstill: it stops and starts once.
        ([("top wraps", "10 s"), ("top wraps", "20 s")], 6.0, 30.0),
        ([("top wraps", "10 s"), ("fall", "5 s")], 9.0, 15.0),
        # The path has no closing wraps, so nothing waits for them.
        ([("closing wraps", "40 s")], 3.0, 0.0),
        ([("rise", "0 s")], 3.0, 0.0),
    ],
)
def test_time_is_split_as_by_hand(
    table: dict[str, Any], pauses: list[tuple[str, str]], ramps: float, paused: float
) -> None:
    clock = clock_of(table, pauses)
    assert split(clock) == pytest.approx((60.0, ramps, paused, 30.0))
    assert clock.times[-1] == pytest.approx(60.0 + ramps + paused)
    assert clock.turned[-1] == pytest.approx(12.0)


def test_instants_of_a_cycle_with_a_pause(table: dict[str, Any]) -> None:
    clock = clock_of(table, [("top wraps", "10 s")])
    # 0.3 turns in the first 3 s, then 0.2 turns/s. Seven turns end in a ramp: 35 s + 3 s. There it
    # stands for 10 s, to 48 s. Half a ramp in time is a quarter of its turns: 0.075 after 1.5 s.
    turns = np.array([0.0, 0.075, 0.3, 2.0, 7.0, 7.075, 7.3, 7.7, 8.0])
    expected = [0.0, 1.5, 3.0, 11.5, 48.0, 49.5, 51.0, 53.0, 54.5]
    assert clock.time_at(turns) == pytest.approx(expected, abs=1e-6)
    # To the end at 76 s from the middles at 1, 4.5, 7.5 and 10 turns.
    assert clock.ages(PATH) == pytest.approx([69.5, 52.0, 24.0, 11.5])


def test_turns_that_are_no_whole_numbers(table: dict[str, Any]) -> None:
    """1.5 turns, a standstill from two pauses, 2.75 turns.

    4.25 turns take 21.25 s at full speed, two starts and stops 6 s, the pauses 4 s: 31.25 s. The
    standstill begins at 7.5 s + 3 s and ends at 14.5 s. 0.3 turns on it is at 17.5 s; the last
    ramp begins 0.3 turns and 3 s before the end, and the first one to the standstill likewise.
    """
    table["machine"] |= {"ramp_up": "3 s", "ramp_down": "3 s", "end_time": "0 s"}
    table["program"]["pauses"] = [
        {"before": "rise", "time": "1.5 s"},
        {"before": "rise", "time": "2.5 s"},
        {"before": "fall", "time": "9 s"},
    ]
    path = (
        Leg("bottom wraps", 0.0, 1.5, 0.0, 0.0, 0.5),
        Leg("rise", 1.5, 4.25, 0.0, 1.0, 0.5),
    )
    clock = cycle_clock(unusual_case(table), path)
    assert split(clock) == pytest.approx((21.25, 6.0, 4.0, 0.0))
    assert clock.times[-1] == pytest.approx(31.25)
    turns = np.array([1.2, 1.5, 1.8, 3.95, 4.25])
    assert clock.time_at(turns) == pytest.approx([7.5, 14.5, 17.5, 28.25, 31.25])


def test_two_pauses_before_the_first_turn_are_one(table: dict[str, Any]) -> None:
    """60 s of turns, one start and stop: 3 s; it stands for 40 s first, so half a turn is at 44 s.

    0.3 turns by 43 s, and 0.2 more at 0.2 turns/s.
    """
    clock = clock_of(table, [("bottom wraps", "15 s"), ("bottom wraps", "25 s")])
    assert split(clock) == pytest.approx((60.0, 3.0, 40.0, 30.0))
    assert clock.time_at(np.array([0.5])) == pytest.approx([44.0])


def test_ramps_that_do_not_reach_full_speed(table: dict[str, Any]) -> None:
    """Ramps of 30 s make 6 turns; 1.5 turns allow half of the speed, in 15 s up and 15 s down."""
    table["machine"] |= {"ramp_up": "30 s", "ramp_down": "30 s"}
    clock = cycle_clock(unusual_case(table), [Leg("rise", 0.0, 1.5, 0.0, 1.0, 0.5)])
    assert clock.times[-1] == pytest.approx(30.0)
    assert clock.speeds.max() == pytest.approx(0.1 * 2 * np.pi)
    assert (clock.wrapping, clock.ramps) == pytest.approx((7.5, 22.5))
    assert clock.time_at(np.array([0.75])) == pytest.approx([15.0])
    # It starts, is at half speed and stands again: three knots, though no time passes at the top.
    assert clock.times == pytest.approx([0.0, 15.0, 30.0])


def test_jumps_where_there_are_no_ramps(table: dict[str, Any]) -> None:
    clock = clock_of(table, [("rise", "4 s")], ramp_up="0 s", ramp_down="0 s")
    assert split(clock) == pytest.approx((60.0, 0.0, 4.0, 30.0))
    assert clock.time_at(np.array([1.0, 2.0, 3.0, 12.0])) == pytest.approx([5.0, 14.0, 19.0, 64.0])
    assert clock.ages(PATH)[0] == pytest.approx(59.0)


@pytest.mark.parametrize(
    "pauses",
    [
        [],
        [("bottom wraps", "60 s")],
        [("bottom wraps", "7 s"), ("top wraps", "10 s"), ("top wraps", "20 s")],
        [("rise", "5 s"), ("closing wraps", "5 s")],
    ],
)
def test_prediction_and_dancer_read_one_clock(
    table: dict[str, Any], pauses: list[tuple[str, str]]
) -> None:
    table["program"]["pauses"] = [{"before": before, "time": time} for before, time in pauses]
    case = unusual_case(table)
    turning, p = cycle_turning(case), predict(case)
    assert turning.times[-1] == pytest.approx(p.cycle_time_s - p.end_time_s)
    assert turning.turned[-1] == pytest.approx(2 * np.pi * p.turns)
    standing = (turning.speeds[:-1] == 0) & (turning.speeds[1:] == 0)
    assert np.diff(turning.times)[standing].sum() == pytest.approx(p.pause_time_s)


def test_pause_before_a_part_that_the_program_lacks_is_told(table: dict[str, Any]) -> None:
    plain = predict(unusual_case(table))
    table["program"] |= {"ends_at": "top", "pauses": [{"before": "fall", "time": "10 s"}]}
    p = predict(unusual_case(table))
    assert p.pause_time_s == 0.0
    assert p.ramp_time_s == pytest.approx(plain.ramp_time_s)
    (finding,) = (each for each in p.findings if each.code == "pause_without_part")
    assert finding.field == "program.pauses[0].before"
    assert "takes no time" in finding.message


def test_time_beside_turning_is_the_prediction_s(case: Case) -> None:
    p = predict(case)
    assert time_beside_turning(case) == pytest.approx(p.cycle_time_s - p.wrapping_time_s)
