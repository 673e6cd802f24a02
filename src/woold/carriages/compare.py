"""Two carriages on one load: film, turns and time, the saving by cause, and how sure it is.

The base's load, film, machine and program are asked of both; only the carriage differs. Force to
load and overlap stay the same, so the film of each turn holds as much and lies over as many others:
the containment is the same, and a wider film needs fewer turns for it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from woold.case.model import Case, Input
from woold.errors import InputError, WooldError
from woold.physics import outlines, pattern
from woold.physics.grip import GOVERNS
from woold.physics.numeric import bracketed_root
from woold.prediction.film_on_load import Lacing, lacing_of, lay_film
from woold.prediction.predict import (
    load_outline,
    perimeter_below_deck,
    predict,
    program_legs,
    rests_on,
)
from woold.prediction.result import CAUTIONS, Finding, Prediction, RestsOn
from woold.uncertainty.draws import Correlations, Unknown, draw_unknowns
from woold.words import say

__all__ = [
    "CarriageArm",
    "Cause",
    "Comparison",
    "Interval",
    "Spending",
    "at_same_overlap",
    "compare_carriages",
]

Array = npt.NDArray[np.float64]
Progress = Callable[[int], None]

COVERAGE = 0.90
"""Share of the draws within each interval [-]."""

_CHUNK = 10_000
_NODES = 129


@dataclass(frozen=True, slots=True)
class CarriageArm:
    """What one carriage makes of the load."""

    title: str
    prestretch_geared: float
    prestretch_delivered: float
    prestretch_governed_by: str
    grip_margin_slow: float
    grip_margin_fast: float
    gap_m: float
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
class Interval:
    """Range that holds 90 % of the draws, and the middle one."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class Cause:
    """What one cause saves, as shares of the base's film.

    Args:
        cause: "delivered pre-stretch", "neck-down" or "both".
        alone: if only it were changed.
        share: its part of the whole saving; the two parts add up to it.
        interval: of that part.
    """

    cause: str
    alone: float
    share: float
    interval: Interval


@dataclass(frozen=True, slots=True)
class Spending:
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
class Comparison:
    """Two carriages on one load, all in SI; savings are shares of the base's film mass."""

    base: CarriageArm
    candidate: CarriageArm
    saving: float
    saving_interval: Interval
    candidate_uses_less_share: float
    causes: tuple[Cause, ...]
    spending: Spending
    currency: str
    draws: int
    seed: int
    varied: tuple[str, ...]
    slips_share_base: float
    slips_share_candidate: float
    rests_on: tuple[RestsOn, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS

    def to_json(self) -> dict[str, Any]:
        """The JSON document of this comparison."""
        return asdict(self)


def at_same_overlap(case: Case, base: Prediction) -> Case:
    """The case with the rise and fall at which its film overlaps as the base's does."""
    width = predict(case).film_width_on_load_m
    down = base.overlap_up if base.overlap_down is None else base.overlap_down
    return case.with_values(
        {
            "program.overlap": None,
            "program.rise_per_turn": width * (1.0 - base.overlap_up),
            "program.fall_per_turn": width * (1.0 - down),
        }
    )


def compare_carriages(
    base: Case,
    candidate: Case,
    draws: int = 10_000,
    seed: int = 1,
    correlations: Correlations | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Film, turns and time of two carriages on the base's load, and where the saving comes from.

    Args:
        base: the case as it is.
        candidate: a case of which the carriage is taken, and nothing else.
        draws: random draws of the inputs that are known within a range only.
        seed: of the draws.
        correlations: of pairs of those inputs; fields of the two carriages begin with "base." and
            "candidate.". An input of the film, and a placeholder that stands in both carriages
            with one value and one range, is one unknown and counts alike for both.
        progress: called with the number of draws done.

    Raises:
        WooldError: a case that cannot be predicted, or correlations that cannot be.
    """
    if not 100 <= draws <= 10_000_000:
        raise InputError.one("--draws", f"{draws}", say("100 to 10,000,000"))
    before = predict(base)
    swapped = base.with_section_of("carriage", candidate)
    other = at_same_overlap(swapped, before)
    after = predict(other)
    arms = (_Arm(base, before, before), _Arm(other, after, before))
    unknowns, names = _unknowns(base, other)
    shares = _draw_shares(arms, unknowns, names, draws, seed, correlations, progress)
    saved = _shapley(
        *(np.asarray([value]) for value in (before.stretch_on_load, after.stretch_on_load)),
        *(np.asarray([value]) for value in _lengths(arms)),
    )
    return Comparison(
        base=_arm_row(before, base.title),
        candidate=_arm_row(after, candidate.title),
        saving=float(saved["both"][0]),
        saving_interval=_interval(shares["both"]),
        candidate_uses_less_share=float(np.mean(shares["both"] > 0.0)),
        causes=tuple(
            Cause(
                cause,
                float(saved[f"{cause} alone"][0]),
                float(saved[cause][0]),
                _interval(shares[cause]),
            )
            for cause in _CAUSES
        ),
        spending=_spending(other, before, after),
        currency=base.currency,
        draws=draws,
        seed=seed,
        varied=tuple(each.name for each in unknowns),
        slips_share_base=float(np.mean(shares["base slips"])),
        slips_share_candidate=float(np.mean(shares["candidate slips"])),
        rests_on=_merged(rests_on(base), rests_on(other)),
        findings=_findings(base, candidate, before, after),
    )


_CAUSES = ("delivered pre-stretch", "neck-down", "both")


class _Arm:
    """One carriage with what its film length depends on."""

    def __init__(self, case: Case, prediction: Prediction, base: Prediction) -> None:
        self.case, self.lacing, self.prediction = case, lacing_of(case), prediction
        self._overlaps = (base.overlap_up, base.overlap_down)
        outline = load_outline(case)
        self._perimeter = outlines.perimeter(outline)
        self._below = perimeter_below_deck(case, outline)

    def length(self, width: float) -> float:
        """Film length on the load with film of a width at the base's overlap [m]."""
        up, down = self._overlaps
        case = self.case.with_values(
            {
                "program.overlap": None,
                "program.rise_per_turn": width * (1.0 - up),
                "program.fall_per_turn": width * (1.0 - (up if down is None else down)),
            }
        )
        legs = program_legs(case, width)
        tails = case.program.start_tail + case.program.end_tail
        return float(pattern.film_length(legs, self._perimeter, self._below).sum()) + tails


def _lengths(arms: tuple[_Arm, _Arm]) -> tuple[float, float]:
    base, candidate = arms
    return base.prediction.film_length_m, candidate.prediction.film_length_m


def _shapley(
    stretch_base: Array, stretch_candidate: Array, length_base: Array, length_candidate: Array
) -> dict[str, Array]:
    """Saving by cause, as shares of the base's film mass, which is proportional to L/lambda.

    Each cause's share is the mean of what it saves when it is changed first and when it is changed
    last, so the shares add up to the whole (Shapley 1953, for two players).
    """
    base, both = length_base / stretch_base, length_candidate / stretch_candidate
    only_stretch, only_width = length_base / stretch_candidate, length_candidate / stretch_base
    return {
        "delivered pre-stretch alone": 1.0 - only_stretch / base,
        "neck-down alone": 1.0 - only_width / base,
        "both alone": 1.0 - both / base,
        "delivered pre-stretch": 0.5 * ((base - only_stretch) + (only_width - both)) / base,
        "neck-down": 0.5 * ((base - only_width) + (only_stretch - both)) / base,
        "both": 1.0 - both / base,
    }


def _unknowns(base: Case, candidate: Case) -> tuple[list[Unknown], tuple[dict[str, str], ...]]:
    """Inputs known within a range only, and for each arm the unknown behind each of its fields."""
    unknowns: dict[str, Unknown] = {}
    names: tuple[dict[str, str], dict[str, str]] = ({}, {})
    ours, theirs = ({each.field: each for each in case.inputs()} for case in (base, candidate))
    for arm, (mine, fields) in enumerate(((ours, theirs), (theirs, ours))):
        for field, given in mine.items():
            low, high = given.origin.low, given.origin.high
            section, _, name = field.partition(".")
            if (
                name not in _FIELDS_THAT_COUNT.get(section, ())
                or low is None
                or high is None
                or not low < high
            ):
                continue
            if section == "carriage" and not _is_shared(given, fields.get(field)):
                unknown = f"{('base', 'candidate')[arm]}.{field}"
            else:
                unknown = field
            names[arm][field] = unknown
            unknowns[unknown] = Unknown(unknown, given.value, low, high)
    return list(unknowns.values()), names


_FIELDS_THAT_COUNT = {
    "film": (
        "roll_width",
        "thickness",
        "yield_stress",
        "hardening_modulus",
        "extensibility",
        "elastic_modulus",
        "reload_modulus",
    ),
    "program": ("force_to_load",),
    "carriage": (
        "prestretch",
        "gap",
        "contact_angle_slow",
        "contact_angle_fast",
        "friction",
        "unwind_tension",
        "nip_force_slow",
        "nip_force_fast",
        "film_width_on_load",
        "neck_down",
    ),
}


def _is_shared(mine: Input, other: Input | None) -> bool:
    """One unknown for both: a placeholder that stands in both with one value and one range."""
    return (
        other is not None
        and mine.origin.is_placeholder
        and other.origin.is_placeholder
        and (mine.value, mine.origin.low, mine.origin.high)
        == (other.value, other.origin.low, other.origin.high)
    )


def _draw_shares(
    arms: tuple[_Arm, _Arm],
    unknowns: list[Unknown],
    names: tuple[dict[str, str], ...],
    draws: int,
    seed: int,
    correlations: Correlations | None,
    progress: Progress | None,
) -> dict[str, Array]:
    """Savings by cause, and where each arm slips, in every draw."""
    random = np.random.default_rng(seed)
    parts: list[dict[str, Array]] = []
    done = 0
    while done < draws:
        count = min(_CHUNK, draws - done)
        drawn = draw_unknowns(unknowns, count, random, correlations)
        states = [
            _laid(arm.case, arm.lacing, {field: drawn[name] for field, name in own.items()}, count)
            for arm, own in zip(arms, names, strict=True)
        ]
        lengths = _lengths_at(arms, [state["width"] for state in states])
        part = _shapley(states[0]["stretch"], states[1]["stretch"], *lengths)
        parts.append(
            part | {"base slips": states[0]["slips"], "candidate slips": states[1]["slips"]}
        )
        done += count
        if progress is not None:
            progress(done)
    return {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}


def _laid(case: Case, lacing: Lacing, draws: Mapping[str, Array], count: int) -> dict[str, Array]:
    laid = lay_film(case, lacing, draws)
    slips = laid.delivered.governs != GOVERNS.index("gears")
    return {
        "stretch": np.broadcast_to(laid.stretch, count),
        "width": np.broadcast_to(laid.width, count),
        "slips": np.broadcast_to(slips.astype(float), count),
    }


def _lengths_at(arms: tuple[_Arm, _Arm], widths: list[Array]) -> list[Array]:
    """Film length at every drawn width, between lengths of the full program at evenly set widths.

    Length is smooth in the width; 129 widths leave an error below 1e-6 of it.
    """
    lengths = []
    for arm, width in zip(arms, widths, strict=True):
        nodes = np.unique(np.linspace(width.min(), width.max(), _NODES))
        lengths.append(np.interp(width, nodes, [arm.length(float(node)) for node in nodes]))
    return lengths


def _interval(values: Array) -> Interval:
    tail = 50.0 * (1.0 - COVERAGE)
    low, median, high = np.percentile(values, [tail, 50.0, 100.0 - tail])
    return Interval(float(low), float(median), float(high))


def _spending(candidate: Case, before: Prediction, after: Prediction) -> Spending:
    saved = before.film_mass_kg - after.film_mass_kg
    loads = before.film_mass_per_year_kg / before.film_mass_kg
    price = candidate.film.price
    per_turn = after.film_mass_kg / after.film_length_m * _perimeter(candidate)
    overlap = _overlap_for_mass(candidate, before, after)
    richer = None if overlap is None else predict(_with_overlap(candidate, overlap))
    return Spending(
        film_saved_kg=saved,
        film_saved_per_year_kg=saved * loads,
        cost_saved_per_year=None if price is None else price.amount * saved * loads,
        extra_turns=saved / per_turn,
        overlap_at_equal_film=overlap,
        layers_mean_at_equal_film=None if richer is None else richer.layers_mean,
        containment_at_equal_film_n=None if richer is None else richer.containment_min_n,
    )


def _perimeter(case: Case) -> float:
    return outlines.perimeter(load_outline(case))


def _with_overlap(case: Case, overlap: float) -> Case:
    return case.with_values(
        {
            "program.overlap": overlap,
            "program.rise_per_turn": None,
            "program.fall_per_turn": None,
        }
    )


def _overlap_for_mass(case: Case, before: Prediction, after: Prediction) -> float | None:
    """Overlap, the same up and down, at which the candidate uses as much film as the base."""

    def excess(overlap: float) -> float:
        return predict(_with_overlap(case, overlap)).film_mass_kg - before.film_mass_kg

    low, high = min(after.overlap_up, 0.0) - 0.5, 0.98
    try:
        if not excess(low) < 0.0 < excess(high):
            return None
        return float(bracketed_root(lambda overlap: excess(float(overlap)), low, high, 40))
    except WooldError:
        return None


def _arm_row(p: Prediction, title: str) -> CarriageArm:
    names = (name for name in CarriageArm.__dataclass_fields__ if name != "title")
    return CarriageArm(title=title, **{name: getattr(p, name) for name in names})


def _merged(*lists: tuple[RestsOn, ...]) -> tuple[RestsOn, ...]:
    merged = {(each.field, each.value): each for rows in lists for each in rows}
    return tuple(merged.values())


def _findings(
    base: Case, candidate: Case, before: Prediction, after: Prediction
) -> tuple[Finding, ...]:
    found = [
        Finding(
            "section_not_compared",
            name,
            say(
                "The two cases differ in [{name}]. The base's is asked of both; only the"
                " carriage is the candidate's.",
                name=name,
            ),
        )
        for name in ("load", "film", "machine", "program", "hold", "plant")
        if getattr(base, name) != getattr(candidate, name)
    ]
    if after.containment_min_n < before.containment_min_n * (1.0 - 1e-6):
        found.append(
            Finding(
                "containment_differs",
                "program",
                say(
                    "At the same overlap the least containment force is a little lower with"
                    " the candidate: its turns meet at other places of the load. Add a turn"
                    " there."
                ),
            )
        )
    seen = set()
    for arm, prediction in (("base", before), ("candidate", after)):
        for each in prediction.findings:
            if (each.code, each.message) not in seen:
                seen.add((each.code, each.message))
                found.append(Finding(each.code, f"{arm}.{each.field}", each.message))
    return tuple(found)
