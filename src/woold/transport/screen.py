"""The transport screen of a case: its load, its film as predicted, the rules that it names."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.case.transport_profiles import chosen_profile, named_profile, require_chosen_level
from woold.errors import InputError
from woold.physics import outlines
from woold.physics.stack_ways import Stack
from woold.physics.transport import CAUTION
from woold.physics.transport_profiles import Profile
from woold.prediction.predict import load_outline
from woold.prediction.result import Prediction
from woold.transport.film_over_interfaces import wrap_over_interfaces
from woold.transport.result import ProfileResult, TransportResult, transport_findings
from woold.transport.unmeasured import every_state, moved_inputs
from woold.transport.ways import Screened, judged_ways, no_if_any_is_no
from woold.words import language, say

__all__ = [
    "load_bearings",
    "load_stack",
    "profiles_of",
    "screen_transport",
    "screened_ways",
    "transport_of",
]

Floats = NDArray[np.float64]


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
            say("State the way that it goes, such as EN 12195-1 road: transport.profiles."),
        )
    return case.transport


def profiles_of(asked: Transport) -> tuple[Profile, ...]:
    """The profiles that a case names, less the directions in which the load is supported.

    Raises:
        InputError: an unknown name, an acceleration missing or out of place, or no direction left.
    """
    # The title of a chosen level is said in the reader's language.
    return _profiles(asked.profiles, asked.acceleration, asked.supported, language())


@functools.lru_cache(maxsize=64)
def _profiles(
    names: tuple[str, ...],
    acceleration: float | None,
    supported: tuple[str, ...],
    _spoken: str,
) -> tuple[Profile, ...]:
    named = [named_profile(name) for name in names]
    if acceleration is not None and not any(each.level_is_chosen for each in named):
        require_chosen_level(named[0], acceleration)
    profiles = []
    for each in named:
        level = acceleration if each.level_is_chosen else None
        left = chosen_profile(each.key, level).without(supported)
        if not left.actions:
            raise InputError.one(
                "transport.supported",
                ", ".join(supported),
                say("one direction of {profile} or more that is left", profile=each.key),
                say("A load that is supported all round needs no film for its transport."),
            )
        profiles.append(left)
    return tuple(profiles)


def load_stack(case: Case, asked: Transport) -> Stack:
    """The load as tiers on its deck."""
    outline = load_outline(case)
    load = case.load
    heights = _interface_heights(load.height, load.tiers)
    friction = np.full(load.tiers, asked.friction)
    friction[0] = asked.deck_friction
    pallet = None
    if load.pallet_length is not None and load.pallet_width is not None:
        pallet = _pallet(load.pallet_length, load.pallet_width)
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


@functools.lru_cache(maxsize=64)
def _interface_heights(height: float, tiers: int) -> Floats:
    """Lower ends of even tiers over the deck, made once, which nobody changes [m]."""
    return height * np.arange(tiers) / tiers


@functools.lru_cache(maxsize=64)
def _pallet(length: float, width: float) -> Floats:
    """Corners of a pallet, made once, which nobody changes [m]."""
    return outlines.rectangle_outline(length, width).vertices


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


def screen_transport(case: Case, prediction: Prediction) -> TransportResult:
    """Screen a case's load, with the film that is predicted for it at the age asked for.

    Every input that nobody measured is moved alone over its range: what it decides is not said.

    Args:
        case: a case with a [transport] table.
        prediction: its prediction.

    Raises:
        InputError: no [transport] table, or profiles that are not known.
    """
    found = screened_ways(case, prediction)
    deciding = {field for each in found.profiles for way in each.ways for field in way.decided_by}
    unmeasured = [each for each in found.unmeasured if each.field in deciding]
    return replace(found, findings=tuple(transport_findings(found.profiles, unmeasured)))


def screened_ways(case: Case, prediction: Prediction) -> TransportResult:
    """The same without its findings, which are texts that a verdict does not need.

    Args:
        case, prediction: as in :func:`screen_transport`.

    Raises:
        InputError: no [transport] table, or profiles that are not known.
    """
    asked, height = transport_of(case), case.load.height
    unmeasured = moved_inputs(case)
    states, moved = every_state(asked, case.load.tiers, unmeasured)
    lean, kept = asked.lean_limit * height, asked.kept_limit * height
    screened = Screened(
        load_stack(case, asked),
        wrap_over_interfaces(case, asked, prediction),
        (asked.slip_limit, lean, kept),
        states,
        moved,
    )
    bearings = load_bearings(asked)
    results = []
    for profile in profiles_of(asked):
        ways = judged_ways(screened, asked, profile, bearings)
        results.append(
            ProfileResult(
                profile=profile.key,
                title=profile.title,
                edition=profile.edition,
                source=profile.source,
                basis=profile.basis,
                holds=no_if_any_is_no([way.holds for way in ways]),
                ways=ways,
            )
        )
    every = [way.used for each in results for way in each.ways]
    return TransportResult(
        title=case.title,
        caution=CAUTION,
        holds=no_if_any_is_no([each.holds for each in results]),
        used=None if None in every else max(each for each in every if each is not None),
        later_s=case.hold.after,
        slip_limit_m=asked.slip_limit,
        lean_limit_m=lean,
        kept_limit_m=kept,
        pressing_force_n=asked.pressing_force,
        unmeasured=unmeasured,
        profiles=tuple(results),
        findings=(),
    )
