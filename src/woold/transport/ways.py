"""Every way that a load may be pushed: what decides in it, and whether it can be said."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.case.transport import Transport
from woold.physics import screen_kernel as kernel
from woold.physics.stack_ways import Stack, turned_bearings
from woold.physics.transport_profiles import Action, Profile
from woold.transport.film_over_interfaces import Wrap
from woold.transport.result import LARGEST_GIVE, InterfaceResult, Limit, WayResult

__all__ = ["Screened", "judged_ways", "no_if_any_is_no"]

Floats = NDArray[np.float64]

_ROUNDING: Final = 1e-9
_NEAR: Final = 1e-8
_LIMITS: Final[tuple[Limit, ...]] = (
    "slip",
    "lean",
    "kept",
    "stack_tips",
    "unit_tips",
    "unit_slides",
)
"""In the order of the compiled screen."""


@dataclass(frozen=True, eq=False)
class Screened:
    """What is screened.

    Args:
        stack: the load.
        wrap: film over its interfaces.
        limits: most travel of a tier, of the top, and of the top that stays [m].
        states: what the inputs may be, as `woold.transport.unmeasured.every_state` gives them.
        moved: field that is moved in each state, "" in the first, which is as guessed.
    """

    stack: Stack
    wrap: Wrap
    limits: tuple[float, float, float]
    states: Floats
    moved: tuple[str, ...]

    @functools.cached_property
    def load(self) -> kernel.ScreenedLoad:
        """The load as the compiled screen takes it."""
        stack, pallet = self.stack, self.stack.pallet_vertices
        return kernel.ScreenedLoad(
            vertices=stack.vertices,
            corner_radius=stack.corner_radius,
            pallet_vertices=stack.vertices if pallet is None else pallet,
            pallet_radius=stack.corner_radius if pallet is None else 0.0,
            interface_heights=stack.interface_heights,
            load_height=stack.load_height,
            load_mass=stack.load_mass,
            deck_height=stack.deck_height,
            pallet_mass=stack.pallet_mass,
            foot_blocked=stack.foot_blocked,
        )

    @functools.cached_property
    def interfaces(self) -> tuple[tuple[float, float, float, float], ...]:
        """Height, mass above, layers and force of each interface."""
        stack, wrap = self.stack, self.wrap
        columns = (stack.interface_heights, stack.mass_above, wrap.layers, wrap.force)
        return tuple(zip(*(each.tolist() for each in columns), strict=True))

    def film(self, asked: Transport) -> kernel.ScreenedFilm:
        """The film as the compiled screen takes it."""
        wrap = self.wrap
        return kernel.ScreenedFilm(
            hoop=wrap.hoop,
            shear_stiffness=wrap.layers * wrap.layer_stiffness,
            slip_zone=asked.slip_zone,
            calibration=asked.restraint_calibration,
            vertical_force=asked.pressing_force,
            layer_hoop=wrap.layer_hoop,
            layer_stiffness=wrap.layer_stiffness,
        )


def no_if_any_is_no(answers: Iterable[bool | None]) -> bool | None:
    """No if any answer is no; None if one cannot be said and none is no."""
    every = list(answers)
    if False in every:
        return False
    return None if None in every else True


def judged_ways(
    screened: Screened, asked: Transport, profile: Profile, bearings: Floats
) -> tuple[WayResult, ...]:
    """The worst way round in each direction of a profile, and whether it holds.

    Args:
        screened: load, film and limits.
        asked: the case's [transport] table.
        profile: the accelerations.
        bearings: directions of the load that may point forward in the vehicle, shape (k,) [rad].
    """
    ramp = asked.ramp_time if profile.ramp_time is None else profile.ramp_time
    rows, of_action = _rows(profile.actions, ramp, tuple(bearings.tolist()))
    ways, places = kernel.screen_ways(
        screened.load,
        screened.film(asked),
        kernel.ScreenedLimits(*screened.limits),
        rows,
        screened.states,
    )
    guessed, shares = ways[0].tolist(), ways[:, :, kernel.USED].T.tolist()
    results = []
    for action, its_rows in zip(profile.actions, of_action, strict=True):
        alone = [row for row in its_rows if guessed[row][kernel.SEEN] == 0.0]
        worst = _worst_row(alone, guessed)
        used = list(map(max, *(shares[row] for row in alone))) if alone[1:] else shares[worst]
        decided = _decided_by(screened.moved, used)
        limit = guessed[worst][kernel.LIMIT]
        if decided:
            most = ways[used.index(max(used)), alone].tolist()
            limit = max(most, key=_badness)[kernel.LIMIT]
        results.append(
            _way(
                screened,
                (action, float(rows[worst, kernel.BEARING]), ramp),
                (guessed[worst], used, decided, _LIMITS[int(limit)]),
                tuple(_interfaces(screened, places[0, worst].tolist())),
            )
        )
    return tuple(results)


def _decided_by(moved: Sequence[str], shares: Sequence[float]) -> tuple[str, ...]:
    """Fields that turn the answer when they are moved."""
    answers = [share <= 1.0 + _ROUNDING for share in shares]
    if answers.count(answers[0]) == len(answers):
        return ()
    named = zip(moved, answers, strict=True)
    return tuple(dict.fromkeys(field for field, answer in named if answer != answers[0]))


@functools.lru_cache(maxsize=64)
def _rows(
    actions: tuple[Action, ...], ramp: float, bearings: tuple[float, ...]
) -> tuple[Floats, tuple[range, ...]]:
    """Every action with every bearing, for the compiled screen; and the rows of each action."""
    rows: list[list[float]] = []
    of_action = []
    for action in actions:
        first = len(rows)
        for bearing in turned_bearings(action, np.array(bearings)):
            rows.append([bearing, action.horizontal, action.tipping, action.vertical, ramp])
        of_action.append(range(first, len(rows)))
    return np.array(rows), tuple(of_action)


def _worst_row(rows: Sequence[int], ways: Sequence[Sequence[float]]) -> int:
    """The row that is worst; only where several reach as much of a limit the rest is looked at."""
    most = max(ways[row][kernel.USED] for row in rows)
    near = [row for row in rows if ways[row][kernel.USED] >= most - _NEAR]
    return max(near, key=lambda row: _badness(ways[row])) if near[1:] else near[0]


def _badness(way: Sequence[float]) -> tuple[float, float, float]:
    """What reaches most of a limit is worst, then what travels farthest, then what lacks most."""
    return round(way[kernel.USED], 9), round(way[kernel.TOP], 9), round(way[kernel.LACK], 6)


def _way(
    screened: Screened,
    named: tuple[Action, float, float],
    found: tuple[Sequence[float], Sequence[float], tuple[str, ...], Limit],
    interfaces: tuple[InterfaceResult, ...],
) -> WayResult:
    (action, bearing, ramp), (way, shares, decided, limit) = named, found
    is_held = shares[0] <= 1.0 + _ROUNDING
    # Nobody weighed the screen for packages that are softer still.
    is_too_soft = screened.stack.give > LARGEST_GIVE * (1.0 + _ROUNDING)
    return WayResult(
        direction=action.direction,
        bearing_rad=bearing,
        acceleration_g=action.horizontal,
        tipping_g=action.tipping,
        vertical_g=action.vertical,
        ramp_time_s=ramp,
        slip_margin=way[kernel.SLIP_MARGIN],
        slip_margin_most=way[kernel.SLIP_MARGIN_MOST],
        tipping_margin=way[kernel.TIPPING_MARGIN],
        slides_on_vehicle=way[kernel.UNIT_SLIDES] > 1.0 + _ROUNDING,
        tips_on_vehicle=way[kernel.UNIT_TIPS] > 1.0 + _ROUNDING,
        top_travel_m=_finite(way[kernel.TOP]),
        top_travel_slow_m=_finite(way[kernel.TOP_SLOW]),
        top_travel_kept_m=_finite(way[kernel.TOP_KEPT]),
        used=_finite(shares[0]),
        used_least=_finite(min(shares)),
        used_most=_finite(max(shares)),
        limited_by=limit,
        holds=None if decided or (is_held and is_too_soft) else is_held,
        decided_by=decided,
        interfaces=interfaces,
    )


def _interfaces(screened: Screened, places: list[list[float]]) -> Iterator[InterfaceResult]:
    """Every interface as guessed, but with the layers that do in every state."""
    one, slip_limit = screened.wrap.layer_force, screened.limits[0] + _ROUNDING
    for (height, mass, laid, force), place in zip(screened.interfaces, places, strict=True):
        slips, tips, needed, most, travel, slow, stays, _, count = place
        is_held, is_enough = travel < math.inf, count < math.inf
        # In the order of its fields: there are many of them.
        yield InterfaceResult(
            height,
            mass,
            slips > 0.0,
            tips > 1.0 + _ROUNDING,
            needed,
            most,
            travel if is_held else None,
            slow if slow < math.inf else None,
            stays if is_held else None,
            laid,
            count if is_enough else None,
            force,
            count * one if is_enough else None,
            travel <= slip_limit,
        )


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
