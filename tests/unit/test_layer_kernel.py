"""The compiled count of layers is the plain one, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from woold.physics import layer_kernel
from woold.physics.layer_count import weighted_layers
from woold.physics.pattern import Leg


def random_path(rng: np.random.Generator) -> list[Leg]:
    """Legs one behind the other, level and rising, wide and narrow; some end at whole turns."""
    legs, turn, edge = [], 0.0, rng.uniform(-0.2, 0.5)
    for _ in range(rng.integers(1, 12)):
        turns = rng.choice([rng.uniform(0.01, 8.0), float(rng.integers(1, 5))])
        end = rng.choice([edge, rng.uniform(-0.2, 2.0)])
        legs.append(Leg("", turn, turn + turns, edge, end, rng.uniform(0.05, 0.7)))
        turn, edge = turn + turns, end
    return legs


@pytest.mark.parametrize("seed", range(40))
def test_compiled_count_is_the_plain_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    legs = random_path(rng)
    weights = [[1.0] * len(legs), list(rng.uniform(0.1, 60.0, len(legs)))]
    edges = [height for leg in legs for height in (leg.first_edge, leg.first_edge + leg.width)]
    heights = np.concatenate([rng.uniform(-0.3, 2.4, 30), edges])
    tables = np.stack([layer_kernel.leg_table(legs, each) for each in weights])
    least, mean = np.empty((2, heights.size)), np.empty((2, heights.size))
    layer_kernel.path_cover(tables, heights, least, mean)
    plain_least, plain_mean = weighted_layers(legs, weights, heights)
    assert np.array_equal(plain_least, least)
    assert np.array_equal(plain_mean, mean)
