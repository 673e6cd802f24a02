"""Accelerations that a load must stand in transport, as one rule states them.

The rules themselves stand in a table, `woold.case.transport_profiles`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Final

from woold.physics.numeric import refuse_unless
from woold.words import say, to_say

__all__ = ["LEVELS", "SUDDEN_RAMP", "Action", "Profile"]

SUDDEN_RAMP: Final = 0.05
"""Time in which a start reaches its level where a rule states none: as EUMOS 40509 asks, read in a
secondary source; a placeholder elsewhere [s]."""


LEVELS: Final = to_say("more than 0 and at most 2 times gravity")


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
            InputError: not above 0 and at most 2.
        """
        refuse_unless(0.0 < acceleration <= 2.0, "transport.acceleration", acceleration, LEVELS)
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
