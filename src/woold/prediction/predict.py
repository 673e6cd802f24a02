"""The one pass through the physics: a case goes in, a prediction comes out."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.case.load import Load
from woold.case.model import Case
from woold.case.outline import load_outline as outline_of_load
from woold.case.outline import overhang
from woold.physics import demand, hold, outlines, pattern, soft_load
from woold.physics.felt_patch import PATCH
from woold.physics.outlines import Outline
from woold.physics.pattern import Leg
from woold.prediction.clock import Clock, cycle_clock
from woold.prediction.felt_hold import FeltHold, felt_hold
from woold.prediction.film_on_load import Lacing, film_on_load, lacing_of, lay_film
from woold.prediction.film_over_height import (
    FilmOverHeight,
    film_over_height,
    leg_forces,
    one_layer_stiffness,
)
from woold.prediction.findings import case_findings
from woold.prediction.pull_plate import longest_face, pull_height, pull_plate_reading
from woold.prediction.result import FilmOnLoad, Part, Prediction, RestsOn
from woold.units import KINDS
from woold.words import to_say

__all__ = [
    "FilmOnLoad",
    "film_on_load",
    "largest_corner_force",
    "load_outline",
    "perimeter_below_deck",
    "perimeter_with_pallet",
    "predict",
    "program_legs",
    "rests_on",
    "rise_per_turn",
    "sharpest_turn",
    "use_values",
]


_TAILS = to_say("tails")


def load_outline(case: Case) -> Outline:
    """Convex outline of the load, in the frame of the axis of turning."""
    return outline_of_load(case.load)


def program_legs(case: Case, film_width: float) -> tuple[Leg, ...]:
    """The wrap program as the path of a film of this width."""
    program = case.program
    rise = rise_per_turn(case, film_width)
    return pattern.wrap_path(
        pattern.WrapProgram(
            load_height=case.load.height,
            film_width=film_width,
            start_height=program.start_height,
            bottom_wraps=program.bottom_wraps,
            rise_per_turn=rise,
            top_overlap=program.top_overlap,
            top_wraps=program.top_wraps,
            fall_per_turn=program.fall_per_turn or rise,
            closing_wraps=program.closing_wraps,
            ends_at_top=program.ends_at == "top",
            bands=[pattern.Band(b.height, b.wraps, b.on_the_way) for b in program.bands],
            ropes=[
                pattern.Rope(r.first_turn, r.last_turn, r.width, r.at_edge) for r in program.ropes
            ],
        )
    )


def rise_per_turn(case: Case, film_width: float) -> float:
    """Carriage travel in a turn on the way up [m]."""
    program = case.program
    if program.rise_per_turn is not None:
        return program.rise_per_turn
    assert program.overlap is not None
    return film_width * (1.0 - program.overlap)


def predict(case: Case) -> Prediction:
    """Film use, cover, hold and time of one wrapped load.

    Args:
        case: a checked case.

    Returns:
        The prediction, SI.

    Raises:
        PhysicsError: the case's values cannot happen together.
    """
    outline = load_outline(case)
    outlines.require_clear_exit(outline, case.machine.exit_distance)
    lacing = lacing_of(case)
    sheet = film_on_load(case, lay_film(case, lacing))
    legs = program_legs(case, sheet.width)
    perimeter = outlines.perimeter(outline)
    lengths = pattern.film_length(legs, perimeter, perimeter_below_deck(case, outline))
    tails = case.program.start_tail + case.program.end_tail
    film_length = float(lengths.sum()) + tails
    clock = cycle_clock(case, legs)
    forces = leg_forces(case, legs, sheet.width, clock.ages(legs))
    over_height = film_over_height(case, legs, sheet, forces)
    felt = felt_hold(case, legs, sheet, forces, over_height, perimeter)
    held = _hold_values(case, sheet, over_height, felt)
    hoop = over_height.hoop
    corner = largest_corner_force(outline, float(hoop[over_height.on_load].max()))
    return Prediction(
        title=case.title,
        **_film_values(case, sheet, lacing),
        **use_values(case, film_length, film_length * sheet.mass_per_metre),
        turns=legs[-1].last_turn,
        parts=_parts(legs, lengths, tails, sheet.mass_per_metre, case.machine.speed),
        **_overlap_values(case, sheet.width),
        **held,
        hoop_tension_max_n_per_m=float(hoop[over_height.on_load].max()),
        corner_force_max_n_per_m=corner,
        **_pull_plate(case, sheet, outline, over_height),
        **_pallet_lock(over_height),
        overhang_m=overhang(case.load),
        **_time_values(outline, case.machine.speed, clock),
        rests_on=rests_on(case),
        findings=case_findings(
            case, sheet, lacing, legs, over_height, corner, held["first_layer_force_n"]
        ),
        felt=felt.every,
    )


def _film_values(case: Case, sheet: FilmOnLoad, lacing: Lacing) -> dict[str, Any]:
    """What carriage and load make of the film."""
    return {
        "prestretch_set": case.carriage.prestretch,
        "prestretch_geared": sheet.geared,
        "prestretch_delivered": sheet.delivered,
        "prestretch_governed_by": sheet.governs,
        "grip_margin_slow": sheet.margin_slow,
        "grip_margin_fast": sheet.margin_fast,
        "stretch_on_load": sheet.stretch,
        "drawing_force_n": sheet.drawing_force,
        "natural_draw_stretch": sheet.natural_draw,
        "gap_m": lacing.gap,
        "slip_arc_m": sheet.slip_arc,
        "contact_angle_rad": min(lacing.contact_angle_slow, lacing.contact_angle_fast),
        "contact_angle_slow_rad": lacing.contact_angle_slow,
        "contact_angle_fast_rad": lacing.contact_angle_fast,
        "film_width_on_load_m": sheet.width,
        "neck_down_m": case.film.roll_width - sheet.width,
        "width_loss": sheet.width_loss,
        "width_is_measured": case.width_is_measured,
        "film_thickness_on_load_m": sheet.thickness,
    }


def use_values(case: Case, film_length: float, film_mass: float) -> dict[str, Any]:
    """Film of a load and a year, what it costs, and the rolls that it takes.

    Args:
        case: says rolls, prices and loads of a year.
        film_length, film_mass: of a load [m], [kg].
    """
    plant, roll_mass = case.plant, case.film.roll_mass
    loads_per_year = plant.loads_per_shift * plant.shifts_per_year
    changes_per_shift = plant.loads_per_shift * film_mass / roll_mass
    rethread_per_year = changes_per_shift * plant.shifts_per_year * case.machine.rethread_time
    price, standstill = case.film.price, plant.standstill_price
    return {
        "film_mass_kg": film_mass,
        "film_length_m": film_length,
        "film_cost": price.amount * film_mass if price else None,
        "film_mass_per_year_kg": film_mass * loads_per_year,
        "film_length_per_year_m": film_length * loads_per_year,
        "film_cost_per_year": price.amount * film_mass * loads_per_year if price else None,
        "currency": case.currency,
        "loads_per_roll": roll_mass / film_mass,
        "roll_changes_per_shift": changes_per_shift,
        "roll_changes_per_year": changes_per_shift * plant.shifts_per_year,
        "rethread_time_per_shift_s": changes_per_shift * case.machine.rethread_time,
        "rethread_time_per_year_s": rethread_per_year,
        "rethread_cost_per_year": standstill.amount * rethread_per_year if standstill else None,
    }


def _overlap_values(case: Case, film_width: float) -> dict[str, Any]:
    """Carriage travel in a turn, and how much of the film lies on the turn before."""
    rise = rise_per_turn(case, film_width)
    fall = None if case.program.ends_at == "top" else case.program.fall_per_turn or rise
    return {
        "rise_per_turn_m": rise,
        "fall_per_turn_m": fall,
        "overlap_up": 1.0 - rise / film_width,
        "overlap_down": None if fall is None else 1.0 - fall / film_width,
    }


def _hold_values(
    case: Case, sheet: FilmOnLoad, film: FilmOverHeight, felt: FeltHold
) -> dict[str, Any]:
    """Layers and containment force on the product, when wrapped and later."""
    on_load = film.on_load
    area = float(np.trapezoid(film.layers_mean[on_load], film.heights[on_load]))
    return {
        "layers_min": float(film.layers_min[on_load].min()),
        "layers_mean": area / case.load.height,
        "containment_min_n": felt.now,
        "later_s": case.hold.after,
        "containment_later_min_n": felt.later,
        "containment_later_low_n": felt.later_low,
        "containment_later_high_n": felt.later_high,
        "containment_point_min_n": float(film.force[on_load].min()),
        "containment_later_point_min_n": float(film.later[on_load].min()),
        "containment_patch_height_m": PATCH.patch_height,
        "containment_patch_length_m": PATCH.patch_length,
        "containment_least_height_m": felt.height,
        "containment_least_position": felt.position,
        "load_hoop_stiffness_n": case.load.hoop_stiffness,
        "first_layer_force_n": _first_layer(case, sheet, float(film.layers_mean[on_load].max())),
        "containment_profile": film.points(felt.by_height),
    }


def _first_layer(case: Case, sheet: FilmOnLoad, layers: float) -> float:
    """Tension left in the first layer under the most layers [N]; 0 or less: it is slack."""
    force, load_stiffness = case.program.force_to_load, case.load.hoop_stiffness
    if load_stiffness is None:
        return force
    stiffness = one_layer_stiffness(case, sheet.thickness, sheet.width)
    return float(soft_load.first_layer_force(layers, force, stiffness, load_stiffness))


def _time_values(outline: Outline, turning_speed: float, clock: Clock) -> dict[str, Any]:
    """The cycle's time, and how fast it takes film."""
    speeds = demand.demand_range(outline, turning_speed)
    return {
        "cycle_time_s": clock.cycle_time,
        "wrapping_time_s": clock.wrapping,
        "ramp_time_s": clock.ramps,
        "pause_time_s": clock.pauses,
        "end_time_s": clock.ends,
        "film_speed_min_m_per_s": speeds.slowest,
        "film_speed_mean_m_per_s": speeds.mean,
        "film_speed_max_m_per_s": speeds.fastest,
    }


def perimeter_below_deck(case: Case, outline: Outline) -> float | None:
    """Perimeter of load and pallet together; None where the pallet's size is not given."""
    return perimeter_with_pallet(case.load, outline)


def perimeter_with_pallet(load: Load, outline: Outline) -> float | None:
    """The same of a load by itself."""
    if load.pallet_length is None or load.pallet_width is None:
        return None
    pallet = outlines.rectangle_outline(load.pallet_length, load.pallet_width, load.offset)
    corners = outline.vertices
    if outline.corner_radius:
        around = np.linspace(0.0, 2.0 * np.pi, 180, endpoint=False)
        rim = outline.corner_radius * np.column_stack([np.cos(around), np.sin(around)])
        corners = (corners[:, None, :] + rim[None, :, :]).reshape(-1, 2)
    return outlines.perimeter(outlines.polygon_outline(np.vstack([corners, pallet.vertices])))


def _parts(
    legs: Sequence[Leg],
    lengths: NDArray[np.float64],
    tails: float,
    mass_per_metre: float,
    turning_speed: float,
) -> tuple[Part, ...]:
    """Turns, film and time of each part of the program, in the order that they come."""
    turns: dict[str, float] = {}
    metres: dict[str, float] = {}
    for leg, length in zip(legs, lengths.tolist(), strict=True):
        turns[leg.part] = turns.get(leg.part, 0.0) + leg.turns
        metres[leg.part] = metres.get(leg.part, 0.0) + length
    if tails:
        turns[_TAILS], metres[_TAILS] = 0.0, tails
    turn_time = 2.0 * math.pi / turning_speed
    return tuple(
        Part(
            part=name,
            turns=turns[name],
            film_length_m=metres[name],
            film_mass_kg=metres[name] * mass_per_metre,
            time_s=turns[name] * turn_time,
        )
        for name in turns
    )


def largest_corner_force(outline: Outline, hoop: float) -> float | None:
    """Largest force on a corner, per metre of height [N/m]; a round load has no corner."""
    sharpest = sharpest_turn(outline)
    return None if sharpest is None else float(hold.corner_force(hoop, sharpest))


def sharpest_turn(outline: Outline) -> float | None:
    """Sharpest turn of the film round a corner [rad]; a round load has no corner."""
    if outline.corner_radius:
        return None
    sides = outlines.side_vectors(outline.vertices)
    headings = np.arctan2(sides[:, 1], sides[:, 0])
    turns = np.diff(headings, append=headings[0]) % (2.0 * np.pi)
    return float(turns.max())


def _pull_plate(
    case: Case, sheet: FilmOnLoad, outline: Outline, film: FilmOverHeight
) -> dict[str, Any]:
    """Height of the plate and the reading to expect in the middle of the longest face."""
    height = pull_height(case.load, case.hold)
    index = int(np.abs(film.heights - height).argmin())
    face = longest_face(outline)
    reading = None
    if face is not None:
        layers = float(film.layers_mean[index])
        reading = float(pull_plate_reading(case, (sheet.width, sheet.thickness), layers, face))
    return {"pull_plate_height_m": float(film.heights[index]), "pull_plate_reading_n": reading}


def _pallet_lock(film: FilmOverHeight) -> dict[str, Any]:
    """Film below the deck: its depth, and least layers and force half way down it."""
    depth = max(-float(film.heights[0]), 0.0)
    index = int(np.abs(film.heights + 0.5 * depth).argmin())
    return {
        "film_below_deck_m": depth,
        "pallet_lock_layers_min": float(film.layers_min[index]) if depth else 0.0,
        "pallet_lock_force_n": float(film.force[index]) if depth else 0.0,
    }


_PREDICTED = ("load", "film", "carriage", "machine", "program", "hold", "plant")


def rests_on(case: Case, used: Collection[str] = _PREDICTED) -> tuple[RestsOn, ...]:
    """The case's placeholders, as a result lists them.

    Args:
        case: the case.
        used: names of the tables and fields that the result uses: "film", "machine.ramp_up".
    """
    prefixes = tuple(f"{name}." for name in used)
    return tuple(
        RestsOn(
            field=each.field,
            value=each.value,
            kind=each.kind,
            unit=KINDS[each.kind].unit,
            low=each.origin.low,
            high=each.origin.high,
            origin=each.origin.words(),
            is_typed=each.origin.is_typed,
        )
        for each in case.placeholders()
        if f"{each.field}.".startswith(prefixes)
    )
