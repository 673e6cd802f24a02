"""Felt hold of zones lower than a patch, and wraps added where a hand feels too little: by hand."""

from __future__ import annotations

import numpy as np
import pytest

from woold.physics.felt_kernel import HELD, _heights_on_load, hold_cycles
from woold.physics.felt_wraps import add_felt_wraps
from woold.physics.wraps import AddedWraps, HelixLayers, WrapLimits

PERIMETER = 4.4


def test_a_zone_lower_than_a_patch_is_felt_by_every_patch_that_holds_it() -> None:
    """A turn of film of 45 N from 0.5 m up. Patches are 25 mm high, at every 5 mm.

    That from 0.485 m holds the zone from 0.500 to 0.510 m, and has film over 10 of its 25 mm:
    18 N. The zone from 0.600 m on has film over every patch that holds it: 45 N.
    """
    legs = np.array([[[0.0, 1.0, 0.5, 0.5, 0.7]]])
    weights = np.full((1, 5, 1), 45.0)
    zones = np.array([[[0.500, 0.510], [0.600, 0.610]]])
    held, in_zones = np.empty((1, len(HELD))), np.empty((1, 2))
    sizes, counts = np.array([[1.0, PERIMETER]]), np.array([1])
    hold_cycles(sizes, legs, counts, weights, zones, (held, in_zones))
    np.testing.assert_allclose(in_zones, [[18.0, 45.0]], rtol=1e-9)


def test_heights_are_counted_once_and_in_order() -> None:
    """Two turns between the same edges, 0.2 and 0.7 m: either edge a millionth below and above."""
    legs = np.array([[0.0, 1.0, 0.2, 0.2, 0.5], [1.0, 2.0, 0.2, 0.2, 0.5]])
    heights = np.zeros(130)
    found = _heights_on_load.py_func(legs, 2, 1.0, heights)
    assert found == 101 + 4
    assert (np.diff(heights[:found]) > 0.0).all()
    assert {0.2 - 1e-6, 0.2 + 1e-6, 0.7 - 1e-6, 0.7 + 1e-6} <= set(heights[:found].tolist())


@pytest.mark.parametrize(("bare", "wraps"), [(0.02, 2.0), (0.03, 3.0), (0.04, 5.0)])
def test_wraps_at_the_bottom_make_up_for_what_their_edge_leaves_bare(
    bare: float, wraps: float
) -> None:
    """A load 2 m high in 200 cells of 10 mm: a patch of five cells is 50 mm high.

    Bottom wraps that begin at 20, 30 or 40 mm lie over 3, 2 or 1 of the lowest patch's fifths, so
    that its 0.9 layers, where nothing lies yet, take 2, 3 or 5 wraps.
    """
    rows = 196
    layers = np.zeros(rows)
    layers[0] = 0.9
    nothing = np.zeros((1, 1, 6))
    helices = HelixLayers(
        np.array([0.0, 1.0, 2.0]), np.zeros((1, 3), np.int16), np.zeros((1, 3)), np.array([50.0])
    )
    limits = WrapLimits(0.5, bare, 1.5, 0.0, 0.0, 20.0, 20.0, 0.01)
    added = AddedWraps.of_size(1, 1)
    added.possible[:] = True
    film = (PERIMETER, PERIMETER, np.array([100.0]))
    add_felt_wraps((layers, np.ones(1)), (2.0, 200, 88), nothing, helices, limits, film, added)
    assert added.possible[0]
    assert (added.bottom_added[0], added.top_added[0]) == (wraps, 0.0)
