"""Film over every height of the load, when wrapped and later."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics import film, layer_count, soft_load
from woold.physics.pattern import Leg
from woold.prediction.film_roll import modulus_as_laid
from woold.prediction.result import FilmOnLoad, HeightPoint

__all__ = [
    "FilmOverHeight",
    "LegForces",
    "count_heights",
    "film_loss_range",
    "film_over_height",
    "layer_force_later",
    "leg_forces",
    "loss_scale",
    "one_layer_stiffness",
    "soft_share",
]

FINEST_STEP = 0.01
"""Heights at which layers are counted stand at most this far apart [m]."""

_BESIDE_EDGE = 1e-6
"""Heights this far beside each resting film edge are counted too: no gap slips through [m]."""

_FIT_TEMPERATURE = 296.15
"""Temperature that film.force_loss_per_decade is given for: 23 degC [K]."""


@dataclass(frozen=True, slots=True)
class FilmOverHeight:
    """Film over each height; least and mean are around the perimeter. Shapes (heights,).

    Args:
        heights: over the deck, negative below it [m].
        layers_min, layers_mean: films over one another; a rope counts as what it is gathered of.
        force, force_mean: sum of film forces when the cycle ends [N].
        later, later_low, later_high: least force at the age asked for, and its range [N].
        hoop: mean hoop tension around the perimeter, when wrapped, as on a rigid load: what corners
            must bear [N/m].
    """

    heights: NDArray[np.float64]
    layers_min: NDArray[np.float64]
    layers_mean: NDArray[np.float64]
    force: NDArray[np.float64]
    force_mean: NDArray[np.float64]
    later: NDArray[np.float64]
    later_low: NDArray[np.float64]
    later_high: NDArray[np.float64]
    hoop: NDArray[np.float64]

    @property
    def on_load(self) -> NDArray[np.bool_]:
        """Which heights are the product's, not the pallet's."""
        return self.heights >= 0.0

    def points(self, patch_least: NDArray[np.float64]) -> tuple[HeightPoint, ...]:
        """The profile, from the bottom up.

        Args:
            patch_least: least force later over a patch at each height, shape (heights,) [N].
        """
        columns = (
            self.heights,
            self.layers_min,
            self.layers_mean,
            self.force,
            self.force_mean,
            self.later,
            self.later_low,
            self.later_high,
            patch_least,
        )
        rows = zip(*(each.tolist() for each in columns), strict=True)
        return tuple(map(HeightPoint._make, rows))


def count_heights(legs: Sequence[Leg], load_height: float) -> NDArray[np.float64]:
    """Heights at which film is counted, from the lowest film edge to the top of the load [m]."""
    lowest = min(min(leg.first_edge, leg.last_edge) for leg in legs)
    edges = [
        edge + side
        for leg in legs
        for edge in (leg.first_edge, leg.first_edge + leg.width)
        for side in (-_BESIDE_EDGE, _BESIDE_EDGE)
    ]
    grid = np.linspace(0.0, load_height, math.ceil(load_height / FINEST_STEP) + 1)
    below = np.linspace(lowest, 0.0, math.ceil(max(-lowest, 0.0) / FINEST_STEP) + 1)[:-1]
    heights = np.sort(np.concatenate([below, grid, edges]))
    heights = heights[np.diff(heights, prepend=-math.inf) > 0.0]
    return heights[(heights >= min(lowest, 0.0)) & (heights <= load_height)]


@dataclass(frozen=True, slots=True)
class LegForces:
    """What a pass of each leg counts, shapes (legs,).

    Args:
        layers: films over one another; a rope counts as what it is gathered of.
        now: film force when the cycle ends [N].
        later, later_low, later_high: at the age asked for, and its range by the loss [N].
    """

    layers: NDArray[np.float64]
    now: NDArray[np.float64]
    later: NDArray[np.float64]
    later_low: NDArray[np.float64]
    later_high: NDArray[np.float64]


def leg_forces(
    case: Case, legs: Sequence[Leg], film_width: float, ages: NDArray[np.float64]
) -> LegForces:
    """Film force of each leg, when wrapped and later.

    Film laid earlier has lost more of its force; each leg's film is taken at the age of its middle.

    Args:
        case: says the film's force and its loss, and the age asked for.
        legs: the program's path.
        film_width: film width on the load [m].
        ages: time from the middle of each leg to the end of turning, shape (legs,) [s].
    """
    loss = film_loss_range(case)
    later = ages + case.hold.after
    losses = np.array([loss[0], *loss])[:, None]
    kept = np.asarray(film.retained_force_fraction(np.stack([ages, later, later, later]), losses))
    now, middle, high, low = case.program.force_to_load * kept
    layers = film_width / np.array([leg.width for leg in legs])
    return LegForces(layers, now, middle, low, high)


def soft_share(
    case: Case, stiffness: float, layers: NDArray[np.float64]
) -> NDArray[np.float64] | float:
    """Part of the layers' forces that is left where the load gives way under them; 1 if rigid.

    Args:
        case: says how stiff the load is.
        stiffness: of one layer, as :func:`one_layer_stiffness` gives it [N].
        layers: layers over one another.
    """
    load_stiffness = case.load.hoop_stiffness
    if load_stiffness is None:
        return 1.0
    return np.asarray(soft_load.soft_load_share(layers, stiffness, load_stiffness))


def one_layer_stiffness(case: Case, thickness: float, film_width: float) -> float:
    """Force that one layer loses per unit of hoop strain [N].

    Args:
        case: says the stretched film's modulus.
        thickness, film_width: of the film on the load [m].
    """
    modulus = modulus_as_laid(case.film)
    return float(soft_load.stiffness_of_layer(modulus, thickness, film_width))


def film_over_height(
    case: Case, legs: Sequence[Leg], sheet: FilmOnLoad, forces: LegForces
) -> FilmOverHeight:
    """Layers and containment force over every height, when wrapped and later.

    Args:
        case: says how high and how stiff the load is.
        legs: the program's path.
        sheet: the film on the load.
        forces: as :func:`leg_forces` gives them.
    """
    heights = count_heights(legs, case.load.height)
    hoop = case.program.force_to_load / np.array([leg.width for leg in legs])
    weights = (forces.layers, forces.now, forces.later, forces.later_high, forces.later_low, hoop)
    least, mean = layer_count.weighted_layers(legs, [each.tolist() for each in weights], heights)
    stiffness = one_layer_stiffness(case, sheet.thickness, sheet.width)
    least[1:] *= soft_share(case, stiffness, least[0])
    mean[1:-1] *= soft_share(case, stiffness, mean[0])
    return FilmOverHeight(
        heights=heights,
        layers_min=least[0],
        layers_mean=mean[0],
        force=least[1],
        force_mean=mean[1],
        later=least[2],
        later_low=least[4],
        later_high=least[3],
        hoop=mean[5],
    )


def layer_force_later(case: Case, age: float = 0.0, is_safe: bool = False) -> float:
    """Force of one film at the age asked for [N].

    Args:
        case: the case.
        age: time from when it is laid to the end of the cycle [s].
        is_safe: at the worse end of the film's loss of force, by which a hold is judged.
    """
    loss = film_loss_range(case)[2 if is_safe else 0]
    kept = film.retained_force_fraction(case.hold.after + age, loss)
    return case.program.force_to_load * float(kept)


def film_loss_range(case: Case) -> tuple[float, float, float]:
    """Share of force lost in each tenfold of time at the hold temperature: value, low, high."""
    low, high = case.range_of("film.force_loss_per_decade")
    scale = loss_scale(case.hold.temperature)
    return scale * case.film.force_loss_per_decade, scale * low, scale * high


@functools.lru_cache(maxsize=64)
def loss_scale(temperature: float) -> float:
    """Loss of force at a temperature over that at 23 degC.

    Args:
        temperature: where the load stands [K].
    """
    there, at_23 = (film.force_loss_per_decade(each) for each in (temperature, _FIT_TEMPERATURE))
    return float(there) / float(at_23)
