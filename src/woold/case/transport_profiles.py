"""Accelerations of transport rules, each set kept with its edition and source.

The numbers stand in the table beside this module, `transport_profiles.toml`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from woold.errors import InputError
from woold.physics.transport_profiles import LEVELS, Action, Profile
from woold.words import say

__all__ = ["PROFILES", "chosen_profile", "named_profile", "require_chosen_level"]

_TABLE: Final = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


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
        require_chosen_level(profile, acceleration)
        return profile.at(acceleration)
    if profile.level_is_chosen:
        raise InputError.one(
            "transport.acceleration",
            say("nothing"),
            say(LEVELS),
            say('{key} leaves the level to you: add acceleration = "0.5".', key=key),
        )
    return profile


def require_chosen_level(profile: Profile, acceleration: float) -> None:
    """Refuse a level for a profile that has its own.

    Args:
        profile: the profile.
        acceleration: the level, as a share of gravity [-].

    Raises:
        InputError: the profile's level is not chosen.
    """
    if profile.level_is_chosen:
        return
    names = ", ".join(f'"{each.key}"' for each in PROFILES if each.level_is_chosen)
    raise InputError.one(
        "transport.acceleration",
        f"{acceleration:g}",
        say("nothing, or a profile whose level is chosen: {names}", names=names),
        say('"{key}" has its own accelerations.', key=profile.key),
    )
