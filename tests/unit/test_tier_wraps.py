"""Whether a stack stands with so many layers of film, for one tier worked on paper."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from woold.physics import tier_wraps
from woold.physics.tier_wraps import TierTables, tiers_stand


def one_tier(**changes: Any) -> TierTables:
    """A tier that slips 4 mm under a slow start and 10 mm under one that takes no time.

    Film wrinkles from 20 mm on: at 10 mm it pulls with 1000 N × .5/√1.25 = 447.2 N.
    """

    def over_layers(value: float, without: float) -> np.ndarray:
        return np.array([[[without, value, value]]])

    usual: dict[str, Any] = {
        "static": over_layers(0.004, np.inf),
        "sudden": over_layers(0.010, np.inf),
        "softness": over_layers(1e-4, 0.0),
        "stays": over_layers(0.003, np.inf),
        "pull": over_layers(1000.0, 0.0),
        "slips": np.array([[True]]),
        "sway": np.zeros((1, 1)),
        "drop": np.array([[0.25]]),
        "stuck": np.array([[400.0]]),
        "returns": np.array([[[True, True, True]]]),
        "scale": 0.020,
        "ramp": np.zeros(1),
        "slip_limit": 0.0101,
        "top_limit": np.array([0.0101]),
        "kept_limit": 0.005,
        "push_room": np.array([460.0]),
    }
    return TierTables(**(usual | changes))


ONE = np.array([1.0])
SLOW = {"ramp": np.array([0.02 * np.pi]), "stuck": np.array([[300.0]])}


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({}, True),
        # 10 mm are more than 9.9 mm, of a tier as of the top of the stack.
        ({"slip_limit": 0.0099}, False),
        ({"top_limit": np.array([0.0099])}, False),
        # A start of .0628 s, of film and mass that swing with 100 rad/s: half of it is π, a whole
        # swing, in which nothing is left of the start but 1/π, and the drop of friction:
        # 4 + (.25 + .75/π) 6 = 6.932 mm, at which film pulls with 327 N.
        (SLOW | {"slip_limit": 0.00694}, True),
        (SLOW | {"slip_limit": 0.00692}, False),
        # 447.2 N pull the tier back to 3 mm where friction holds it with less: else 10 mm stay.
        ({"kept_limit": 0.0029}, False),
        ({"stuck": np.array([[440.0]])}, True),
        ({"stuck": np.array([[450.0]])}, False),
        # The pallet stands a push of 440 N no more than one of 447.2 N.
        ({"push_room": np.array([440.0])}, False),
        ({"push_room": np.array([230.0])}, False),
        ({"push_room": np.array([450.0])}, True),
    ],
)
def test_a_tier_under_one_layer(changes: dict[str, Any], stands: bool) -> None:
    assert tiers_stand(one_tier(**changes), ONE, False) == stands


def test_without_film_it_does_not_stand() -> None:
    assert not tiers_stand(one_tier(), np.array([0.0]), False)
    # Layers beyond the table count as its last.
    assert tiers_stand(one_tier(), np.array([7.0]), False)


def test_what_more_film_makes_worse_is_left_out_where_more_may_come() -> None:
    assert tiers_stand(one_tier(push_room=np.array([10.0])), ONE, True)
    # Whether film may pull the tier back is told beforehand, not by this slip's pull.
    assert tiers_stand(one_tier(stuck=np.array([[450.0]])), ONE, True)
    never = {"returns": np.zeros((1, 1, 3), dtype=np.bool_)}
    assert not tiers_stand(one_tier(**never), ONE, True)
    # Where no more may come the slip's own pull counts.
    assert tiers_stand(one_tier(**never), ONE, False)


def test_wraps_at_both_ends_lie_over_one_another() -> None:
    """One layer of the helix, two wraps at the bottom, three at the top: 3, 4 and 6 layers."""
    least = np.full((3, 4), np.inf)
    least[0, 1] = least[1, 2] = least[2, 3] = 1.0
    layers = np.zeros(3)
    tier_wraps._layers_over(least, 2.0, 3.0, layers)
    assert layers.tolist() == [3.0, 4.0, 6.0]
