"""How often the truth belies the strongest claims that the program composes, by simulation."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from woold.sites.claim_check import strongest_claims
from woold.sites.effect import effect_of
from woold.sites.pooling import pool

SETS = 400
ERROR, MEAN = 0.015, 0.05


@pytest.mark.parametrize("sites", [4, 8, 15])
def test_composed_claims_are_seldom_false(benchmark: Any, sites: int) -> None:
    """Average, every site and up to, at 95 % confidence: false in at most 5 % of tables, plus two
    and a half standard errors of the simulation."""
    rng = np.random.default_rng(sites)
    false: dict[tuple[float, str], float] = {}

    def run() -> None:
        for ratio in (0.0, 0.5, 1.0, 2.0):
            spread = ERROR * ratio
            counts = {"average": 0, "every site": 0, "up to": 0}
            for _ in range(SETS):
                errors = ERROR * rng.uniform(0.5, 2.0, sites)
                noise = errors * rng.standard_normal(sites)
                effects = MEAN + spread * rng.standard_normal(sites) + noise
                best = strongest_claims(effects, errors, pool(effects, errors))
                counts["average"] += effect_of(best.average_low) > MEAN
                counts["every site"] += effect_of(best.every_site) > MEAN - 1.645 * spread
                counts["up to"] += effect_of(best.up_to) > MEAN + 1.645 * spread
            false.update({(ratio, name): count / SETS for name, count in counts.items()})

    benchmark.pedantic(run, rounds=1, iterations=1)
    error = math.sqrt(0.05 * 0.95 / SETS)
    for (ratio, name), share in false.items():
        print(f"\n{sites} sites, spread {ratio:g} x error, {name}: {share:.3f} false", end="")
    print(f"\nMonte Carlo error at .05: {error:.3f}")
    assert max(false.values()) <= 0.05 + 2.5 * error
