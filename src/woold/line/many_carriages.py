"""A film on many carriages at once: how it lies on the load, and what of its way fails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.line.line_file import CornerTension
from woold.line.placed_rollers import PlacedRollers
from woold.physics.carriage import CarriageSetting, laid_film
from woold.physics.grip import RollerGrip, grip_limit, roller_power
from woold.physics.rollers import Role
from woold.prediction.film_on_load import known_width
from woold.prediction.film_roll import film_roll

__all__ = ["FilmOnCarriages", "film_on_carriages"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FilmOnCarriages:
    """A film at a force on many carriages. Shapes (carriages,).

    Args:
        fails: the film's way breaks a limit, whatever the load.
        width: on the load [m].
        mass_per_metre: as it lies on the load [kg/m].
        torque: largest at the fast roller in a turn [N m].
        power: of the drive for each m/s of film demand [W/(m/s)].
        film_speed: behind the fast roller over the film demand [-].
    """

    fails: NDArray[np.bool_]
    width: Floats
    mass_per_metre: Floats
    torque: Floats
    power: Floats
    film_speed: Floats


def film_on_carriages(
    case: Case, placed: Sequence[PlacedRollers], tension: CornerTension
) -> FilmOnCarriages:
    """The film of a case on each of many carriages; limits as for one choice of a line's map.

    Args:
        case: says film, force to load and what of the carriage is not free.
        placed: the carriages, on all of which film can run.
        tension: of the film in a turn.
    """
    setting, diameters = _setting(case, placed)
    geared = np.asarray(setting.geared_stretch)
    roll = film_roll(case.film)
    force = case.program.force_to_load
    forces = np.array([[force], [tension.lowest * force], [tension.highest * force]])
    laid = laid_film(roll, setting, forces, known_width(case))
    delivered = laid.delivered
    shape = (3, len(placed))
    drawing = np.broadcast_to(np.asarray(delivered.drawing_force), shape)
    held = np.asarray(grip_limit(drawing, setting.fast))
    rated = case.film.rated_prestretch
    fails = geared >= float(roll.curve.largest_stretch)
    fails = fails | np.broadcast_to(laid.breaks, shape).any(axis=0)
    fails |= ~np.broadcast_to(delivered.is_drawn, shape).all(axis=0)
    # No roller holds back less than the film brings to it.
    most = np.maximum(held, drawing)
    fails |= (forces[0] > most[0]) | (forces[2] > most[2])
    if rated is not None:
        fails |= geared > rated
    width = np.broadcast_to(np.asarray(laid.width, dtype=float), shape)[0]
    fails |= ~(width > 0.0)
    stretched = np.broadcast_to(np.asarray(delivered.stretch, dtype=float), shape)[0]
    faster = stretched / np.broadcast_to(np.asarray(laid.stretch, dtype=float), shape)[0]
    asked = roller_power(
        delivered, geared, case.carriage.unwind_tension, forces, *diameters, faster
    )

    def most_in_a_turn(values: object) -> Floats:
        ends = np.broadcast_to(np.asarray(values, dtype=float), shape)[1:]
        return np.asarray(np.abs(ends).max(axis=0))

    return FilmOnCarriages(
        fails=fails,
        width=width,
        mass_per_metre=np.broadcast_to(np.asarray(laid.mass_per_metre, dtype=float), shape)[0],
        torque=most_in_a_turn(asked.torque_fast),
        power=most_in_a_turn(asked.power_drive),
        film_speed=faster,
    )


def _setting(
    case: Case, placed: Sequence[PlacedRollers]
) -> tuple[CarriageSetting, tuple[Floats, Floats]]:
    """What of the carriages decides how film lies, and diameters of slow and fast rollers."""
    given = case.carriage
    gaps, geared = np.empty(len(placed)), np.empty(len(placed))
    roles: tuple[Role, ...] = ("slow", "fast")
    numbers: dict[str, Floats] = {role: np.empty((4, len(placed))) for role in roles}
    for at, each in enumerate(placed):
        assert each.path is not None
        gaps[at], geared[at] = each.path.gap, each.geared(given.prestretch)
        for role in roles:
            roller = each.of(role)
            numbers[role][:, at] = (
                given.friction if roller.friction is None else roller.friction,
                each.path.contact(role).contact_angle,
                each.nip_force(role),
                roller.diameter,
            )
    slow, fast = numbers["slow"], numbers["fast"]
    setting = CarriageSetting(
        geared_stretch=geared,
        gap=gaps,
        slow=RollerGrip(slow[0], slow[1], slow[2]),
        fast=RollerGrip(fast[0], fast[1], fast[2]),
        unwind_tension=given.unwind_tension,
        slow_radius=0.5 * slow[3],
    )
    return setting, (slow[3], fast[3])
