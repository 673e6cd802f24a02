"""Accelerations that a load must stand in transport, each set kept with its edition and source.

The numbers stand in the table beside this module, `transport_profiles.toml`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from woold.errors import InputError
from woold.physics.numeric import refuse_unless
from woold.words import say, to_say

__all__ = ["PROFILES", "SUDDEN_RAMP", "Action", "Profile", "chosen_profile", "named_profile"]

_TABLE: Final = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))

SUDDEN_RAMP: Final[float] = _TABLE["sudden_ramp_s"]
"""Time in which a start reaches its level where a rule states none: as EUMOS 40509 asks, read in a
secondary source; a placeholder elsewhere [s]."""


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


def _profiles() -> Iterator[Profile]:
    """The table's profiles, in its order."""
    sources = _TABLE["sources"]
    for each in _TABLE["profiles"]:
        yield Profile(
            key=each["key"],
            title=each["title"],
            edition=each["edition"],
            source=sources[each["source"]],
            basis=each["basis"],
            actions=tuple(Action(*row) for row in each["actions"]),
            ramp_time=each.get("ramp_time_s"),
            hold_time=each.get("hold_time_s"),
            level_is_chosen=each.get("level_is_chosen", False),
        )


PROFILES: Final = tuple(_profiles())
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
