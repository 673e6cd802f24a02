"""Programs whose rise varies, bettered by small changes of several settings at once.

Chance proposes and the prediction decides: what is found holds; that nothing better is near is not
proven. The same case gives the same answer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from woold.design.candidate import Objective
from woold.design.choices import Choices
from woold.design.search import Search
from woold.design.settings import Settings, Stop
from woold.design.verified import Verified, keeps_limits, spares_edges, verify
from woold.errors import WooldError

__all__ = ["polished"]

_TRIES = 500
_SEED = 1
_LEAST_GAIN = 1e-9

_TURNS, _HEIGHT, _RISE, _FORCE = 2, 3, 4, 1
"""Decimals of turns [-], heights, rises [m] and forces [N]."""


def polished(search: Search, choices: Choices, objective: Objective, start: Verified) -> Verified:
    """A program that is at least as good.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
        start: a program that holds.
    """
    rng, best = np.random.default_rng(_SEED), start
    for _ in range(_TRIES):
        made = best.candidate
        settings = _changed(made.settings, choices, rng)
        try:
            found = search.measured(settings, made.place, objective)
            if found is None or found.score >= made.score * (1.0 - _LEAST_GAIN):
                continue
            better = verify(search, found) if keeps_limits(search, found) else None
            if better is not None and spares_edges(search, better):
                best = better
        except WooldError:
            # Settings that cannot be: a rope longer than the wraps, a stop out of the way.
            continue
    return best


def _changed(made: Settings, choices: Choices, rng: np.random.Generator) -> Settings:
    """Settings of which one to three are changed by chance."""
    size, stops = 10.0 ** rng.uniform(-3.0, -0.3), list(made.bands)
    for _ in range(rng.integers(1, 4)):
        step, what = size * rng.standard_normal(), rng.integers(0, 7)
        if what == 0:
            force = made.force_to_load_n * (1.0 + 0.2 * abs(step))
            made = replace(made, force_to_load_n=_within(choices.forces, force, _FORCE))
        elif what == 1:
            rise = made.rise_per_turn_m * (1.0 + 0.3 * step)
            made = replace(made, rise_per_turn_m=_within(choices.rises, rise, _RISE))
        elif what == 2 and made.fall_per_turn_m is not None:
            fall = made.fall_per_turn_m * (1.0 + 0.3 * step)
            made = replace(made, fall_per_turn_m=_within(choices.falls, fall, _RISE))
        elif what == 3:
            wraps = max(round(made.bottom_wraps - abs(step), _TURNS), choices.bottom[0])
            made = replace(made, bottom_wraps=wraps)
        elif what == 4:
            wraps = max(round(made.top_wraps - abs(step), _TURNS), choices.top[0])
            made = replace(made, top_wraps=wraps)
        elif what in (5, 6) and stops:
            at = int(rng.integers(len(stops)))
            stops[at] = _changed_stop(stops[at], step, what == 5)
    if choices.one_rise and made.fall_per_turn_m is not None:
        made = replace(made, fall_per_turn_m=made.rise_per_turn_m)
    return replace(made, bands=tuple(sorted(stops, key=lambda each: each.height_m)))


def _changed_stop(stop: Stop, step: float, is_wait: bool) -> Stop:
    if is_wait:
        return replace(stop, wraps=max(round(stop.wraps - abs(step), _TURNS), 10.0**-_TURNS))
    return replace(stop, height_m=round(stop.height_m + 0.1 * step, _HEIGHT))


def _within(values: tuple[float, ...], value: float, decimals: int) -> float:
    return min(max(round(value, decimals), min(values)), max(values))
