"""Swing of a stack on packages that give: textbook values, and a stack moved freely over time."""

from __future__ import annotations

import numpy as np
import pytest

from woold.physics.stack_motion import MovingStack, pulse, stack_motion
from woold.physics.swing import overturning_factor, slip_factor, sway_travel, swing_frequency


def test_one_body_on_two_springs() -> None:
    # A block 1 m wide and 1 m high on a spring under each edge, which together its weight presses
    # in by 10 mm: rocking alone, omega^2 = K/J = g .5^2/(.01 (1/3 + 1/12)) = 588.6 (a rigid body on
    # springs, any textbook); sliding on springs as soft, g/.01 = 981. Dunkerley's sum of the two:
    # 1/588.6 + 1/981 = 1/367.9.
    omega = swing_frequency(np.array([1.0]), np.array([300.0]), 0.5, 0.01)
    assert omega == pytest.approx(19.180, abs=0.002)
    # Its mass does not count, since the springs are as soft as its weight makes them.
    assert swing_frequency(np.array([1.0]), np.array([30.0]), 0.5, 0.01) == pytest.approx(omega)


def test_what_does_not_give_does_not_swing() -> None:
    assert swing_frequency(np.full(5, 0.3), np.full(5, 50.0), 0.5, 0.0) == np.inf
    # R of 0: the plan's "1.1 c > mu" stays, and tipping is as a rigid body tips.
    assert (slip_factor(0.0), overturning_factor(0.0)) == (1.1, 1.0)
    assert slip_factor(0.0, 1.3) == 1.3


def test_shear_of_a_column_that_leans() -> None:
    # Even masses on a straight line z: (int z)^2/int z^2 = (1/2)^2/(1/3) = 3/4 of the foot's force
    # swings; a sudden start adds once more what would be there at rest, less what a half swing at
    # 5 % of critical damping loses: exp(-.157) is .855.
    z = (np.arange(10_000) + 0.5) / 10_000
    peak = 0.855 * z.mean() ** 2 / (z**2).mean()
    # Of that peak 0.78 counts, a judgement: a tier has no time to move far above it. The code takes
    # .85 for .855, 0.6 %.
    assert (slip_factor(1.0) - 1.0) / peak == pytest.approx(0.78, rel=7e-3)


def test_sway_adds_to_what_slips() -> None:
    # By hand: at 0.4 g a stack that swings with 20 rad/s leans 0.4 9.81/400 m = 9.81 mm; of that
    # 0.75 counts, a judgement.
    assert sway_travel(0.4, 20.0) == pytest.approx(7.3575e-3)
    assert sway_travel(0.4, np.inf) == 0.0


@pytest.mark.parametrize(("tiers", "give"), [(3, 1e-3), (6, 5e-4), (8, 1e-3)])
def test_simulated_stack_swings_no_slower(tiers: int, give: float) -> None:
    """A stack that neither slides nor lifts swings at the frequency or a little above it.

    Dunkerley's sum gives it from below; on columns like these by up to a tenth.
    """
    heights = np.append(0.144, np.full(tiers, 1.4 / tiers))
    masses = np.append(25.0, np.full(tiers, 600.0 / tiers))
    panels = np.zeros((tiers + 1, 1, 2))
    panels[:, 0, 1] = 1.0
    stack = MovingStack(
        ahead=np.full(tiers + 1, 0.5),
        behind=np.full(tiers + 1, 0.5),
        heights=heights,
        masses=masses,
        friction=np.full(tiers + 1, 2.0),
        kinetic_share=1.0,
        panels=panels,
        give=give,
    )
    times = np.linspace(0.0, 2.0, 4001)
    done = stack_motion(stack, pulse(0.05, 0.0, 2.0, 0.0), times)
    top = done.positions[:, -1, 0]
    leaning = top - top[-1000:].mean()
    crossings = times[1:][np.diff(np.sign(leaning)) != 0][:7]
    measured = np.pi / np.mean(np.diff(crossings))
    omega = swing_frequency(heights, masses, 0.5, give)
    assert 0.99 * omega <= measured <= 1.1 * omega
