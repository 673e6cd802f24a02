"""The film of a prediction, as it lies over each interface between tiers."""

from __future__ import annotations

import functools
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.physics import restraint
from woold.physics.transport import FilmOverInterfaces
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.film_roll import modulus_in_transit
from woold.prediction.result import HeightPoint, Prediction

__all__ = ["Wrap", "interface_zones", "shear_stiffness_of_layer", "wrap_over_interfaces"]

Floats = NDArray[np.float64]

_HEIGHT, _LAYERS, _FORCE = (
    itemgetter(HeightPoint._fields.index(name))
    for name in ("height_m", "layers_min", "force_later_n")
)


def interface_zones(case: Case, asked: Transport) -> tuple[Floats, Floats]:
    """Heights between which film must lie unbroken to hold each interface [m]."""
    load = case.load
    return _zones(load.height, load.tiers, asked.slip_zone, asked.pallet_grip)


@functools.lru_cache(maxsize=64)
def _zones(
    height: float, tiers: int, slip_zone: float, pallet_grip: float
) -> tuple[Floats, Floats]:
    """Those of a load with even tiers, made once, which nobody changes [m]."""
    heights = height * np.arange(tiers) / tiers
    return restraint.slip_zones(heights, slip_zone, height, pallet_grip)


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
    lowest, count, force = points[0].height_m, [], []
    low, high = interface_zones(case, asked)
    begin = 0  # zones rise
    for bottom, top in zip(low.tolist(), high.tolist(), strict=True):
        # Film that ends above the zone's lower end leaves part of the zone bare.
        first = len(points)
        if lowest <= bottom + 1e-9:
            first = begin = bisect_left(points, bottom - 1e-9, lo=begin, key=_HEIGHT)
        inside = points[first : bisect_right(points, top + 1e-9, lo=first, key=_HEIGHT)]
        count.append(min(map(_LAYERS, inside), default=0.0))
        force.append(min(map(_FORCE, inside), default=0.0))
    one = layer_force_later(case)
    return Wrap(
        layers=np.array(count),
        force=np.array(force),
        layer_force=one,
        layer_hoop=one / prediction.film_width_on_load_m,
        layer_stiffness=shear_stiffness_of_layer(case, prediction.film_thickness_on_load_m),
    )
