"""What a design says. Field names are the JSON document's keys, listed in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass

from woold.design.costs import CostParts
from woold.design.saving import Saving
from woold.design.settings import Settings
from woold.design.task import Goal
from woold.physics.transport import CAUTION
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.verdict.result import Verdict

__all__ = [
    "NEAR_ENOUGH",
    "Binding",
    "ChangeStep",
    "DesignResult",
    "FrontPoint",
    "HeldTarget",
    "Obstacle",
    "ProfiledResult",
    "ProgramResult",
    "Robustness",
]

NEAR_ENOUGH = 0.01
"""Gap to the best program of a machine that is to be proven [-]."""


@dataclass(frozen=True, slots=True)
class HeldTarget:
    """A target, and what today's and the chosen program hold of it; None where none is chosen."""

    field: str
    low_m: float
    high_m: float
    asked_n: float
    held_today_n: float
    held_n: float | None


@dataclass(frozen=True, slots=True)
class ProgramResult:
    """A program as it is predicted.

    `share_of_targets` and `holds` are the verdict's, where something is asked; else they are
    against what today's program holds.
    """

    settings: Settings
    film_mass_kg: float
    film_length_m: float
    film_cost: float | None
    cost: float | None
    cost_parts: CostParts | None
    turns: float
    cycle_time_s: float
    layers_min: float
    containment_later_min_n: float
    share_of_targets: float
    film_width_on_load_m: float
    prestretch_delivered: float
    corner_force_max_n_per_m: float | None
    tension_peak_share: float
    holds: bool
    misses: tuple[str, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Binding:
    """A limit that stands in the way: without it, or with a step more room, the score is better."""

    limit: str
    field: str
    message: str
    gain: float


@dataclass(frozen=True, slots=True)
class ChangeStep:
    """The best program with so many settings changed from today's."""

    changes: int
    changed: tuple[str, ...]
    program: ProgramResult
    film_saved: float
    share_of_gain: float


@dataclass(frozen=True, slots=True)
class FrontPoint:
    """A program that no other beats in film, hold and time at once."""

    film_mass_kg: float
    cycle_time_s: float
    containment_later_min_n: float
    share_of_targets: float
    settings: Settings
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class ProfiledResult:
    """The best program whose rise varies with height.

    Bound and gap are those of the goal; the price of one rise is how far above this program the
    best one of one rise is. It and the film saved are None where none of one rise holds.
    """

    program: ProgramResult
    bound: float
    gap: float
    film_saved: float | None
    price_of_one_rise: float | None


@dataclass(frozen=True, slots=True)
class Robustness:
    """How often a program holds when its inputs lie anywhere in their ranges.

    Plain is the best program at the best guess of every input.
    """

    asked: float
    reached: bool
    draws: int
    today: float
    plain: float
    plain_film_mass_kg: float
    chosen: float
    chosen_low: float
    chosen_high: float
    varied: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A limit that makes the task impossible by itself, and by how much it is missed, SI."""

    limit: str
    field: str
    reached: float
    allowed: float
    unit: str
    message: str


@dataclass(frozen=True, slots=True, repr=False)
class DesignResult(Told):
    """The best program under a case's targets and limits.

    Today's program is to be kept where it holds and nothing that was found is better. Bounds are
    for any program whatever whose carriage travels no more than `bound_travel_m` in a
    turn; `bound` is that of the goal, in its unit, and gap is what the chosen program reaches over
    it, less 1. `machine_bound` and `machine_gap` are the same for programs that this machine can
    run, with one rise and one fall, proven by branch and bound over `boxes_bounded` boxes. All of
    them ask it over every patch, as a verdict does. Spring and hole are those of the case's dancer
    that hold the chosen force.
    """

    told_as = "design"
    told_by = "woold.design.rows:design_blocks"

    title: str
    objective: Goal
    possible: bool
    as_today: bool
    targets: tuple[HeldTarget, ...]
    transport_profiles: tuple[str, ...]
    edge_load_limit_n_per_m: float | None
    today: ProgramResult
    chosen: ProgramResult | None
    keep_today: bool
    film_saved: float | None
    film_saved_per_year_kg: float | None
    loads_per_year: float
    saving: Saving | None
    changed: tuple[str, ...]
    dancer_spring: int | None
    dancer_hole_m: float | None
    binding: tuple[Binding, ...]
    fewer_changes: tuple[ChangeStep, ...]
    film_bound_kg: float | None
    turns_bound: float | None
    bound: float | None
    bound_travel_m: float
    gap: float | None
    machine_bound: float | None
    machine_gap: float | None
    boxes_bounded: int
    cost_saved: float | None
    cost_saved_per_year: float | None
    profiled: ProfiledResult | None
    front: tuple[FrontPoint, ...]
    robustness: Robustness | None
    obstacles: tuple[Obstacle, ...]
    programs_evaluated: int
    programs_pruned: int
    search_time_s: float
    currency: str
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = (CAUTION, *CAUTIONS)
