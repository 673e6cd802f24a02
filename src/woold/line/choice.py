"""One carriage on one machine with one film and recipe: what is the same for every load."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.springs import spring_rows
from woold.errors import InputError, PhysicsError
from woold.line.line_file import CornerTension
from woold.line.things import LineChoice, LineLoad, LineThings, case_of
from woold.physics.grip import grip_limit, roller_power
from woold.prediction.carriage_findings import carriage_findings
from woold.prediction.film_on_load import (
    Lacing,
    carriage_setting,
    film_on_load,
    lacing_of,
    lay_film,
    teeth_stretch,
)
from woold.prediction.findings import film_findings, width_findings
from woold.prediction.result import FilmOnLoad

__all__ = ["ChosenFilm", "DriveAsked", "asks_spring", "chosen_film"]

_ALL_HOLD = 1.0 + 1e-9


@dataclass(frozen=True, slots=True)
class DriveAsked:
    """What the film asks of the drive at a film speed of 1 m/s at the load.

    Args:
        torque: largest at the fast roller over a turn, whatever the speed; NaN where the rollers'
            diameters are not known [N m].
        power: of the common drive, for each m/s of film demand [W/(m/s)].
        film_speed: behind the fast roller, over the film demand of the load [-].
    """

    torque: float
    power: float
    film_speed: float


@dataclass(frozen=True, slots=True)
class ChosenFilm:
    """The film of a choice, as it lies on every load, and what limits it whatever the load.

    Args:
        case: the choice as a case; its load does not count.
        sheet: the film on the load; None where it gets there on no load.
        lowest: stretch delivered where its tension is lowest in a turn [-].
        margin: least grip margin there [-].
        drive: what is asked of the drive; None likewise.
        shares: of each limit, by its code; NaN where there is none.
        fails: limits that are not kept.
        findings: codes.
    """

    case: Case
    sheet: FilmOnLoad | None
    lowest: float = np.nan
    margin: float = np.nan
    drive: DriveAsked | None = None
    shares: dict[str, float] = field(default_factory=dict)
    fails: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()


def chosen_film(
    things: LineThings, choice: LineChoice, load: LineLoad, tension: CornerTension
) -> ChosenFilm:
    """The film of a choice on its way to any load.

    Args:
        things: of the line.
        choice: carriage, machine, film and recipe.
        load: any load, which completes the case.
        tension: of the film in a turn.
    """
    case = case_of(things, choice, load)
    shares, fails, findings = _of_the_roll(choice, teeth_stretch(case.carriage))
    try:
        lacing = lacing_of(case)
    except (PhysicsError, InputError):
        return ChosenFilm(case, None, shares=shares, fails=(*fails, "lacing"))
    try:
        sheet = film_on_load(case, lay_film(case, lacing))
    except (PhysicsError, InputError):
        return ChosenFilm(case, None, shares=shares, fails=(*fails, "film_strength"))
    codes = [each.code for each in carriage_findings(case, sheet, lacing)]
    codes += [each.code for each in (*film_findings(case, sheet), *width_findings(case, sheet))]
    force = case.program.force_to_load
    ends = np.array([tension.lowest * force, tension.highest * force])
    turn = lay_film(case, lacing, {"program.force_to_load": ends})
    delivered = turn.delivered
    margin = float(np.min(np.minimum(delivered.margin_slow, delivered.margin_fast)))
    lowest = float(np.min(delivered.stretch))
    shares["grip"] = margin
    if "prestretch_not_held" in codes or not bool(np.all(delivered.is_drawn)):
        fails.append("grip")
    elif lowest < sheet.delivered * (1.0 - 1e-9):
        findings.append("slips_at_corner")
    drawing = float(np.asarray(delivered.drawing_force)[1])
    held = float(grip_limit(drawing, carriage_setting(case, lacing).fast))
    if force > 0.0 and ends[1] > drawing:
        shares["pulled_through"] = held / float(ends[1])
    if "load_pulls_through" in codes or ends[1] > max(held, drawing):
        fails.append("pulled_through")
    if bool(np.any(turn.breaks)):
        fails.append("film_strength")
    asks_spring(case, shares, fails)
    findings += [each for each in codes if each not in _FAILING]
    drive = _drive_asked(case, lacing, sheet, ends)
    if np.isnan(drive.torque):
        findings.append("torque_unknown")
    machine = case.machine
    if 0.0 in (machine.ramp_up, machine.ramp_down) and machine.kind == "turntable":
        findings.append("turntable_without_ramp")
    return ChosenFilm(
        case, sheet, lowest, margin, drive, shares, tuple(fails), tuple(dict.fromkeys(findings))
    )


_FAILING = ("prestretch_not_held", "load_pulls_through", "prestretch_above_rating")


def _of_the_roll(
    choice: LineChoice, by_teeth: float | None
) -> tuple[dict[str, float], list[str], list[str]]:
    """Limits of the roll: whether it goes in, and how far its film may be stretched."""
    shares: dict[str, float] = {}
    fails: list[str] = []
    findings: list[str] = []
    carriage, film = choice.carriage.carriage, choice.film
    if carriage.widest_roll is not None:
        shares["roll_width"] = carriage.widest_roll / film.roll_width
        if film.roll_width > carriage.widest_roll * _ALL_HOLD:
            fails.append("roll_width")
    if film.rated_prestretch is None:
        findings.append("film_not_rated")
    else:
        geared = by_teeth or carriage.prestretch
        shares["film_rating"] = (film.rated_prestretch - 1.0) / (geared - 1.0)
        if geared > film.rated_prestretch:
            fails.append("film_rating")
    return shares, fails, findings


def asks_spring(case: Case, shares: dict[str, float], fails: list[str]) -> None:
    """Whether a spring in a hole of the carriage's dancer holds the force."""
    if case.dancer is None or not case.dancer.springs:
        return
    if not any(each.fits for each in spring_rows(case)):
        fails.append("spring")
    else:
        shares["spring"] = np.inf


def _drive_asked(
    case: Case, lacing: Lacing, sheet: FilmOnLoad, ends: NDArray[np.float64]
) -> DriveAsked:
    """What the film asks of the drive, the most over its tensions in a turn."""
    diameters = (1.0, 1.0)
    if lacing.path is not None:
        slow, fast = lacing.path.contact("slow"), lacing.path.contact("fast")
        diameters = slow.roller.diameter, fast.roller.diameter
    turn = lay_film(case, lacing, {"program.force_to_load": ends}).delivered
    faster = sheet.delivered / sheet.stretch
    asked = roller_power(
        turn,
        carriage_setting(case, lacing).geared_stretch,
        case.carriage.unwind_tension,
        ends,
        *diameters,
        faster,
    )
    torque = float(np.max(np.abs(asked.torque_fast)))
    return DriveAsked(
        torque=torque if lacing.path is not None else np.nan,
        power=float(np.max(np.abs(asked.power_drive))),
        film_speed=faster,
    )
