"""The transport screen of a case: its load, its film as predicted, the rules that it names."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.errors import InputError
from woold.physics import outlines, restraint
from woold.physics.transport import (
    CAUTION,
    FilmOverInterfaces,
    Stack,
    TransportScreen,
    Way,
    transport_screen,
)
from woold.physics.transport_profiles import Profile, chosen_profile
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.predict import load_outline
from woold.prediction.result import Prediction
from woold.transport.result import (
    InterfaceResult,
    ProfileResult,
    TransportResult,
    WayResult,
    transport_findings,
)
from woold.words import say

__all__ = [
    "interface_zones",
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
    """The profiles that a case names.

    Raises:
        InputError: an unknown name, or an acceleration missing or out of place.
    """
    chosen = "EUMOS 40509"
    if asked.acceleration is not None and chosen not in asked.profiles:
        chosen_profile(asked.profiles[0], asked.acceleration)
    return tuple(
        chosen_profile(name, asked.acceleration if name == chosen else None)
        for name in asked.profiles
    )


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
        deck_friction=asked.vehicle_friction,
        deck_height=load.deck_height,
        pallet_vertices=pallet,
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


def interface_zones(case: Case, asked: Transport) -> tuple[Floats, Floats]:
    """Heights between which film must lie unbroken to hold each interface [m]."""
    load = case.load
    heights = load.height * np.arange(load.tiers) / load.tiers
    return restraint.slip_zones(heights, asked.slip_zone, load.height, asked.pallet_grip)


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
    wrap = _wrap_over_interfaces(case, asked, prediction)
    results = []
    for profile in profiles_of(asked):
        screen = transport_screen(stack, wrap.over(asked), profile, bearings)
        ways = _worst_ways(
            [_way_result(case, asked, stack, wrap, screen, row) for row in range(len(screen.ways))]
        )
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
        later_s=case.hold.after,
        slip_limit_m=asked.slip_limit,
        lean_limit_m=asked.lean_limit * case.load.height,
        kept_limit_m=asked.kept_limit * case.load.height,
        profiles=tuple(results),
        findings=tuple(transport_findings(results)),
    )


@dataclass(frozen=True, eq=False)
class _Wrap:
    """Film as laid: one layer of it, and what lies over each interface."""

    layers: Floats
    force: Floats
    layer_force: float
    layer_hoop: float
    layer_stiffness: float

    def over(self, asked: Transport) -> FilmOverInterfaces:
        return FilmOverInterfaces(
            hoop=self.force / self.layer_force * self.layer_hoop,
            shear_stiffness=self.layers * self.layer_stiffness,
            slip_zone=asked.slip_zone,
            calibration=asked.restraint_calibration,
            vertical_force=np.full(self.layers.size, asked.pressing_force),
        )


def _wrap_over_interfaces(case: Case, asked: Transport, prediction: Prediction) -> _Wrap:
    """Film over each interface: the least within its slip zone."""
    points = prediction.containment_profile
    heights = np.array([point.height_m for point in points])
    layers = np.array([point.layers_min for point in points])
    later = np.array([point.force_later_n for point in points])
    low, high = interface_zones(case, asked)
    count, force = np.zeros(low.size), np.zeros(low.size)
    for index, (bottom, top) in enumerate(zip(low, high, strict=True)):
        inside = (heights >= bottom - 1e-9) & (heights <= top + 1e-9)
        # Film that ends above the zone's lower end leaves part of the zone bare.
        if inside.any() and heights[0] <= bottom + 1e-9:
            count[index], force[index] = layers[inside].min(), later[inside].min()
    one = layer_force_later(case)
    shear = float(restraint.shear_modulus(case.film.reload_modulus))
    return _Wrap(
        layers=count,
        force=force,
        layer_force=one,
        layer_hoop=one / prediction.film_width_on_load_m,
        layer_stiffness=shear * prediction.film_thickness_on_load_m,
    )


def _way_result(
    case: Case, asked: Transport, stack: Stack, wrap: _Wrap, screen: TransportScreen, row: int
) -> WayResult:
    way, slip, kept = screen.ways[row], screen.slip[row], screen.residual_slip[row]
    one_layer = restraint.ShearedFilm(
        hoop=wrap.layer_hoop,
        shear_stiffness=wrap.layer_stiffness,
        slip_zone=asked.slip_zone,
        walls=way.walls,
        calibration=asked.restraint_calibration,
    )
    allowed = slip_allowed(case, asked, way)
    layers = np.asarray(restraint.layers_needed(way.needed, allowed, one_layer))
    top, top_kept = float(slip.sum()), float(kept.sum())
    above = stack.load_height - stack.interface_heights
    interfaces = tuple(
        InterfaceResult(
            height_m=float(stack.interface_heights[i]),
            mass_above_kg=float(stack.load_mass * above[i] / stack.load_height),
            slips=bool(way.slips[i]),
            tips=bool(way.tips[i]),
            restraint_needed_n=float(way.needed[i]),
            restraint_limit_n=float(screen.restraint_limit[row, i]),
            slip_m=_finite(slip[i]),
            residual_slip_m=_finite(kept[i]),
            layers_min=float(wrap.layers[i]),
            layers_needed=_finite(layers[i]),
            containment_n=float(wrap.force[i]),
            containment_needed_n=_finite(layers[i] * wrap.layer_force),
            holds=bool(slip[i] <= asked.slip_limit + _ROUNDING),
        )
        for i in range(stack.interface_heights.size)
    )
    height = case.load.height
    return WayResult(
        direction=way.action.direction,
        bearing_rad=way.bearing,
        acceleration_g=way.action.horizontal,
        tipping_g=way.action.tipping,
        vertical_g=way.action.vertical,
        slides_on_vehicle=bool(way.slides_on_vehicle),
        tips_on_vehicle=bool(way.tips_on_vehicle),
        top_travel_m=_finite(top),
        top_travel_kept_m=_finite(top_kept),
        holds=all(each.holds for each in interfaces)
        and top <= asked.lean_limit * height + _ROUNDING
        and top_kept <= asked.kept_limit * height + _ROUNDING,
        interfaces=interfaces,
    )


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _worst_ways(ways: list[WayResult]) -> tuple[WayResult, ...]:
    """The worst way of each direction: film fails, then the part tips, then it travels furthest."""

    def badness(way: WayResult) -> tuple[bool, bool, float, float]:
        travel = math.inf if way.top_travel_m is None else way.top_travel_m
        force = sum(each.restraint_needed_n - each.restraint_limit_n for each in way.interfaces)
        return not way.holds, way.tips_on_vehicle, round(travel, 9), round(force, 6)

    directions = dict.fromkeys(way.direction for way in ways)
    return tuple(
        max((way for way in ways if way.direction == direction), key=badness)
        for direction in directions
    )
