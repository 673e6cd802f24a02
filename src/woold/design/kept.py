"""Settings that are left as they are today where changing them gains nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from woold.design.candidate import Objective
from woold.design.choices import Choices
from woold.design.search import Search
from woold.design.settings import Settings, changed_settings
from woold.design.verified import Verified, keeps_limits, spares_edges, verify
from woold.errors import WooldError

__all__ = ["without_needless_changes"]

_ALIKE = 1e-9


def without_needless_changes(
    search: Search, choices: Choices, objective: Objective, best: Verified, today: Settings
) -> Verified:
    """A program that is as good, with as many of today's settings as can be had one by one.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
        best: the chosen program.
        today: today's settings.
    """
    for name in changed_settings(today, best.candidate.settings):
        for values in _as_today(name, choices, today):
            made = best.candidate
            try:
                settings = replace(made.settings, **values)
                found = search.measured(settings, made.place, objective)
                if found is None or found.score > made.score * (1.0 + _ALIKE):
                    continue
                same = verify(search, found) if keeps_limits(search, found) else None
            except WooldError:
                # Settings that cannot be together: a stop out of the new way.
                continue
            if same is not None and spares_edges(search, same):
                best = same
    return best


def _as_today(name: str, choices: Choices, today: Settings) -> Iterator[dict[str, Any]]:
    """Today's value of a setting that may be chosen; rise and fall together if they are one."""
    value = getattr(today, name)
    ranges: dict[str, tuple[float, ...]] = {
        "force_to_load_n": choices.forces,
        "rise_per_turn_m": choices.rises,
        "fall_per_turn_m": choices.falls,
        "bottom_wraps": choices.bottom,
        "top_wraps": choices.top,
    }
    if name not in ranges or value is None or not ranges[name]:
        return
    if not min(ranges[name]) <= value <= max(ranges[name]):
        return
    if name.endswith("_per_turn_m") and choices.one_rise and choices.falls:
        if today.rise_per_turn_m == today.fall_per_turn_m:
            yield {"rise_per_turn_m": value, "fall_per_turn_m": value}
        return
    yield {name: value}
