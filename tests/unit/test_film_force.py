"""The mean film force that a recording of the dancer tells: by hand, and in simulated motions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dancer_recordings import dancer_recording
from report_makers import demo_case
from woold.case.model import Case
from woold.case.origin import Origin
from woold.dancer.film_force import film_force_told
from woold.dancer.trace_file import TraceFile
from woold.dancer.trace_rows import trace_blocks
from woold.dancer.trace_study import TraceAsk, study_recording
from woold.physics.arm_force import mean_film_force, relative_error_of_mean
from woold.physics.dancer import Spring
from woold.physics.dancer_motion import simulate
from woold.physics.trace import Trace
from woold.physics.turning import ramped_turning
from woold.rows.blocks import Facts, block_texts
from woold.rows.wording import Wording

STILL = np.zeros((4, 64))
"""Four turns in which the arm stands square to the film."""
STOPS = (-math.radians(30), math.radians(30))


def by_hand(**changes: object) -> Case:
    """A case whose film force is worked by hand.

    Hole at 120 mm, anchor 350 mm the way the spring pulls: it is √(120² + 350²) = 370 mm long, 200
    mm more than at rest, and pulls with 1 N/mm 200 N at a lever of 120·350/370 mm: 22.703 N m, held
    by two lines of film on an arm of 250 mm: 45.405 N.
    """
    spring = {"rate": 1000.0, "free_length": 0.17, "preload": 0.0, "longest_length": None}
    values = {
        "dancer.anchor": (0.0, 0.35),
        "dancer.springs": (demo_case("today.toml").dancer.springs[0].model_copy(update=spring),),
        "dancer.spring": 1,
        "dancer.hole": 0.12,
    }
    return demo_case("today.toml").with_values({**values, **changes})


def test_a_still_arm_by_hand() -> None:
    found, why_not = film_force_told(by_hand(), STILL, STOPS, "angle")
    assert not why_not
    assert found is not None
    assert found.film_force_n == pytest.approx(45.405, abs=0.001)
    assert (found.turns, found.spring, found.hole_m, found.film_lines) == (4, 1, 0.12, 2)
    assert found.force_to_load_n == 45.0
    shares = {each.cause: each.share for each in found.doubts}
    # A tenth of the rate either way: (ln 1.1 - ln 0.9)/2. 3 mm of an arm of 250 mm: 1.2 %.
    assert shares["the spring's rate"] == pytest.approx(0.10034, abs=1e-5)
    assert shares["the arm's length"] == pytest.approx(0.0120, abs=1e-5)
    # 3 mm of a spring drawn by 200 mm: 1.5 %.
    assert shares["the spring's free length"] == pytest.approx(0.0150, abs=1e-4)
    # Dry friction of 1 N m, the end of its placeholder's range, on 2 x 250 mm: 2 N of 45.405 N.
    assert shares["dry friction"] == pytest.approx(0.04405, abs=1e-5)
    assert shares["turns that differ"] == 0.0
    assert shares["the spring's preload"] == 0.0
    off = math.sqrt(sum(share**2 for share in shares.values()))
    assert found.film_force_low_n == pytest.approx(45.405 * math.exp(-off), rel=1e-4)
    assert found.film_force_high_n == pytest.approx(45.405 * math.exp(off), rel=1e-4)
    assert [each.share for each in found.doubts] == sorted(shares.values(), reverse=True)


def test_ranges_of_the_case_go_before_what_is_usual() -> None:
    """A rate measured to 2 %, and an arm typed without its origin: 150 to 400 mm, the guess's."""
    case = by_hand()
    origins = dict(case.stated_origins())
    del origins["dancer.arm_length"]
    origins["dancer.springs[0].rate"] = Origin("hung weights", False, 980.0, 1020.0)
    found, _ = film_force_told(case.with_origins(origins), STILL, STOPS, "angle")
    assert found is not None
    shares = {each.cause: each.share for each in found.doubts}
    assert shares["the spring's rate"] == pytest.approx(0.0200, abs=1e-4)
    # The farther end counts either way: (ln 400 - ln 100)/2 = ln 2.
    assert shares["the arm's length"] == pytest.approx(0.6931, abs=1e-4)


def test_a_spring_as_long_as_its_pull_pulls_alike_at_every_angle(dancer_setup) -> None:
    """With a preload of rate times free length it pulls as rate times length, whose lever is a Y
    cos φ/L: torque k a Y cos φ, film k a Y/(N r) = 1000·0.12·0.35/0.5 = 84 N however it swings."""
    setup = replace(
        dancer_setup,
        arm=replace(dancer_setup.arm, arm_length=0.25, film_lines=2, anchor=(0.0, 0.35)),
        spring=Spring(rate=1000.0, free_length=0.17, preload=170.0),
        hole_radius=0.12,
    )
    for inertia, damping in ((0.03, 0.2), (0.2, 1.5)):
        arm = replace(setup.arm, inertia=inertia, damping=damping, friction_torque=0.0)
        moving = replace(setup, arm=arm)
        motion = simulate(moving, ramped_turning(1.2566, 12, 3, 3))
        steady = (motion.theta > 4 * np.pi) & (motion.theta <= 20 * np.pi)
        angle = motion.arm_angle[steady]
        assert np.ptp(angle) > 0.1
        assert mean_film_force(angle, arm, moving.spring, 0.12) == pytest.approx(84.0, rel=1e-12)
        weight = np.cos(angle) / np.cos(angle).mean()
        # Whole turns to a sample of 5 ms in 40 s.
        assert float((motion.tension[steady] * weight).mean()) == pytest.approx(84.0, rel=1e-3)


def test_error_of_a_mean_by_hand() -> None:
    """t of 9 degrees of freedom is 1.8331 at 95 %, of 1 is 6.3138 (any table)."""
    # 9 and 11 in turn: neighbours are not alike; s = √(10/9) = 1.0541, over √10 and 10.
    assert relative_error_of_mean([9.0, 11.0] * 5) == pytest.approx(0.06110, abs=1e-5)
    # 1 to 5: neighbours' products (2 + 0 + 0 + 2)/10 = 0.4, made up for (5·0.4 + 1)/2 = 1.5, so
    # that two count; s² = 10/(5 - 5/2) = 4, over √2 and 3: 6.3138·2/4.2426.
    assert relative_error_of_mean([1.0, 2.0, 3.0, 4.0, 5.0]) == pytest.approx(2.9763, abs=1e-4)
    assert relative_error_of_mean([5.0, 5.0, 5.0]) == 0.0


@pytest.mark.parametrize("alike", [0.0, 0.5])
def test_the_error_of_a_mean_holds_the_truth(alike: float) -> None:
    """Series of 12 turns of which neighbours are so alike: of nine in ten asked, 86 or more."""
    random, held = np.random.default_rng(3), 0
    for _ in range(1500):
        series = [random.normal()]
        for _ in range(11):
            series.append(alike * series[-1] + math.sqrt(1 - alike**2) * random.normal())
        values = 40.0 + np.array(series)
        off = relative_error_of_mean(values) * values.mean()
        held += abs(values.mean() - 40.0) <= off
    assert held / 1500 > 0.86


def test_the_range_holds_the_true_force_of_simulated_dancers() -> None:
    """Whatever inertia, damping and friction; springs, lengths and zero off as is allowed for."""
    case = demo_case("today.toml").with_values({"dancer.spring": 3, "dancer.hole": 0.11})
    held, ratios, count = 0, [], 40
    for seed in range(count):
        recorded, truth = dancer_recording(case, seed)
        found = study_recording(recorded, TraceAsk(turn_period=5.0), case)[0].film_force
        assert found is not None
        held += found.film_force_low_n <= truth <= found.film_force_high_n
        ratios.append(math.log(found.film_force_n / truth))
    # Of nine in ten, fewer than 32 of 40 are seen once in thirty times; no wider than need be.
    assert held >= 32
    assert abs(np.mean(ratios)) < 0.03
    assert 0.03 < np.std(ratios) < 0.09


def swinging(kind: str = "angle", level: float = 2.0) -> TraceFile:
    """A swing of orders two and four about a level [deg]."""
    time = np.arange(0.0, 50.0, 0.02)
    theta = 2 * np.pi * time / 5.0
    degrees = level + 4 * np.cos(2 * theta) + 2 * np.cos(4 * theta + 0.8)
    position = np.radians(degrees)
    if kind == "fraction":
        position = (position - STOPS[0]) / (STOPS[1] - STOPS[0])
    noise = 1e-4 * np.random.default_rng(1).normal(size=time.size)
    return TraceFile(Trace(time, position + noise), kind, time.size, 0)


def force(recorded: TraceFile, case: Case, **asked: object) -> tuple[float, str]:
    """The force [N], or the note that says why there is none."""
    study, _ = study_recording(recorded, TraceAsk(turn_period=5.0, **asked), case)
    if study.film_force is not None:
        return study.film_force.film_force_n, ""
    return math.nan, next(each for each in study.notes if "No film force" in each)


def test_a_share_of_the_travel_or_stops_of_its_own_say_the_same() -> None:
    case = by_hand()
    told = force(swinging(), case)[0]
    assert force(swinging("fraction"), case)[0] == pytest.approx(told, rel=1e-3)
    # An angle counted from elsewhere, whose stops were read: -20 and 40 degrees.
    shifted = swinging(level=12.0)
    own = (STOPS[0] + math.radians(10), STOPS[1] + math.radians(10))
    assert force(shifted, case, stops=own)[0] == pytest.approx(told, rel=1e-3)
    # Growing angles that give film away.
    back = swinging()
    back = replace(back, trace=replace(back.trace, position=-back.trace.position))
    assert force(back, case, reverse=True)[0] == pytest.approx(told, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "level", "asked", "words"),
    [
        ({"dancer.hole": None}, 2.0, {}, "which spring was in which hole"),
        ({"dancer.spring": None}, 2.0, {}, "which spring was in which hole"),
        ({}, 27.0, {}, "touches a stop in 8 of 8 turns"),
        ({}, 2.0, {"zero_is_free": True}, "where the stops lie"),
        ({}, 2.0, {"stops": (-0.4, 0.4)}, "45.8° apart in the recording and 60° in the case"),
        ({"dancer.springs": ()}, 2.0, {}, "no [dancer] with springs"),
        ({"dancer.anchor": (0.35, -0.1)}, 2.0, {}, "hang slack"),
    ],
)
def test_what_a_recording_does_not_tell(changes, level, asked, words) -> None:
    case = by_hand(**changes)
    if not case.dancer.springs:
        found, why_not = film_force_told(case, STILL, STOPS, "angle")
        assert found is None
    else:
        why_not = force(swinging(level=level), case, **asked)[1]
    assert words in why_not


def test_nothing_is_told_of_a_dancer_that_nobody_measured() -> None:
    """Neither anchor nor arm was stated: the fields are named."""
    case = by_hand()
    bare = case.dancer.model_copy()
    bare.model_fields_set.difference_update({"anchor", "arm_length"})
    origins = {k: v for k, v in case.stated_origins().items() if k != "dancer.arm_length"}
    case = case.with_values({"dancer": bare}).with_origins(origins)
    found, why_not = film_force_told(case, STILL, STOPS, "angle")
    assert found is None
    assert why_not == "nobody measured dancer.arm_length, dancer.anchor"


def test_what_is_read() -> None:
    case = by_hand()

    def facts(case: Case) -> list[str]:
        study = study_recording(swinging(), TraceAsk(turn_period=5.0), case)[0]
        blocks = trace_blocks(study, Wording(), Wording())
        block = next(
            each for each in blocks
            if isinstance(each, Facts) and each.caption == "Film force by the dancer"
        )  # fmt: skip
        return list(block_texts(block))

    words = " ".join(facts(case))
    assert "with nine chances in ten" in words
    assert "45 N (10.1 lbf), within" in words
    assert "the spring's rate 10.0 %" in words
    assert "outside: mend it" in " ".join(facts(by_hand(**{"program.force_to_load": 70.0})))
