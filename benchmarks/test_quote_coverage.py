"""How often a quote's range holds the saving of a customer held back. Run with `make bench`."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "unit"))
from test_quote import facts

from woold.quote.assumed import assumed_of, drawn_assumptions
from woold.quote.expected import TriedSites
from woold.quote.film_use import film_use
from woold.quote.quote import quote_of

SETS = int(os.environ.get("WOOLD_SETS", "400"))
ERROR = 0.015


@pytest.mark.parametrize("sites", [0, 1, 3, 6, 12])
@pytest.mark.parametrize(("off", "factor"), [(0.0, 1.0), (-0.06, 1.0), (0.0, 0.4)])
def test_customers_held_back(benchmark: Any, sites: int, off: float, factor: float) -> None:
    """Promised: 85 % or more of the 90 % ranges hold, with physics right; from the third site on
    also where all savings are 6 points less than physics has them, or two fifths of it.

    Film and law of neck-down are one and the same for all customers of a set, as in a world.
    """
    base = facts("rollers")
    assumed = assumed_of(base)
    random = np.random.default_rng([sites, int(1000 * abs(off)), int(10 * factor)])
    held, width, ends = 0, 0.0, [0, 0]

    def run() -> None:
        nonlocal held, width
        for index in range(SETS):
            count = sites + 1
            today, offered = drawn_assumptions(assumed, count, index)
            for name in today:
                if name.startswith("film."):  # one world, one film
                    for draws in (today, offered):
                        draws[name] = np.full(count, draws[name][0])
            masses = film_use(assumed.today, today, count).mass
            after = film_use(assumed.offered, offered, count).mass
            effects = factor * np.log(masses / after) + off
            measured = effects[:-1] + ERROR * random.standard_normal(sites)
            tried = TriedSites(measured, np.full(sites, ERROR)) if sites else None
            said = float(masses[-1] * np.exp(0.07 * random.standard_normal()))
            found = quote_of(
                facts("rollers", film_per_load=said), sites=tried, as_typed=["film_per_load"]
            ).saving
            true = 1.0 - float(np.exp(-effects[-1]))
            held += found.low <= true <= found.high
            ends[0] += true < found.low
            ends[1] += true > found.high
            width += found.high - found.low

    benchmark.pedantic(run, rounds=1)
    share, error = held / SETS, np.sqrt(0.09 / SETS)
    print(
        f"\n{sites} sites, off {off}, factor {factor}: held {share:.3f} ± {error:.3f},"
        f" below {ends[0] / SETS:.3f}, above {ends[1] / SETS:.3f}, range {width / SETS:.3f}"
    )
    if sites >= 3 or (off == 0.0 and factor == 1.0):
        assert share >= 0.85 - 2.0 * error
