"""Recordings of ten classes with known truth: each judged rightly, or named among what it may be.

The recordings are made in `made_recordings`, by scipy and sums of components. All 300 of them, and
300 of wider ranges that nothing was fitted to, are tried in benchmarks/test_recordings_judged.py.
"""

from dataclasses import replace

import numpy as np
import pytest

from made_recordings import CLASSES, Ranges, made_recording
from recording_scores import judged, scored, shares_of, truth
from woold.dancer.trace_file import read_trace
from woold.dancer.trace_headings import found_places, heading_unit
from woold.physics.alias import alias_readings
from woold.physics.ring_fit import Run
from woold.physics.slow_motion import slow_motion
from woold.physics.stop_contacts import stop_contacts
from woold.physics.swing_energy import PARTS, SwingEnergy, _repeating, swing_energy
from woold.physics.trace import Trace, even_samples

SEEDS = range(100, 102)


@pytest.mark.parametrize("kind", CLASSES)
def test_verdict_of_each_class(kind):
    outcomes = []
    for seed in SEEDS:
        made = made_recording(kind, seed)
        study, _ = judged(made)
        outcomes.append(scored(made, study))
        if truth(made):
            assert study.verdict != "smooth"
    assert [why for outcome, why in outcomes if outcome == "wrong"] == []


@pytest.mark.parametrize("seed", range(300, 304))
def test_a_ringing_little_faster_than_the_corners_is_not_called_smooth(seed):
    """Five to six and a half times a turn, where it looks like a swing of the corners' own."""
    made = made_recording("ringing", seed, replace(Ranges(), order=(5.0, 6.5)))
    study, _ = judged(made)
    assert truth(made) == {"bounces"}
    assert "bounces" in {study.verdict, *study.may_be}


@pytest.mark.parametrize(("order", "given"), [(8, 5.0), (8, None), (6, None)])
def test_most_of_a_swing_faster_than_the_corners_is_not_called_smooth(order, given):
    """0.7 of the energy at six or eight times a turn, by hand, whether the turn is told or not."""
    time = np.arange(0, 45, 0.02)
    theta = 2 * np.pi * time / 5
    swing = np.sqrt(0.3) * np.cos(2 * theta) + 0.2 * np.cos(theta + 1)
    swing = 0.1 * (swing + np.sqrt(0.7) * np.cos(order * theta + 1))
    swing += 0.001 * np.random.default_rng(1).normal(size=len(time))
    made = made_recording("smooth", 1)
    made = replace(made, time=time, position=swing, pulse=None, given_turn=given, stops=None)
    study, _ = judged(made)
    assert {"bounces", "oscillates"} <= {study.verdict, *study.may_be}


@pytest.mark.parametrize(
    ("kind", "part", "within"),
    [
        ("ringing", "ringing", 0.2),
        ("oscillation", "oscillation", 0.2),
        ("hunting", "hunting", 0.2),
        ("drift", "drift", 0.1),
    ],
)
def test_shares_are_those_that_were_put_in(kind, part, within):
    """Each part's own variance over the sum of all, as it was made; all shares add up to one."""
    ratios = []
    for seed in range(200, 203):
        made = made_recording(kind, seed)
        study, analysis = judged(made)
        found, true = shares_of(study), made.shares_within(analysis.spans)
        assert sum(found.values()) == pytest.approx(1.0, abs=1e-9)
        ratios.append(found[part] / true[part])
    assert np.median(ratios) == pytest.approx(1.0, abs=within)


def test_a_steady_oscillation_keeps_its_energy_where_a_ringing_could_stand_for_it():
    """24 times a turn, wandering in phase: kicks that hardly die out give the same line."""
    made = made_recording("mixed", 24)
    study, analysis = judged(made)
    true = made.shares_within(analysis.spans)["oscillation"]
    assert true > 0.1
    assert shares_of(study)["oscillation"] == pytest.approx(true, rel=0.1)
    assert study.verdict == "oscillates"
    assert study.may_be == ("bounces",)


def test_alias_of_a_bounce_is_not_told_as_the_bounce():
    """A wave of 8.5 Hz read 10 times a second is one of 1.5 Hz: |k f_s ± f|, by hand."""
    assert alias_readings(1.5, 10.0) == pytest.approx((8.5, 11.5, 18.5))
    assert alias_readings(3.0, 100.0) == ()
    assert alias_readings(0.6, 20.0) == pytest.approx((19.4,))  # 20.6 is beyond all bounces
    made = made_recording("alias", 3)
    study, _ = judged(made)
    assert study.bounce is None
    assert study.oscillation_hz is None
    assert study.verdict != "smooth"


def _lying(time, spells, noise=0.004, seed=1):
    """An arm about the middle that goes to its upper stop at 0.5 for some spells [s]."""
    position = 0.1 * np.sin(2 * np.pi * time / 5)
    for begin, lasts in spells:
        position[(time >= begin) & (time < begin + lasts)] = 0.5
    return position + noise * np.random.default_rng(seed).normal(size=len(time))


def test_noise_at_a_stop_is_one_hit_and_slack_is_told_apart():
    """Three blows of 0.1 s and two spells of 1.5 s, put in by hand; noise half the margin."""
    time = np.arange(0, 40, 0.01)
    spells = [(3, 0.1), (8, 0.1), (13, 0.1), (18, 1.5), (28, 1.5)]
    samples = even_samples(Trace(time, _lying(time, spells)))
    found = stop_contacts(samples, [slice(0, len(time))], (-0.5, 0.5))
    assert (found.lower_hits, found.upper_hits, found.slack_spells) == (0, 3, 2)
    assert found.slack_time == pytest.approx(3.0, rel=0.03)
    assert found.unsure_spells == 0


def test_contact_too_short_for_slack_and_too_long_for_a_blow_is_said():
    time = np.arange(0, 40, 0.01)
    samples = even_samples(Trace(time, _lying(time, [(5, 0.2)])))
    found = stop_contacts(samples, [slice(0, len(time))], (-0.5, 0.5))
    assert (found.upper_hits, found.unsure_spells) == (1, 1)


def test_arm_that_lies_still_where_no_stop_was_given_is_not_called_smooth():
    """Spells of 0.6 s at the end of the swing, once a turn of 5 s, put in by hand."""
    time = np.arange(0, 40, 0.02)
    swing = 0.1 * np.cos(0.8 * np.pi * time) + 0.05 * np.cos(0.4 * np.pi * time + 1)
    swing = np.where(time % 5 > 4.4, 0.2, swing) + 5e-4 * np.random.default_rng(2).normal(
        size=len(time)
    )
    made = replace(
        made_recording("smooth", 1), time=time, position=swing, pulse=None, given_turn=5.0
    )
    study, _ = judged(replace(made, stops=None))
    assert study.verdict != "smooth"
    assert "slack" in study.may_be
    near, _ = judged(replace(made, stops=(-0.2, 0.21)))
    assert near.verdict == "slack"
    assert near.slack_time_s == pytest.approx(8 * 0.6, rel=0.05)


@pytest.mark.parametrize(
    ("slow", "hunts"),
    [
        (lambda at: 0.3 * at / 60, False),
        (lambda at: 0.3 * (1 - np.exp(-at / 20)), False),
        (lambda at: 0.3 * np.sin(2 * np.pi * at / 22), True),
        (lambda at: 0.3 * np.sin(2 * np.pi * at / 13) + 0.2 * at / 60, True),
    ],
)
def test_hunting_over_a_few_turns_is_no_drift(slow, hunts):
    """Waves of 22 s and 13 s, over turns of 5 s in a minute; a ramp and a settling are none."""
    time = np.arange(0, 60, 0.02)
    swing = 0.2 * np.cos(4 * np.pi * time / 5) + slow(time)
    found = slow_motion(swing, 0.02, 5.0)
    assert (found.hunting_frequency is not None) is hunts
    if hunts:
        assert 1 / found.hunting_frequency in (
            pytest.approx(22, rel=0.08),
            pytest.approx(13, rel=0.08),
        )


def test_a_turn_that_is_not_told_gives_both_readings_and_never_a_refusal():
    """A centred rectangle repeats after half a turn; seven halves of one are read."""
    time = np.arange(0, 17.5, 0.02)
    swing = 0.1 * np.cos(4 * np.pi * time / 5) + 0.05 * np.cos(8 * np.pi * time / 5 + 1)
    swing += 0.001 * np.random.default_rng(4).normal(size=len(time))
    made = replace(
        made_recording("smooth", 1), time=time, position=swing, pulse=None, given_turn=None
    )
    study, _ = judged(made)
    assert not study.turn_is_certain
    readings = sorted(study.turn_readings_s)
    assert readings[:2] == pytest.approx([2.5, 5.0], rel=0.01)
    assert study.verdict == "smooth"


def test_readings_with_errors_and_gaps_are_judged_as_well():
    """A quarter of the samples lost in gaps that the recording tells, the rest with errors."""
    made = made_recording("ringing", 1)
    gaps = np.array([[10.0, 12.0], [25.0, 28.0]])
    lost = np.any([(made.time > low) & (made.time < high) for low, high in gaps], axis=0)
    kept = Trace(
        made.time[~lost],
        made.position[~lost],
        reading_error=np.full(int((~lost).sum()), 0.002),
        gaps=gaps,
    )
    samples = even_samples(kept)
    np.testing.assert_allclose(samples.reading_error, 0.002)
    assert not samples.sound[(samples.time > 10.1) & (samples.time < 11.9)].any()


@pytest.mark.parametrize(
    ("headings", "places"),
    [
        (["Time (s)", "Dancer angle (°)"], {"time": 0, "position": 1}),
        (["elapsed time, ms", "Dancer speed", "dancerAngle_deg"], {"time": 0, "position": 2}),
        (
            ["Turntable angle [deg]", "Timestamp", "Arm angle [deg]", "Turn pulse"],
            {"time": 1, "position": 2, "pulse": 3, "table": 0},
        ),
        (["time", "angle left", "angle right"], {"time": 0}),
    ],
)
def test_headings_that_people_write(headings, places):
    assert found_places(headings) == places


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Dancer angle [°]", "deg"),
        ("Dancer angle °", "deg"),
        ("angle_deg", "deg"),
        ("Angle (Degrees)", "deg"),
        ("time, ms", "ms"),
        ("Zeit [sec.]", "s"),
        ("travel %", "%"),
        ("dancer [gon]", "gon"),
        ("dancer", ""),
    ],
)
def test_units_that_people_write(heading, unit):
    assert heading_unit(heading) == unit


def test_cells_with_degree_signs(tmp_path):
    """28.6479° is half a radian, by hand."""
    path = tmp_path / "signs.csv"
    rows = [f"{0.1 * at:.1f},{28.6479 if at % 7 else -28.6479}°" for at in range(80)]
    path.write_text("\n".join(["Time [s],Dancer angle [°]", *rows]), encoding="utf-8")
    found = read_trace(path)
    assert found.kind == "angle"
    assert np.abs(found.trace.position) == pytest.approx(0.5, abs=1e-6)


def test_a_trace_that_only_drifts_has_no_swing_to_share_out() -> None:
    energies = tuple(float(name == "drift") for name in PARTS)
    found = SwingEnergy(energies, None, None, None, True, 0.0, False, 0.0)
    assert found.shares["drift"] == 1.0
    assert set(found.swing_shares.values()) == {0.0}


def test_what_comes_again_each_turn_is_told_in_512_places() -> None:
    """Eight turns of 1024 samples: +1 and -1 by turns over 512 places has a mean square of 1.

    In fewer places, or shifted ones, neighbours would lie in one and take each other away.
    """
    index = np.arange(8 * 1024)
    rest = np.where(index // 2 % 2 == 0, 1.0, -1.0)
    run = Run(rest, 2 * np.pi * (index + 0.5) / 1024, 0.01)
    assert _repeating(run, rest, 10.24) == pytest.approx(1.0)


def test_an_arm_that_does_not_move_has_no_share_of_anything() -> None:
    time = np.arange(0.0, 60.0, 0.02)
    found = swing_energy([Run(np.full(time.size, 0.3), 2 * np.pi * time / 5, 0.02)], 5.0, 0.5)
    assert sum(found.energies) == pytest.approx(0.0, abs=1e-20)
    assert (found.high_share, found.beside_share) == (0.0, 0.0)
