"""Kinds of places over the tiers that wraps may lie at, and how many wraps are tried over them."""

from __future__ import annotations

import math

__all__ = ["is_within", "most_tried"]

_MOST_TIER_WRAPS = 40
"""More wraps than this over the tiers are not told apart."""

_MOST_WAYS = 20_000
"""Ways to spread wraps over the kinds of places that are tried."""


def most_tried(kinds: int) -> int:
    """Most wraps of so many kinds that are tried in every way; more are needed if none will do."""
    most = 0
    while most < _MOST_TIER_WRAPS and math.comb(kinds + most + 1, kinds) <= _MOST_WAYS:
        most += 1
    return most


def is_within(one: tuple[bool, ...], other: tuple[bool, ...]) -> bool:
    """Whether one set lies within another one."""
    return one != other and all(b or not a for a, b in zip(one, other, strict=True))
