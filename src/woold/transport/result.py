"""What a transport screen says. Field names are JSON keys, listed in docs/json.md."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple

from woold.physics.transport import CAUTION
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.transport.unmeasured import HOW_TO_MEASURE, INPUT_NAMES, MARGIN, Unmeasured
from woold.units import show, show_range
from woold.words import say, to_say

__all__ = [
    "REACHED_NAMES",
    "InterfaceResult",
    "Limit",
    "ProfileResult",
    "TransportResult",
    "WayResult",
    "direction_name",
    "holds_word",
    "limit_name",
    "reached_name",
    "transport_findings",
]


SIMULATED_LOADS: Final = 3200
"""Random loads on which the screen was weighed against a time simulation, pulse of 1 s."""
UNSAFE_SHARE: Final = 0.05
"""Of those that the screen said hold, at most so many did not; its benchmark holds it there [-]."""
STRICT_SHARE: Final = 0.15
"""Of those that held, the screen said of at most so many that they do not [-]."""
LARGEST_GIVE: Final = 2e-3
"""Both are so for packages that give by up to this much under all of the weight [m]."""
UNSAID_SHARE: Final = 0.03
"""Of at most so many of all loads it cannot be said whether they hold, all being measured [-]."""
GUESSED_UNSAID_SHARE: Final = 0.35
"""The same where neither frictions nor the packages' give are measured [-]."""

_TEXTS = ("title", "edition", "source", "basis")
"""Texts of a profile that are said where they are shown."""

_DIRECTIONS = {
    "forward": to_say("forward"),
    "rearward": to_say("rearward"),
    "sideways": to_say("sideways"),
    "lengthways": to_say("lengthways"),
    "any": to_say("any direction"),
}


Limit = Literal["slip", "lean", "kept", "stack_tips", "unit_tips", "unit_slides"]
"""What may decide whether a load holds its way."""

_LIMITS: Final[dict[Limit, str]] = {
    "slip": to_say("a tier travels too far over the next, or film never stops it"),
    "lean": to_say("the top travels too far while it lasts"),
    "kept": to_say("the top keeps too much of its travel"),
    "stack_tips": to_say("the stack tips over an interface"),
    "unit_tips": to_say("the whole pallet tips on the vehicle"),
    "unit_slides": to_say("the whole pallet slides on the vehicle"),
}

REACHED_NAMES: Final[dict[str, str]] = {
    "slip": to_say("travel of a tier"),
    "lean": to_say("travel of the top"),
    "kept": to_say("travel of the top that stays"),
    "stack_tips": to_say("tipping of the stack"),
    "unit_tips": to_say("tipping of the whole pallet on the vehicle"),
    "unit_slides": to_say("sliding of the whole pallet on the vehicle"),
}


class InterfaceResult(NamedTuple):
    """One interface between tiers in one direction; lengths that no film reaches are None."""

    height_m: float
    mass_above_kg: float
    slips: bool
    tips: bool
    restraint_needed_n: float
    restraint_limit_n: float
    slip_m: float | None
    slip_slow_m: float | None
    residual_slip_m: float | None
    layers_min: float
    layers_needed: float | None
    containment_n: float
    containment_needed_n: float | None
    holds: bool


class WayResult(NamedTuple):
    """One direction of the vehicle, the load standing the worst way round for it.

    All is as guessed where an input was not measured, but for: `holds`, which is None where such an
    input, moved alone over its range, turns the answer; `decided_by`, their names; `limited_by`,
    which is then what limits it most over that range; `used_least` and `used_most`, the share of a
    limit over all that they may be; `slip_margin_most`, likewise; and `layers_needed` of an
    interface, which do whatever they are.
    """

    direction: str
    bearing_rad: float
    acceleration_g: float
    tipping_g: float
    vertical_g: float
    ramp_time_s: float
    slip_margin: float
    slip_margin_most: float
    tipping_margin: float
    slides_on_vehicle: bool
    tips_on_vehicle: bool
    top_travel_m: float | None
    top_travel_slow_m: float | None
    top_travel_kept_m: float | None
    used: float | None
    used_least: float | None
    used_most: float | None
    limited_by: Limit
    holds: bool | None
    decided_by: tuple[str, ...]
    interfaces: tuple[InterfaceResult, ...]


@dataclass(frozen=True, slots=True)
class ProfileResult:
    """One rule's set of accelerations."""

    profile: str
    title: str
    edition: str
    source: str
    basis: str
    holds: bool | None
    ways: tuple[WayResult, ...]


@dataclass(frozen=True, slots=True, repr=False)
class TransportResult(Told):
    """The screen of a case under every profile that it names."""

    told_as = "transport"
    told_by = "woold.transport.rows:transport_blocks"

    title: str
    caution: str
    holds: bool | None
    used: float | None
    later_s: float
    slip_limit_m: float
    lean_limit_m: float
    kept_limit_m: float
    pressing_force_n: float
    unmeasured: tuple[Unmeasured, ...]
    profiles: tuple[ProfileResult, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = (CAUTION, *CAUTIONS)

    def to_json(self) -> dict[str, Any]:
        """The JSON document of this screen."""
        document = Told.to_json(self)
        for profile in document["profiles"]:
            profile |= {name: say(profile[name]) for name in _TEXTS}
        return document


def direction_name(direction: str) -> str:
    """What a direction of the vehicle is called.

    Args:
        direction: as in `woold.physics.transport_profiles.Action`.
    """
    return say(_DIRECTIONS[direction])


def holds_word(holds: bool | None) -> str:
    """What is said of a load that holds, does not, or of which it cannot be said.

    Args:
        holds: None where it cannot be said.
    """
    if holds is None:
        return say("cannot be said")
    return say("holds") if holds else say("does not hold")


def limit_name(limit: Limit) -> str:
    """What it means that a limit is broken.

    Args:
        limit: its code.
    """
    return say(_LIMITS[limit])


def reached_name(limit: Limit) -> str:
    """What is reached of a limit, broken or not.

    Args:
        limit: its code.
    """
    return say(REACHED_NAMES[limit])


def transport_findings(
    results: Sequence[ProfileResult], deciding: Sequence[Unmeasured]
) -> Iterator[Finding]:
    """What a reader of the screen must be told, profile by profile.

    Args:
        results: the profiles.
        deciding: inputs that nobody measured and that decide.
    """
    yield from map(_not_measured, deciding)
    for profile in results:
        if profile.holds:
            continue
        said = [way for way in profile.ways if way.holds is not None]
        lost = [way for way in said if not all(each.holds for each in way.interfaces)]
        if lost:
            yield Finding(
                "film_does_not_hold",
                "transport.profiles",
                say(
                    "{where}: friction does not hold the tiers from {heights} of the stack,"
                    " and the film stops them too late or not at all. More containment there,"
                    " an anti-slip sheet or interlocked tiers help.",
                    where=_where(profile, lost),
                    heights=_heights(lost, "holds", False),
                ),
            )
        far = [way for way in said if way.limited_by in ("lean", "kept") and not way.holds]
        far = [way for way in far if way not in lost]
        if far:
            yield Finding(
                "top_travels_too_far",
                "transport.lean_limit",
                say(
                    "{where}: every tier stays within its limit, but the top travels up to"
                    " {travel}, of which {kept} stays.",
                    where=_where(profile, far),
                    travel=_travel([way.top_travel_m for way in far]),
                    kept=_travel([way.top_travel_kept_m for way in far]),
                ),
            )
        tipping = [way for way in said if any(each.tips for each in way.interfaces)]
        if tipping:
            yield Finding(
                "stack_tips",
                "load.height",
                say(
                    "{where}: the stack is too high for its base and tips over the interface"
                    " at {heights}; film does not stop that. It needs support from outside:"
                    " neighbours, a wall, bars.",
                    where=_where(profile, tipping),
                    heights=_heights(tipping, "tips", True),
                ),
            )
        sliding = [way for way in said if way.slides_on_vehicle]
        if sliding:
            yield Finding(
                "pallet_slides",
                "transport.vehicle_friction",
                say(
                    "{where}: the whole pallet slides on the vehicle unless it is secured there."
                    " Film has no part in that.",
                    where=_where(profile, sliding),
                ),
            )
        falling = [way for way in said if way.tips_on_vehicle]
        if falling:
            yield Finding(
                "pallet_tips",
                "load.height",
                say(
                    "{where}: the whole pallet tips on the vehicle unless it is secured there."
                    " Film has no part in that.",
                    where=_where(profile, falling),
                ),
            )


def _not_measured(each: Unmeasured) -> Finding:
    if each.field == MARGIN:
        return Finding("just_held", each.field, say(HOW_TO_MEASURE[MARGIN]))
    return Finding(
        "not_measured",
        each.field,
        say(
            "Nobody measured {input}, and it decides: it cannot be said whether the load holds."
            " Measure it: {how}",
            input=say(INPUT_NAMES[each.field]),
            how=say(HOW_TO_MEASURE[each.field]),
        ),
    )


def _where(profile: ProfileResult, ways: list[WayResult]) -> str:
    directions = ", ".join(
        f"{direction_name(way.direction)} {way.acceleration_g:g} g" for way in ways
    )
    return f"{profile.profile} ({directions})"


def _heights(ways: list[WayResult], flag: str, value: bool) -> str:
    """Heights of the interfaces that are so, the lowest and the highest."""
    heights = [
        each.height_m for way in ways for each in way.interfaces if getattr(each, flag) is value
    ]
    low, high = min(heights), max(heights)
    return show(low, "length") if low == high else show_range(low, high, "length")


def _travel(lengths: list[float | None]) -> str:
    return show(max(length or 0.0 for length in lengths), "small_length")
