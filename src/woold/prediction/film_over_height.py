"""Film over every height of the load, when wrapped and later."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics import film, layer_count
from woold.physics.pattern import Leg
from woold.prediction.result import HeightPoint

__all__ = [
    "FilmOverHeight",
    "count_heights",
    "film_loss_range",
    "film_over_height",
    "layer_force_later",
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
    """

    heights: NDArray[np.float64]
    layers_min: NDArray[np.float64]
    layers_mean: NDArray[np.float64]
    force: NDArray[np.float64]
    force_mean: NDArray[np.float64]
    later: NDArray[np.float64]
    later_low: NDArray[np.float64]
    later_high: NDArray[np.float64]

    @property
    def on_load(self) -> NDArray[np.bool_]:
        """Which heights are the product's, not the pallet's."""
        return self.heights >= 0.0

    def points(self) -> tuple[HeightPoint, ...]:
        """The profile, from the bottom up."""
        columns = (
            self.heights,
            self.layers_min,
            self.layers_mean,
            self.force,
            self.force_mean,
            self.later,
            self.later_low,
            self.later_high,
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


def film_over_height(
    case: Case, legs: Sequence[Leg], film_width: float, ages: NDArray[np.float64]
) -> FilmOverHeight:
    """Layers and containment force over every height, when wrapped and later.

    Film laid earlier has lost more of its force; each leg's film is taken at the age of its middle.

    Args:
        case: says the film's force and its loss, and the age asked for.
        legs: the program's path.
        film_width: film width on the load [m].
        ages: time from the middle of each leg to the end of turning, shape (legs,) [s].
    """
    heights = count_heights(legs, case.load.height)
    force = case.program.force_to_load
    loss = film_loss_range(case)
    later = ages + case.hold.after
    losses = np.array([loss[0], *loss])[:, None]
    forces = force * np.asarray(
        film.retained_force_fraction(np.stack([ages, later, later, later]), losses)
    )
    weights = [[film_width / leg.width for leg in legs], *forces.tolist()]
    least, mean = layer_count.weighted_layers(legs, weights, heights)
    return FilmOverHeight(
        heights=heights,
        layers_min=least[0],
        layers_mean=mean[0],
        force=least[1],
        force_mean=mean[1],
        later=least[2],
        later_low=least[4],
        later_high=least[3],
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
    at_23 = float(film.force_loss_per_decade(_FIT_TEMPERATURE))
    scale = float(film.force_loss_per_decade(case.hold.temperature)) / at_23
    value = case.film.force_loss_per_decade
    low, high = case.range_of("film.force_loss_per_decade")
    return scale * value, scale * low, scale * high
