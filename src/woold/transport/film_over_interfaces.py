"""The film of a prediction, as it lies over each interface between tiers."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.physics import restraint
from woold.physics.transport import FilmOverInterfaces
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.film_roll import modulus_in_transit
from woold.prediction.result import Prediction

__all__ = ["Wrap", "interface_zones", "shear_stiffness_of_layer", "wrap_over_interfaces"]

Floats = NDArray[np.float64]


def interface_zones(case: Case, asked: Transport) -> tuple[Floats, Floats]:
    """Heights between which film must lie unbroken to hold each interface [m]."""
    load = case.load
    heights = load.height * np.arange(load.tiers) / load.tiers
    return restraint.slip_zones(heights, asked.slip_zone, load.height, asked.pallet_grip)


def shear_stiffness_of_layer(case: Case, thickness: float) -> float:
    """Shear force in a metre of wall that one layer takes up per unit of shear [N/m].

    G t

    Args:
        case: says the film's modulus, and where it is laid and stands.
        thickness: of the film on the load [m].
    """
    modulus = modulus_in_transit(case.film, case.hold.temperature)
    return float(restraint.shear_modulus(modulus)) * thickness


@dataclass(frozen=True, eq=False)
class Wrap:
    """Film as laid: one layer of it, and what lies over each interface."""

    layers: Floats
    force: Floats
    layer_force: float
    layer_hoop: float
    layer_stiffness: float

    def one_layer(self, asked: Transport, walls: tuple[Floats, Floats]) -> restraint.ShearedFilm:
        """A single layer of it, seen along a movement."""
        return restraint.ShearedFilm(
            hoop=self.layer_hoop,
            shear_stiffness=self.layer_stiffness,
            slip_zone=asked.slip_zone,
            walls=walls,
            calibration=asked.restraint_calibration,
        )

    @property
    def hoop(self) -> Floats:
        """Hoop tension over each interface; none where film has lost its force [N/m]."""
        if self.layer_force <= 0.0:
            return np.zeros_like(self.force)
        return self.force * (self.layer_hoop / self.layer_force)

    def over(self, asked: Transport) -> FilmOverInterfaces:
        """All layers of it."""
        return FilmOverInterfaces(
            hoop=self.hoop,
            shear_stiffness=self.layers * self.layer_stiffness,
            slip_zone=asked.slip_zone,
            calibration=asked.restraint_calibration,
            vertical_force=np.full(self.layers.size, asked.pressing_force),
        )


def wrap_over_interfaces(case: Case, asked: Transport, prediction: Prediction) -> Wrap:
    """Film over each interface: the least within its slip zone."""
    points = prediction.containment_profile
    heights, layers, _, _, _, later, *_ = zip(*points, strict=True)
    count, force = [], []
    low, high = interface_zones(case, asked)
    for bottom, top in zip(low.tolist(), high.tolist(), strict=True):
        inside = slice(bisect_left(heights, bottom - 1e-9), bisect_right(heights, top + 1e-9))
        # Film that ends above the zone's lower end leaves part of the zone bare.
        is_covered = heights[0] <= bottom + 1e-9
        count.append(min(layers[inside], default=0.0) if is_covered else 0.0)
        force.append(min(later[inside], default=0.0) if is_covered else 0.0)
    one = layer_force_later(case)
    return Wrap(
        layers=np.array(count),
        force=np.array(force),
        layer_force=one,
        layer_hoop=one / prediction.film_width_on_load_m,
        layer_stiffness=shear_stiffness_of_layer(case, prediction.film_thickness_on_load_m),
    )
