"""What a comparison of two carriages says. Field names are JSON keys, listed in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass

from woold.prediction.result import CAUTIONS, Finding, RestsOn
from woold.rows.told import Told
from woold.verdict.result import Verdict
from woold.words import to_say

__all__ = [
    "BOTH",
    "CAUSES",
    "NECK_DOWN",
    "PRESTRETCH",
    "CarriageComparison",
    "ComparedCarriage",
    "DrawnRange",
    "InchOfWidth",
    "SavingCause",
    "SavingSpent",
]

PRESTRETCH = to_say("delivered pre-stretch")
NECK_DOWN = to_say("neck-down")
BOTH = to_say("both")
CAUSES = (PRESTRETCH, NECK_DOWN, BOTH)
"""What a candidate can save film by; the last is the whole saving."""


@dataclass(frozen=True, slots=True)
class ComparedCarriage:
    """What one carriage makes of the load."""

    title: str
    prestretch_geared: float
    prestretch_delivered: float
    prestretch_governed_by: str
    grip_margin_slow: float
    grip_margin_fast: float
    gap_m: float
    slip_arc_m: float
    width_loss: float
    contact_angle_rad: float
    stretch_on_load: float
    film_width_on_load_m: float
    neck_down_m: float
    rise_per_turn_m: float
    overlap_up: float
    turns: float
    film_length_m: float
    film_mass_kg: float
    film_cost: float | None
    cycle_time_s: float
    layers_min: float
    layers_mean: float
    containment_min_n: float
    containment_later_min_n: float


@dataclass(frozen=True, slots=True)
class DrawnRange:
    """Range that holds 90 % of the draws, and the middle one."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class SavingCause:
    """What one cause saves, as shares of the base's film.

    Args:
        cause: one of `CAUSES`.
        alone: if only it were changed.
        share: its part of the whole saving; the two parts add up to it.
        interval: of that part.
    """

    cause: str
    alone: float
    share: float
    interval: DrawnRange


@dataclass(frozen=True, slots=True)
class SavingSpent:
    """The two ways to spend what is saved; negative if the candidate needs more film.

    Args:
        film_saved_kg, film_saved_per_year_kg, cost_saved_per_year: less film, same containment.
        extra_turns: turns that the saved film makes, same film as the base.
        overlap_at_equal_film: overlap that spreads them evenly; None if none does.
        layers_mean_at_equal_film: layers over the load's height with it; None likewise.
        containment_at_equal_film_n: least containment force with it; None likewise. Whole layers
            count, so it may not grow before a layer is complete everywhere.
    """

    film_saved_kg: float
    film_saved_per_year_kg: float
    cost_saved_per_year: float | None
    extra_turns: float
    overlap_at_equal_film: float | None
    layers_mean_at_equal_film: float | None
    containment_at_equal_film_n: float | None


@dataclass(frozen=True, slots=True)
class InchOfWidth:
    """What makes an inch (25.4 mm) more film width with the candidate, and what it saves.

    Args:
        gap_m: how much less gap, or arc of the slow roller on which film is drawn; None where the
            film loses no width.
        saving: share of the film that it saves at the same overlap.
        arc_angle_rad: angle of the slow roller on which the candidate's film is drawn; a contact
            angle down to it changes no width.
        arc_neck_down_m: width that the film loses by that arc: the most that contact can change.
    """

    gap_m: float | None
    saving: float
    arc_angle_rad: float
    arc_neck_down_m: float


@dataclass(frozen=True, slots=True, repr=False)
class CarriageComparison(Told):
    """Two carriages on one load, all in SI; savings are shares of the base's film mass.

    Less film is a saving only where nothing is asked of the load, or the candidate holds it.
    ``law_share`` is the part of the saving's variance that is the law of neck-down and not the
    inputs; None where a width was measured.
    """

    told_as = "carriage-comparison"
    told_by = "woold.carriages.comparison_rows:answered_blocks"

    base: ComparedCarriage
    candidate: ComparedCarriage
    base_verdict: Verdict
    candidate_verdict: Verdict
    is_saving: bool
    saving: float
    saving_interval: DrawnRange
    candidate_uses_less_share: float
    causes: tuple[SavingCause, ...]
    spending: SavingSpent
    inch: InchOfWidth
    law_share: float | None
    currency: str
    draws: int
    seed: int
    varied: tuple[str, ...]
    slips_share_base: float
    slips_share_candidate: float
    rests_on: tuple[RestsOn, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
