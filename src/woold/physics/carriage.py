"""One pass of the film through its carriage: from the roll to how it lies on the load."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from woold.physics.film import FilmCurve, film_area, film_thickness_at, mass_per_metre
from woold.physics.grip import DeliveredStretch, RollerGrip, delivered_stretch
from woold.physics.numeric import FloatOrArray
from woold.physics.stretch import film_width_after_gap, stretch_on_load

__all__ = ["CarriageSetting", "FilmRoll", "LaidFilm", "laid_film"]


@dataclass(frozen=True, slots=True)
class FilmRoll:
    """Film as it comes off the roll.

    Args:
        roll_width: film width on the roll [m].
        thickness: film thickness on the roll [m].
        density: film density [kg/m^3].
        reload_modulus: modulus of the stretched film on its stretched section [Pa].
        curve: nominal stress against stretch.
    """

    roll_width: FloatOrArray
    thickness: FloatOrArray
    density: FloatOrArray
    reload_modulus: FloatOrArray
    curve: FilmCurve

    @property
    def area(self) -> FloatOrArray:
        """Unstretched cross-section [m^2]."""
        return film_area(self.roll_width, self.thickness)


@dataclass(frozen=True, slots=True)
class CarriageSetting:
    """What of a carriage decides how the film lies on the load.

    Args:
        geared_stretch: ratio of the rollers' surface speeds, fast over slow [-].
        gap: free film between slow and fast roller [m].
        slow, fast: grip of the two rollers.
        unwind_tension: tension before the slow roller [N].
    """

    geared_stretch: FloatOrArray
    gap: FloatOrArray
    slow: RollerGrip
    fast: RollerGrip
    unwind_tension: FloatOrArray


@dataclass(frozen=True, slots=True)
class LaidFilm:
    """Film as it lies on the load.

    Args:
        delivered: pre-stretch that reached the film, with forces and margins.
        width: film width on the load [m].
        stretch: stretch on the load [-].
        thickness: film thickness on the load [m].
        mass_per_metre: mass of a metre of film on the load [kg/m].
    """

    delivered: DeliveredStretch
    width: FloatOrArray
    stretch: FloatOrArray
    thickness: FloatOrArray
    mass_per_metre: FloatOrArray


def laid_film(
    film: FilmRoll,
    carriage: CarriageSetting,
    force_to_load: FloatOrArray,
    measured_width: FloatOrArray | None = None,
) -> LaidFilm:
    """Film as it lies on the load: delivered pre-stretch, neck-down in the gap, retraction.

    Every number may be an array; they broadcast, one case per element.

    Args:
        film: film on the roll.
        carriage: gearing, gap and grip.
        force_to_load: film tension as it meets the load [N].
        measured_width: film width measured on the load, which then replaces the model's [m].

    Returns:
        Width, stretch, thickness and mass per metre on the load.
    """
    delivered = delivered_stretch(
        film.curve,
        film.area,
        carriage.geared_stretch,
        carriage.slow,
        carriage.fast,
        carriage.unwind_tension,
        force_to_load,
    )
    width = measured_width
    if width is None:
        width = film_width_after_gap(film.roll_width, carriage.gap, delivered.stretch)
    stretch = stretch_on_load(
        delivered.stretch, delivered.drawing_force, force_to_load, film.reload_modulus, film.area
    )
    return LaidFilm(
        delivered=delivered,
        width=width,
        stretch=stretch,
        thickness=film_thickness_at(film.thickness, stretch, np.divide(width, film.roll_width)),
        mass_per_metre=mass_per_metre(film.density, film.area, stretch),
    )
