"""Which films of a shelf suit a carriage: stretch, grip, and what limits each."""

from __future__ import annotations

from dataclasses import dataclass

from woold.case.model import Case
from woold.case.shelf import Shelf
from woold.case.things import ShelfFilm
from woold.dancer.springs import spring_table
from woold.errors import InputError, WooldError
from woold.prediction.film_roll import film_curve
from woold.prediction.names import governing_name
from woold.prediction.predict import predict
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.words import say

__all__ = ["FilmMatch", "MatchReport", "match_films"]


@dataclass(frozen=True, slots=True)
class FilmMatch:
    """One film on the carriage, all in SI; stretches are ratios, None where nothing is known.

    ``rated_margin`` and ``break_margin`` are the rated stretch and the stretch at break over the
    one that the gears ask for: below 1 the film is asked for more than it can take.
    ``in_dancer_range`` says whether some spring in some hole holds the force to load; None where
    the case tells of no dancer.
    """

    name: str
    fits: bool
    limited_by: str
    takes_prestretch: bool
    grips: bool
    in_dancer_range: bool | None
    rated_margin: float | None
    break_margin: float | None
    curve_margin: float
    natural_draw_stretch: float
    prestretch_geared: float
    prestretch_delivered: float
    grip_margin_slow: float
    grip_margin_fast: float
    drawing_force_n: float
    stretch_on_load: float
    film_width_on_load_m: float
    film_mass_kg: float
    film_cost: float | None
    currency: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A film that cannot be computed on this carriage, and why."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True, repr=False)
class MatchReport(Told):
    """Every film of a shelf on one carriage, those that fit and need least film first."""

    told_as = "film-match"
    told_by = "woold.carriages.match_rows:report_blocks"

    title: str
    films: tuple[FilmMatch, ...]
    refused: tuple[Refused, ...]
    cautions: tuple[str, ...] = CAUTIONS


def match_films(case: Case, shelf: Shelf) -> MatchReport:
    """What each film of a shelf does on a case's carriage.

    Args:
        case: carriage, load, machine and program; its own film does not count.
        shelf: the films.

    Raises:
        InputError: a shelf without films.
        WooldError: a carriage that no film can run through.
    """
    films = shelf.films_now()
    if not films:
        given, allowed = say("a shelf without films"), say("a shelf with at least one: [[films]]")
        raise InputError.one("films", given, allowed, say("Add a film to the shelf."))
    matches, refused = [], []
    for film in films:
        try:
            matches.append(_match(case.with_values({"film": film}), film))
        except WooldError as error:
            refused.append(Refused(film.name, str(error)))
    # Films alike but for their names stand by name, wherever the shelf has them.
    matches.sort(key=lambda each: (not each.fits, each.film_mass_kg, each.name))
    refused.sort(key=lambda each: each.name)
    if not matches and refused:
        # Nothing could be computed: the carriage itself may be at fault, so let it say so.
        predict(case)
    return MatchReport(case.title, tuple(matches), tuple(refused))


_NEVER = 20.0  # no film's curve goes so far [-]


def _match(case: Case, film: ShelfFilm) -> FilmMatch:
    # Film that would break is shown with its numbers, and with that as its limit.
    prediction = predict(case.with_values({"film.elongation_at_break": _NEVER}))
    furthest = max(prediction.prestretch_geared, prediction.stretch_on_load)
    geared = prediction.prestretch_geared
    curve_end = float(film_curve(film).largest_stretch)
    rated, at_break = film.rated_prestretch, film.elongation_at_break
    limits = [
        (say("rated pre-stretch"), rated is not None and geared > rated),
        (say("elongation at break"), at_break is not None and furthest >= at_break),
        (say("natural draw"), geared < prediction.natural_draw_stretch),
    ]
    takes = not any(is_limit for _, is_limit in limits)
    grips = prediction.prestretch_governed_by == "gears"
    governs = governing_name(prediction.prestretch_governed_by)
    limits += [(say("grip: {what}", what=governs), not grips)]
    in_range = _in_dancer_range(case)
    no_spring = say("dancer: no spring in any hole holds the force to load")
    limits += [(no_spring, in_range is False)]
    return FilmMatch(
        name=film.name,
        fits=not any(is_limit for _, is_limit in limits),
        limited_by=", ".join(name for name, is_limit in limits if is_limit),
        takes_prestretch=takes,
        grips=grips,
        in_dancer_range=in_range,
        rated_margin=None if rated is None else rated / geared,
        break_margin=None if at_break is None else at_break / furthest,
        curve_margin=curve_end / geared,
        natural_draw_stretch=prediction.natural_draw_stretch,
        prestretch_geared=geared,
        prestretch_delivered=prediction.prestretch_delivered,
        grip_margin_slow=prediction.grip_margin_slow,
        grip_margin_fast=prediction.grip_margin_fast,
        drawing_force_n=prediction.drawing_force_n,
        stretch_on_load=prediction.stretch_on_load,
        film_width_on_load_m=prediction.film_width_on_load_m,
        film_mass_kg=prediction.film_mass_kg,
        film_cost=prediction.film_cost,
        currency="" if film.price is None else film.price.currency,
        findings=prediction.findings,
    )


def _in_dancer_range(case: Case) -> bool | None:
    if case.dancer is None or not case.dancer.springs:
        return None
    return any(choice.fits for choice in spring_table(case).choices)
