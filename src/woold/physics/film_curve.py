"""The film's curve: what stress holds what stretch, elastic first and then drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from woold.physics.film import locking_stretch, natural_draw_stretch, nominal_stress, true_stress
from woold.physics.numeric import FloatOrArray, bracketed_root, refuse_unless
from woold.words import say

__all__ = ["LEAST_ELASTIC", "FilmCurve", "HawardCurve"]

# Elastic modulus over yield stress and hardening modulus together: less never meets them.
LEAST_ELASTIC = 5.0


class FilmCurve(Protocol):
    """Nominal stress of a film against its stretch, and back."""

    @property
    def yield_ratio(self) -> FloatOrArray:
        """Yield stress over hardening modulus [-]."""

    @property
    def yield_ratio_error(self) -> FloatOrArray:
        """Standard error of that ratio, where it was fitted to points; else 0 [-]."""

    @property
    def extensibility(self) -> FloatOrArray:
        """Limit of the first strain invariant less 3 [-]."""

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
    # What every answer needs: where the elastic part ends and even drawing starts, and at what.
    _elastic_end: FloatOrArray = field(init=False, repr=False, compare=False)
    _even_start: FloatOrArray = field(init=False, repr=False, compare=False)
    _drawing_stress: FloatOrArray = field(init=False, repr=False, compare=False)
    _locking: FloatOrArray = field(init=False, repr=False, compare=False)

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
        least = LEAST_ELASTIC * np.add(self.yield_stress, self.hardening_modulus)
        refuse_unless(
            np.greater_equal(self.elastic_modulus, least),
            "elastic_modulus",
            self.elastic_modulus,
            say(
                "at least {times:g} times yield stress and hardening modulus together, here"
                " {least:g}",
                times=LEAST_ELASTIC,
                least=float(np.max(least)),
            ),
        )
        flow = (self.yield_stress, self.hardening_modulus, self.extensibility)
        # With that modulus the two parts meet below 1.3.
        end = bracketed_root(
            lambda stretch: self.elastic_modulus * np.log(stretch) - true_stress(stretch, *flow),
            1.0,
            1.3,
        )
        object.__setattr__(self, "_elastic_end", end)
        even_start = np.maximum(natural_draw_stretch(*flow), end)
        object.__setattr__(self, "_even_start", even_start)
        object.__setattr__(self, "_drawing_stress", self._drawn(even_start))
        object.__setattr__(self, "_locking", locking_stretch(self.extensibility))

    def _drawn(self, stretch: FloatOrArray) -> FloatOrArray:
        return nominal_stress(
            stretch, self.yield_stress, self.hardening_modulus, self.extensibility
        )

    @property
    def yield_ratio(self) -> FloatOrArray:
        return np.divide(self.yield_stress, self.hardening_modulus)

    @property
    def yield_ratio_error(self) -> FloatOrArray:
        return 0.0

    @property
    def natural_draw_stretch(self) -> FloatOrArray:
        falls = np.greater(self._even_start, self._elastic_end)
        return np.where(falls, self._even_start, 1.0)[()]

    @property
    def drawing_stress(self) -> FloatOrArray:
        return self._drawing_stress

    @property
    def largest_stretch(self) -> FloatOrArray:
        return self._locking

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
