"""What a film carriage does to its film: path, forces, grip, power, air, and what limits it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from woold.case.model import Case
from woold.physics import demand, outlines
from woold.physics.grip import (
    GOVERNS,
    DeliveredStretch,
    air_film_thickness,
    air_traction_fraction,
    least_tension_that_holds,
    roller_power,
    stretch_with_less_grip,
)
from woold.prediction.carriage_findings import carriage_findings
from woold.prediction.film_on_load import (
    Lacing,
    carriage_setting,
    film_on_load,
    lacing_of,
    lay_film,
    width_loss_told,
)
from woold.prediction.film_roll import film_roll
from woold.prediction.names import roller_name
from woold.prediction.predict import load_outline, rests_on
from woold.prediction.result import CAUTIONS, FilmOnLoad, Finding, RestsOn
from woold.rows.told import Told
from woold.units import show
from woold.words import say

__all__ = ["AirRow", "CarriageReport", "CurvePoint", "DriveRow", "RollerRow", "carriage_report"]

_CURVE_POINTS = 121


@dataclass(frozen=True, slots=True)
class RollerRow:
    """One roller on the film's way, and the free film that leaves it."""

    name: str
    role: str
    side: str
    diameter_m: float
    contact_angle_rad: float
    film_on_it_m: float
    free_film_after_m: float
    tension_before_n: float
    tension_after_n: float


@dataclass(frozen=True, slots=True)
class DriveRow:
    """Torque and power at one film speed; positive drives the film on, losses left out."""

    at: str
    film_speed_m_per_s: float
    speed_slow_m_per_s: float
    speed_fast_m_per_s: float
    torque_slow_n_m: float | None
    torque_fast_n_m: float | None
    power_slow_w: float
    power_fast_w: float
    power_drive_w: float


@dataclass(frozen=True, slots=True)
class AirRow:
    """Air between film and a pre-stretch roller at the fastest film speed."""

    roller: str
    air_film_m: float
    traction_left: float


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Delivered pre-stretch at a force to load, and what sets it."""

    force_to_load_n: float
    prestretch_delivered: float
    governed_by: str
    is_drawn: bool


@dataclass(frozen=True, slots=True, repr=False)
class CarriageReport(Told):
    """A film carriage with its film, all in SI; stretches are ratios (260 % is 3.6).

    ``force_to_load_min_n`` and ``unwind_tension_min_n`` are the least tensions at which the fast
    and the slow roller hold the geared stretch. Rollers are listed where the case lists them.
    """

    told_as = "carriage"
    told_by = "woold.carriages.carriage_rows:carriage_blocks"

    title: str
    prestretch_set: float
    prestretch_geared: float
    prestretch_delivered: float
    prestretch_governed_by: str
    is_drawn: bool
    natural_draw_stretch: float
    prestretch_with_tenth_less_grip: float
    stretch_on_load: float
    film_width_on_load_m: float
    neck_down_m: float
    width_loss: float
    width_is_measured: bool
    slip_arc_m: float
    gap_m: float
    contact_angle_rad: float
    contact_angle_slow_rad: float
    contact_angle_fast_rad: float
    film_inside_m: float | None
    unwind_tension_n: float
    drawing_force_n: float
    geared_force_n: float
    force_to_load_n: float
    grip_limit_slow_n: float
    grip_limit_fast_n: float
    grip_margin_slow: float
    grip_margin_fast: float
    force_to_load_min_n: float
    unwind_tension_min_n: float
    rollers: tuple[RollerRow, ...]
    drive: tuple[DriveRow, ...]
    air: tuple[AirRow, ...]
    curve: tuple[CurvePoint, ...]
    rests_on: tuple[RestsOn, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS


def carriage_report(case: Case) -> CarriageReport:
    """Path, forces, grip, power and air of a case's carriage.

    Args:
        case: a checked case.

    Raises:
        WooldError: values that cannot be, rollers that no film can run round.
    """
    lacing = lacing_of(case)
    laid = lay_film(case, lacing)
    sheet = film_on_load(case, laid)
    told = width_loss_told(case, lacing, sheet)
    roll, setting = film_roll(case.film), carriage_setting(case, lacing)
    outline = load_outline(case)
    outlines.require_clear_exit(outline, case.machine.exit_distance)
    demanded = demand.demand_range(outline, case.machine.speed)
    # Behind the fast roller the film springs back before it meets the load.
    faster = sheet.delivered / sheet.stretch
    drive = _drive_rows(
        case,
        lacing,
        laid.delivered,
        {"mean": demanded.mean * faster, "fastest": demanded.fastest * faster},
    )
    air = _air_rows(case, lacing, sheet, drive[-1])
    return CarriageReport(
        title=case.title,
        prestretch_set=case.carriage.prestretch,
        prestretch_geared=sheet.geared,
        prestretch_delivered=sheet.delivered,
        prestretch_governed_by=sheet.governs,
        is_drawn=sheet.is_drawn,
        natural_draw_stretch=sheet.natural_draw,
        prestretch_with_tenth_less_grip=float(
            stretch_with_less_grip(roll.curve, roll.area, sheet.delivered)
        ),
        stretch_on_load=sheet.stretch,
        film_width_on_load_m=sheet.width,
        neck_down_m=case.film.roll_width - sheet.width,
        width_loss=sheet.width_loss if told is None else told,
        width_is_measured=told is not None,
        slip_arc_m=sheet.slip_arc,
        gap_m=lacing.gap,
        contact_angle_rad=min(lacing.contact_angle_slow, lacing.contact_angle_fast),
        contact_angle_slow_rad=lacing.contact_angle_slow,
        contact_angle_fast_rad=lacing.contact_angle_fast,
        film_inside_m=None if lacing.path is None else lacing.path.film_length,
        unwind_tension_n=case.carriage.unwind_tension,
        drawing_force_n=sheet.drawing_force,
        geared_force_n=sheet.geared_force,
        force_to_load_n=case.program.force_to_load,
        grip_limit_slow_n=float(laid.delivered.limit_slow),
        grip_limit_fast_n=float(laid.delivered.limit_fast),
        grip_margin_slow=sheet.margin_slow,
        grip_margin_fast=sheet.margin_fast,
        force_to_load_min_n=float(least_tension_that_holds(sheet.geared_force, setting.fast)),
        unwind_tension_min_n=float(least_tension_that_holds(sheet.geared_force, setting.slow)),
        rollers=_roller_rows(case, lacing, sheet),
        drive=drive,
        air=air,
        curve=_curve(case, lacing, sheet),
        rests_on=rests_on(case),
        findings=(*carriage_findings(case, sheet, lacing), *_air_findings(air)),
    )


def _diameters(lacing: Lacing) -> tuple[float, float] | None:
    if lacing.path is None:
        return None
    slow, fast = lacing.path.contact("slow"), lacing.path.contact("fast")
    return slow.roller.diameter, fast.roller.diameter


def _drive_rows(
    case: Case, lacing: Lacing, delivered: DeliveredStretch, speeds: dict[str, float]
) -> tuple[DriveRow, ...]:
    diameters = _diameters(lacing)
    power = roller_power(
        delivered,
        carriage_setting(case, lacing).geared_stretch,
        case.carriage.unwind_tension,
        case.program.force_to_load,
        *(diameters or (1.0, 1.0)),
        np.array(list(speeds.values())),
    )
    return tuple(
        DriveRow(
            at=at,
            film_speed_m_per_s=speed,
            speed_slow_m_per_s=float(np.asarray(power.speed_slow)[index]),
            speed_fast_m_per_s=float(np.asarray(power.speed_fast)[index]),
            torque_slow_n_m=float(power.torque_slow) if diameters else None,
            torque_fast_n_m=float(power.torque_fast) if diameters else None,
            power_slow_w=float(np.asarray(power.power_slow)[index]),
            power_fast_w=float(np.asarray(power.power_fast)[index]),
            power_drive_w=float(np.asarray(power.power_drive)[index]),
        )
        for index, (at, speed) in enumerate(speeds.items())
    )


def _air_rows(
    case: Case, lacing: Lacing, sheet: FilmOnLoad, fastest: DriveRow
) -> tuple[AirRow, ...]:
    """Air is dragged in where the film arrives, so the tension and width there count."""
    diameters = _diameters(lacing)
    if diameters is None:
        return ()
    film_speed = fastest.film_speed_m_per_s
    arriving = (
        ("slow", case.carriage.unwind_tension / case.film.roll_width, film_speed / sheet.delivered),
        ("fast", sheet.drawing_force / sheet.width, film_speed),
    )
    surface = (fastest.speed_slow_m_per_s, fastest.speed_fast_m_per_s)
    rows = []
    for (roller, tension, speed), diameter, surface_speed in zip(
        arriving, diameters, surface, strict=True
    ):
        if tension <= 0.0:
            continue  # slack film lies on no air cushion that this formula knows
        air = air_film_thickness(diameter / 2, tension, speed, surface_speed)
        left = air_traction_fraction(air, case.carriage.roughness)
        rows.append(AirRow(roller, float(air), float(left)))
    return tuple(rows)


def _air_findings(air: tuple[AirRow, ...]) -> list[Finding]:
    return [
        Finding(
            "air_film",
            "machine.speed",
            say(
                "At the fastest film speed {height} of air is dragged in on the {roller}"
                " and leaves {share:.0f} % of its friction. Grip here is"
                " computed without air: slow down, or use a grooved or rougher cover.",
                height=show(row.air_film_m, "roughness"),
                roller=roller_name(row.roller),
                share=100 * row.traction_left,
            ),
        )
        for row in air
        if row.traction_left < 1.0
    ]


def _roller_rows(case: Case, lacing: Lacing, sheet: FilmOnLoad) -> tuple[RollerRow, ...]:
    if lacing.path is None:
        return ()
    rows, tension = [], case.carriage.unwind_tension
    after = {"slow": sheet.drawing_force, "fast": case.program.force_to_load}
    for contact, span in zip(lacing.path.contacts, lacing.path.spans[1:], strict=True):
        roller = contact.roller
        leaving = after.get(roller.role, tension)
        rows.append(
            RollerRow(
                name=roller.name,
                role=roller.role,
                side=roller.side,
                diameter_m=roller.diameter,
                contact_angle_rad=contact.contact_angle,
                film_on_it_m=contact.arc_length,
                free_film_after_m=span.length,
                tension_before_n=tension,
                tension_after_n=leaving,
            )
        )
        tension = leaving
    return tuple(rows)


def _curve(case: Case, lacing: Lacing, sheet: FilmOnLoad) -> tuple[CurvePoint, ...]:
    most = max(2.0 * case.program.force_to_load, sheet.geared_force)
    forces = np.linspace(0.0, most, _CURVE_POINTS)
    delivered = lay_film(case, lacing, {"program.force_to_load": forces}).delivered
    return tuple(
        CurvePoint(float(force), float(stretch), GOVERNS[governs], bool(drawn))
        for force, stretch, governs, drawn in zip(
            forces,
            np.asarray(delivered.stretch),
            delivered.governs,
            delivered.is_drawn,
            strict=True,
        )
    )
