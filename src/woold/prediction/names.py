"""What codes of a prediction are called, in the reader's language."""

from __future__ import annotations

from woold.words import say, to_say

__all__ = ["governing_name", "roller_name"]

_GOVERNING = {
    "gears": to_say("gears"),
    "slow roller": to_say("slow roller"),
    "fast roller": to_say("fast roller"),
    "film": to_say("end of the film's curve"),
}
_ROLLERS = {"slow": to_say("slow roller"), "fast": to_say("fast roller")}


def governing_name(governs: str) -> str:
    """What sets the pre-stretch.

    Args:
        governs: one of `woold.physics.grip.GOVERNS`.
    """
    return say(_GOVERNING[governs])


def roller_name(role: str) -> str:
    """A pre-stretch roller.

    Args:
        role: "slow" or "fast".
    """
    return say(_ROLLERS[role])
