"""The case's film and carriage as physics takes them: the one way from roll to load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.carriage import Carriage
from woold.case.model import Case
from woold.errors import InputError, PhysicsError, fields_renamed
from woold.physics.carriage import CarriageSetting, KnownWidth, LaidFilm, laid_film
from woold.physics.film_curve import FilmCurve
from woold.physics.film_path import film_path
from woold.physics.grip import GOVERNS, RollerGrip
from woold.physics.neck_down import measured_width_loss_factor
from woold.physics.numeric import FloatOrArray
from woold.physics.rollers import FilmPath, Roller, geared_stretch
from woold.physics.stretch import breaking_force
from woold.prediction.film_roll import NO_DRAWS, UNTESTED_BREAK, Draws, film_curve, film_roll
from woold.prediction.result import FilmOnLoad
from woold.units import show
from woold.words import say

__all__ = [
    "Lacing",
    "carriage_setting",
    "film_on_load",
    "films_at_forces",
    "known_width",
    "lacing_of",
    "laid_as_floats",
    "lay_film",
    "rollers_of",
    "teeth_stretch",
    "width_loss_told",
]


@dataclass(frozen=True, slots=True)
class Lacing:
    """How the film runs round the two pre-stretch rollers.

    Args:
        path: film path, where the case lists its rollers; else None.
        gap: free film between slow and fast roller [m].
        contact_angle_slow, contact_angle_fast: arcs that the film touches [rad].
        nip_force_slow, nip_force_fast: forces of rollers pressed on them [N].
        friction_slow, friction_fast: of film on them, where other than the carriage's; else None.
        slow_diameter: of the slow roller, where the case lists its rollers; else None [m].
    """

    path: FilmPath | None
    gap: float
    contact_angle_slow: float
    contact_angle_fast: float
    nip_force_slow: float
    nip_force_fast: float
    friction_slow: float | None = None
    friction_fast: float | None = None
    slow_diameter: float | None = None


def lacing_of(case: Case) -> Lacing:
    """Gap, contact angles and nips: from the rollers where the case lists them, else as typed.

    Raises:
        PhysicsError: rollers that no film can run round; each problem names the rollers.
    """
    given = case.carriage
    if not given.rollers:
        return Lacing(
            None,
            given.gap,
            given.contact_angle_slow,
            given.contact_angle_fast,
            given.nip_force_slow,
            given.nip_force_fast,
        )
    path = film_path(rollers_of(given))
    slow, fast = path.contact("slow"), path.contact("fast")
    by_name = {each.name: each for each in given.rollers}

    def nips_on(name: str) -> float:
        return sum(each.nip_force or 0.0 for each in given.rollers if each.presses_on == name)

    return Lacing(
        path,
        path.gap,
        slow.contact_angle,
        fast.contact_angle,
        nips_on(slow.roller.name),
        nips_on(fast.roller.name),
        by_name[slow.roller.name].friction,
        by_name[fast.roller.name].friction,
        slow.roller.diameter,
    )


def rollers_of(carriage: Carriage) -> list[Roller]:
    """The rollers that a carriage lists.

    Args:
        carriage: a case's.
    """
    return [
        Roller(
            name=each.name,
            role=each.role,
            x=each.x,
            y=each.y,
            diameter=each.diameter,
            side=each.side or "left",
            presses_on=each.presses_on,
        )
        for each in carriage.rollers
    ]


def teeth_stretch(carriage: Carriage) -> float | None:
    """Stretch ratio by teeth and diameters; None where no teeth are given."""
    slow, fast = (
        next((each for each in carriage.rollers if each.role == role and each.teeth), None)
        for role in ("slow", "fast")
    )
    if slow is None or fast is None or slow.teeth is None or fast.teeth is None:
        return None
    return geared_stretch(slow.teeth, fast.teeth, slow.diameter, fast.diameter)


def carriage_setting(case: Case, lacing: Lacing, draws: Draws = NO_DRAWS) -> CarriageSetting:
    """What of the carriage decides how the film lies on the load."""
    given = case.carriage

    def value(name: str, otherwise: float) -> FloatOrArray:
        return draws.get(f"carriage.{name}", otherwise)

    friction = value("friction", given.friction)

    def grip(name: str, own_friction: float | None, angle: float, nip: float) -> RollerGrip:
        return RollerGrip(
            friction if own_friction is None else own_friction,
            value(f"contact_angle_{name}", angle),
            value(f"nip_force_{name}", nip),
        )

    return CarriageSetting(
        geared_stretch=value("prestretch", teeth_stretch(given) or given.prestretch),
        gap=value("gap", lacing.gap),
        slow=grip("slow", lacing.friction_slow, lacing.contact_angle_slow, lacing.nip_force_slow),
        fast=grip("fast", lacing.friction_fast, lacing.contact_angle_fast, lacing.nip_force_fast),
        unwind_tension=value("unwind_tension", given.unwind_tension),
        slow_radius=0.5 * lacing.slow_diameter
        if lacing.slow_diameter is not None
        else 0.5 * value("slow_roller_diameter", given.slow_roller_diameter),
    )


def lay_film(case: Case, lacing: Lacing, draws: Draws = NO_DRAWS) -> LaidFilm:
    """The film's way from roll to load, for the case or for many draws of it at once.

    Raises:
        InputError: values that no film or carriage has.
        PhysicsError: a measured width that cannot be.
    """
    fields = ("prestretch", "unwind_tension", "friction", "gap", "contact_angle", "nip_force")
    renamed = {name: f"carriage.{name}" for name in fields}
    with fields_renamed(renamed | {"force_to_load": "program.force_to_load"}):
        return laid_film(
            film_roll(case.film, draws),
            carriage_setting(case, lacing, draws),
            draws.get("program.force_to_load", case.program.force_to_load),
            known_width(case, draws),
        )


def film_on_load(case: Case, laid: LaidFilm | None = None) -> FilmOnLoad:
    """The film's stretch, width and mass as it lies on the load.

    Args:
        case: a checked case.
        laid: what :func:`lay_film` said of it, where that is known already.

    Raises:
        InputError: values that no film or carriage has.
        PhysicsError: the film's curve ends before the set pre-stretch, a force or stretch that
            the film does not bear, rollers that no film can run round, or nothing of the film's
            width is left.
    """
    curve, geared = _within_curve(case)
    laid = laid or lay_film(case, lacing_of(case))
    sheet = laid_as_floats(laid, float(curve.natural_draw_stretch), geared)
    if sheet.breaks:
        raise _broken(case, curve)
    return sheet


def _broken(case: Case, curve: FilmCurve) -> PhysicsError:
    """What tears the film, and what it bears."""
    roll = film_roll(case.film)
    strength = float(breaking_force(curve, roll.area, roll.break_stretch))
    at = min(float(roll.break_stretch), float(curve.largest_stretch))
    forces = {
        "program.force_to_load": case.program.force_to_load,
        "carriage.unwind_tension": case.carriage.unwind_tension,
    }
    field, force = next(
        ((field, force) for field, force in forces.items() if force >= strength),
        ("carriage.prestretch", 0.0),
    )
    drawing = float(curve.drawing_stress * roll.area)
    if not force and case.carriage.unwind_tension > drawing:
        return PhysicsError.one(
            "carriage.unwind_tension",
            show(case.carriage.unwind_tension, "force"),
            say(
                "at most the {force} that draws this film, which is stretched by {prestretch} after"
                " that",
                force=show(drawing, "force"),
                prestretch=show(case.carriage.prestretch, "elongation"),
            ),
            say("Ease the roll's brake, or check the film's thickness and curve."),
        )
    if not force:
        return PhysicsError.one(
            field,
            show(case.carriage.prestretch, "elongation"),
            say("less than stretches the film to its break, {at}", at=show(at, "elongation")),
            say("Lower the pre-stretch or the force to load.")
            if case.film.elongation_at_break is not None or at < UNTESTED_BREAK
            else _untested(),
        )
    return PhysicsError.one(
        field,
        show(force, "force"),
        say(
            "less than the {strength} at which this film breaks, at {at}",
            strength=show(strength, "force"),
            at=show(at, "elongation"),
        ),
        say("Lower the force, or check the film's thickness, curve and elongation at break.")
        if case.film.elongation_at_break is not None or at < UNTESTED_BREAK
        else _untested(),
    )


def _untested() -> str:
    return say(
        "Nobody measured where this film breaks: {most} is taken for it. State"
        " film.elongation_at_break, or lower the force or the pre-stretch.",
        most=show(UNTESTED_BREAK, "elongation"),
    )


def films_at_forces(
    case: Case, forces: Sequence[float], lacing: Lacing | None = None
) -> tuple[FilmOnLoad, ...]:
    """The same film at each of many forces to load, in one pass.

    Args:
        case: a checked case; its own force to load does not count.
        forces: force to load of each [N].
        lacing: the film's way round the rollers, where it is known already.

    Raises:
        InputError, PhysicsError: as :func:`film_on_load`; but a force that tears the film is only
            marked.
    """
    curve, geared = _within_curve(case)
    at = np.array(forces, dtype=float)
    laid = lay_film(case, lacing or lacing_of(case), {"program.force_to_load": at})
    natural = float(curve.natural_draw_stretch)
    return tuple(laid_as_floats(laid, natural, geared, index) for index in range(at.size))


def _within_curve(case: Case) -> tuple[FilmCurve, float]:
    """The film's curve, and the stretch that the rollers ask for, which must lie on it."""
    curve = film_curve(case.film)
    geared = teeth_stretch(case.carriage) or case.carriage.prestretch
    limit = float(curve.largest_stretch)
    if geared >= limit:
        raise PhysicsError.one(
            "carriage.prestretch",
            show(geared, "elongation"),
            say("less than {limit}, where this film's curve ends", limit=show(limit, "elongation")),
            say("Lower the pre-stretch or check the film's curve."),
        )
    return curve, geared


def laid_as_floats(
    laid: LaidFilm, natural_draw: float, geared: float, index: int = 0
) -> FilmOnLoad:
    """One element of what was laid, as plain floats.

    Args:
        laid: the film's way, of one case or of many.
        natural_draw: stretch above which the film draws evenly [-].
        geared: stretch ratio that the rollers' speeds ask for [-].
        index: of the element.
    """
    delivered = laid.delivered

    def one(values: npt.ArrayLike) -> float:
        array = np.asarray(values, dtype=float)
        return float(array if array.ndim == 0 else array[index])

    return FilmOnLoad(
        geared=geared,
        delivered=one(delivered.stretch),
        governs=GOVERNS[int(one(delivered.governs))],
        is_drawn=bool(one(delivered.is_drawn)),
        drawing_force=one(delivered.drawing_force),
        geared_force=one(delivered.geared_force),
        margin_slow=one(delivered.margin_slow),
        margin_fast=one(delivered.margin_fast),
        natural_draw=natural_draw,
        stretch=one(laid.stretch),
        width=one(laid.width),
        thickness=one(laid.thickness),
        mass_per_metre=one(laid.mass_per_metre),
        slip_arc=one(laid.neck_down.slip_arc),
        width_loss=one(laid.neck_down.factor),
        entry_stretch=one(delivered.entry_stretch),
        is_steady=bool(one(laid.neck_down.is_steady)),
        is_within_fit=bool(one(laid.neck_down.is_within_fit)),
        is_drawn_on=bool(one(laid.is_drawn_on)),
        breaks=bool(one(laid.breaks)),
    )


def width_loss_told(case: Case, lacing: Lacing, sheet: FilmOnLoad) -> float | None:
    """Width that each edge loses over the effective gap, by a width measured on the load.

    None where none was measured, or where no gap gives such a width.

    Args:
        case: the case, with its measured width.
        lacing: the film's way round the rollers.
        sheet: the film on the load.
    """
    if not case.width_is_measured or not sheet.is_drawn or sheet.is_drawn_on:
        return None
    try:
        told = measured_width_loss_factor(
            case.film.roll_width, sheet.width, lacing.gap + sheet.slip_arc, sheet.delivered
        )
    except InputError:
        return None
    return float(told)


def known_width(case: Case, draws: Draws = NO_DRAWS) -> KnownWidth:
    """What is known of the film's width beside the law of neck-down.

    Args:
        case: a checked case.
        draws: values that replace the case's.
    """
    film = case.film
    return KnownWidth(
        measured_width=_measured_width(case, draws),
        factor=None if film.width_loss is None else draws.get("film.width_loss", film.width_loss),
        factor_stretch=film.width_loss_prestretch,
        deviate=draws.get("film.neck_down_error", film.neck_down_error),
    )


def _measured_width(case: Case, draws: Draws) -> FloatOrArray | None:
    """Measured width on the load; None where there is none and the model's counts."""
    carriage, roll = case.carriage, case.film.roll_width
    if carriage.film_width_on_load is not None:
        if carriage.film_width_on_load > roll:
            raise PhysicsError.one(
                "carriage.film_width_on_load",
                show(carriage.film_width_on_load, "small_length"),
                say("at most the roll width, {roll}", roll=show(roll, "small_length")),
                say("Measure the film where it lies flat on the load."),
            )
        return draws.get("carriage.film_width_on_load", carriage.film_width_on_load)
    if carriage.neck_down is not None:
        if carriage.neck_down >= roll:
            raise PhysicsError.one(
                "carriage.neck_down",
                say(
                    "{length}: no film width is left",
                    length=show(carriage.neck_down, "small_length"),
                ),
                say("less than the roll width, {roll}", roll=show(roll, "small_length")),
                say("Neck-down is the loss of width, roll width less width on the load."),
            )
        loss = draws.get("carriage.neck_down", carriage.neck_down)
        return draws.get("film.roll_width", roll) - loss
    return None
