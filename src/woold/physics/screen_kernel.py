"""Compiled transport screen: every way of a stack, for every value that its inputs may have.

The equations are those of `woold.physics.transport`, which says them plainly; a test holds the two
together.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.physics.interface_friction import GRAVITY
from woold.physics.late_compiled import late_compiled
from woold.physics.screen_parts import (
    ARC_PIECES,
    film_pull,
    film_reach,
    ramp_swing,
    support_of,
    sway_frequency,
    walls_of,
)
from woold.physics.swing import OVERTURNING_SHARE, SWAY_SHARE, SWING_SHARE

__all__ = [
    "ScreenedFilm",
    "ScreenedLimits",
    "ScreenedLoad",
    "screen_ways",
]

Floats = NDArray[np.float64]

# Columns of a way; "seen" is set where an opposite direction stands for it.
BEARING, LEVEL, TIPPING, VERTICAL, RAMP = range(5)
# Columns of a state of the inputs; the friction of each interface follows.
VEHICLE, KINETIC, GIVE, MARGIN, FRICTION = range(5)
# What is found of a way: shares of the limits, the largest of them, and which it is.
SLIP, LEAN, KEPT, STACK_TIPS, UNIT_TIPS, UNIT_SLIDES = range(6)
LIMITS = 6
USED, LIMIT, TOP, TOP_SLOW, TOP_KEPT, SLIP_MARGIN, TIPPING_MARGIN, LACK, SEEN = range(6, 15)
SLIP_MARGIN_MOST = 15  # of all states, in the first of them alone
WAYS = 16
# And of each interface in it.
SLIPS, TIPS, NEEDED, MOST, TRAVEL, TRAVEL_SLOW, STAYS, LAYERS = range(8)
LAYERS_MOST = 8  # likewise
PLACES = 9

_ALIKE = 1e-8


class ScreenedLoad(NamedTuple):
    """A stack without what is not known exactly of it, SI; see `woold.physics.stack_ways.Stack`."""

    vertices: Floats
    corner_radius: float
    pallet_vertices: Floats
    pallet_radius: float
    interface_heights: Floats
    load_height: float
    load_mass: float
    deck_height: float
    pallet_mass: float
    foot_blocked: bool


class ScreenedFilm(NamedTuple):
    """Film over the interfaces, SI, and one layer of it; see `woold.physics.transport`."""

    hoop: Floats
    shear_stiffness: Floats
    slip_zone: float
    calibration: float
    vertical_force: float
    layer_hoop: float
    layer_stiffness: float


class ScreenedLimits(NamedTuple):
    """Most travel of a tier, of the top, and of the top that stays [m]."""

    slip: float
    lean: float
    kept: float


@late_compiled(is_entry=True, error_model="numpy")
def screen_ways(  # type: ignore[no-untyped-def]
    load, film, limits, ways, states
):
    """What film, friction and gravity do to a stack in every way and state of its inputs.

    Args:
        load: a `ScreenedLoad`.
        film: a `ScreenedFilm`.
        limits: a `ScreenedLimits`.
        ways: bearing [rad], horizontal, tipping and vertical share [-] and ramp [s], shape (n, 5).
        states: friction of the pallet on the vehicle, kinetic share, give [m], slip margin,
            friction of each interface, shape (k, 4 + m).

    Returns:
        Of every way, shape (k, n, 16), and of its interfaces in the first state, shape (1, n, m,
        9); columns are named above. A way that is like its opposite is marked as seen.
    """
    tiers, count = load.interface_heights.size, ways.shape[0]
    of_ways = np.zeros((states.shape[0], count, WAYS))
    of_places, moved = np.zeros((1, count, tiers, PLACES)), np.empty((tiers, PLACES))
    supports = np.empty((count, 2))
    walls = np.empty((load.vertices.shape[0] + ARC_PIECES, 2))
    for way in range(count):
        bearing = ways[way, BEARING]
        supports[way, 0] = support_of(load.vertices, load.corner_radius, bearing)
        supports[way, 1] = support_of(load.pallet_vertices, load.pallet_radius, bearing)
        if _is_seen(ways, supports, way):
            of_ways[:, way, SEEN] = 1.0
            continue
        sides = walls_of(load.vertices, load.corner_radius, bearing, walls)
        frequency = sway_frequency(load, supports[way, 0], states[0, GIVE])
        for state in range(states.shape[0]):
            if state > 0 and states[state, GIVE] != states[state - 1, GIVE]:
                frequency = sway_frequency(load, supports[way, 0], states[state, GIVE])
            given = (ways[way], supports[way], walls[:sides], states[state], frequency)
            found, places = of_ways[state, way], of_places[0, way]
            if state > 0 and _moves_vehicle_alone(states, state):
                # Nothing of the stack changes: the pallet alone grips otherwise.
                found[:] = of_ways[0, way]
                _most_used(load, film, given, found, places)
                continue
            if state > 0:
                moved[:] = 0.0
                places = moved
            _screen_way(load, film, limits, given, found, places)
            _most_of_states(of_ways[0, way], of_places[0, way], found, places)
    return of_ways, of_places


@late_compiled(inline="always")
def _moves_vehicle_alone(states, state):  # type: ignore[no-untyped-def]
    """Whether a state differs from the first in the friction on the vehicle alone."""
    for column in range(VEHICLE + 1, states.shape[1]):
        if states[state, column] != states[0, column]:
            return False
    return True


@late_compiled(inline="always")
def _most_of_states(way, places, moved, moved_places):  # type: ignore[no-untyped-def]
    """What is asked for in the worst state, into the row of the first."""
    way[SLIP_MARGIN_MOST] = max(way[SLIP_MARGIN_MOST], moved[SLIP_MARGIN])
    for tier in range(places.shape[0]):
        layers = max(places[tier, LAYERS_MOST], moved_places[tier, LAYERS])
        places[tier, LAYERS_MOST] = layers


@late_compiled(inline="always")
def _is_seen(ways, supports, way):  # type: ignore[no-untyped-def]
    """Whether the opposite direction, with the same supports, stands in an earlier row."""
    for other in range(way):
        same = True
        for column in range(LEVEL, RAMP + 1):
            same = same and ways[other, column] == ways[way, column]
        turned = abs(ways[way, BEARING] - math.pi - ways[other, BEARING]) < _ALIKE
        near = abs(supports[way, 0] - supports[other, 0]) < _ALIKE
        near = near and abs(supports[way, 1] - supports[other, 1]) < _ALIKE
        if same and turned and near:
            return True
    return False


@late_compiled(inline="always", error_model="numpy")
def _screen_way(load, film, limits, given, way, places):  # type: ignore[no-untyped-def]
    """One way in one state of the inputs: into a row of ways and the rows of its interfaces."""
    asked, supports, walls, state, frequency = given
    level, vertical = asked[LEVEL], asked[VERTICAL]
    swing = ramp_swing(frequency, asked[RAMP])
    sway = SWAY_SHARE * level * GRAVITY / frequency**2
    margin = max(state[MARGIN], 1.0 + SWING_SHARE * swing)
    way[SLIP_MARGIN], way[TIPPING_MARGIN] = margin, 1.0 + OVERTURNING_SHARE * swing
    long = 0.0
    for wall in range(walls.shape[0]):
        long += walls[wall, 0] * walls[wall, 1]
    soft, lack = 0.0, 0.0
    for tier in range(load.interface_heights.size):
        mass = load.load_mass * (1.0 - load.interface_heights[tier] / load.load_height)
        hoop, stiffness = film.hoop[tier], film.shear_stiffness[tier]
        most = film.calibration * hoop * long
        places[tier, MOST] = most
        lack -= most
        held = state[FRICTION + tier] * (vertical * mass * GRAVITY + film.vertical_force)
        push = level * mass * GRAVITY
        # What friction just carries is not lost to rounding.
        if margin * push - held <= 1e-12 * margin * push:
            continue
        places[tier, STAYS] = sway
        needed = push - state[KINETIC] * held
        if needed <= 1e-12 * push:
            continue
        places[tier, NEEDED], places[tier, SLIPS] = needed, 1.0
        lack += needed
        slow = sudden = np.inf
        if stiffness > 0.0 and needed < most:
            scale = hoop * film.slip_zone / stiffness
            slow = scale * film_reach(needed / most, walls, False)
            sudden = scale * film_reach(needed / most, walls, True)
            soft += mass * slow / needed
        places[tier, TRAVEL_SLOW], places[tier, TRAVEL] = slow, sudden
    way[LACK] = lack
    residual = ramp_swing(1.0 / math.sqrt(soft) if soft > 0.0 else np.inf, asked[RAMP])
    _travel(load, film, (state, vertical, residual, sway, walls), way, places)
    way[SLIP] /= limits.slip
    way[LEAN], way[KEPT] = way[TOP] / limits.lean, way[TOP_KEPT] / limits.kept
    _topple(load, asked, supports, way, places)
    _most_used(load, film, given, way, places)
    _layers(film, limits, walls, sway, places)


@late_compiled(inline="always", error_model="numpy")
def _most_used(load, film, given, way, places):  # type: ignore[no-untyped-def]
    """Whether the pallet slides, and of which limit most is used."""
    if not load.foot_blocked:
        way[UNIT_SLIDES] = _slide(load, film, given, way, places)
    for limit in range(LIMITS):
        if limit == 0 or way[limit] > way[USED]:
            way[USED], way[LIMIT] = way[limit], limit


@late_compiled(inline="always", error_model="numpy")
def _travel(load, film, given, way, places):  # type: ignore[no-untyped-def]
    """How far every interface travels and what stays of it."""
    state, vertical, residual, sway, walls = given
    furthest, top, slow, kept = 0.0, 0.0, 0.0, 0.0
    for tier in range(load.interface_heights.size):
        slips = places[tier, SLIPS] > 0.0
        if not slips and places[tier, STAYS] == 0.0:
            continue
        mass = load.load_mass * (1.0 - load.interface_heights[tier] / load.load_height)
        friction, hoop, most = state[FRICTION + tier], film.hoop[tier], places[tier, MOST]
        travel = places[tier, TRAVEL]
        if slips and travel < np.inf:
            needed = places[tier, NEEDED]
            pressed = vertical * mass * GRAVITY + film.vertical_force
            drop = min((1.0 - state[KINETIC]) * friction * pressed, needed)
            part = (drop + residual * (needed - drop)) / needed
            travel = places[tier, TRAVEL_SLOW] + part * (travel - places[tier, TRAVEL_SLOW])
        travel += sway
        stays = travel
        if travel < np.inf and most > 0.0 and film.shear_stiffness[tier] > 0.0:
            scale = hoop * film.slip_zone / film.shear_stiffness[tier]
            pull = film.calibration * hoop * film_pull(travel, scale, walls, False)
            held = friction * (mass * GRAVITY + film.vertical_force)
            if pull > held:
                back = state[KINETIC] * held / most
                stays = min(scale * film_reach(back, walls, False), travel)
        places[tier, TRAVEL], places[tier, STAYS] = travel, stays
        furthest = max(furthest, travel)
        top += travel
        slow += places[tier, TRAVEL_SLOW]
        kept += stays
    way[SLIP], way[TOP], way[TOP_SLOW], way[TOP_KEPT] = furthest, top, slow, kept


@late_compiled(inline="always", error_model="numpy")
def _topple(load, asked, supports, way, places):  # type: ignore[no-untyped-def]
    """What tips the stack over each interface, and the unit, over what keeps it."""
    # A tier that film never stops falls by itself: what stands or tips is said as if it stayed.
    travel = way[TOP] if way[TOP] < np.inf else 0.0
    tipping = way[TIPPING_MARGIN] * asked[TIPPING]
    for tier in range(load.interface_heights.size):
        centre = 0.5 * (load.load_height - load.interface_heights[tier])
        left = asked[VERTICAL] * max(supports[0] - 0.5 * travel, 0.0)
        places[tier, TIPS] = tipping * centre / left if left > 0.0 else np.inf
        way[STACK_TIPS] = max(way[STACK_TIPS], places[tier, TIPS])
    mass = load.load_mass + load.pallet_mass
    moment = load.load_mass * (load.deck_height + 0.5 * load.load_height)
    centre = (moment + load.pallet_mass * 0.5 * load.deck_height) / mass
    left = asked[VERTICAL] * max(supports[1] - 0.5 * travel * load.load_mass / mass, 0.0)
    way[UNIT_TIPS] = tipping * centre / left if left > 0.0 else np.inf


@late_compiled(inline="always", error_model="numpy")
def _slide(load, film, given, way, places):  # type: ignore[no-untyped-def]
    """Push on the pallet along the vehicle over what holds it."""
    lowest = -1
    for tier in range(places.shape[0] - 1, -1, -1):
        lowest = tier if places[tier, SLIPS] > 0.0 else lowest
    asked, _, walls, state, _ = given
    mass = load.load_mass + load.pallet_mass
    push = way[SLIP_MARGIN] * asked[LEVEL] * mass * GRAVITY
    if lowest >= 0:
        above = load.load_mass * (1.0 - load.interface_heights[lowest] / load.load_height)
        pressed = asked[VERTICAL] * above * GRAVITY + film.vertical_force
        passed = state[KINETIC] * state[FRICTION + lowest] * pressed
        travel = places[lowest, TRAVEL]
        if film.hoop[lowest] > 0.0 and film.shear_stiffness[lowest] > 0.0:
            scale = film.hoop[lowest] * film.slip_zone / film.shear_stiffness[lowest]
            reached = travel if travel < np.inf else 1e3
            passed += film.calibration * film.hoop[lowest] * film_pull(reached, scale, walls, False)
        push = max(push, asked[LEVEL] * (mass - above) * GRAVITY + passed)
    held = state[VEHICLE] * asked[VERTICAL] * mass * GRAVITY
    return push / held if held > 0.0 else np.inf


@late_compiled(inline="always", error_model="numpy")
def _layers(film, limits, walls, sway, places):  # type: ignore[no-untyped-def]
    """Layers that take up a sudden start so that no limit is broken, into the interfaces' rows."""
    slipping, swaying = 0, 0.0
    for tier in range(places.shape[0]):
        slipping += int(places[tier, SLIPS])
        swaying += sway if places[tier, STAYS] > 0.0 else 0.0
    if slipping == 0:
        return
    allowed = min(limits.slip - sway, (min(limits.lean, limits.kept) - swaying) / slipping)
    one = 0.0
    if film.layer_hoop > 0.0 and film.layer_stiffness > 0.0 and allowed > 0.0:
        scale = film.layer_hoop * film.slip_zone / film.layer_stiffness
        one = film.calibration * film.layer_hoop * film_pull(allowed, scale, walls, True)
    for tier in range(places.shape[0]):
        if places[tier, SLIPS] > 0.0:
            places[tier, LAYERS] = places[tier, NEEDED] / one if one > 0.0 else np.inf
