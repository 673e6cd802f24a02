"""The transport screen of a case: its load, its film as predicted, the rules that it names."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.case.transport_profiles import chosen_profile, named_profile, require_chosen_level
from woold.errors import InputError
from woold.physics import outlines, restraint
from woold.physics.stack_ways import Stack, Way
from woold.physics.transport import CAUTION, TransportScreen, transport_screen
from woold.physics.transport_profiles import Profile
from woold.prediction.predict import load_outline
from woold.prediction.result import Prediction
from woold.transport.film_over_interfaces import Wrap, wrap_over_interfaces
from woold.transport.result import (
    InterfaceResult,
    Limit,
    ProfileResult,
    TransportResult,
    WayResult,
    transport_findings,
)
from woold.words import say

__all__ = [
    "load_bearings",
    "load_stack",
    "profiles_of",
    "screen_transport",
    "slip_allowed",
    "transport_of",
]

Floats = NDArray[np.float64]

_ROUNDING = 1e-9
"""Travel below this is rounding [m]."""


def transport_of(case: Case) -> Transport:
    """The case's [transport] table.

    Raises:
        InputError: there is none.
    """
    if case.transport is None:
        raise InputError.one(
            "transport",
            say("nothing"),
            say("a [transport] table"),
            say(
                'Add [transport] with profiles = ["EN 12195-1 road"]; woold case new shows the'
                " rest."
            ),
        )
    return case.transport


def profiles_of(asked: Transport) -> tuple[Profile, ...]:
    """The profiles that a case names, less the directions in which the load is supported.

    Raises:
        InputError: an unknown name, an acceleration missing or out of place, or no direction left.
    """
    named = [named_profile(name) for name in asked.profiles]
    if asked.acceleration is not None and not any(each.level_is_chosen for each in named):
        require_chosen_level(named[0], asked.acceleration)
    profiles = []
    for each in named:
        level = asked.acceleration if each.level_is_chosen else None
        left = chosen_profile(each.key, level).without(asked.supported)
        if not left.actions:
            raise InputError.one(
                "transport.supported",
                ", ".join(asked.supported),
                say("one direction of {profile} or more that is left", profile=each.key),
                say("A load that is supported all round needs no film for its transport."),
            )
        profiles.append(left)
    return tuple(profiles)


def load_stack(case: Case, asked: Transport) -> Stack:
    """The load as tiers on its deck."""
    outline = load_outline(case)
    load = case.load
    heights = load.height * np.arange(load.tiers) / load.tiers
    friction = np.full(load.tiers, asked.friction)
    friction[0] = asked.deck_friction
    pallet = None
    if load.pallet_length is not None and load.pallet_width is not None:
        pallet = outlines.rectangle_outline(load.pallet_length, load.pallet_width).vertices
    return Stack(
        vertices=outline.vertices,
        corner_radius=outline.corner_radius,
        load_height=load.height,
        load_mass=load.mass,
        interface_heights=heights,
        friction=friction,
        vehicle_friction=asked.vehicle_friction,
        deck_height=load.deck_height,
        pallet_vertices=pallet,
        pallet_mass=asked.pallet_mass,
        kinetic_share=asked.kinetic_share,
        foot_blocked=asked.foot_blocked,
        slip_margin=asked.slip_margin,
        give=asked.package_give,
    )


def load_bearings(asked: Transport) -> Floats:
    """Directions of the load that may point forward in the vehicle [rad]."""
    along_length, along_width = [0.0, math.pi], [0.5 * math.pi, 1.5 * math.pi]
    return np.array(
        {
            "length": along_length,
            "width": along_width,
            "either": along_length + along_width,
        }[asked.lengthways]
    )


def slip_allowed(case: Case, asked: Transport, way: Way) -> float:
    """Travel that every slipping interface may have so that no limit is broken [m].

    The top travels as far as all interfaces together, and what stays is never more than that.
    """
    moving = max(int(way.slips.sum()), 1)
    top = min(asked.lean_limit, asked.kept_limit) * case.load.height
    return min(asked.slip_limit, top / moving)


def screen_transport(case: Case, prediction: Prediction) -> TransportResult:
    """Screen a case's load, with the film that is predicted for it at the age asked for.

    Args:
        case: a case with a [transport] table.
        prediction: its prediction.

    Raises:
        InputError: no [transport] table, or profiles that are not known.
    """
    asked = transport_of(case)
    stack, bearings = load_stack(case, asked), load_bearings(asked)
    wrap = wrap_over_interfaces(case, asked, prediction)
    results = []
    for profile in profiles_of(asked):
        screen = transport_screen(stack, wrap.over(asked), profile, bearings, asked.ramp_time)
        rows = range(len(screen.ways))
        ways = _worst_ways([_way_result(case, asked, wrap, screen, row) for row in rows])
        results.append(
            ProfileResult(
                profile=profile.key,
                title=profile.title,
                edition=profile.edition,
                source=profile.source,
                basis=profile.basis,
                holds=all(way.holds for way in ways),
                ways=ways,
            )
        )
    return TransportResult(
        title=case.title,
        caution=CAUTION,
        holds=all(each.holds for each in results),
        used=_largest(way.used for each in results for way in each.ways),
        later_s=case.hold.after,
        slip_limit_m=asked.slip_limit,
        lean_limit_m=asked.lean_limit * case.load.height,
        kept_limit_m=asked.kept_limit * case.load.height,
        profiles=tuple(results),
        findings=tuple(transport_findings(results)),
    )


def _way_result(
    case: Case, asked: Transport, wrap: Wrap, screen: TransportScreen, row: int
) -> WayResult:
    way, slip = screen.ways[row], screen.slip[row]
    used = _used(case, asked, screen, row)
    limit = max(used, key=lambda name: used[name])
    interfaces = _interfaces(case, asked, wrap, screen, row)
    return WayResult(
        direction=way.action.direction,
        bearing_rad=way.bearing,
        acceleration_g=way.action.horizontal,
        tipping_g=way.action.tipping,
        vertical_g=way.action.vertical,
        ramp_time_s=way.ramp_time,
        slip_margin=way.slip_margin,
        tipping_margin=way.tipping_margin,
        slides_on_vehicle=bool(used["unit_slides"] > 1.0 + _ROUNDING),
        tips_on_vehicle=bool(used["unit_tips"] > 1.0 + _ROUNDING),
        top_travel_m=_finite(slip.sum()),
        top_travel_slow_m=_finite(screen.static_slip[row].sum()),
        top_travel_kept_m=_finite(screen.residual_slip[row].sum()),
        used=_finite(used[limit]),
        limited_by=limit,
        holds=used[limit] <= 1.0 + _ROUNDING,
        interfaces=interfaces,
    )


def _used(case: Case, asked: Transport, screen: TransportScreen, row: int) -> dict[Limit, float]:
    """What is reached of every limit, as a share of it; the largest decides."""
    height, slip = case.load.height, screen.slip[row]
    return {
        "slip": float(slip.max()) / asked.slip_limit,
        "lean": float(slip.sum()) / (asked.lean_limit * height),
        "kept": float(screen.residual_slip[row].sum()) / (asked.kept_limit * height),
        "stack_tips": float(screen.tipping[row].max()),
        "unit_tips": float(screen.unit_tipping[row]),
        "unit_slides": float(screen.unit_sliding[row]),
    }


def _interfaces(
    case: Case, asked: Transport, wrap: Wrap, screen: TransportScreen, row: int
) -> tuple[InterfaceResult, ...]:
    load, way, slip = case.load, screen.ways[row], screen.slip[row]
    allowed = slip_allowed(case, asked, way)
    one_layer = wrap.one_layer(asked, way.walls)
    layers = np.asarray(restraint.layers_needed(way.needed, allowed, one_layer))
    heights = load.height * np.arange(load.tiers) / load.tiers
    return tuple(
        InterfaceResult(
            height_m=float(heights[i]),
            mass_above_kg=float(load.mass * (1.0 - heights[i] / load.height)),
            slips=bool(way.slips[i]),
            tips=bool(screen.tipping[row, i] > 1.0 + _ROUNDING),
            restraint_needed_n=float(way.needed[i]),
            restraint_limit_n=float(screen.restraint_limit[row, i]),
            slip_m=_finite(slip[i]),
            slip_slow_m=_finite(screen.static_slip[row, i]),
            residual_slip_m=_finite(screen.residual_slip[row, i]),
            layers_min=float(wrap.layers[i]),
            layers_needed=_finite(layers[i]),
            containment_n=float(wrap.force[i]),
            containment_needed_n=_finite(layers[i] * wrap.layer_force),
            holds=bool(slip[i] <= asked.slip_limit + _ROUNDING),
        )
        for i in range(load.tiers)
    )


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _largest(shares: Iterable[float | None]) -> float | None:
    """The largest share; None where one has no end."""
    every = list(shares)
    return None if None in every else max(each for each in every if each is not None)


def _worst_ways(ways: list[WayResult]) -> tuple[WayResult, ...]:
    """The worst way of each direction: what reaches most of a limit, then what travels furthest."""

    def badness(way: WayResult) -> tuple[float, float, float]:
        used = math.inf if way.used is None else way.used
        travel = math.inf if way.top_travel_m is None else way.top_travel_m
        force = sum(each.restraint_needed_n - each.restraint_limit_n for each in way.interfaces)
        return round(used, 9), round(travel, 9), round(force, 6)

    directions = dict.fromkeys(way.direction for way in ways)
    return tuple(
        max((way for way in ways if way.direction == direction), key=badness)
        for direction in directions
    )
