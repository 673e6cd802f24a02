"""One pass of the film through its carriage: from the roll to how it lies on the load."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.physics.film import film_area, film_thickness_at, mass_per_metre
from woold.physics.film_curve import FilmCurve
from woold.physics.grip import DeliveredStretch, RollerGrip, delivered_stretch
from woold.physics.neck_down import (
    FITTED_YIELD_RATIO,
    film_width_after_gap,
    is_within_fit,
    planar_force_ratio,
    slip_arc_length,
    steady_drawing_limit,
    width_loss_factor,
    width_loss_factor_drawn,
    width_loss_uncertainty,
)
from woold.physics.numeric import FloatOrArray
from woold.physics.stretch import breaking_force, stretch_on_load

__all__ = ["LAW", "CarriageSetting", "FilmRoll", "KnownWidth", "LaidFilm", "NeckDown", "laid_film"]


@dataclass(frozen=True, slots=True)
class FilmRoll:
    """Film as it comes off the roll.

    Args:
        roll_width: film width on the roll [m].
        thickness: film thickness on the roll [m].
        density: film density [kg/m^3].
        reload_modulus: modulus of the stretched film on its stretched section [Pa].
        curve: nominal stress against stretch.
        break_stretch: stretch ratio at break; infinity where nobody measured it [-].
    """

    roll_width: FloatOrArray
    thickness: FloatOrArray
    density: FloatOrArray
    reload_modulus: FloatOrArray
    curve: FilmCurve
    break_stretch: FloatOrArray = np.inf

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
        slow_radius: radius of the slow roller; 0 leaves the arc on which film is drawn on it
            out [m].
    """

    geared_stretch: FloatOrArray
    gap: FloatOrArray
    slow: RollerGrip
    fast: RollerGrip
    unwind_tension: FloatOrArray
    slow_radius: FloatOrArray = 0.0


@dataclass(frozen=True, slots=True)
class KnownWidth:
    """What is known of the film's width beside the law.

    Args:
        measured_width: film width measured on the load, which then counts as it is [m].
        factor: width loss factor of this film from a width measured elsewhere [-].
        factor_stretch: stretch ratio at which that width was measured; another stretch takes the
            law's ratio of the two [-].
        deviate: standard normal deviate of the law's error, 0 for its middle [-].
    """

    measured_width: FloatOrArray | None = None
    factor: FloatOrArray | None = None
    factor_stretch: FloatOrArray | None = None
    deviate: FloatOrArray = 0.0


_FAR_STRETCH = 0.5  # so far from a measured stretch the law's error is all there again

LAW = KnownWidth()
"""Nothing is known beside the law."""


@dataclass(frozen=True, slots=True)
class NeckDown:
    """How the film's width came about.

    Args:
        slip_arc: arc of the slow roller on which film is drawn already [m].
        gap: effective gap, that arc included [m].
        factor: width that each edge loses over the effective gap [-].
        is_steady: False where no steady drawing exists and the law's number is an extrapolation.
        is_within_fit: False where the law was not fitted to such a draw.
    """

    slip_arc: FloatOrArray
    gap: FloatOrArray
    factor: FloatOrArray
    is_steady: npt.NDArray[np.bool_]
    is_within_fit: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class LaidFilm:
    """Film as it lies on the load.

    Args:
        delivered: pre-stretch that reached the film, with forces and margins.
        width: film width on the load [m].
        stretch: stretch on the load [-].
        thickness: film thickness on the load [m].
        mass_per_metre: mass of a metre of film on the load [kg/m].
        neck_down: how the width came about.
        is_drawn_on: True where the force to load draws the film further behind the carriage.
        breaks: True where the film is asked for more than it bears.
    """

    delivered: DeliveredStretch
    width: FloatOrArray
    stretch: FloatOrArray
    thickness: FloatOrArray
    mass_per_metre: FloatOrArray
    neck_down: NeckDown
    is_drawn_on: npt.NDArray[np.bool_]
    breaks: npt.NDArray[np.bool_]


def laid_film(
    film: FilmRoll,
    carriage: CarriageSetting,
    force_to_load: FloatOrArray,
    known: KnownWidth = LAW,
) -> LaidFilm:
    """Film as it lies on the load: delivered pre-stretch, neck-down in the gap, retraction.

    Every number may be an array; they broadcast, one case per element. Film that a tension draws
    before the slow roller or behind the fast one is free to neck down there: w goes as
    lambda^-1/2, the narrow side.

    Args:
        film: film on the roll.
        carriage: gearing, gap and grip.
        force_to_load: film tension as it meets the load [N].
        known: what is known of the width beside the law.

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
    stretch = stretch_on_load(
        delivered.stretch,
        delivered.drawing_force,
        force_to_load,
        film.reload_modulus,
        film.area,
        film.curve,
    )
    drawn_on = np.greater(force_to_load, delivered.drawing_force)
    neck_down = _neck_down(film, carriage, delivered, known)
    width = known.measured_width
    if width is None:
        entry = delivered.entry_stretch
        width = film_width_after_gap(
            film.roll_width * np.power(entry, -0.5),
            neck_down.gap,
            delivered.stretch / entry,
            neck_down.factor,
        )
        width = np.where(drawn_on, width * np.sqrt(delivered.stretch / stretch), width)[()]
    too_far = np.greater_equal(np.maximum(stretch, delivered.stretch), film.break_stretch)
    strength = breaking_force(film.curve, film.area, film.break_stretch)
    return LaidFilm(
        delivered=delivered,
        width=width,
        stretch=stretch,
        thickness=film_thickness_at(film.thickness, stretch, np.divide(width, film.roll_width)),
        mass_per_metre=mass_per_metre(film.density, film.area, stretch),
        neck_down=neck_down,
        is_drawn_on=np.asarray(drawn_on),
        breaks=np.asarray(
            too_far
            | np.greater_equal(force_to_load, strength)
            | np.greater_equal(carriage.unwind_tension, strength)
        ),
    )


def _neck_down(
    film: FilmRoll, carriage: CarriageSetting, delivered: DeliveredStretch, known: KnownWidth
) -> NeckDown:
    """Effective gap and width loss factor of the draw."""
    stretch = delivered.stretch
    ratio, limit = film.curve.yield_ratio, film.curve.extensibility
    arc = slip_arc_length(
        carriage.slow_radius,
        carriage.slow.friction,
        carriage.slow.contact_angle,
        planar_force_ratio(stretch, ratio, limit),
    )
    factor, spread = width_loss_factor(stretch, ratio, limit), width_loss_uncertainty(stretch)
    if np.any(np.greater(film.curve.yield_ratio_error, 0)):
        spread = np.hypot(spread, _spread_of_points(film.curve, stretch))
    if known.factor is not None:
        at = stretch if known.factor_stretch is None else known.factor_stretch
        factor = known.factor * factor / width_loss_factor(at, ratio, limit)
        # Where the width was measured the law's error is none; it comes back away from there.
        spread = spread * np.minimum(np.abs(stretch - at) / _FAR_STRETCH, 1.0)
    gap = np.add(carriage.gap, arc)
    drawn = width_loss_factor_drawn(factor, spread, known.deviate)
    return NeckDown(
        slip_arc=arc,
        gap=gap,
        factor=drawn,
        is_steady=np.asarray(np.less_equal(ratio, steady_drawing_limit(stretch, limit))),
        is_within_fit=is_within_fit(stretch, ratio, limit, gap / film.roll_width),
    )


def _spread_of_points(curve: FilmCurve, stretch: FloatOrArray) -> FloatOrArray:
    """Standard uncertainty of the width loss factor from the error of a law fitted to points."""
    ratio, error = curve.yield_ratio, curve.yield_ratio_error
    low, high = (np.clip(end, *FITTED_YIELD_RATIO) for end in (ratio - error, ratio + error))
    weak = width_loss_factor(stretch, low, curve.extensibility)
    strong = width_loss_factor(stretch, high, curve.extensibility)
    return 0.5 * np.abs(np.subtract(weak, strong))
