"""Parts and wear: one kind of load worked on by hand, ratios, roll changes, parts counted."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from woold.errors import InputError
from woold.line.catalogue import read_catalogue
from woold.line.line_file import read_line
from woold.line.things import LineChoice, case_of
from woold.line.wear import line_wear
from woold.line.wear_result import LineWear
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.rows.blocks import block_texts


def rollers(fast: int) -> str:
    return "".join(
        f'[[carriages.carriage.rollers]]\nname = "{name}"\nrole = "{role}"\nx = "{x} mm"\n'
        f'y = "{y} mm"\ndiameter = "{diameter} mm"\n{side}'
        for name, role, x, y, diameter, side in (
            ("roll", "roll", 0, 0, 250, 'side = "right"\n'),
            ("inlet", "idler", 180, 170, 50, 'side = "left"\n'),
            ("slow", "slow", 320, 140, 90, 'side = "right"\n'),
            ("fast", "fast", 320, 35, fast, 'side = "left"\n'),
            ("outlet", "idler", 460, 60, 50, 'side = "left"\n'),
            ("out", "load", 500, 600, 0, ""),
        )
    )


def carriage(name: str, fast: int, couples_by: str, springs: str = "") -> str:
    return f"""[[carriages]]
name = "{name}"
[carriages.carriage]
prestretch = "220 %"
friction = 1.2
unwind_tension = "25 N"
{rollers(fast)}{springs}
[carriages.drive]
torque = "12 N*m"
power = "400 W"
couples_by = "{couples_by}"
"""


def spring(rate: float) -> str:
    return f'[[carriages.dancer.springs]]\nrate = "{rate} N/mm"\nfree_length = "180 mm"\n'


LINE = f"""title = "Small"
[[films]]
name = "thin"
roll_width = "20 in"
thickness = "63 gauge"
rated_prestretch = "300 %"
roll_mass = "15 kg"
{carriage("today", 90, "chain", spring(0.9) + spring(1.2))}
{carriage("one", 80, "belt", spring(1.2) + spring(1.8) + spring(2.4))}
[[machine_models]]
name = "T12"
[machine_models.machine]
speed = "12 rpm"
exit_distance = "1.5 m"
[[machines]]
name = "hall 1"
model = "@T12"
carriage = "@today"
[[recipes]]
name = "plain"
[recipes.program]
force_to_load = "45 N"
overlap = "50 %"
[[loads]]
name = "jars"
loads_per_year = 60000
machines = ["@hall 1"]
[loads.load]
length = "1.2 m"
width = "1.0 m"
height = "1.5 m"
mass = "600 kg"
"""


def worn(
    folder: Path, text: str = LINE, one: str = "one", rethread: float | None = None
) -> LineWear:
    (folder / "line.toml").write_text(text, encoding="utf-8")
    line = read_line(folder / "line.toml")
    return line_wear(line, read_catalogue(line), one, rethread)


def predicted(folder: Path, name: str, text: str = LINE) -> Prediction:
    (folder / "line.toml").write_text(text, encoding="utf-8")
    line = read_line(folder / "line.toml")
    things = line.things
    (load,) = read_catalogue(line).loads
    by = next(each for each in things.carriages if each.name == name)
    choice = LineChoice(by, things.models[0], things.films[0], things.recipes[0])
    return predict(case_of(things, choice, load))


def test_duty_of_one_kind_of_load(tmp_path: Path) -> None:
    """60,000 loads: film before it sprang back, round a roller of 90 mm, pulled by F - 45 N."""
    (machine,) = worn(tmp_path).machines
    alone = predicted(tmp_path, "today")
    duty = machine.before
    through = alone.film_length_m * alone.prestretch_delivered / alone.stretch_on_load * 60_000
    assert duty.film_m == pytest.approx(through)
    assert duty.fast_turns == pytest.approx(through / (math.pi * 0.09))
    torque = (alone.drawing_force_n - 45.0) * 0.045
    assert duty.torque_n_m == pytest.approx(torque)
    assert duty.work_j == pytest.approx((alone.drawing_force_n - 45.0) * through)
    # The largest torque comes at the lowest tension of a turn, 80 % of 45 N as a placeholder.
    assert duty.torque_peak_n_m == pytest.approx((alone.drawing_force_n - 36.0) * 0.045, rel=1e-3)
    # The far corner of 1.2 x 1.0 m stands 0.781 m off the axis.
    fastest = 12 * 2 * math.pi / 60 * math.hypot(0.6, 0.5)
    speed = fastest * alone.prestretch_delivered / alone.stretch_on_load
    assert duty.film_speed_peak_m_per_s == pytest.approx(speed)
    # Both rollers hang together: (F - T_load) v_fast less (F - T_unwind) v_slow.
    slow = speed / alone.prestretch_geared
    expected = (alone.drawing_force_n - 36.0) * speed - (alone.drawing_force_n - 25.0) * slow
    assert duty.power_peak_w == pytest.approx(expected, rel=0.02)


def test_a_smaller_roller_turns_more_and_pulls_less(tmp_path: Path) -> None:
    (machine,) = worn(tmp_path).machines
    before, after = predicted(tmp_path, "today"), predicted(tmp_path, "one")
    film = (after.film_length_m * after.prestretch_delivered / after.stretch_on_load) / (
        before.film_length_m * before.prestretch_delivered / before.stretch_on_load
    )
    pull = (after.drawing_force_n - 45.0) / (before.drawing_force_n - 45.0)
    assert machine.film_ratio == pytest.approx(film)
    assert machine.turns_ratio == pytest.approx(film * 90 / 80)
    assert machine.work_ratio == pytest.approx(film * pull)
    assert machine.torque_ratio == pytest.approx(pull * 80 / 90, rel=1e-2)
    assert (machine.loads_per_year, machine.compared_share) == (60_000.0, 1.0)
    assert machine.not_served_share == 0.0
    same = worn(tmp_path, one="today").machines[0]
    assert (same.film_ratio, same.turns_ratio, same.work_ratio) == (1.0, 1.0, 1.0)


def test_safety_that_is_left(tmp_path: Path) -> None:
    """A chain 1.0 to 1.4, a belt 1.4 to 1.8: 12 N m and 400 W over the most that is asked."""
    (machine,) = worn(tmp_path).machines
    for duty, factors in ((machine.before, (1.0, 1.4)), (machine.after, (1.4, 1.8))):
        assert (duty.torque_rating_n_m, duty.power_rating_w) == (12.0, 400.0)
        assert duty.torque_peak_n_m is not None
        left = min(12.0 / duty.torque_peak_n_m, 400.0 / duty.power_peak_w)
        assert duty.safety_high == pytest.approx(left / factors[0])
        assert duty.safety_low == pytest.approx(left / factors[1])
    # A fifth more than the largest torque is enough by itself, and not after a factor of 1.8.
    most = 1.2 * max(machine.before.torque_peak_n_m or 0.0, machine.after.torque_peak_n_m or 0.0)
    weak = worn(tmp_path, LINE.replace('torque = "12 N*m"', f'torque = "{most:.4f} N*m"'))
    assert {each.code for each in weak.findings} == {"drive_too_weak"}
    assert not worn(tmp_path).findings
    silent = worn(tmp_path, LINE.replace('power = "400 W"\n', "")).machines[0]
    assert (silent.before.safety_low, silent.before.power_rating_w) == (None, None)


def test_rolls_and_standstill(tmp_path: Path) -> None:
    """Rolls of 15 kg; 4 min each, 2 to 8 as a placeholder, and 3 min where that was asked."""
    (machine,) = worn(tmp_path, rethread=180.0).machines
    rolls = predicted(tmp_path, "today").film_mass_kg * 60_000 / 15.0
    assert machine.rolls_before == pytest.approx(rolls)
    assert machine.rethread_before_s == pytest.approx(rolls * 240.0)
    assert machine.rethread_before_low_s == pytest.approx(rolls * 120.0)
    assert machine.rethread_before_high_s == pytest.approx(rolls * 480.0)
    after = predicted(tmp_path, "one").film_mass_kg * 60_000 / 15.0
    assert machine.rolls_after == pytest.approx(after)
    assert machine.rethread_after_s == pytest.approx(after * 180.0)
    assert machine.rethread_after_low_s == machine.rethread_after_high_s
    assert not machine.rethread_is_typed
    typed = LINE.replace('speed = "12 rpm"', 'speed = "12 rpm"\nrethread_time = "5 min"')
    timed = worn(tmp_path, typed).machines[0]
    assert timed.rethread_is_typed
    assert timed.rethread_before_low_s == pytest.approx(rolls * 300.0)


def test_parts_in_common(tmp_path: Path) -> None:
    """Rollers of 50, 90 and 90 mm today, of 50, 90 and 80 after; springs two, and three."""
    kinds = {each.kind: each for each in worn(tmp_path).parts}
    found = kinds["rollers"]
    assert (found.before, found.in_common, found.after, found.kept) == (2, 2, 3, 2)
    found = kinds["springs"]
    assert (found.before, found.in_common, found.after, found.kept) == (2, 2, 3, 1)
    found = kinds["couplings"]
    assert (found.before, found.after, found.kept) == (1, 1, 0)
    assert kinds["dancer arms"].before is None


def test_rollers_that_nobody_listed(tmp_path: Path) -> None:
    text = LINE.replace(rollers(90), "", 1)
    result = worn(tmp_path, text)
    (machine,) = result.machines
    assert (machine.before.fast_turns, machine.before.torque_n_m) == (None, None)
    assert (machine.work_ratio, machine.turns_ratio) == (None, None)
    assert machine.film_ratio > 0.0
    assert "cannot be compared" in " ".join(block_texts(tuple(result.blocks())))


@pytest.mark.parametrize(
    ("text", "one", "word"),
    [
        (LINE, "none", "--carriage"),
        (LINE.replace('carriage = "@today"\n', ""), "one", "machines"),
    ],
)
def test_what_cannot_be_compared_is_refused(tmp_path: Path, text: str, one: str, word: str) -> None:
    with pytest.raises(InputError, match=word):
        worn(tmp_path, text, one)
