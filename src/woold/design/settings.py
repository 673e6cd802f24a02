"""The settings that an operator can change, taken from a case and put back into it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from woold.case.film import Film
from woold.case.model import Case
from woold.case.program import BandStop
from woold.case.things import ShelfFilm
from woold.prediction.predict import film_on_load
from woold.units import UnitSystem, show, significant
from woold.words import say, to_say

__all__ = [
    "SETTING_NAMES",
    "Settings",
    "Stop",
    "changed_settings",
    "settings_text",
    "with_film",
    "with_settings",
]


TODAYS_FILM = to_say("today's film")


@dataclass(frozen=True, slots=True)
class Stop:
    """Extra turns with the carriage standing still on its way."""

    height_m: float
    wraps: float
    on_the_way: str


@dataclass(frozen=True, slots=True)
class Settings:
    """One program, with the film and the machine's settings that it runs at.

    Field names are the JSON document's keys. Fall is None where the cycle ends at the top.
    """

    film: str
    prestretch: float
    force_to_load_n: float
    bottom_wraps: float
    rise_per_turn_m: float
    top_wraps: float
    fall_per_turn_m: float | None
    bands: tuple[Stop, ...]
    speed_rad_per_s: float


SETTING_NAMES: dict[str, str] = {
    "film": to_say("film"),
    "prestretch": to_say("pre-stretch"),
    "force_to_load_n": to_say("force to load"),
    "bottom_wraps": to_say("bottom wraps"),
    "rise_per_turn_m": to_say("rise per turn"),
    "top_wraps": to_say("top wraps"),
    "fall_per_turn_m": to_say("fall per turn"),
    "bands": to_say("stops on the way"),
    "speed_rad_per_s": to_say("turning speed"),
}
"""Every setting with its name for people, to be said, in the order in which a program runs."""

_KINDS = {
    "prestretch": "elongation",
    "force_to_load_n": "force",
    "rise_per_turn_m": "small_length",
    "fall_per_turn_m": "small_length",
    "speed_rad_per_s": "turning_speed",
}


def film_names(shelf: Sequence[Film]) -> tuple[str, ...]:
    """Names of the films to choose from; the one without a name of its own is today's."""
    return tuple(each.name if isinstance(each, ShelfFilm) else TODAYS_FILM for each in shelf)


def settings_of(case: Case) -> Settings:
    """Today's settings."""
    program = case.program
    rise = program.rise_per_turn
    if rise is None:
        rise = film_on_load(case).width * (1.0 - (program.overlap or 0.0))
    return Settings(
        film=film_names([case.film])[0],
        prestretch=case.carriage.prestretch,
        force_to_load_n=program.force_to_load,
        bottom_wraps=program.bottom_wraps,
        rise_per_turn_m=rise,
        top_wraps=program.top_wraps,
        fall_per_turn_m=None if program.ends_at == "top" else program.fall_per_turn or rise,
        bands=tuple(Stop(each.height, each.wraps, each.on_the_way) for each in program.bands),
        speed_rad_per_s=case.machine.speed,
    )


def with_film(case: Case, film: Film) -> Case:
    """The case with another film; what was measured of its width stays as a loss of width."""
    measured = case.carriage.film_width_on_load
    if film is case.film or measured is None:
        return case.with_values({"film": film})
    return case.with_values(
        {
            "film": film,
            "carriage.film_width_on_load": None,
            "carriage.neck_down": case.film.roll_width - measured,
        }
    )


def with_settings(case: Case, film: Film, settings: Settings) -> Case:
    """The case with other settings.

    Args:
        case: the case.
        film: the film that the settings name.
        settings: the settings.
    """
    return with_film(case, film).with_values(
        {
            "carriage.prestretch": settings.prestretch,
            "program.force_to_load": settings.force_to_load_n,
            "program.bottom_wraps": settings.bottom_wraps,
            "program.rise_per_turn": settings.rise_per_turn_m,
            "program.overlap": None,
            "program.top_wraps": settings.top_wraps,
            "program.fall_per_turn": settings.fall_per_turn_m,
            "program.bands": tuple(
                BandStop(height=each.height_m, wraps=each.wraps, on_the_way=each.on_the_way)
                for each in settings.bands
            ),
            "machine.speed": settings.speed_rad_per_s,
        }
    )


def changed_settings(today: Settings, new: Settings) -> tuple[str, ...]:
    """Names of the settings' fields that differ."""
    return tuple(name for name in SETTING_NAMES if getattr(today, name) != getattr(new, name))


def settings_text(settings: Settings, name: str, system: UnitSystem) -> str:
    """One setting as text."""
    value = getattr(settings, name)
    if value is None:
        return say("none")
    if name == "bands":
        return "; ".join(_stop_text(each, system) for each in value) or say("none")
    if name in _KINDS:
        return show(value, _KINDS[name], system)
    if value == TODAYS_FILM:
        return say(TODAYS_FILM)
    return value if isinstance(value, str) else significant(value, 3)


def _stop_text(stop: Stop, system: UnitSystem) -> str:
    height = show(stop.height_m, "small_length", system)
    turns = significant(stop.wraps, 2)
    if turns == "1":
        if stop.on_the_way == "up":
            return say("1 turn at {height} on the way up", height=height)
        return say("1 turn at {height} on the way down", height=height)
    if stop.on_the_way == "up":
        return say("{turns} turns at {height} on the way up", turns=turns, height=height)
    return say("{turns} turns at {height} on the way down", turns=turns, height=height)
