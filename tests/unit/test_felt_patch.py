"""Containment over a patch that can be felt: by hand, and against a count over sampled points."""

from collections.abc import Sequence

import numpy as np
import pytest

from woold.errors import InputError
from woold.physics.felt_patch import PATCH, FeltContainment, Patch, felt_containment, felt_zone
from woold.physics.layer_count import passes_at
from woold.physics.pattern import Leg, WrapProgram, wrap_path

PERIMETER, HEIGHT = 4.4, 1.0
TENSION = 45.0


def strip(low: float, high: float, first: float = 0.0, last: float = 1.0) -> Leg:
    """A flat pass of film from low to high, over some turns."""
    return Leg("band", first, last, low, low, high - low)


def felt(legs: Sequence[Leg], patch: Patch = PATCH) -> FeltContainment:
    return felt_containment(legs, [[TENSION] * len(legs)], PERIMETER, HEIGHT, patch)


def share_below(
    legs: Sequence[Leg], layers: float, zone: tuple[float, float] = (0.0, 1.0)
) -> float:
    found = felt(legs)
    return felt_zone(found.patches[0], found.step, zone, layers * TENSION).share_below


UNDER = strip(-0.1, 1.1)  # one layer everywhere


def two_layers_but_for(low: float, high: float, length: float) -> list[Leg]:
    """Two layers over the whole side but for a place of one layer."""
    rest = 1.0 - length / PERIMETER
    return [UNDER, strip(-0.1, low), strip(high, 1.1), strip(low, high, 0.0, rest)]


@pytest.mark.parametrize(
    ("low", "high", "length", "by_hand"),
    [
        # A sliver of 2 mm by 122 mm does not halve the answer: (23 × 2 + 2 × 1)/25.
        (0.500, 0.502, 0.122, 1.92),
        # As high and long as the patch, it is felt: one layer.
        (0.500, 0.530, 0.122, 1.0),
        # 20 mm high: (5 × 2 + 20 × 1)/25.
        (0.500, 0.520, 0.122, 1.2),
        # 400 mm high but 10 mm long: (40 × 2 + 10 × 1)/50.
        (0.300, 0.700, 0.010, 1.8),
        # 2 mm by 5 mm: 2 - (2 × 5)/(25 × 50).
        (0.500, 0.502, 0.005, 1.992),
    ],
)
def test_patch_by_hand(low: float, high: float, length: float, by_hand: float) -> None:
    # The perimeter is 88 patches long, so they fit it exactly.
    assert felt(two_layers_but_for(low, high, length)).least[0] / TENSION == pytest.approx(by_hand)


def test_place_of_the_least() -> None:
    found = felt(two_layers_but_for(0.5, 0.53, 0.44))
    assert found.least_height[0] == pytest.approx(0.515, abs=0.003)
    # The last tenth of the turn.
    assert 0.9 < found.least_position[0] < 1.0
    row = np.argmin(np.abs(found.heights - 0.2))
    assert found.least_round[0, row] == pytest.approx(2 * TENSION)


def test_share_below() -> None:
    """One layer up to .5 m, two above; lower edges of patches stand between 0 and .975 m."""
    legs = [UNDER, strip(0.5, 1.1)]
    assert share_below(legs, 1.0) == 0.0
    # Less than one and a half layers: half of the patch's height is below .5 m, so its lower edge
    # is below .4875 m. Less than two: its lower edge is below .5 m.
    assert share_below(legs, 1.5) == pytest.approx(0.4875 / 0.975, abs=0.006)
    assert share_below(legs, 2.0) == pytest.approx(0.5 / 0.975, abs=0.006)
    assert share_below(legs, 2.1) == 1.0
    # Asked of the upper half only, where two layers lie: nothing is below.
    assert share_below(legs, 2.0, (0.5, 1.0)) == 0.0


def test_zone_by_hand() -> None:
    """One layer from .4 to .6 m, two elsewhere: what is felt of each zone alone."""
    found = felt([UNDER, strip(-0.1, 0.4), strip(0.6, 1.1)])

    def layers(low: float, high: float) -> float:
        return felt_zone(found.patches[0], found.step, (low, high)).least / TENSION

    assert layers(0.0, 0.4) == pytest.approx(2.0)  # the zone ends where the second layer does
    assert layers(0.6, 1.0) == pytest.approx(2.0)
    assert layers(0.0, 0.41) == pytest.approx(1.6)  # 10 of 25 mm with one layer
    # What lies out of the zone says nothing of it: a patch that reaches 3 mm out does not count.
    assert layers(0.0, 0.402) == pytest.approx(2.0)
    assert layers(0.598, 1.0) == pytest.approx(2.0)
    assert layers(0.3, 0.7) == pytest.approx(1.0)
    # Lower than a patch: every patch over it counts, 20 of whose 25 mm have one layer at most.
    assert layers(0.39, 0.4) == pytest.approx(1.4)
    assert layers(0.995, 1.0) == pytest.approx(2.0)
    place = felt_zone(found.patches[0], found.step, (0.3, 1.0)).least_height
    assert 0.4 < place < 0.6


def test_weightings_and_what_becomes_of_them() -> None:
    """Layers and force at once; what a soft load holds of them is the caller's to say."""
    legs = two_layers_but_for(0.5, 0.53, 0.122)
    weights = [[1.0] * len(legs), [TENSION] * len(legs)]
    both = felt_containment(legs, weights, PERIMETER, HEIGHT)
    np.testing.assert_allclose(both.least, [1.0, TENSION])
    halved = felt_containment(
        legs, weights, PERIMETER, HEIGHT, held=lambda means: means[1:] / (1 + means[:1])
    )
    np.testing.assert_allclose(halved.least, [TENSION / 2])


def helix(rise: float) -> tuple[Leg, ...]:
    return wrap_path(
        WrapProgram(
            load_height=HEIGHT, film_width=0.46, start_height=-0.05, bottom_wraps=1.3,
            rise_per_turn=rise, top_overlap=0.05, top_wraps=1.2, fall_per_turn=rise * 1.1,
            closing_wraps=0.6,
        )
    )  # fmt: skip


@pytest.mark.parametrize("rise", [0.15, 0.22, 0.3, 0.45])
def test_helix_against_sampled_points(rise: float) -> None:
    legs = helix(rise)
    found = felt(legs)
    # Points every 1 mm up and every 2.5 mm along, in the middle of their cells.
    fine_heights, fine_places = (np.arange(1000) + 0.5) / 1000, (np.arange(1760) + 0.5) / 1760
    passes = TENSION * passes_at(legs, fine_places, fine_heights)
    sums = np.cumsum(np.vstack([np.zeros(1760), passes]), axis=0)
    strips = (sums[25:] - sums[:-25]) / 25
    around = np.cumsum(np.hstack([np.zeros((976, 1)), strips, strips[:, :20]]), axis=1)
    means = (around[:, 20:] - around[:, :-20])[:, :1760] / 20
    # Patches of ours stand 5 mm and 25 mm apart, a fifth and a half of the patch: beside a level
    # edge that costs at most half of a fifth of a layer.
    assert found.least[0] == pytest.approx(means.min(), abs=TENSION / 10)
    assert found.least[0] >= means.min() - 0.01 * TENSION
    assert found.least[0] >= passes.min() * (1 - 1e-9)  # rounding of long sums
    assert share_below(legs, 3.0) == pytest.approx(np.mean(means < 3 * TENSION), abs=0.01)


def test_turns_beyond_one_fall_on_the_same_places() -> None:
    for first in (0.25, 5.25):
        # A patch that is half covered has exactly what is asked.
        half = share_below([UNDER, strip(0, 1, first, first + 0.5)], 1.5)
        assert half == pytest.approx(0.5, abs=0.01)


def test_a_patch_larger_than_the_load_is_the_load() -> None:
    found = felt([UNDER, strip(0.0, 0.5)], patch=Patch(9, 9))
    assert found.least[0] == pytest.approx(1.5 * TENSION)


@pytest.mark.parametrize(
    ("perimeter", "height", "patch", "field"),
    [
        (0.0, 1.0, PATCH, "perimeter"),
        (4.4, -1.0, PATCH, "load_height"),
        (4.4, 1.0, Patch(0.0, 0.05), "patch_height"),
        (4.4, 1.0, Patch(1e-5, 1e-5), "patch_height"),
        (4.4, 1.0, Patch(0.1, np.nan), "patch_length"),
    ],
)
def test_sizes_that_cannot_be(perimeter: float, height: float, patch: Patch, field: str) -> None:
    with pytest.raises(InputError) as raised:
        felt_containment([UNDER], [[TENSION]], perimeter, height, patch)
    assert raised.value.problems[0].field == field
