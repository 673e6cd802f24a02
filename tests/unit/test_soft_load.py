"""Layers on a load that gives way, against springs solved one by one.

Independent computation: the load is a spring round a perimeter, each layer a spring of its own
natural length, closed with the tension T on the perimeter of that moment; after each layer the
perimeter is found at which all forces balance. Lengths are finite and layers can fall slack.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from woold.physics.soft_load import (
    first_layer_force,
    soft_load_force,
    soft_load_share,
    stiffness_of_layer,
)

TENSION = 45.0


def spring_by_spring(layers: int, tension: float, film: float, load: float) -> list[np.ndarray]:
    """Tension of every layer after each has been laid."""
    perimeter, natural, tensions = 1.0, [], []
    for _ in range(layers):
        natural.append(perimeter / (1 + tension / film))
        lengths = np.array(natural)

        def pulls(around: float, lengths: np.ndarray = lengths) -> np.ndarray:
            return film * np.maximum(around / lengths - 1, 0.0)

        perimeter = brentq(
            lambda around: pulls(around).sum() - load * (1 - around), 0.2, 1.0, xtol=1e-15
        )
        tensions.append(pulls(perimeter))
    return tensions


@pytest.mark.parametrize("softness", [0.0, 0.01, 0.05, 0.1, 0.3])
@pytest.mark.parametrize("strain", [1e-4, 0.02, 0.05])
def test_recursion_against_springs(softness: float, strain: float) -> None:
    film = TENSION / strain
    load = film / softness if softness else 1e12
    layers = np.arange(1.0, 9.0)
    springs = np.array([each.sum() for each in spring_by_spring(8, TENSION, film, load)])
    found = soft_load_force(layers, TENSION, film, load)
    taut = first_layer_force(layers, TENSION, film, load) > 0
    assert taut.sum() >= 6
    # Linear springs: equal but for the film's own strain, T/K_1, of which up to a half shows.
    np.testing.assert_allclose(found[taut], springs[taut], rtol=0.6 * strain + 1e-6)
    # Once a layer is slack the recursion errs to less force than it would have by that alone.
    assert np.all(found <= springs * (1 + 0.6 * strain + 1e-6))


def test_first_layer_against_springs() -> None:
    film, load = TENSION / 1e-4, TENSION / 1e-4 / 0.05
    by_springs = [each[0] for each in spring_by_spring(8, TENSION, film, load)]
    found = first_layer_force(np.arange(1.0, 9.0), TENSION, film, load)
    np.testing.assert_allclose(found, by_springs, rtol=1e-3)


def test_slack_layers_are_counted_to_the_low_side() -> None:
    film, load = 1000.0, 1000.0  # the load is no stiffer than one layer
    springs = [each.sum() for each in spring_by_spring(12, TENSION, film, load)]
    assert first_layer_force(12, TENSION, film, load) < 0
    assert soft_load_force(12, TENSION, film, load) < springs[-1]


def test_by_hand() -> None:
    # K_1 = 400 MPa × 5 um × .45 m = 900 N; k = 9000 N: 45 (1/1.1 + 1/1.2 + 1/1.3) = 113.02 N.
    stiffness = stiffness_of_layer(400e6, 5e-6, 0.45)
    assert stiffness == pytest.approx(900.0)
    assert soft_load_force(3, TENSION, stiffness, 9000.0) == pytest.approx(113.02, abs=0.01)
    # 113.02/135
    assert soft_load_share(3, stiffness, 9000.0) == pytest.approx(0.8372, abs=1e-4)
    # Half of the third layer adds half of its 34.62 N.
    assert soft_load_force(2.5, TENSION, stiffness, 9000.0) == pytest.approx(95.72, abs=0.01)


def test_rigid_load_loses_nothing() -> None:
    layers = np.array([0.0, 1.0, 3.5])
    np.testing.assert_allclose(soft_load_force(layers, TENSION, 900.0, np.inf), TENSION * layers)
    np.testing.assert_allclose(soft_load_share(layers, 900.0, np.inf), 1.0)
    assert soft_load_share(0.0, 900.0, 9000.0) == pytest.approx(1 / 1.1)
