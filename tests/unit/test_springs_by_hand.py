"""The table of springs, one row worked out on paper."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

import pytest

from woold.case.file import case_from_table
from woold.dancer.cycle import simulate_cycle
from woold.dancer.cycle_rows import cycle_blocks
from woold.physics.dancer import Spring
from woold.physics.dancer_springs import spring_choices
from woold.rows.blocks import Paragraph
from woold.rows.wording import Wording


def test_a_spring_in_a_hole(dancer_setup: Any) -> None:
    """Hole at .14 m on the arm, anchor at (.10, .35) m, 900 N/m, 10 N over .18 m; stops ±.5 rad.

    Lower stop: hole at (.122862, -.067120), length √(.022862² + .417120²) = .417746, force
    10 + 900 × .237746 = 223.971 N, lever .14 × .3550966/.417746 = .119004 m, torque 26.6536 N m;
    two lines over .25 m × cos .5 = .438791 m: 60.743 N. Upper stop: (.122862, .067120), .283802 m,
    103.422 N, .14 × .2592114/.283802 = .127869 m, 13.2245 N m: 30.139 N. Middle: 45.915 N, and
    14.907 N m/rad at constant film tension, so the tension falls by 14.907/.5 = 29.81 N/rad: 45 N
    stand at about .915/29.81 = .0307 rad, at .5307 of the travel. With 15 % of the travel free at
    either stop, ±.35 rad: in the same way 56.198 and 35.059 N.
    """
    spring = Spring(rate=900.0, free_length=0.18, preload=10.0)
    (row,) = spring_choices(dancer_setup.arm, [spring], [0.14], 45.0, 16e-6)
    assert row.fits
    ends = (row.tension_lower, row.tension_middle, row.tension_upper)
    # Six digits of each term.
    assert ends == pytest.approx((60.743, 45.915, 30.139), abs=1e-3)
    # The slope is that of the middle; over .03 rad it changes by a few hundredths.
    assert row.balance_angle == pytest.approx(0.0307, abs=3e-4)
    assert row.travel_share == pytest.approx(0.5307, abs=3e-4)
    assert row.arm_stiffness == pytest.approx(14.907, rel=0.03)
    # Film of another thickness asks for as much more force: 16 × 35.059/45 and 16 × 56.198/45.
    assert [each * 1e6 for each in row.serves] == pytest.approx([12.465, 19.981], abs=1e-3)


def test_a_spring_that_does_not_fit_is_never_called_smooth() -> None:
    """Lower stop at -30 deg: hole at (.12124, -.07) m, anchor at (.10, .35) m, so .42054 m.

    A spring that may be drawn to 430 mm bears it; one of 400 mm does not, and swings as evenly.
    """
    text = files("woold.demo").joinpath("files", "today.toml").read_text("utf-8")
    answers = []
    for longest in ("430 mm", "400 mm"):
        table = tomllib.loads(text)
        table["dancer"]["springs"][1]["longest_length"] = longest
        study = simulate_cycle(case_from_table(table), spring=2, hole=0.14)[0]
        assert study.steady.is_smooth
        say = Wording("si")
        _, answer, *_ = cycle_blocks(study, say, say)
        assert isinstance(answer, Paragraph)
        answers.append(answer.text)
    assert answers[0] == "Smooth at this speed."
    assert answers[1].startswith("This spring does not fit this hole: drawn to 421 mm")
    assert "mooth" not in answers[1]
