"""What a prediction says. Field names are the JSON document's keys, listed in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.physics.grip import Governs
from woold.rows.told import Told
from woold.words import to_say

__all__ = [
    "CAUTIONS",
    "FilmOnLoad",
    "Finding",
    "HeightPoint",
    "Part",
    "Prediction",
    "RestsOn",
]

CAUTIONS = (
    to_say("Estimates: test wraps and a physical transport test decide whether a load holds."),
    to_say("Local codes, the machine maker's instructions and licensed practice come first."),
    to_say(
        "Stop and lock out the machine before reaching in; moving carriages and turntables crush."
    ),
    to_say(
        "Film is cut under tension: use a guarded knife, cut away from yourself and the product."
    ),
    to_say("A loosely wrapped load can fall: keep clear, and never climb a wrapped load."),
)
"""Shown wherever results are shown, through `woold.words.say`."""


@dataclass(frozen=True, slots=True)
class FilmOnLoad:
    """The film from roll to load.

    Args:
        geared: stretch ratio that the rollers' speeds ask for [-].
        delivered: stretch ratio that the film gets [-].
        governs: what sets it: gears, slow roller, fast roller.
        is_drawn: False where the film stays elastic: the pre-stretch is not held at all.
        drawing_force: force that stretches the film [N].
        geared_force: force that the geared stretch asks for [N].
        margin_slow, margin_fast: force that each roller can hold over that [-].
        natural_draw: stretch above which the film draws evenly [-].
        stretch: stretch ratio on the load [-].
        width: width on the load [m].
        thickness: thickness on the load [m].
        mass_per_metre: of film as it lies on the load [kg/m].
        slip_arc: arc of the slow roller on which film is drawn already [m].
        width_loss: width that each edge loses over the effective gap [-].
        entry_stretch: stretch before the slow roller; 1 where the unwind tension only strains it.
        is_steady: False where no steady drawing exists, and the width is an extrapolation.
        is_within_fit: False where the law of neck-down was not fitted to such a draw.
        is_drawn_on: True where the force to load draws the film further behind the carriage.
        breaks: True where the film is asked for more than it bears.
    """

    geared: float
    delivered: float
    governs: Governs
    is_drawn: bool
    drawing_force: float
    geared_force: float
    margin_slow: float
    margin_fast: float
    natural_draw: float
    stretch: float
    width: float
    thickness: float
    mass_per_metre: float
    slip_arc: float
    width_loss: float
    entry_stretch: float
    is_steady: bool
    is_within_fit: bool
    is_drawn_on: bool
    breaks: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """A finding: a code for programs, the field to change, and a sentence."""

    code: str
    field: str
    message: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the wrap program; times at full turning speed."""

    part: str
    turns: float
    film_length_m: float
    film_mass_kg: float
    time_s: float


class HeightPoint(NamedTuple):
    """Film over one height above the deck; least and mean are taken around the perimeter.

    The last is the least later over a patch that a hand can feel.
    """

    height_m: float
    layers_min: float
    layers_mean: float
    force_n: float
    force_mean_n: float
    force_later_n: float
    force_later_low_n: float
    force_later_high_n: float
    force_later_patch_n: float


@dataclass(frozen=True, slots=True)
class RestsOn:
    """An input that nobody measured, with the range that it may lie in, SI.

    ``is_typed``: a value was typed where a placeholder would stand, but not where it is from.
    """

    field: str
    value: float
    kind: str
    unit: str
    low: float | None
    high: float | None
    origin: str
    is_typed: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class FeltMap:
    """What every patch of the load's sides holds at the age asked for; a verdict asks zones of it.

    Args:
        patches: as `woold.physics.felt_patch.FeltContainment` has them, shape (rows, places) [N].
        step: of height between rows [m].
        worse_share: what is left of a patch's force, at least, if film loses as much as it may [-].
        layer_force: of one layer then, the oldest [N].
    """

    patches: NDArray[np.float64]
    step: float
    worse_share: float
    layer_force: float


@dataclass(frozen=True, slots=True, repr=False)
class Prediction(Told):
    """Film use, cover, hold and time of one wrapped load, all in SI.

    Stretches are ratios (260 % is 3.6). Least containment is over any patch of the load's sides
    that a hand can feel; over a single point it may be less. "Later" is ``later_s`` after wrapping,
    with the range that the film's loss of force alone leaves open.
    """

    told_as = "prediction"
    told_by = "woold.prediction.rows:prediction_blocks"

    title: str
    film_mass_kg: float
    film_length_m: float
    film_cost: float | None
    film_mass_per_year_kg: float
    film_length_per_year_m: float
    film_cost_per_year: float | None
    currency: str
    prestretch_set: float
    prestretch_geared: float
    prestretch_delivered: float
    prestretch_governed_by: str
    grip_margin_slow: float
    grip_margin_fast: float
    stretch_on_load: float
    drawing_force_n: float
    natural_draw_stretch: float
    gap_m: float
    slip_arc_m: float
    contact_angle_rad: float
    contact_angle_slow_rad: float
    contact_angle_fast_rad: float
    film_width_on_load_m: float
    neck_down_m: float
    width_loss: float
    width_is_measured: bool
    film_thickness_on_load_m: float
    turns: float
    parts: tuple[Part, ...]
    rise_per_turn_m: float
    fall_per_turn_m: float | None
    overlap_up: float
    overlap_down: float | None
    layers_min: float
    layers_mean: float
    containment_min_n: float
    later_s: float
    containment_later_min_n: float
    containment_later_low_n: float
    containment_later_high_n: float
    containment_point_min_n: float
    containment_later_point_min_n: float
    containment_patch_height_m: float
    containment_patch_length_m: float
    containment_least_height_m: float
    containment_least_position: float
    load_hoop_stiffness_n: float | None
    first_layer_force_n: float
    containment_profile: tuple[HeightPoint, ...]
    hoop_tension_max_n_per_m: float
    corner_force_max_n_per_m: float | None
    pull_plate_height_m: float
    pull_plate_reading_n: float | None
    film_below_deck_m: float
    pallet_lock_layers_min: float
    pallet_lock_force_n: float
    overhang_m: float | None
    cycle_time_s: float
    wrapping_time_s: float
    ramp_time_s: float
    pause_time_s: float
    end_time_s: float
    film_speed_min_m_per_s: float
    film_speed_mean_m_per_s: float
    film_speed_max_m_per_s: float
    loads_per_roll: float
    roll_changes_per_shift: float
    roll_changes_per_year: float
    rethread_time_per_shift_s: float
    rethread_time_per_year_s: float
    rethread_cost_per_year: float | None
    rests_on: tuple[RestsOn, ...]
    findings: tuple[Finding, ...]
    felt: FeltMap = field(compare=False)
    """No part of the document."""
    cautions: tuple[str, ...] = CAUTIONS
