"""What the dancer's studies say. Field names are the JSON documents' keys, as in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass

from woold.dancer.film_force import FilmForce
from woold.prediction.result import CAUTIONS, RestsOn
from woold.rows.told import Told
from woold.words import to_say

__all__ = [
    "DANCER_CAUTIONS",
    "AllowedConstant",
    "BounceFound",
    "CycleStudy",
    "DancerMode",
    "EnergyPart",
    "FitStudy",
    "FitTest",
    "FittedConstant",
    "Laid",
    "MotionSample",
    "OrderAnswer",
    "SpringRow",
    "SpringTable",
    "SteadyState",
    "TraceDoubt",
    "TraceFinding",
    "TraceStudy",
    "TuneStudy",
    "TunedRow",
]

DANCER_CAUTIONS = (
    to_say(
        "A dancer's spring is loaded: relieve it before you unhook it, and wear eye protection."
    ),
    *CAUTIONS,
)
"""Shown wherever results on the dancer are shown."""


@dataclass(frozen=True, slots=True)
class SpringRow:
    """One spring in one hole."""

    rank: int
    spring: int
    rate_n_per_m: float
    free_length_m: float
    preload_n: float
    hole_m: float
    tension_lower_n: float
    tension_middle_n: float
    tension_upper_n: float
    balance_angle_rad: float | None
    travel_share: float | None
    arm_stiffness_n_m_per_rad: float | None
    tension_per_film_n_per_m: float | None
    serves_thinnest_m: float
    serves_thickest_m: float
    fits: bool
    reason: str


@dataclass(frozen=True, repr=False)
class SpringTable(Told):
    """Every spring in every hole, the best for the asked force first."""

    told_as = "springs"
    told_by = "woold.dancer.spring_rows:spring_blocks"

    title: str
    force_to_load_n: float
    film_thickness_m: float
    choices: tuple[SpringRow, ...]
    rests_on: tuple[RestsOn, ...]
    cautions: tuple[str, ...] = DANCER_CAUTIONS


@dataclass(frozen=True, slots=True)
class SteadyState:
    """The swing at a steady turning speed, once the start has died out."""

    turning_speed_rad_per_s: float
    tension_mean_n: float
    tension_peak_n: float
    tension_low_n: float
    tension_ripple: float
    peak_over_mean: float
    arm_angle_low_rad: float
    arm_angle_high_rad: float
    travel_used: float
    corner_share: float
    stop_hits: int
    slack_time_s: float
    is_smooth: bool
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DancerMode:
    """One way in which the dancer moves by itself; a negative damping grows."""

    frequency_hz: float
    damping: float
    oscillates: bool


@dataclass(frozen=True, slots=True)
class OrderAnswer:
    """How the dancer answers what comes `order` times a turn."""

    order: int
    frequency_hz: float
    film_demand_m_per_s: float
    swing_rad: float
    tension_n: float
    frequency_ratio: float
    amplification: float
    resonant: bool


@dataclass(frozen=True, slots=True)
class MotionSample:
    """One instant of the cycle."""

    time_s: float
    turntable_angle_rad: float
    arm_angle_rad: float
    tension_n: float
    film_speed_m_per_s: float
    film_demand_m_per_s: float


@dataclass(frozen=True, repr=False)
class CycleStudy(Told):
    """The dancer over one cycle of the program, and at its steady speed.

    `fits` says whether the spring suits its hole at rest, and `reason` why: one that does not is
    never called smooth, however even it swings at one speed.
    `reference_angle_rad` and `reference_tension_n` are the largest differences from the other
    integrator, if it was asked for.
    """

    told_as = "cycle"
    told_by = "woold.dancer.cycle_rows:cycle_blocks"

    title: str
    spring: int
    spring_rate_n_per_m: float
    spring_free_length_m: float
    hole_m: float
    lower_stop_rad: float
    upper_stop_rad: float
    chosen: str
    fits: bool
    reason: str
    turning_speed_rad_per_s: float
    turns: float
    duration_s: float
    tension_mean_n: float
    tension_peak_n: float
    arm_angle_low_rad: float
    arm_angle_high_rad: float
    lower_hits: int
    upper_hits: int
    slack_time_s: float
    breaking_hint_n: float
    film_laid_m: float
    work_by_load_j: float
    film_residual: float
    energy_residual: float
    undriven_frequency_hz: float | None
    bounce_frequency_hz: float | None
    bounce_damping: float | None
    modes: tuple[DancerMode, ...]
    orders: tuple[OrderAnswer, ...]
    steady: SteadyState
    samples: tuple[MotionSample, ...]
    reference_angle_rad: float | None
    reference_tension_n: float | None
    findings: tuple[str, ...]
    rests_on: tuple[RestsOn, ...]
    cautions: tuple[str, ...] = DANCER_CAUTIONS


@dataclass(frozen=True, slots=True)
class TunedRow:
    """A spring in a hole with a gain, tried in motion."""

    spring: int
    rate_n_per_m: float
    hole_m: float
    gain_m_per_s_rad: float
    fits: bool
    tension_error: float
    steady: SteadyState


@dataclass(frozen=True, repr=False)
class TuneStudy(Told):
    """The highest smooth turning speed as set and as tuned, and what was tried."""

    told_as = "tuning"
    told_by = "woold.dancer.tuning_rows:tuning_blocks"

    title: str
    method: str
    turning_speed_rad_per_s: float
    force_to_load_n: float
    spring: int
    hole_m: float
    highest_smooth_speed_rad_per_s: float | None
    speeds: tuple[SteadyState, ...]
    tried: int
    best: tuple[TunedRow, ...]
    tuned_highest_smooth_speed_rad_per_s: float | None
    notes: tuple[str, ...]
    rests_on: tuple[RestsOn, ...]
    cautions: tuple[str, ...] = DANCER_CAUTIONS


@dataclass(frozen=True, slots=True)
class BounceFound:
    """A ringing found in a trace; `bounce_rms` in the trace's own SI unit."""

    frequency_hz: float
    frequency_error_hz: float
    damping: float
    damping_error: float
    bounce_rms: float
    explained: float
    kicks: int


@dataclass(frozen=True, slots=True)
class EnergyPart:
    """What one kind of motion has of a trace's energy.

    `share` is of all of it; `swing_share` of all but the drift, which the verdict goes by.
    """

    name: str
    rms: float
    share: float
    swing_share: float | None


@dataclass(frozen=True, slots=True)
class TraceDoubt:
    """What a trace may be too, and why that is not certain."""

    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class TraceFinding:
    """One thing seen in the swing, its evidence, and what to try first."""

    code: str
    evidence: str
    try_first: str


@dataclass(frozen=True, slots=True)
class FittedConstant:
    """A constant fitted to the trace, SI; low and high two standard errors away."""

    name: str
    unit: str
    start: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Laid:
    """A simulated turn laid over the measured one."""

    shift_rad: float
    difference_rms_rad: float
    simulated_turn_rad: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class AllowedConstant:
    """A constant that was not fitted, and the factor either way by which it was let be off."""

    name: str
    factor: float


@dataclass(frozen=True, slots=True)
class FitTest:
    """Whether the model leaves more over than the turns differ from each other (F test)."""

    ratio: float
    freedom: tuple[int, int]
    probability: float
    is_lacking: bool


@dataclass(frozen=True, slots=True)
class FitStudy:
    """Constants with which the simulated turn lies on the measured one.

    `criterion_gain` is by how much the Bayesian information criterion falls when all constants are
    fitted, from these alone with the rest as typed; `all_values` are those, where that is better.
    """

    values: tuple[FittedConstant, ...]
    allowed: tuple[AllowedConstant, ...]
    test: FitTest
    starts: int
    starts_agreeing: int
    criterion_gain: float
    all_values: tuple[FittedConstant, ...]
    correlation: tuple[tuple[float, ...], ...]
    bounce_frequency_hz: float | None
    bounce_damping: float | None


@dataclass(frozen=True, repr=False)
class TraceStudy(Told):
    """A trace taken apart, and the verdict. Positions are in the SI unit of `position_kind`."""

    told_as = "trace"
    told_by = "woold.dancer.trace_rows:trace_blocks"

    file: str
    rows: int
    rows_missing: int
    duration_s: float
    rate_hz: float
    position_kind: str
    turn_period_s: float
    turning_speed_rad_per_s: float
    turn_is_certain: bool
    turn_readings_s: tuple[float, ...]
    repeat_s: float
    turns_used: int
    working_time_s: float
    level: float
    swing_peak_to_peak: float
    swing_rms: float
    drift: float
    corner_orders: tuple[int, ...]
    energy: tuple[EnergyPart, ...]
    bounce: BounceFound | None
    oscillation_hz: float | None
    frequency_readings_hz: tuple[float, ...]
    hunting_hz: float | None
    lower_hits: int | None
    upper_hits: int | None
    slack_spells: int | None
    slack_time_s: float | None
    orders: tuple[float, ...]
    order_amplitudes: tuple[float, ...]
    mean_turn: tuple[float, ...]
    verdict: str
    sentence: str
    trace_findings: tuple[TraceFinding, ...]
    may_be: tuple[str, ...]
    doubts: tuple[TraceDoubt, ...]
    thresholds: dict[str, float]
    thresholds_origin: str
    film_force: FilmForce | None
    simulated: Laid | None
    fit: FitStudy | None
    notes: tuple[str, ...]
    rests_on: tuple[RestsOn, ...]
    cautions: tuple[str, ...] = DANCER_CAUTIONS
