"""Populations of customers of whom some are tried and one is held back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from woold.quote.assumed import assumed_of, drawn_assumptions
from woold.quote.expected import TriedSites
from woold.quote.facts import QuoteFacts
from woold.quote.film_use import film_use
from woold.quote.quote import quote_of

__all__ = ["HeldCustomers", "customers_held_back"]

ERROR = 0.015


@dataclass(frozen=True)
class HeldCustomers:
    """Shares of customers whose saving lies within, below and above the range; its mean width."""

    within: float
    below: float
    above: float
    width: float


def customers_held_back(sets: int, sites: int, off: float, factor: float) -> HeldCustomers:
    """Quotes for customers whose film and law of neck-down are those of all sites of their set.

    Args:
        sets: how many populations.
        sites: tried of each.
        off: added to every effect that physics has.
        factor: on it.
    """
    load = {"length": 1.2, "width": 1.0, "height": 1.5, "loads_per_year": 80_000.0}
    facts = QuoteFacts(**load, roll_width=0.508, thickness=16e-6, carriage="rollers")
    assumed = assumed_of(facts)
    random = np.random.default_rng([sites, int(1000 * abs(off)), int(10 * factor)])
    below = above = 0
    widths = []
    physics = [
        film_use(case, draws, 8000)
        for case, draws in zip(
            (assumed.today, assumed.offered), drawn_assumptions(assumed, 8000, 1), strict=True
        )
    ]
    with pytest.MonkeyPatch.context() as patched:
        # Customers differ by their film alone: the draws of physics are the same for all.
        patched.setattr("woold.quote.quote._film", lambda *_: tuple(physics))
        for index in range(sets):
            count = sites + 1
            pair = drawn_assumptions(assumed, count, index)
            for draws in pair:
                for name in draws:
                    if name.startswith("film."):
                        draws[name] = np.full(count, draws[name][0])
            before = film_use(assumed.today, pair[0], count).mass
            after = film_use(assumed.offered, pair[1], count).mass
            effects = factor * np.log(before / after) + off
            measured = effects[:-1] + ERROR * random.standard_normal(sites)
            tried = TriedSites(measured, np.full(sites, ERROR)) if sites else None
            said = float(before[-1] * np.exp(0.07 * random.standard_normal()))
            asked = facts.model_copy(update={"film_per_load": said})
            found = quote_of(asked, sites=tried, as_typed=["film_per_load"]).saving
            true = 1.0 - float(np.exp(-effects[-1]))
            below += true < found.low
            above += true > found.high
            widths.append(found.high - found.low)
    return HeldCustomers(
        1.0 - (below + above) / sets, below / sets, above / sets, float(np.mean(widths))
    )
