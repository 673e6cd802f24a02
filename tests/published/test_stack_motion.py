"""Motion of a stack over time: by hand, against scipy's integrator and against MuJoCo.

Contacts in the simulation are stiff, not rigid: the whole weight presses them in by 20 um. Each
tolerance says what it covers.
"""

import mujoco
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from woold.errors import InputError
from woold.physics import stack_kernel
from woold.physics.interface_friction import GRAVITY
from woold.physics.stack_motion import (
    BaseMotion,
    MovingStack,
    _constants,
    pulse,
    recorded_motion,
    stack_motion,
)

PALLET_HEIGHT, PALLET_MASS = 0.144, 25.0


def _stack(tiers=1, base=1.2, height=0.4, mass=300.0, friction=0.3, **other):
    """Tiers of one size on a pallet that cannot slide on the vehicle."""
    count = tiers + 1
    half = np.full(count, base / 2)
    half[0] = other.pop("pallet", base) / 2
    panels = np.zeros((count, 1, 2))
    panels[1:, 0, 0] = other.pop("limit", 0.0)
    panels[:, 0, 1] = other.pop("scale", 0.01)
    return MovingStack(
        half,
        half,
        np.r_[PALLET_HEIGHT, np.full(tiers, height / tiers)],
        np.r_[PALLET_MASS, np.full(tiers, mass / tiers)],
        np.full(count, friction) if np.ndim(friction) == 0 else np.asarray(friction),
        other.pop("kinetic_share", 1.0),
        panels,
        **other,
    )


def test_a_block_under_a_pulse_by_hand():
    # By hand, mu .35, mu_k .28, .5 g for .4 s: speed (.5 - .28) 9.81 .4 = .86328 m/s, way
    # .172656 m; then .28 g stops it: .86328^2/(2 .28 9.81) = .135658 m. In all .308314 m.
    # 1 %: the sticking contact is a spring that takes 1.6 ms to its full friction, 3 mm/s lost.
    block = _stack(friction=0.35, kinetic_share=0.8)
    done = stack_motion(block, pulse(0.5, 0.0, 0.4, 1.0))
    assert done.slips[-1, 1] == pytest.approx(0.308314, rel=0.01)
    assert done.top_travel == pytest.approx(0.308314, rel=0.01)
    assert done.largest_slips[0] < 1e-4  # the pallet is blocked
    # .33 < .35. Nearer than 5 %, the stiff contacts swing after the ramp and break it loose.
    held = stack_motion(block, pulse(0.33, 0.05, 0.4, 1.0))
    assert held.largest_slips.max() < 1e-4


def test_a_pallet_that_is_not_blocked_slides_as_one():
    # By hand, mu = mu_k .3 at .5 g for .4 s: .5 .2 9.81 .16 + (.2 9.81 .4)^2/(2 .3 9.81) m.
    free = _stack(friction=[0.3, 0.9], foot_blocked=False)
    done = stack_motion(free, pulse(0.5, 0.0, 0.4, 1.0))
    assert done.slips[-1, 0] == pytest.approx(0.26160, rel=0.01)
    assert done.largest_slips[1] < 1e-4
    assert done.top_travel < 1e-3  # over the pallet


@pytest.mark.parametrize(("friction", "share"), [(0.0, 0.3), (0.0, 0.6), (0.3, 0.6), (0.3, 0.8)])
def test_a_suddenly_loaded_panel_reaches_its_closed_form(friction, share):
    # x = 2 f/(1 - f^2): f .3: .65934; .6: 1.875; .8: 4.4444 times the scale of 10 mm. A low block,
    # so that it does not rock. 1 %: the pulse comes in a microsecond, and a step is .1 ms.
    mass, acceleration = 300.0, 0.5
    need = mass * GRAVITY * (acceleration - friction)
    block = _stack(mass=mass, height=0.2, friction=friction, limit=need / share, scale=0.01)
    done = stack_motion(block, pulse(acceleration, 0.0, 3.0, 0.5))
    hand = {0.3: 0.0065934, 0.6: 0.01875, 0.8: 0.044444}[share]
    assert done.largest_slips[1] == pytest.approx(hand, rel=0.01)


def test_a_slowly_loaded_panel_reaches_its_static_slip():
    # x = f/sqrt(1 - f^2) by hand: f .6 gives .75 of the scale; a ramp of 20 s leaves little swing.
    need = 300.0 * GRAVITY * 0.2
    block = _stack(height=0.2, friction=0.3, limit=need / 0.6, scale=0.01)
    done = stack_motion(block, pulse(0.5, 20.0, 1.0, 0.0))
    assert done.largest_slips[1] == pytest.approx(0.0075, rel=0.02)


def test_a_chain_of_tiers_on_film_moves_as_an_outside_integrator_says():
    # Reference: scipy solve_ivp (DOP853) on three masses and three panels without friction.
    limit, scale, mass, push = 900.0, 0.008, 100.0, 0.12 * GRAVITY
    wide = _stack(3, base=6.0, height=0.3, mass=300.0, friction=0.0, limit=limit, scale=scale)

    def rates(_, state):
        slips = np.diff(state[:3], prepend=0.0) / scale
        force = limit * slips / np.sqrt(1.0 + slips**2)
        return [*state[3:], *(push + np.append(force[1:], 0.0) / mass - force / mass)]

    times = np.linspace(0.0, 2.0, 101)
    exact = solve_ivp(
        rates, (0.0, 2.0), np.zeros(6), method="DOP853", t_eval=times, rtol=1e-9, atol=1e-12
    )
    done = stack_motion(wide, pulse(0.12, 0.0, 3.0, 0.0), times)
    slips = np.diff(exact.y[:3], axis=0, prepend=0.0).T
    # 1 % of the largest slip: first-order steps.
    np.testing.assert_allclose(done.slips[:, 1:], slips, atol=0.01 * slips.max())


def _falls(stack, acceleration, seconds=4.0):
    return stack_motion(stack, pulse(acceleration, 0.05, seconds, 0.0)).largest_turns.max() > 0.2


def _threshold(falls, low, high):
    assert not falls(low)
    assert falls(high)
    while high - low > 0.002:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if falls(middle) else (middle, high)
    return 0.5 * (low + high)


@pytest.mark.parametrize("limit", [0.0, 3000.0])
def test_unit_and_stack_tip_at_their_limits_with_and_without_film(limit):
    # Derived from moments about the front edge (shared list of outside values): a stack 1.0 m wide
    # and 1.5 m high, 600 kg on a pallet of 144 mm and 25 kg: unit .581 g, stack .667 g. Film
    # raises neither. 1 %: bisection .2 %, contacts that give, and a start that takes .05 s.
    tall = {"base": 1.0, "height": 1.5, "mass": 600.0, "friction": 2.0, "limit": limit}
    unit = _threshold(lambda c: _falls(_stack(**tall), c), 0.5, 0.65)
    assert unit == pytest.approx(0.581, rel=0.01)
    stack = _threshold(lambda c: _falls(_stack(pallet=4.0, **tall), c), 0.6, 0.75)
    assert stack == pytest.approx(0.667, rel=0.01)


MODEL = """
<mujoco>
  <option timestep="0.0005" gravity="0 0 -{gravity}" cone="elliptic" impratio="100"
          integrator="implicitfast"/>
  <default><geom solref="0.002 1" solimp="0.99 0.999 0.0001"/></default>
  <worldbody>
    <body name="platform">
      <joint name="drive" type="slide" axis="1 0 0"/>
      <geom type="box" size="9 5 0.1" pos="0 0 -0.1" mass="1e7" friction="1 0 0" priority="0"/>
    </body>
    {boxes}
  </worldbody>
  <actuator><motor joint="drive"/></actuator>
</mujoco>
"""
BOX = """
    <body pos="0 0 {middle}">
      <freejoint/>
      <geom type="box" size="{half_base} 0.5 {half_height}" mass="{mass}"
            friction="{friction} 0 0" priority="{priority}"/>
    </body>
"""


def _mujoco(stack, base, end):
    """Slips and turns of the same bodies in MuJoCo, sampled every 10 ms."""
    text, floor = "", 0.0
    for index, height in enumerate(stack.heights):
        text += BOX.format(
            middle=floor + height / 2,
            half_base=stack.ahead[index],
            half_height=height / 2,
            mass=stack.masses[index],
            friction=stack.friction[index],
            priority=index + 1,
        )
        floor += height
    model = mujoco.MjModel.from_xml_string(MODEL.format(gravity=GRAVITY, boxes=text))
    data = mujoco.MjData(model)
    for _ in range(400):
        mujoco.mj_step(model, data)
    start, places, turns = data.time, [], []
    while data.time - start < end:
        # Bodies feel the platform's acceleration the other way.
        along = np.interp(data.time - start, base.times, base.along)
        data.ctrl[0] = -model.body_subtreemass[0] * along
        for _ in range(20):
            mujoco.mj_step(model, data)
        places.append(data.xpos[1:, 0].copy())
        turns.append(np.arccos(np.clip(data.xmat[2:, 8], -1.0, 1.0)))
    return np.diff(np.array(places), axis=1), np.array(turns)


def test_slides_of_a_stack_under_a_pulse_as_in_mujoco():
    # Reference library: MuJoCo, kinetic friction as static. A wide stack that slides at two
    # interfaces; middles of boxes, as nothing rocks. 3 %: MuJoCo's contacts creep while sticking,
    # and its friction is regularised.
    stack = _stack(3, base=2.0, height=0.6, friction=[0.9, 0.35, 0.25, 0.4])
    base = pulse(0.5, 0.05, 0.5, 0.8)
    there, _ = _mujoco(stack, base, base.times[-1])
    here = stack_motion(stack, base).slips[-1]
    assert abs(there[-1]).max() > 0.3
    np.testing.assert_allclose(here, abs(there[-1]), atol=0.03 * abs(there[-1]).max())


@pytest.mark.parametrize("acceleration", [0.72, 0.8])
def test_a_stack_tips_over_in_mujocos_time(acceleration):
    # Reference library: MuJoCo. Above its limit of .667 g a block on a wide pallet turns about its
    # front edge; time until it leans by .3 rad. 3 %: contacts that give.
    stack = _stack(1, base=1.0, height=1.5, mass=600.0, friction=2.0, pallet=4.0)
    base = pulse(acceleration, 0.05, 3.0, 0.0)
    _, turns = _mujoco(stack, base, 2.0)
    there = 0.01 * (1 + np.argmax(turns[:, 1] > 0.3))
    times = np.linspace(0.0, 2.0, 2001)
    here = times[np.argmax(abs(stack_motion(stack, base, times).positions[:, 1, 2]) > 0.3)]
    assert here == pytest.approx(there, rel=0.03)


def test_a_rocking_stack_turns_as_far_as_in_mujoco():
    # Reference library: MuJoCo. A pulse of .75 g for .3 s lifts the block's rear but does not tip
    # it. 5 %: contacts that give count for more in so small a turn.
    stack = _stack(1, base=1.0, height=1.5, mass=600.0, friction=2.0, pallet=4.0)
    base = pulse(0.85, 0.05, 0.3, 0.6)
    _, turns = _mujoco(stack, base, base.times[-1])
    here = stack_motion(stack, base)
    assert 0.01 < turns[:, 1].max() < 0.2
    assert here.largest_turns[1] == pytest.approx(turns[:, 1].max(), rel=0.05)
    assert here.largest_lift == pytest.approx(turns[:, 1].max(), rel=0.06)  # 1 m wide
    assert here.fell_at is None


def test_a_recording_of_the_vehicle_moves_the_stack_the_other_way():
    block = _stack(friction=0.3)
    same = pulse(0.5, 0.05, 0.4, 0.8)
    recording = recorded_motion(same.times + 3.0, -same.along)
    assert stack_motion(block, recording).slips[-1, 1] == pytest.approx(
        stack_motion(block, same).slips[-1, 1], rel=1e-6
    )
    back = recorded_motion(same.times, same.along)
    assert stack_motion(block, back).slips[-1, 1] == pytest.approx(
        -stack_motion(block, same).slips[-1, 1], rel=1e-3
    )
    # A drop of the floor halves what friction holds: .3 .5 < .2, so that it slides at .2 g.
    times = np.array([0.0, 0.05, 0.5, 0.55, 1.5])
    push = np.array([0.0, -0.2, -0.2, 0.0, 0.0]) * GRAVITY
    falling = np.array([0.0, -0.5, -0.5, 0.0, 0.0]) * GRAVITY
    assert stack_motion(block, recorded_motion(times, push)).largest_slips[1] < 1e-4
    assert stack_motion(block, recorded_motion(times, push, falling)).largest_slips[1] > 0.02


def test_straps_press_the_tiers_and_not_the_pallet():
    # By hand: 300 kg at .5 g, mu .3: held from V = W (c/mu - 1) = 1962 N; the pallet slides on its
    # own friction all the same.
    for force, moves in ((1900.0, True), (2030.0, False)):
        block = _stack(friction=0.3, pressing_force=force)
        assert (stack_motion(block, pulse(0.5, 0.05, 0.3, 0.5)).largest_slips[1] > 1e-3) == moves
    free = _stack(friction=0.3, pressing_force=2030.0, foot_blocked=False)
    assert stack_motion(free, pulse(0.5, 0.05, 0.3, 0.5)).largest_slips[0] > 0.05


def test_what_is_no_motion_is_refused():
    with pytest.raises(InputError, match="times that grow"):
        recorded_motion([0.0, 0.2, 0.1], [0.0, 1.0, 0.0])
    with pytest.raises(InputError, match="acceleration for each time"):
        recorded_motion([0.0, 0.2, 0.3], [0.0, 1.0])
    with pytest.raises(InputError, match="finite"):
        recorded_motion([0.0, 0.2], [0.0, np.nan])
    with pytest.raises(InputError, match="0 s or more"):
        pulse(0.5, -0.1, 1.0)
    with pytest.raises(InputError, match="kinetic_share"):
        stack_motion(_stack(kinetic_share=1.2), pulse(0.5, 0.05, 0.1))
    with pytest.raises(InputError, match=r"stack\.masses"):
        stack_motion(_stack(mass=-1.0), pulse(0.5, 0.05, 0.1))


def test_a_face_that_leans_presses_along_its_normal():
    """By hand, a face that leans by .1 rad counter-clockwise and knows no friction: of any pressure
    tan .1 = .100335 goes back along the floor for 1 that lifts, and the body below is pressed as
    much the other way."""
    lean, height = 0.1, 0.5
    half = np.full(2, 0.15)
    stack = MovingStack(
        half, half, np.full(2, height), np.full(2, 100.0), np.zeros(2), 1.0, np.zeros((2, 1, 2))
    )
    bodies = _constants(stack)
    contacts = stack_kernel.Contacts(True, 0.0, 1e7, 0.0)
    state = np.zeros((2, stack_kernel.STATES))
    state[:, stack_kernel.ANGLE] = lean
    state[:, stack_kernel.COS], state[:, stack_kernel.SIN] = np.cos(lean), np.sin(lean)
    state[0, stack_kernel.Y] = 0.5 * height
    apart = height - 1e-5  # pressed in by 10 um
    state[1, stack_kernel.X] = -apart * np.sin(lean)
    state[1, stack_kernel.Y] = 0.5 * height + apart * np.cos(lean)
    stack_kernel._interface(bodies, np.zeros((2, 1, 2)), contacts, state, 1, 1e-5)
    along, up = state[1, stack_kernel.FORCE_X], state[1, stack_kernel.FORCE_Y]
    # Two contacts of 10 MN/m, 10 um each: 200 N in all.
    assert np.hypot(along, up) == pytest.approx(200.0, rel=1e-6)
    assert along / up == pytest.approx(-0.100335, rel=1e-5)
    assert state[0, stack_kernel.FORCE_X] == pytest.approx(-along)
    assert state[0, stack_kernel.FORCE_Y] == pytest.approx(-up)


def test_two_halves_that_do_not_slip_rock_as_one_block():
    """A block .3 m wide and 1 m high lifts from .3 g on; .5 g for .2 s turn it by .13 rad."""

    def block(count):
        half, panels = np.full(count, 0.15), np.zeros((count, 1, 2))
        panels[:, :, 1] = 0.01
        rough = np.full(count, 20.0)
        share = np.full(count, 1.0 / count)
        return MovingStack(half, half, share, 200.0 * share, rough, 1.0, panels)

    one, two = (stack_motion(block(count), pulse(0.5, 0.0, 0.2, 0.5)) for count in (1, 2))
    assert one.largest_turns[0] > 0.1
    # 2 %: contacts give, and two of them twice.
    np.testing.assert_allclose(
        two.positions[..., 2], np.repeat(one.positions[..., 2], 2, axis=1), atol=0.003
    )


def test_it_begins_at_rest_under_the_weight_of_the_first_moment():
    """By hand: all of the weight presses the lowest contacts in by 20 um, half of it 10 um."""
    times, level = np.array([0.0, 1.0, 1.5]), np.zeros(3)
    base = BaseMotion(times, level, GRAVITY * np.array([1.0, 1.0, 0.5]))
    half, panels = np.full(1, 0.15), np.zeros((1, 1, 2))
    block = MovingStack(half, half, np.ones(1), np.full(1, 200.0), np.ones(1), 1.0, panels)
    done = stack_motion(block, base, [0.0, 1.0, 1.5])
    sunk = 0.5 - done.positions[:, 0, 1]
    np.testing.assert_allclose(sunk, [20e-6, 20e-6, 10e-6], atol=0.5e-6)
