"""Where a value of a file came from, and how far it may be off."""

from __future__ import annotations

from typing import NamedTuple

from woold.words import say

__all__ = ["Origin"]


class Origin(NamedTuple):
    """Where a value came from, and how far it may be off.

    Args:
        text: the words of the case file, or our own: why a placeholder was taken.
        is_placeholder: nobody measured it here.
        low, high: range in SI units; None where nothing is known of it.
        is_ours: the text is the program's own.
        is_typed: a value was typed where a placeholder would stand, without its origin.
    """

    text: str
    is_placeholder: bool
    low: float | None = None
    high: float | None = None
    is_ours: bool = False
    is_typed: bool = False

    def words(self) -> str:
        """Where the value came from, in the reader's language; the user's own words as they are."""
        if not self.is_ours:
            return self.text
        if self.is_typed:
            return say("typed, origin not stated ({placeholder})", placeholder=say(self.text))
        return say(self.text)
