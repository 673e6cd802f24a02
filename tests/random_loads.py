"""Seeded random loads, screened and simulated: how safe and how strict the transport screen is.

The loads cover what pallets look like, not what any plant ships: an invented spread, said as such.
"""

from __future__ import annotations

import functools
from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from woold.case.fields import facts_of
from woold.case.transport import Transport
from woold.case.transport_profiles import chosen_profile
from woold.physics.interface_friction import LOOSE_MARGIN
from woold.physics.outlines import rectangle_outline
from woold.physics.restraint import side_walls
from woold.physics.stack_motion import SINK, MovingStack, film_panels, pulse, stack_motion
from woold.physics.stack_ways import Stack
from woold.physics.transport import FilmOverInterfaces
from woold.physics.transport_profiles import Action
from woold.transport.film_over_interfaces import Wrap
from woold.transport.unmeasured import MARGIN, Unmeasured, every_state
from woold.transport.ways import Screened, judged_ways

SLIP_LIMIT, LEAN_LIMIT, KEPT_LIMIT = 0.03, 0.10, 0.05


@dataclass(frozen=True)
class RandomLoad:
    """A load, the film over its interfaces, and the level of the start."""

    stack: Stack
    film: FilmOverInterfaces
    level: float


def random_load(rng: np.random.Generator) -> RandomLoad:
    """Footprints of 0.8 to 1.2 m, 3 to 8 tiers, 150 to 1000 kg, 1 to 8 layers, 0.2 to 0.8 g."""
    length, width = rng.choice([0.8, 1.0, 1.2], 2)
    tiers, height = int(rng.integers(3, 9)), rng.uniform(0.8, 2.0)
    friction = np.full(tiers, rng.uniform(0.25, 0.6))
    friction[0] = rng.uniform(0.25, 0.6)
    layers, force = rng.integers(1, 9), rng.uniform(17.0, 51.0)
    hoop = np.full(tiers, layers * force / 0.45)
    stiffness = np.full(tiers, layers * rng.uniform(7e-6, 14e-6) * rng.uniform(150e6, 600e6) / 3.0)
    if rng.random() < 0.1:  # film that does not reach down to the pallet
        hoop[0] = stiffness[0] = 0.0
    stack = Stack(
        vertices=rectangle_outline(length, width).vertices,
        corner_radius=0.0,
        load_height=height,
        load_mass=rng.uniform(150.0, 1000.0),
        interface_heights=height * np.arange(tiers) / tiers,
        friction=friction,
        vehicle_friction=rng.uniform(0.3, 0.6),
        deck_height=0.144,
        pallet_mass=25.0,
        kinetic_share=rng.uniform(0.5, 1.0),
        foot_blocked=bool(rng.random() < 0.7),
    )
    film = FilmOverInterfaces(hoop, stiffness, rng.uniform(0.1, 0.3), 1.0, np.zeros(tiers))
    return RandomLoad(stack, film, rng.uniform(0.2, 0.8))


def guess_of(name: str) -> tuple[float, float, float]:
    """What the case takes for an input that nobody measured, and its range."""
    facts = facts_of(Transport, name)
    assert facts.low is not None
    assert facts.high is not None
    return float(Transport.model_fields[name].default), facts.low, facts.high


def screen_says(load: RandomLoad, unmeasured: Collection[str] = ()) -> bool | None:
    """What the screen says of the load's long side along the movement.

    Args:
        load: the load, with its true inputs.
        unmeasured: names of those that nobody measured.
    """
    stack, film = load.stack, load.film
    known = {
        "friction": float(stack.friction[-1]),
        "deck_friction": float(stack.friction[0]),
        "vehicle_friction": stack.vehicle_friction,
        "kinetic_share": stack.kinetic_share,
        "package_give": stack.give,
    }
    guesses = {name: guess_of(name) for name in unmeasured}
    asked = Transport(
        profiles=("EUMOS 40509",),
        acceleration=load.level,
        slip_zone=film.slip_zone,
        foot_blocked=stack.foot_blocked,
        **known | {name: guess[0] for name, guess in guesses.items()},
    )
    inputs = [Unmeasured(f"transport.{name}", *guess) for name, guess in guesses.items()]
    inputs.append(Unmeasured(MARGIN, asked.slip_margin, asked.slip_margin, LOOSE_MARGIN))
    tiers = stack.friction.size
    states, moved = every_state(asked, tiers, tuple(inputs))
    screened = Screened(
        replace(stack, give=asked.package_give),
        # One layer of unit tension and stiffness, so that layers and force are those of the film.
        Wrap(film.shear_stiffness, film.hoop, 1.0, 1.0, 1.0),
        (SLIP_LIMIT, LEAN_LIMIT * stack.load_height, KEPT_LIMIT * stack.load_height),
        states,
        moved,
    )
    ahead = Action("forward", load.level, load.level, 1.0)
    profile = replace(chosen_profile("EUMOS 40509", load.level), actions=(ahead,))
    return judged_ways(screened, asked, profile, np.array([0.0]))[0].holds


def simulation_holds(load: RandomLoad, seconds: float = 1.0, give: float = SINK) -> bool:
    """Whether the load keeps the same limits in the time simulation of a pulse."""
    stack, tiers = load.stack, load.stack.friction.size
    half = 0.5 * float(np.ptp(stack.vertices[:, 0]))
    walls = side_walls(stack.vertices, 0.0, 0.0)
    panels = film_panels(load.film.along(walls))
    moving = MovingStack(
        ahead=np.full(tiers + 1, half),
        behind=np.full(tiers + 1, half),
        heights=np.append(stack.deck_height, np.full(tiers, stack.load_height / tiers)),
        masses=np.append(stack.pallet_mass, np.full(tiers, stack.load_mass / tiers)),
        friction=np.append(stack.vehicle_friction, stack.friction),
        kinetic_share=stack.kinetic_share,
        panels=np.concatenate([np.broadcast_to([0.0, 1.0], panels[:1].shape), panels]),
        foot_blocked=stack.foot_blocked,
        give=give,
    )
    done = stack_motion(moving, pulse(load.level, 0.05, seconds, 1.0))
    return bool(
        done.fell_at is None
        and done.largest_slips.max() <= SLIP_LIMIT
        and done.top_travel <= LEAN_LIMIT * stack.load_height
        and done.top_travel_kept <= KEPT_LIMIT * stack.load_height
    )


@dataclass(frozen=True)
class Agreement:
    """Counts of loads by what the screen and what the simulation says."""

    both_hold: int
    unsafe: int
    too_strict: int
    both_fail: int
    unsaid: int
    unsaid_hold: int

    @property
    def unsafe_share(self) -> tuple[float, float]:
        """Of the loads that the screen says hold, those that fail; with its standard error."""
        return _share(self.unsafe, self.both_hold + self.unsafe)

    @property
    def strict_share(self) -> tuple[float, float]:
        """Of the loads that hold in the simulation, those that the screen says do not."""
        return _share(self.too_strict, self.both_hold + self.too_strict + self.unsaid_hold)

    @property
    def unsaid_share(self) -> tuple[float, float]:
        """Of all loads, those of which the screen cannot say it."""
        said = self.both_hold + self.unsafe + self.too_strict + self.both_fail
        return _share(self.unsaid, said + self.unsaid)


def _share(count: int, of: int) -> tuple[float, float]:
    share = count / of
    # One more of each keeps the error above 0 where none was found.
    near = (count + 1) / (of + 2)
    return share, float(np.sqrt(near * (1 - near) / of))


def random_loads(count: int, seed: int, give: float = 0.0) -> list[RandomLoad]:
    """So many of them, whose packages give so far [m]."""
    rng = np.random.default_rng(seed)
    loads = [random_load(rng) for _ in range(count)]
    return [replace(each, stack=replace(each.stack, give=give)) for each in loads]


@functools.cache
def simulated(count: int, seed: int, give: float) -> tuple[bool, ...]:
    """Whether each of so many loads holds over time; it takes a while, so once."""
    loads = random_loads(count, seed)
    return tuple(simulation_holds(load, give=max(give, SINK)) for load in loads)


def agreement(
    count: int, seed: int, give: float = 0.0, unmeasured: Collection[str] = ()
) -> Agreement:
    """Screen and simulate so many loads.

    Args:
        count, seed: of the loads.
        give: by how much packages give; those that hardly do so are stiff to the screen [m].
        unmeasured: inputs of the screen that nobody measured.
    """
    said = [screen_says(load, unmeasured) for load in random_loads(count, seed, give)]
    found = list(zip(said, simulated(count, seed, give), strict=True))
    return Agreement(
        both_hold=found.count((True, True)),
        unsafe=found.count((True, False)),
        too_strict=found.count((False, True)),
        both_fail=found.count((False, False)),
        unsaid=found.count((None, True)) + found.count((None, False)),
        unsaid_hold=found.count((None, True)),
    )
