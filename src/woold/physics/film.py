"""The film as a material: section, mass, stress against stretch, and what it keeps over time."""

from __future__ import annotations

import functools
import itertools
import math
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np

from woold.errors import InputError
from woold.physics.numeric import FloatOrArray, bracketed_root, refuse_unless
from woold.words import say

__all__ = [
    "FilmCurve",
    "HawardCurve",
    "PointsCurve",
    "film_area",
    "film_thickness_at",
    "force_loss_per_decade",
    "locking_stretch",
    "mass_per_metre",
    "natural_draw_stretch",
    "nominal_stress",
    "retained_force_fraction",
    "true_stress",
]

# Elastic modulus over yield stress and hardening modulus together: less never meets them.
_LEAST_ELASTIC = 5.0
_MONTH = 30 * 86400.0
_LOSS_IN_A_MONTH = {296.15: 0.26, 311.15: 0.41}  # temperature [K]: fraction lost


def film_area(roll_width: FloatOrArray, thickness: FloatOrArray) -> FloatOrArray:
    """Cross-section of the unstretched film.

    A0 = w0 t0

    Args:
        roll_width: film width on the roll [m].
        thickness: film thickness on the roll [m].

    Returns:
        Area [m^2].
    """
    return roll_width * thickness


def mass_per_metre(
    density: FloatOrArray, area: FloatOrArray, stretch: FloatOrArray
) -> FloatOrArray:
    """Mass of one metre of stretched film.

    m' = rho A0 / lambda

    Args:
        density: film density [kg/m^3].
        area: unstretched cross-section [m^2].
        stretch: stretch ratio of the film where the metre is measured [-].

    Returns:
        Mass per length [kg/m].
    """
    return density * area / stretch


def film_thickness_at(
    thickness: FloatOrArray, stretch: FloatOrArray, width_ratio: FloatOrArray | None = None
) -> FloatOrArray:
    """Thickness of stretched film whose volume is kept.

    t = t0 / (lambda w/w0); free to neck down (uniaxial) w/w0 = lambda^-1/2 and t = t0 lambda^-1/2

    Args:
        thickness: film thickness on the roll [m].
        stretch: stretch ratio [-].
        width_ratio: width over roll width [-]; None for film that is free to neck down.

    Returns:
        Thickness [m].

    Source:
        Downey and Climenhage, TAPPI Polymers, Laminations & Coatings Conference 2001.
    """
    if width_ratio is None:
        width_ratio = np.power(stretch, -0.5)
    return thickness / (stretch * width_ratio)


def locking_stretch(extensibility: FloatOrArray) -> FloatOrArray:
    """Stretch at which the network locks and the stress grows without bound.

    lambda^2 + 2/lambda - 3 = Jm, largest root, in closed form

    Args:
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stretch ratio [-].
    """
    return _largest_cubic_root(extensibility + 3.0)


def _largest_cubic_root(slope: FloatOrArray) -> FloatOrArray:
    """Largest root of x^3 - slope x + 2 = 0, for slope >= 3."""
    third = np.asarray(slope) / 3.0
    return (2.0 * np.sqrt(third) * np.cos(np.arccos(-(third**-1.5)) / 3.0))[()]


def true_stress(
    stretch: FloatOrArray,
    yield_stress: FloatOrArray,
    hardening_modulus: FloatOrArray,
    extensibility: FloatOrArray,
) -> FloatOrArray:
    """True stress of drawing film: a constant flow stress and a rubber network that locks.

    sigma = Y + Gp (lambda^2 - 1/lambda) Jm / (Jm - (lambda^2 + 2/lambda - 3))

    Args:
        stretch: stretch ratio, from 1 [-].
        yield_stress: flow stress Y [Pa].
        hardening_modulus: strain-hardening modulus Gp [Pa].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stress on the stretched section [Pa]; infinite from the locking stretch on.

    Source:
        Haward, Macromolecules 26 (1993) 5860-5869; finite extensibility after Gent, Rubber
        Chemistry and Technology 69 (1996) 59-61.
    """
    room = 1.0 - (np.square(stretch) + 2.0 / stretch - 3.0) / extensibility
    with np.errstate(divide="ignore"):
        locking = np.where(room > 0, 1.0 / np.maximum(room, 0.0), np.inf)
    hardening = hardening_modulus * (np.square(stretch) - 1.0 / stretch)
    with np.errstate(invalid="ignore"):
        network = np.where(np.isinf(locking), np.inf, hardening * locking)
    return (yield_stress + network)[()]


def nominal_stress(
    stretch: FloatOrArray,
    yield_stress: FloatOrArray,
    hardening_modulus: FloatOrArray,
    extensibility: FloatOrArray,
) -> FloatOrArray:
    """Force over unstretched section of drawing film.

    P = sigma / lambda

    Args:
        stretch, yield_stress, hardening_modulus, extensibility: as for :func:`true_stress`.

    Returns:
        Nominal stress [Pa].
    """
    return true_stress(stretch, yield_stress, hardening_modulus, extensibility) / stretch


def natural_draw_stretch(
    yield_stress: FloatOrArray, hardening_modulus: FloatOrArray, extensibility: FloatOrArray
) -> FloatOrArray:
    """Stretch above which the film draws evenly: where the nominal stress has its minimum.

    dP/dlambda = 0; 1 where P never falls (Y <= 3 Gp)

    Args:
        yield_stress: flow stress Y [Pa].
        hardening_modulus: strain-hardening modulus Gp [Pa].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stretch ratio [-].
    """
    ratio = np.asarray(yield_stress, dtype=float) / hardening_modulus
    falls = ratio > 3.0
    # Locking only adds hardening, so the minimum without it is an upper end of the bracket.
    high = np.minimum(
        _largest_cubic_root(np.where(falls, ratio, 3.0)), locking_stretch(extensibility)
    )

    def slope(stretch: FloatOrArray) -> FloatOrArray:
        room = np.maximum(extensibility - (np.square(stretch) + 2.0 / stretch - 3.0), 0.0)
        pull = stretch - np.power(stretch, -2)
        rise = 1.0 + 2.0 * np.power(stretch, -3) + 2.0 * np.square(pull) / room
        return extensibility / room * rise - ratio / np.square(stretch)

    root = bracketed_root(slope, 1.0, high)
    return np.where(falls, root, 1.0)[()]


def force_loss_per_decade(temperature_k: FloatOrArray) -> FloatOrArray:
    """Part of the force that the film loses in each factor of ten in time.

    k from the loss in 30 days: 26 % at 23 °C, 41 % at 38 °C; linear between and above, and held
    at the lower value below 23 °C, where nobody measured and a smaller loss would flatter.

    Args:
        temperature_k: storage temperature [K].

    Returns:
        Fraction per decade, k [-].

    Source:
        Dunno and Symanski, Journal of Applied Packaging Research 13(1) art. 3 (2021).
    """
    decades = math.log10(1.0 + _MONTH / 60.0)
    (cool, loss_cool), (warm, loss_warm) = _LOSS_IN_A_MONTH.items()
    warmth = np.maximum(np.subtract(temperature_k, cool), 0.0) / (warm - cool)
    lost: FloatOrArray = loss_cool + warmth * (loss_warm - loss_cool)
    return lost / decades


def retained_force_fraction(
    time: FloatOrArray, loss_per_decade: FloatOrArray, reference_time: FloatOrArray = 60.0
) -> FloatOrArray:
    """Part of the wrapping force that the film still holds after a time.

    r = 1 - k log10(1 + t/t_ref), kept within 0 and 1. The loss in the first two hours is larger
    than this line says.

    Args:
        time: time since the film was laid [s].
        loss_per_decade: fraction k lost in each decade of time [-].
        reference_time: time t_ref at which the loss sets in [s].

    Returns:
        Fraction of the force [-].

    Source:
        Form fitted to two points of Dunno and Symanski (2021), see :func:`force_loss_per_decade`.
    """
    decades = np.log10(1.0 + np.asarray(time) / reference_time)
    return np.clip(1.0 - loss_per_decade * decades, 0.0, 1.0)[()]


class FilmCurve(Protocol):
    """Nominal stress of a film against its stretch, and back."""

    @property
    def natural_draw_stretch(self) -> FloatOrArray:
        """Stretch above which the film draws evenly; 1 where the nominal stress never falls."""

    @property
    def drawing_stress(self) -> FloatOrArray:
        """Least nominal stress [Pa] that draws the film; below it the film is only elastic."""

    @property
    def largest_stretch(self) -> FloatOrArray:
        """Stretch at which the curve ends: locking, or the last point of the test."""

    def nominal_stress(self, stretch: FloatOrArray) -> FloatOrArray:
        """Force over unstretched section [Pa]; infinite beyond the largest stretch."""

    def stretch_at(self, stress: FloatOrArray) -> FloatOrArray:
        """Stretch that a nominal stress [Pa] holds: on the even, rising part if it is enough."""


@dataclass(frozen=True, slots=True)
class HawardCurve:
    """Film that is elastic until it meets its flow stress and then draws: see :func:`true_stress`.

    sigma = E ln lambda up to where that meets true_stress(lambda), true_stress(lambda) beyond

    Args:
        yield_stress: flow stress Y [Pa].
        hardening_modulus: strain-hardening modulus Gp [Pa].
        extensibility: limit Jm of the first invariant less 3 [-].
        elastic_modulus: modulus E of the first, elastic part [Pa].

    Every parameter may be an array: one film per element.
    """

    yield_stress: FloatOrArray
    hardening_modulus: FloatOrArray
    extensibility: FloatOrArray
    elastic_modulus: FloatOrArray
    # Roots that every answer needs: where the elastic part ends, and where even drawing starts.
    _elastic_end: FloatOrArray = field(init=False, repr=False, compare=False)
    _even_start: FloatOrArray = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        for name in ("yield_stress", "hardening_modulus", "extensibility", "elastic_modulus"):
            value = getattr(self, name)
            refuse_unless(
                np.greater(value, 0) & np.isfinite(value), name, value, "a number above 0"
            )
        refuse_unless(
            np.greater_equal(self.extensibility, 2),
            "extensibility",
            self.extensibility,
            "2 or more (a film that locks at twice its length or later)",
        )
        least = _LEAST_ELASTIC * np.add(self.yield_stress, self.hardening_modulus)
        refuse_unless(
            np.greater_equal(self.elastic_modulus, least),
            "elastic_modulus",
            self.elastic_modulus,
            f"at least {_LEAST_ELASTIC:g} times yield stress and hardening modulus together, "
            f"here {np.max(least):g}",
        )
        flow = (self.yield_stress, self.hardening_modulus, self.extensibility)
        # With that modulus the two parts meet below 1.3.
        end = bracketed_root(
            lambda stretch: self.elastic_modulus * np.log(stretch) - true_stress(stretch, *flow),
            1.0,
            1.3,
        )
        object.__setattr__(self, "_elastic_end", end)
        object.__setattr__(self, "_even_start", np.maximum(natural_draw_stretch(*flow), end))

    def _drawn(self, stretch: FloatOrArray) -> FloatOrArray:
        return nominal_stress(
            stretch, self.yield_stress, self.hardening_modulus, self.extensibility
        )

    @property
    def natural_draw_stretch(self) -> FloatOrArray:
        falls = np.greater(self._even_start, self._elastic_end)
        return np.where(falls, self._even_start, 1.0)[()]

    @property
    def drawing_stress(self) -> FloatOrArray:
        return self._drawn(self._even_start)

    @property
    def largest_stretch(self) -> FloatOrArray:
        return locking_stretch(self.extensibility)

    def nominal_stress(self, stretch: FloatOrArray) -> FloatOrArray:
        elastic = self.elastic_modulus * np.log(stretch) / stretch
        return np.where(np.less(stretch, self._elastic_end), elastic, self._drawn(stretch))[()]

    def stretch_at(self, stress: FloatOrArray) -> FloatOrArray:
        refuse_unless(np.greater_equal(stress, 0), "stress", stress, "0 or more")
        stress = np.minimum(stress, 1e15)  # infinity means: whatever the film can take
        draws = np.greater_equal(stress, self.drawing_stress)
        held: FloatOrArray = 1.0
        if draws.any():
            held = bracketed_root(
                lambda stretch: self._drawn(stretch) - stress,
                self._even_start,
                self.largest_stretch,
            )
        if draws.all():
            return held
        # E x exp(-x) = P for x = ln(lambda).
        share = stress / self.elastic_modulus
        strain = bracketed_root(lambda x: x * np.exp(-x) - share, 0.0, np.log(self._elastic_end))
        return np.where(draws, held, np.exp(strain))[()]


@dataclass(frozen=True, slots=True)
class PointsCurve:
    """Film known by points of a tensile test, joined by a monotone piecewise cubic.

    Args:
        stretches: stretch ratios, rising, from 1 [-]; the point (1, 0) is added when absent.
        stresses: nominal stresses there [Pa].

    Raises:
        InputError: too few points, stretches that do not rise, a stress that is not positive, or
            a curve that falls to its end, on which no stretch is even.

    Source:
        Fritsch and Butland, SIAM Journal on Scientific and Statistical Computing 5 (1984) 300-304.
    """

    stretches: tuple[float, ...]
    stresses: tuple[float, ...]

    def __post_init__(self) -> None:
        stretches, stresses = list(self.stretches), list(self.stresses)
        if len(stretches) != len(stresses):
            raise InputError.one(
                "stresses",
                say(
                    "{stresses} stresses for {stretches} stretches",
                    stresses=len(stresses),
                    stretches=len(stretches),
                ),
                say("one stress for each stretch"),
            )
        if stretches and stretches[0] > 1.0:
            stretches, stresses = [1.0, *stretches], [0.0, *stresses]
        count = len(stretches)
        if count < 4:
            raise InputError.one(
                "stretches",
                say("{count} points", count=count),
                say("at least 4 points of the curve"),
            )
        refuse_unless(np.isfinite(stretches), "stretches", np.array(stretches), "finite numbers")
        refuse_unless(np.isfinite(stresses), "stresses", np.array(stresses), "finite numbers")
        if stretches[0] != 1.0 or stresses[0] != 0.0:
            raise InputError.one(
                "stretches",
                say(
                    "a first point at stretch {stretches:g} and stress {stresses:g} Pa",
                    stretches=stretches[0],
                    stresses=stresses[0],
                ),
                say("a first point at stretch 1 (0 %) and stress 0, or at a larger stretch"),
            )
        for before, after in itertools.pairwise(stretches):
            if after <= before:
                raise InputError.one(
                    "stretches",
                    say("{after:g} after {before:g}", after=after, before=before),
                    say("rising stretches"),
                )
        refuse_unless(
            np.array(stresses[1:]) > 0, "stresses", np.array(stresses[1:]), "stresses above 0"
        )
        if stresses[-1] <= stresses[-2]:
            raise InputError.one(
                "stresses",
                say(
                    "{stresses:g} Pa at the last point, after {stresses_2:g} Pa",
                    stresses=stresses[-1],
                    stresses_2=stresses[-2],
                ),
                say("a curve that rises to its end"),
                say(
                    "Leave out the points at and after the break; a film that only softens has"
                    " no stretch at which it draws evenly."
                ),
            )
        object.__setattr__(self, "stretches", tuple(stretches))
        object.__setattr__(self, "stresses", tuple(stresses))

    def _last_fall(self) -> int:
        """Index of the point from which the stress only rises."""
        falls = [i for i in range(1, len(self.stresses)) if self.stresses[i] < self.stresses[i - 1]]
        return falls[-1] if falls else 0

    def _first_peak(self) -> int:
        """Index of the first point after which the stress falls; the last one if it never does."""
        rises = np.diff(self.stresses) >= 0
        return len(rises) if rises.all() else int(np.argmin(rises))

    @property
    def natural_draw_stretch(self) -> FloatOrArray:
        return self.stretches[self._last_fall()]

    @property
    def drawing_stress(self) -> FloatOrArray:
        return self.stresses[self._last_fall()]

    @property
    def largest_stretch(self) -> FloatOrArray:
        return self.stretches[-1]

    def nominal_stress(self, stretch: FloatOrArray) -> FloatOrArray:
        inside = np.minimum(np.maximum(stretch, 1.0), self.stretches[-1])
        curve = _monotone_curve(self.stretches, self.stresses)(inside)
        return np.where(np.asarray(stretch) > self.stretches[-1], np.inf, curve)[()]

    def stretch_at(self, stress: FloatOrArray) -> FloatOrArray:
        refuse_unless(np.asarray(stress) >= 0, "stress", stress, "0 or more")
        curve = _monotone_curve(self.stretches, self.stresses)
        even, peak = self._last_fall(), self._first_peak()

        def inverse(low: int, high: int) -> FloatOrArray:
            within = np.clip(stress, self.stresses[low], self.stresses[high])
            return bracketed_root(
                lambda stretch: curve(stretch) - within, self.stretches[low], self.stretches[high]
            )

        drawn = inverse(even, len(self.stretches) - 1)
        if even == 0:
            return drawn
        return np.where(np.asarray(stress) >= self.stresses[even], drawn, inverse(0, peak))[()]


@functools.lru_cache(maxsize=64)
def _monotone_curve(stretches: tuple[float, ...], stresses: tuple[float, ...]) -> Any:
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator(stretches, stresses)
