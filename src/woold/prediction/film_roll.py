"""The case's film as physics takes it: section, curve at its temperature, strength."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType

from woold.case.film import Film
from woold.errors import fields_renamed
from woold.physics.carriage import FilmRoll
from woold.physics.film import stress_fraction_at
from woold.physics.film_curve import FilmCurve, HawardCurve
from woold.physics.film_points import PointsCurve
from woold.physics.numeric import FloatOrArray

__all__ = [
    "NO_DRAWS",
    "UNTESTED_BREAK",
    "Draws",
    "film_curve",
    "film_roll",
    "modulus_as_laid",
    "modulus_in_transit",
]

Draws = Mapping[str, FloatOrArray]
"""Values that replace the case's, by dotted field name; arrays make many cases at once."""

NO_DRAWS: Draws = MappingProxyType({})

UNTESTED_BREAK = 7.0
"""Stretch at which film is taken to break whose elongation at break nobody measured: 600 %.

A placeholder: stretch film breaks at some 450 to 700 % (common practice, no source).
"""


def film_curve(film: Film, draws: Draws = NO_DRAWS) -> FilmCurve:
    """Nominal stress of the film against stretch: its test points, or the Haward form.

    Raises:
        InputError: points or moduli that make no curve.
    """
    names = ("yield_stress", "hardening_modulus", "extensibility", "elastic_modulus")
    renamed = {name: f"film.{name}" for name in names}
    renamed |= {"stretches": "film.test_elongations", "stresses": "film.test_stresses"}
    with fields_renamed(renamed):
        share = _stress_share(film, draws)
        if film.test_elongations is not None and film.test_stresses is not None:
            curve = PointsCurve(film.test_elongations, film.test_stresses, share)
            _ = curve.law  # points that tell no law of drawing are refused here, by their name
            return curve
        *stresses, elastic = (draws.get(f"film.{name}", getattr(film, name)) for name in names)
        flow, hardening, limit = stresses
        moduli = (share * flow, share * hardening, limit, share * elastic)
        is_one = all(isinstance(each, float) for each in moduli)
        return _haward_curve(*moduli) if is_one else HawardCurve(*moduli)


def _stress_share(film: Film, draws: Draws = NO_DRAWS) -> FloatOrArray:
    """Stress of the film at its temperature over that at 23 degC, at which its moduli are given."""
    temperature = draws.get("film.temperature", film.temperature)
    softening = draws.get("film.softening", film.softening)
    if isinstance(temperature, float) and isinstance(softening, float):
        return _one_share(temperature, softening)
    return stress_fraction_at(temperature, softening)


@functools.lru_cache(maxsize=64)
def _one_share(temperature: float, softening: float) -> float:
    """A prediction asks for it several times."""
    return float(stress_fraction_at(temperature, softening))


def modulus_as_laid(film: Film, draws: Draws = NO_DRAWS) -> FloatOrArray:
    """Reload modulus of the stretched film at the temperature at which it is drawn and laid [Pa].

    Args:
        film: its modulus at 23 degC, its temperature and how it softens.
        draws: values that replace the film's.
    """
    modulus = draws.get("film.reload_modulus", film.reload_modulus)
    return modulus * _stress_share(film, draws)


def modulus_in_transit(film: Film, stands_at: float) -> float:
    """Reload modulus of the film on a load that stands at another temperature than was laid at.

    At the warmer of both, where it is softer: the safe side for what it restrains.

    Args:
        film: its modulus at 23 degC, its temperature and how it softens.
        stands_at: temperature where the load stands [K].

    Returns:
        Modulus [Pa].
    """
    warmest = max(film.temperature, stands_at)
    return film.reload_modulus * _one_share(warmest, film.softening)


@functools.lru_cache(maxsize=64)
def _haward_curve(*moduli: float) -> HawardCurve:
    """One film is asked for again and again; its roots need to be found once."""
    return HawardCurve(*moduli)


def film_roll(film: Film, draws: Draws = NO_DRAWS) -> FilmRoll:
    """The film as it comes off the roll."""
    names = ("roll_width", "thickness", "density")
    given = {name: draws.get(f"film.{name}", getattr(film, name)) for name in names}
    given["reload_modulus"] = modulus_as_laid(film, draws)
    at_break = film.elongation_at_break
    return FilmRoll(
        **given,
        curve=film_curve(film, draws),
        break_stretch=UNTESTED_BREAK if at_break is None else at_break,
    )
