"""The transport screen of a case as a function of the film over each interface alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.physics.interface_friction import GRAVITY
from woold.physics.numeric import FloatOrArray
from woold.physics.stack_ways import Stack, Way, stack_ways
from woold.physics.sudden_start import static_reach, sudden_reach
from woold.physics.tier_wraps import TierTables, least_layers_each, tiers_stand
from woold.physics.tipping import support_ahead, unit_centre
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.result import FilmOnLoad
from woold.transport.film_over_interfaces import shear_stiffness_of_layer
from woold.transport.screen import load_bearings, load_stack, profiles_of
from woold.transport.unmeasured import asked_states, moved_inputs

__all__ = ["MOST_LAYERS", "Tiers"]

Floats = NDArray[np.float64]

MOST_LAYERS = 64
"""More layers than this over an interface count as this many."""

_NO_FORCE = 1e-8
"""Force that is rounding [N]."""

_REACHES = np.logspace(-5.0, 4.0, 4001)
"""Slips over their scale at which the film of walls that stand askew is reckoned with [-]."""


@dataclass(frozen=True, eq=False)
class _Room:
    """What a way leaves to film: travel of the top, and force on the pallet; none below 0.

    The stack is the load in one state of what nobody measured of it.
    """

    stack: Stack
    way: Way
    top_travel: float
    push: float


class Tiers:
    """Tiers of a case's load under its transport profiles.

    Args:
        case: a case with a [transport] table; of what nobody measured, every end counts.
        asked: that table.
    """

    def __init__(self, case: Case, asked: Transport) -> None:
        self.asked, self.load = asked, case.load
        self.stack = load_stack(case, asked)
        self.pressing = self.stack.mass_above * GRAVITY + asked.pressing_force
        self.rooms = _distinct(
            room
            for _, each in asked_states(asked, moved_inputs(case))
            for room in _rooms(case, each, load_stack(case, each))
        )
        self.curves = [_reach_curves(*room.way.walls) for room in self.rooms]
        self.slips = np.array([room.way.slips for room in self.rooms]).any(axis=0)
        self._tables: dict[tuple[float, ...], TierTables] = {}
        # Tables are kept beside what is found for them, so that an id stays theirs.
        self._shared: dict[int, tuple[TierTables, tuple[Floats, ...]]] = {}
        self._least: dict[int, tuple[TierTables, Floats]] = {}

    @property
    def beyond_film(self) -> bool:
        """Some way asks for what no film can give: the unit slides or tips as a whole."""
        return any(room.top_travel < 0.0 or room.push < 0.0 for room in self.rooms)

    def tables(self, case: Case, sheet: FilmOnLoad, age: float, scale: float) -> TierTables:
        """The screen over whole layers of a film.

        Args:
            case: the case with that film and force.
            sheet: that film on the load.
            age: time from when the film is laid to the end of the cycle [s].
            scale: multiple of the film that shall be there [-].
        """
        force = layer_force_later(case, age)
        share = force / layer_force_later(case)
        shear = shear_stiffness_of_layer(case, sheet.thickness)
        key = (force, share, shear, sheet.width, scale)
        if key not in self._tables:
            if len(self._tables) > 4000:
                self._tables.clear()
                self._shared.clear()
                self._least.clear()
            self._tables[key] = self._made(
                force / sheet.width, shear, np.arange(MOST_LAYERS + 1) / scale
            )
        return self._tables[key]

    def _made(self, hoop: float, shear: float, layers: Floats) -> TierTables:
        """Tables over layers, of shape (n,) for all interfaces or (m, n) for each."""
        asked, ways = self.asked, [room.way for room in self.rooms]
        length = asked.slip_zone * hoop / shear
        layers = np.broadcast_to(layers, (self.pressing.size, layers.shape[-1]))
        static, sudden, soft, stays, pull = (np.zeros((len(ways), *layers.shape)) for _ in range(5))
        stuck = np.array([room.stack.friction for room in self.rooms]) * self.pressing
        with np.errstate(divide="ignore", invalid="ignore"):
            for row, way in enumerate(ways):
                sides, along = way.walls
                pull[row] = asked.restraint_calibration * hoop * layers * float(sides @ along)
                share = way.needed[:, None] / pull[row]
                back = self.rooms[row].stack.kinetic_share * stuck[row]
                reaches = _reaches(self.curves[row], share, back[:, None] / pull[row])
                static[row], sudden[row], stays[row] = (length * reach for reach in reaches)
                soft[row] = self.stack.mass_above[:, None] * static[row] / way.needed[:, None]
                # The swing alone needs no film, and softens no chain of it.
                static[row][~way.slips] = sudden[row][~way.slips] = soft[row][~way.slips] = 0.0
        limits = (asked.lean_limit, asked.kept_limit)
        sway = np.array([way.sway_travel for way in ways])
        needed = np.array([way.needed for way in ways])
        drop = np.array([way.friction_drop for way in ways])
        return TierTables(
            static=static,
            sudden=sudden,
            softness=soft,
            stays=stays,
            pull=pull,
            slips=np.array([way.slips for way in ways]),
            sway=sway,
            drop=np.minimum(drop / np.where(needed > 0.0, needed, 1.0), 1.0),
            stuck=stuck,
            returns=_may_return(pull, (sudden + sway[:, :, None]) / length, stuck),
            scale=length,
            ramp=np.array([way.ramp_time for way in ways]),
            slip_limit=asked.slip_limit,
            top_limit=np.array(
                [min(limits[0] * self.load.height, room.top_travel) for room in self.rooms]
            ),
            kept_limit=limits[1] * self.load.height,
            push_room=np.array([room.push for room in self.rooms]),
        )

    def least_layers(self, tables: TierTables) -> Floats:
        """Layers below which an interface cannot stand, whatever lies over the others."""
        if self.beyond_film:
            return np.full(self.slips.size, np.inf)
        if id(tables) not in self._least:
            least = least_layers_each(tables, self.slips, MOST_LAYERS)
            self._least[id(tables)] = (tables, np.asarray(least))
        return self._least[id(tables)][1]

    def even_layers(self, tables: TierTables) -> Floats | None:
        """Layers with which every interface slips as far as the others; None if none will do."""
        moving = np.maximum(tables.slips.sum(axis=1), 1)
        sway = tables.sway.sum(axis=1)
        share = (np.minimum(tables.top_limit, tables.kept_limit) - sway) / moving
        allowed = np.minimum(tables.slip_limit - tables.sway.max(axis=1), share)
        enough = (tables.sudden <= allowed[:, None, None] * (1.0 + 1e-9)).all(axis=0)
        if not enough[:, -1].all():
            return None
        first: Floats = np.argmax(enough, axis=1).astype(float)
        return first

    def shared_layers(self, tables: TierTables) -> tuple[Floats, ...]:
        """Layers with which the stack stands, the travel shared in several uneven ways.

        From the least of each interface by itself, layers are added where they save most travel,
        once one by one and once for an interface and all below it, since bands are wider than
        interfaces are apart; then all that is too much is taken off again.
        """
        if id(tables) not in self._shared:
            self._shared[id(tables)] = (tables, tuple(self._share(tables)))
        return self._shared[id(tables)][1]

    def _share(self, tables: TierTables) -> Iterator[Floats]:
        least = self.least_layers(tables)
        if not np.isfinite(least).all():
            return
        tiers = np.flatnonzero(self.slips)
        moves = [np.eye(self.slips.size)[tier] for tier in tiers]
        blocks = [np.where(np.arange(self.slips.size) <= tier, self.slips, 0.0) for tier in tiers]
        for steps in (moves, blocks):
            layers = least.copy()
            while not tiers_stand(tables, layers, True) and layers.max() < MOST_LAYERS:
                gains = [
                    (self._travel(tables, layers) - self._travel(tables, layers + step))
                    / step.sum()
                    for step in steps
                ]
                layers = layers + steps[int(np.argmax(gains))]
            for tier in tiers[::-1]:
                while layers[tier] > least[tier]:
                    layers[tier] -= 1.0
                    if not tiers_stand(tables, layers, True):
                        layers[tier] += 1.0
                        break
            if tiers_stand(tables, layers, True):
                yield layers

    @staticmethod
    def _travel(tables: TierTables, layers: Floats) -> float:
        """Travel of the top if all starts were sudden, the worst way over its limit [-]."""
        count = np.minimum(layers, MOST_LAYERS).astype(int)
        slips = np.minimum(tables.sudden[:, np.arange(count.size), count] + tables.sway, 10.0)
        limit = np.minimum(tables.top_limit, tables.kept_limit)
        return float((slips.sum(axis=1) / limit).max(initial=0.0))

    def film_share(
        self, case: Case, sheet: FilmOnLoad, layers: Floats, force: Floats, most: float = 64.0
    ) -> float:
        """Largest part to which film may be cut down so that the stack still stands, turned round.

        Args:
            case: the case with that film and force.
            sheet: that film on the load.
            layers: least layers over each interface [-].
            force: least force over each interface, at the age asked for [N].
            most: largest share that is told from larger ones [-].

        Returns:
            Film over what is needed, evenly cut; 0 where film has no part in it [-].
        """
        if self.beyond_film:
            return 0.0
        one = layer_force_later(case)
        if not self.slips.any():
            return most
        if one <= 0.0:
            return 0.0
        shear = shear_stiffness_of_layer(case, sheet.thickness)
        held = np.minimum(layers, force / one)[:, None]
        first = np.zeros(self.slips.size)

        def stands(share: float) -> bool:
            made = self._made(one / sheet.width, shear, held / share)
            return bool(tiers_stand(made, first, False))

        low, high = 1.0 / most, most
        if not stands(low):
            return 0.0
        while high > low * (1.0 + 1e-9):
            middle = math.sqrt(low * high)
            low, high = (middle, high) if stands(middle) else (low, middle)
        return low


def _may_return(pull: Floats, reach: Floats, stuck: Floats) -> NDArray[np.bool_]:
    """Whether film with so many layers, or fewer that stand, pulls farther than friction lets it.

    Pull at the farthest that a start at once and its swing reach: none pulls more.

    Args:
        pull: most force of the film by its layers, shape (w, m, n) [N].
        reach: that travel over its scale; not finite where film never stops it [-].
        stuck: static friction after the start, shape (w, m) [N].
    """
    known = np.isfinite(reach)
    reach = np.where(known, reach, 0.0)
    returns = pull * reach / np.hypot(1.0, reach) > stuck[:, :, None] * (1.0 - 1e-9)
    return np.logical_or.accumulate(returns & known, axis=-1)


def _distinct(rooms: Iterable[_Room]) -> tuple[_Room, ...]:
    """Rooms of which no two ask the same: what is not known leaves many ways as they are."""
    kept: list[_Room] = []
    seen: list[Floats] = []
    for room in rooms:
        way, stack = room.way, room.stack
        lengths, along = way.walls
        asks = np.concatenate(
            [
                way.needed,
                way.sway_travel,
                way.friction_drop,
                stack.kinetic_share * stack.friction,
                stack.friction,
                [lengths @ along**power for power in (1, 2, 3)],
                [way.ramp_time, room.top_travel, room.push],
            ]
        )
        if not any(np.allclose(asks, other, rtol=1e-9, atol=1e-12) for other in seen):
            kept.append(room)
            seen.append(asks)
    return tuple(kept)


def _rooms(case: Case, asked: Transport, stack: Stack) -> Iterator[_Room]:
    """Every way of every profile, with what it leaves to film."""
    bearings = load_bearings(asked)
    force = np.full(case.load.tiers, asked.pressing_force)
    ways = itertools.chain.from_iterable(
        stack_ways(stack, profile, bearings, force, asked.ramp_time)
        for profile in profiles_of(asked)
    )
    for each in ways:
        # Of film the screen asks only where more than the swing alone moves a tier.
        way = replace(each, slips=each.needed > _NO_FORCE)
        yield _Room(stack, way, _top_travel(stack, way), _push_room(stack, way, force))


def _top_travel(stack: Stack, way: Way) -> float:
    """Travel of the top at which the stack or the unit tips; negative if it does without any."""
    action = way.action
    tipping = way.tipping_margin * action.tipping
    ratio = tipping / action.vertical if action.vertical > 0.0 else np.inf
    base = support_ahead(stack.vertices, stack.corner_radius, way.bearing)
    pallet = (stack.vertices, stack.corner_radius)
    if stack.pallet_vertices is not None:
        pallet = (stack.pallet_vertices, 0.0)
    centre, share = unit_centre(
        stack.load_mass, stack.load_height, stack.deck_height, stack.pallet_mass
    )
    unit = support_ahead(*pallet, way.bearing) - ratio * centre
    alone = base - ratio * 0.5 * stack.load_height
    return float(min(2.0 * alone, 2.0 * unit / max(share, 1e-9)))


def _push_room(stack: Stack, way: Way, vertical_force: Floats) -> float:
    """Force of film at the lowest interface that slips, at which the pallet slides [N]."""
    if stack.foot_blocked:
        return float("inf")
    c, c_z = way.action.horizontal, way.action.vertical
    mass = stack.load_mass + stack.pallet_mass
    held = stack.vehicle_friction * c_z * mass * GRAVITY
    if way.slip_margin * c * mass * GRAVITY > held * (1.0 + 1e-9):
        return -1.0
    if not way.slips.any():
        return float("inf")
    lowest = int(np.argmax(way.slips))
    pressed = c_z * stack.mass_above[lowest] * GRAVITY + vertical_force[lowest]
    passed = c * (mass - stack.mass_above[lowest]) * GRAVITY
    passed += stack.kinetic_share * stack.friction[lowest] * pressed
    return float(held - passed)


def _reach_curves(lengths: Floats, along: Floats) -> tuple[Floats, Floats] | None:
    """Need over the film's limit at which it slips so far, slowly and at once [-].

    Args:
        lengths, along: of the sides, and their |cos|.

    Returns:
        Both at `_REACHES`; None where every wall lies along the way or across it.
    """
    # A share of a millionth along a wall changes nothing that can be seen.
    if np.all((along < 1e-6) | (along > 1.0 - 1e-9)):
        return None
    weight = lengths * along / float(lengths @ along)
    flow = _REACHES[:, None] * along
    root = np.hypot(1.0, flow)
    return (flow / root) @ weight, (flow / (1.0 + root)) @ weight


def _reaches(
    curves: tuple[Floats, Floats] | None, need: Floats, back: Floats
) -> tuple[FloatOrArray, FloatOrArray, FloatOrArray]:
    """Slips over their scale: needed slowly, at once, and that to which film pulls back.

    Args:
        curves: of the walls, :func:`_reach_curves`.
        need: need over the film's limit [-].
        back: kinetic friction over the film's limit [-].
    """
    need, back = np.nan_to_num(need, nan=np.inf), np.nan_to_num(back, nan=np.inf)
    if curves is None:
        return static_reach(need), sudden_reach(need), static_reach(back)
    slow, mean = curves

    def inverse(shares: Floats, given: Floats) -> Floats:
        inside = np.interp(shares, given, _REACHES, left=0.0)
        inside = np.where(
            shares < given[0], np.fmin(shares, given[0]) / given[0] * _REACHES[0], inside
        )
        return np.where(shares < given[-1], inside, np.inf)

    return inverse(need, slow), inverse(need, mean), inverse(back, slow)
