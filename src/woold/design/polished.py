"""Programs whose rise varies, bettered by small changes of several settings at once.

Chance proposes and the prediction decides: what is found holds; that nothing better is near is not
proven. At first somewhat worse programs are passed through as well, less and less of them, since
from one way of sharing out the turns to a better one there is often no step that gains (simulated
annealing). The same case gives the same answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from woold.design.candidate import Candidate, Objective
from woold.design.choices import Choices
from woold.design.felt_need import FeltNeed, felt_need
from woold.design.helices import edge_travel
from woold.design.search import Search
from woold.design.settings import Settings, Stop, with_settings
from woold.design.verified import Verified, keeps_limits, spares_edges, verify
from woold.errors import WooldError
from woold.physics.felt_kernel import lacks_felt
from woold.prediction.predict import program_legs

__all__ = ["polished"]

_TRIES = 6000
_PREDICTED = 500
"""Programs that are predicted; most are seen to hold too little before."""

_SEED = 1
_WARMTH = 0.02
"""Share by which worse programs are passed through at first [-]."""

_WARM = 0.6
"""Part of the tries after which only better programs are taken, from the best on [-]."""

_MOST_STOPS = 8

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
    rng, changes = np.random.default_rng(_SEED), _Changes(search, choices, start)
    best = now = start
    predicted, felt, is_cold = 0, _Felt(search), False
    for tried in range(_TRIES):
        passed = max(tried / _TRIES, predicted / _PREDICTED)
        if passed >= 1.0:
            break
        left = max(1.0 - passed / _WARM, 0.0)
        if left == 0.0 and not is_cold:
            now, is_cold = best, True
        settings = changes.of(now.candidate.settings, rng)
        worse = -_WARMTH * left**2 * math.log(1.0 - rng.random())
        try:
            found = search.measured(settings, now.candidate.place, objective)
            if found is None or found.score > now.candidate.score * (1.0 + worse):
                continue
            if settings == now.candidate.settings or felt.is_lacking(found):
                continue
            predicted += 1
            made = verify(search, found) if keeps_limits(search, found) else None
        except WooldError:
            # Settings that cannot be: a rope longer than the wraps, a stop out of the way.
            continue
        if made is not None and spares_edges(search, made):
            now = made
            if made.candidate.score < best.candidate.score:
                best = made
    return best


class _Felt:
    """What patches need, to leave out soon what holds too little.

    Args:
        search: the search, with its targets.
    """

    def __init__(self, search: Search) -> None:
        self.search = search
        self._needs: dict[tuple[int, float, float], tuple[float, FeltNeed]] = {}

    def is_lacking(self, made: Candidate) -> bool:
        """Whether some patch has fewer layers than it needs of film that was just laid."""
        search, settings = self.search, made.settings
        if not search.targets.is_felt:
            return False
        key = made.place, settings.prestretch, settings.force_to_load_n
        if key not in self._needs:
            case, sheet = search.films.at_forces(*key[:2], key[2:])[0]
            need = felt_need(search.targets, case, sheet, search.grid)
            self._needs[key] = (sheet.width, need)
        width, need = self._needs[key]
        case = with_settings(search.case, search.case.film, settings)
        legs = [
            (leg.first_turn, leg.last_turn, leg.first_edge, leg.last_edge, leg.width)
            for leg in program_legs(case, width)
        ]
        grid = need.grid
        size = (search.case.load.height, grid.high, grid.around)
        return bool(lacks_felt(np.array(legs), need.layers, size))


@dataclass(frozen=True, eq=False)
class _Changes:
    """Changes of one to four settings by chance, within what may be chosen."""

    search: Search
    choices: Choices
    start: Verified

    def of(self, made: Settings, rng: np.random.Generator) -> Settings:
        """Changed settings."""
        size = 10.0 ** rng.uniform(-3.0, -0.2)
        for _ in range(rng.integers(1, 5)):
            step, what = size * rng.standard_normal(), rng.integers(0, 12)
            made = self._ends(made, step, int(what)) if what < 5 else self._stops(made, step, rng)
        if self.choices.one_rise and made.fall_per_turn_m is not None:
            made = replace(made, fall_per_turn_m=made.rise_per_turn_m)
        return replace(made, bands=tuple(sorted(made.bands, key=lambda each: each.height_m)))

    def _ends(self, made: Settings, step: float, what: int) -> Settings:
        """Force, rise, fall and wraps at the ends."""
        choices = self.choices
        if what == 0:
            # More force holds more; only where edges bear too much of it less may do better.
            more = step if self.search.case.hold.edge_load_limit else abs(step)
            force = made.force_to_load_n * (1.0 + 0.2 * more)
            return replace(made, force_to_load_n=_within(choices.forces, force, _FORCE))
        if what == 1:
            rise = made.rise_per_turn_m * (1.0 + 0.3 * step)
            return replace(made, rise_per_turn_m=_within(choices.rises, rise, _RISE))
        if what == 2 and made.fall_per_turn_m is not None:
            fall = made.fall_per_turn_m * (1.0 + 0.3 * step)
            return replace(made, fall_per_turn_m=_within(choices.falls, fall, _RISE))
        if what == 3:
            return replace(
                made, bottom_wraps=_within(choices.bottom, made.bottom_wraps + step, _TURNS)
            )
        return replace(made, top_wraps=_within(choices.top, made.top_wraps + step, _TURNS))

    def _stops(self, made: Settings, step: float, rng: np.random.Generator) -> Settings:
        """A stop more or less, or one that is moved, or waits longer or less, or for another."""
        stops, what = list(made.bands), rng.integers(0, 14)
        width = self.start.prediction.film_width_on_load_m
        low, high = edge_travel(self.search.case, width)
        if what == 0 and len(stops) < _MOST_STOPS:
            way = "down" if self.choices.falls and rng.random() < 0.5 else "up"
            stops.append(Stop(round(rng.uniform(low, high), _HEIGHT), _waiting(abs(step)), way))
        elif not stops:
            return made
        else:
            at = int(rng.integers(len(stops)))
            stop = stops[at]
            if what == 0 or what == 1:
                stops.pop(at)
            elif what < 6:
                stops[at] = replace(stop, wraps=_waiting(stop.wraps + step))
            elif what < 10:
                height = float(np.clip(stop.height_m + 0.1 * step, low, high))
                stops[at] = replace(stop, height_m=round(height, _HEIGHT))
            else:
                other = int(rng.integers(len(stops)))
                moved = min(abs(step), stop.wraps)
                if other != at:
                    stops[at] = replace(stop, wraps=_waiting(stop.wraps - moved))
                    longer = stops[other].wraps + moved
                    stops[other] = replace(stops[other], wraps=_waiting(longer))
        return replace(made, bands=tuple(stops))


def _waiting(turns: float) -> float:
    return max(round(turns, _TURNS), 10.0**-_TURNS)


def _within(values: tuple[float, ...], value: float, decimals: int) -> float:
    return min(max(round(value, decimals), min(values)), max(values))
