"""Accelerations that a load must stand in transport, each set kept with its edition and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from woold.errors import InputError
from woold.physics.numeric import refuse_unless
from woold.words import say, to_say

__all__ = ["PROFILES", "Action", "Profile", "chosen_profile", "uniform_profile"]


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
        actions: one for each direction.
    """

    key: str
    title: str
    edition: str
    source: str
    basis: str
    actions: tuple[Action, ...]


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
    ),
    Profile(
        "CTU sea B",
        to_say("sea, significant wave height over 8 m up to 12 m"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, sea area B"),
        _MEMORY,
        _HOLD,
        _two_ways(0.3, 0.7, 0.3, 1.0),
    ),
    Profile(
        "CTU sea C",
        to_say("sea, significant wave height over 12 m"),
        to_say("CTU Code, IMO/ILO/UNECE, 2014, chapter 5, sea area C"),
        _MEMORY,
        _HOLD,
        _two_ways(0.4, 0.8, 0.2, 1.0),
    ),
)
"""Sets with fixed values, in the order in which they are shown."""


def uniform_profile(acceleration: float) -> Profile:
    """The same acceleration in every direction, chosen by the user as for a EUMOS 40509 test.

    Args:
        acceleration: horizontal acceleration as a share of gravity [-].

    Raises:
        InputError: not above 0 and at most 2.

    Source: EUMOS 40509 leaves the level to the user: at least 0.3 s, reached within 0.05 s; read
        in a secondary source.
    """
    refuse_unless(
        0.0 < acceleration <= 2.0,
        "transport.acceleration",
        acceleration,
        to_say("more than 0 and at most 2 times gravity"),
    )
    return Profile(
        "EUMOS 40509",
        say("acceleration test at {level:g} g, the level chosen by the user", level=acceleration),
        "EUMOS 40509",
        to_say("read in a secondary source; at least 0.3 s, reached within 0.05 s"),
        to_say("the load bends at most 10 % of its height and keeps at most 5 %"),
        (Action("any", acceleration, acceleration, 1.0),),
    )


def chosen_profile(key: str, acceleration: float | None = None) -> Profile:
    """The profile of a name.

    Args:
        key: one of `PROFILES`' keys, or "EUMOS 40509".
        acceleration: for "EUMOS 40509", as a share of gravity [-].

    Raises:
        InputError: an unknown name, or the acceleration missing or given where it is fixed.
    """
    names = [profile.key for profile in PROFILES] + ["EUMOS 40509"]
    if key not in names:
        raise InputError.one(
            "transport.profile", f'"{key}"', ", ".join(f'"{name}"' for name in names)
        )
    if key == "EUMOS 40509":
        if acceleration is None:
            raise InputError.one(
                "transport.acceleration",
                say("nothing"),
                say("more than 0 and at most 2 times gravity"),
                say('EUMOS 40509 leaves the level to you: add acceleration = "0.5".'),
            )
        return uniform_profile(acceleration)
    if acceleration is not None:
        raise InputError.one(
            "transport.acceleration",
            f"{acceleration:g}",
            say('nothing, or profile = "EUMOS 40509"'),
            say('"{key}" has its own accelerations.', key=key),
        )
    return next(profile for profile in PROFILES if profile.key == key)
