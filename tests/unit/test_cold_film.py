"""Film that is cold or warm: its softening reaches everything that rests on its stiffness."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.prediction.film_on_load import film_on_load
from woold.prediction.film_over_height import one_layer_stiffness
from woold.prediction.film_roll import film_roll
from woold.prediction.predict import predict
from woold.transport.film_over_interfaces import shear_stiffness_of_layer
from woold.uncertainty.joint import film_and_hold

COLD, WARM, AT_23, WARM_STORE = 276.15, 303.15, 296.15, 311.15


@pytest.fixture
def held(table: dict[str, Any]) -> Case:
    """A case whose rollers hold cold film too, at 1 % of stress for each kelvin."""
    table = copy.deepcopy(table)
    table["carriage"] |= {"friction": 0.9, "slow_roller_diameter": "0 mm"}
    table["film"] |= {"softening": "1 %", "temperature": "23 degC"}
    table["dancer"] = {
        "arm_length": "300 mm",
        "inertia": "0.05 kg m^2",
        "holes": ["100 mm"],
        "anchor": ["100 mm", "-250 mm"],
        "springs": [{"rate": "0.5 N/mm", "free_length": "150 mm"}],
    }
    return case_from_table(table)


def at(case: Case, drawn: float, stands: float = AT_23) -> Case:
    return case.with_values({"film.temperature": drawn, "hold.temperature": stands})


# 1 - .01 × (3 - 23) = 1.2; 1 - .01 × (30 - 23) = .93, by hand.
@pytest.mark.parametrize(("drawn", "share"), [(COLD, 1.2), (AT_23, 1.0), (WARM, 0.93)])
def test_stiffness_of_film_as_it_is_laid(held: Case, drawn: float, share: float) -> None:
    case = at(held, drawn)
    assert film_roll(case.film).reload_modulus == pytest.approx(share * 400e6)
    # The dancer's span: 20 in × 63 gauge / 3.6 = 2.258 mm² of 400 MPa: 903.2 N.
    span = case_dancer(case).setup.span
    assert span.film_stiffness == pytest.approx(share * 903.2, rel=1e-4)
    # A layer of 5 µm × .45 m at 400 MPa: 900 N.
    assert one_layer_stiffness(case, 5e-6, 0.45) == pytest.approx(share * 900.0)
    # By it the strain under the force to load, and so the fast roller's, shrinks.
    sheet = film_on_load(case)
    strain = (1 + 45.0 / (share * 903.2)) * sheet.delivered / sheet.stretch - 1
    assert span.roller_strain == pytest.approx(strain, rel=1e-3)


# G = E_r/3 = 133.3 MPa; of a layer of 5 µm: 666.7 N/m. The warmer of laying and standing counts.
@pytest.mark.parametrize(
    ("drawn", "stands", "share"),
    [
        (AT_23, AT_23, 1.0),
        (COLD, COLD, 1.2),
        (COLD, AT_23, 1.0),
        (WARM, COLD, 0.93),
        (COLD, WARM_STORE, 0.85),
        (AT_23, WARM_STORE, 0.85),
    ],
)
def test_film_restrains_at_the_warmer_temperature(
    held: Case, drawn: float, stands: float, share: float
) -> None:
    assert shear_stiffness_of_layer(at(held, drawn, stands), 5e-6) == pytest.approx(share * 666.667)


def test_pull_reading_of_cold_film(held: Case) -> None:
    """Only the strain that the pull adds is stiffer; the tension is what was set.

    Half of a 1.2 m face, 4 in pulled: strain √(1 + (.1016/.6)²) - 1 = 1.4235 %. K = n E t, with
    n, t of the prediction: 6 in × 2 × .16698 × (C/w + K e), worked out below without the model.
    """
    warm, cold = (predict(at(held, each)) for each in (AT_23, COLD))
    slope = 0.1016 / np.hypot(0.6, 0.1016)

    def added(p: Any, modulus: float) -> float:
        middle = min(p.containment_profile, key=lambda each: abs(each.height_m - 0.75))
        strain = np.hypot(0.6, 0.1016) / 0.6 - 1
        membrane = modulus * p.film_thickness_on_load_m * middle.layers_mean
        return float(2 * slope * 0.1524 * membrane * strain)

    grown = cold.pull_plate_reading_n - warm.pull_plate_reading_n
    # Both have one pattern and one force; the reading's tension part is the same for both.
    assert grown == pytest.approx(added(cold, 480e6) - added(warm, 400e6), rel=0.02)


def test_many_draws_soften_as_one_case_does(held: Case) -> None:
    case = held.with_values({"load.hoop_stiffness": 9000.0})
    _, many = film_and_hold(case, {"film.temperature": np.array([COLD, AT_23, WARM])}, 3)
    alone = [predict(at(case, each)).containment_later_min_n for each in (COLD, AT_23, WARM)]
    # One age for all legs, one mean of layers for the soft load's slackening.
    np.testing.assert_allclose(many, alone, rtol=0.01)
    # Two layers, K_1/k about .107 at 23 °C and .129 at 3 °C, by hand: 1.681/1.727 = .973.
    assert many[0] / many[1] == pytest.approx(0.973, abs=0.004)
