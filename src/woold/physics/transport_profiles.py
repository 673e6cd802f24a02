"""Accelerations that a load must stand in transport, each set kept with its edition and source."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Final

from woold.errors import InputError
from woold.physics.numeric import refuse_unless
from woold.words import say, to_say

__all__ = ["PROFILES", "SUDDEN_RAMP", "Action", "Profile", "chosen_profile", "named_profile"]

SUDDEN_RAMP: Final = 0.05
"""Time in which a start reaches its level where a rule states none: as EUMOS 40509 asks, read in a
secondary source; a placeholder elsewhere [s]."""

_SWELL_RAMP: Final = 2.0
"""The same for a ship: a quarter of a quick roll of 8 s; an estimate from memory [s]."""


@dataclass(frozen=True, slots=True)
class Action:
    """Acceleration in one direction of the vehicle, as a share of gravity.

    Args:
        direction: "forward" (braking), "rearward", "sideways"; "lengthways" or "any".
        horizontal: c, against sliding [-].
        tipping: c against tipping [-].
        vertical: least downward share c_z that acts with them [-].
    """

    direction: str
    horizontal: float
    tipping: float
    vertical: float


@dataclass(frozen=True, slots=True)
class Profile:
    """A set of accelerations as one rule states them.

    Args:
        key: name in a case file.
        title: what it is for; this and the next three are said where they are shown.
        edition: the rule and its edition.
        source: how these numbers came here.
        basis: what the rule compares them with.
        actions: one for each direction; where the level is chosen, as multiples of it.
        ramp_time: time in which the acceleration reaches its level; None where the rule states
            none, so that a road's sudden start counts [s].
        hold_time: time for which it stays at least; None where the rule states none [s].
        level_is_chosen: the user chooses the level.
    """

    key: str
    title: str
    edition: str
    source: str
    basis: str
    actions: tuple[Action, ...]
    ramp_time: float | None = None
    hold_time: float | None = None
    level_is_chosen: bool = False

    def at(self, acceleration: float) -> Profile:
        """This profile at a level that the user chose.

        Args:
            acceleration: horizontal acceleration as a share of gravity [-].

        Raises:
            InputError: not above 0 and at most 2, or a profile with levels of its own.
        """
        if not self.level_is_chosen:
            raise InputError.one(
                "transport.acceleration",
                f"{acceleration:g}",
                say("nothing, or a profile whose level is chosen: {names}", names=_chosen_names()),
                say('"{key}" has its own accelerations.', key=self.key),
            )
        refuse_unless(0.0 < acceleration <= 2.0, "transport.acceleration", acceleration, _LEVELS)
        actions = tuple(
            replace(
                each,
                horizontal=acceleration * each.horizontal,
                tipping=acceleration * each.tipping,
            )
            for each in self.actions
        )
        title = say("{title} at {level:g} g", title=say(self.title), level=acceleration)
        return replace(self, title=title, actions=actions, level_is_chosen=False)

    def without(self, directions: Collection[str]) -> Profile:
        """This profile less the directions in which something holds the load from outside.

        Args:
            directions: directions of the vehicle.
        """
        left = tuple(each for each in self.actions if each.direction not in directions)
        return replace(self, actions=left)


_LEVELS: Final = to_say("more than 0 and at most 2 times gravity")
_MEMORY: Final = to_say("recalled from memory, not read again; check against the edition in force")
_READ: Final = to_say("published text, read")
_HOLD: Final = to_say("the load stays in place and stands")
_ROAD_US: Final = to_say("road transport in the United States")


def _road(tipping: float) -> tuple[Action, ...]:
    return (
        Action("forward", 0.8, 0.8, 1.0),
        Action("rearward", 0.5, 0.5, 1.0),
        Action("sideways", 0.5, tipping, 1.0),
    )


def _two_ways(
    lengthways: float, sideways: float, vertical_lengthways: float, vertical_sideways: float
) -> tuple[Action, ...]:
    return (
        Action("lengthways", lengthways, lengthways, vertical_lengthways),
        Action("sideways", sideways, sideways, vertical_sideways),
    )


PROFILES: Final[tuple[Profile, ...]] = (
    Profile(
        "EN 12195-1 road",
        to_say("road transport in Europe"),
        to_say("EN 12195-1:2010, road"),
        _MEMORY,
        _HOLD,
        _road(0.6),
    ),
    Profile(
        "49 CFR breaking strength",
        _ROAD_US,
        "49 CFR 393.102(a)(1)",
        _READ,
        to_say("breaking strength of what secures the load"),
        _road(0.5),
    ),
    Profile(
        "49 CFR working load",
        _ROAD_US,
        "49 CFR 393.102(a)(2)",
        _READ,
        to_say("working load limit of what secures the load; stretch film has none"),
        (
            Action("forward", 0.435, 0.435, 1.0),
            Action("rearward", 0.5, 0.5, 1.0),
            Action("sideways", 0.25, 0.25, 1.0),
        ),
    ),
    Profile(
        "CTU road",
        to_say("road legs"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, road"),
        _MEMORY,
        _HOLD,
        _road(0.5),
    ),
    Profile(
        "CTU rail",
        to_say("combined rail transport"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, rail"),
        _MEMORY,
        _HOLD,
        _two_ways(0.5, 0.5, 1.0, 1.0),
    ),
    Profile(
        "CTU rail shunting",
        to_say("combined rail transport, impacts of 150 ms or shorter"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, rail, values in brackets"),
        _MEMORY,
        to_say("design of the packaging"),
        _two_ways(1.0, 0.5, 0.7, 0.7),
    ),
    Profile(
        "CTU sea A",
        to_say("sea, significant wave height up to 8 m"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, sea area A"),
        _MEMORY,
        _HOLD,
        _two_ways(0.3, 0.5, 0.5, 1.0),
        ramp_time=_SWELL_RAMP,
    ),
    Profile(
        "CTU sea B",
        to_say("sea, significant wave height over 8 m up to 12 m"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, sea area B"),
        _MEMORY,
        _HOLD,
        _two_ways(0.3, 0.7, 0.3, 1.0),
        ramp_time=_SWELL_RAMP,
    ),
    Profile(
        "CTU sea C",
        to_say("sea, significant wave height over 12 m"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, sea area C"),
        _MEMORY,
        _HOLD,
        _two_ways(0.4, 0.8, 0.2, 1.0),
        ramp_time=_SWELL_RAMP,
    ),
    Profile(
        "EUMOS 40509",
        to_say("acceleration test, the level chosen by the user"),
        "EUMOS 40509",
        to_say("read in a secondary source; at least 0.3 s, reached within 0.05 s"),
        to_say("the load bends at most 10 % of its height and keeps at most 5 %"),
        (Action("any", 1.0, 1.0, 1.0),),
        ramp_time=SUDDEN_RAMP,
        hold_time=0.3,
        level_is_chosen=True,
    ),
)
"""Every set, in the order in which they are shown."""


def named_profile(key: str) -> Profile:
    """The profile of a name.

    Args:
        key: one of `PROFILES`' keys.

    Raises:
        InputError: an unknown name.
    """
    for profile in PROFILES:
        if profile.key == key:
            return profile
    raise InputError.one(
        "transport.profiles",
        f'"{key}"',
        ", ".join(f'"{each.key}"' for each in PROFILES),
        say("Write one of these names."),
    )


def chosen_profile(key: str, acceleration: float | None = None) -> Profile:
    """The profile of a name, at the level that the user chose where the rule leaves it open.

    Args:
        key: one of `PROFILES`' keys.
        acceleration: where the level is chosen, as a share of gravity [-].

    Raises:
        InputError: an unknown name, or the acceleration missing or given where it is fixed.
    """
    profile = named_profile(key)
    if acceleration is not None:
        return profile.at(acceleration)
    if profile.level_is_chosen:
        raise InputError.one(
            "transport.acceleration",
            say("nothing"),
            say(_LEVELS),
            say('{key} leaves the level to you: add acceleration = "0.5".', key=key),
        )
    return profile


def _chosen_names() -> str:
    return ", ".join(f'"{each.key}"' for each in PROFILES if each.level_is_chosen)
