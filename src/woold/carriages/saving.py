"""Film saved by cause, at the best guess and in random draws of what is not known exactly."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

from woold.carriages.comparison import BOTH, NECK_DOWN, PRESTRETCH, DrawnRange
from woold.case.model import Case, Input
from woold.physics import outlines, pattern
from woold.physics.grip import GOVERNS
from woold.prediction.film_on_load import Lacing, lacing_of, lay_film
from woold.prediction.predict import load_outline, perimeter_below_deck, program_legs
from woold.prediction.result import Prediction
from woold.uncertainty.draws import Correlations, Unknown, draw_unknowns, unknown_of
from woold.uncertainty.spread import LAW

__all__ = [
    "COVERAGE",
    "CarriageOnLoad",
    "drawn_range",
    "drawn_savings",
    "saving_by_cause",
    "shared_unknowns",
]

Array = npt.NDArray[np.float64]
Progress = Callable[[int], None]

COVERAGE = 0.90
"""Share of the draws within each range [-]."""

_CHUNK = 10_000
_NODES = 129


class CarriageOnLoad:
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


def saving_by_cause(
    stretch_base: Array, stretch_candidate: Array, length_base: Array, length_candidate: Array
) -> dict[str, Array]:
    """Saving by cause, as shares of the base's film mass, which is proportional to L/lambda.

    Each cause's share is the mean of what it saves when it is changed first and when it is changed
    last, so the shares add up to the whole (Shapley 1953, for two players).
    """
    base, both = length_base / stretch_base, length_candidate / stretch_candidate
    only_stretch, only_width = length_base / stretch_candidate, length_candidate / stretch_base
    return {
        f"{PRESTRETCH} alone": 1.0 - only_stretch / base,
        f"{NECK_DOWN} alone": 1.0 - only_width / base,
        f"{BOTH} alone": 1.0 - both / base,
        PRESTRETCH: 0.5 * ((base - only_stretch) + (only_width - both)) / base,
        NECK_DOWN: 0.5 * ((base - only_width) + (only_stretch - both)) / base,
        BOTH: 1.0 - both / base,
    }


def shared_unknowns(
    base: Case, candidate: Case
) -> tuple[list[Unknown], tuple[dict[str, str], ...]]:
    """Inputs known within a range only, and for each case the unknown behind each of its fields."""
    unknowns: dict[str, Unknown] = {}
    names: tuple[dict[str, str], dict[str, str]] = ({}, {})
    ours, theirs = ({each.field: each for each in case.inputs()} for case in (base, candidate))
    for carriage, (mine, fields) in enumerate(((ours, theirs), (theirs, ours))):
        for field, given in mine.items():
            section, _, name = field.partition(".")
            if name not in _FIELDS_THAT_COUNT.get(section, ()):
                continue
            called = field
            if section == "carriage" and not _is_shared(given, fields.get(field)):
                called = f"{('base', 'candidate')[carriage]}.{field}"
            unknown = unknown_of(given, called)
            if unknown is not None:
                names[carriage][field] = called
                unknowns[called] = unknown
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
        "temperature",
        "softening",
        "width_loss",
        "neck_down_error",
    ),
    "program": ("force_to_load",),
    "carriage": (
        "prestretch",
        "gap",
        "contact_angle_slow",
        "contact_angle_fast",
        "friction",
        "unwind_tension",
        "slow_roller_diameter",
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


def drawn_savings(
    carriages: tuple[CarriageOnLoad, CarriageOnLoad],
    unknowns: list[Unknown],
    names: tuple[dict[str, str], ...],
    draws: int,
    seed: int,
    correlations: Correlations | None,
    progress: Progress | None,
) -> dict[str, Array]:
    """Savings by cause, and where film slips with each carriage, in every draw that it bears.

    Args:
        carriages: base and candidate.
        unknowns, names: as `shared_unknowns` gives them.
        draws: how many.
        seed: of the draws.
        correlations: of pairs of unknowns.
        progress: called with the number of draws done.
    """
    random = np.random.default_rng(seed)
    parts: list[dict[str, Array]] = []
    done = 0
    while done < draws:
        count = min(_CHUNK, draws - done)
        drawn = draw_unknowns(unknowns, count, random, correlations)
        states = [
            _laid(
                carriage.case,
                carriage.lacing,
                {field: drawn[name] for field, name in own.items()},
                count,
            )
            for carriage, own in zip(carriages, names, strict=True)
        ]
        lengths = _lengths_at(carriages, [state["width"] for state in states])
        part = saving_by_cause(states[0]["stretch"], states[1]["stretch"], *lengths)
        part |= {"base slips": states[0]["slips"], "candidate slips": states[1]["slips"]}
        if LAW in drawn:
            part["law"] = drawn[LAW]
        bears = np.maximum(states[0]["breaks"], states[1]["breaks"]) < 0.5
        parts.append({key: values[bears] for key, values in part.items()})
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
        "breaks": np.broadcast_to(laid.breaks.astype(float), count),
    }


def _lengths_at(
    carriages: tuple[CarriageOnLoad, CarriageOnLoad], widths: list[Array]
) -> list[Array]:
    """Film length at every drawn width, between lengths of the full program at evenly set widths.

    Length is smooth in the width; 129 widths leave an error below 1e-6 of it.
    """
    lengths = []
    for carriage, width in zip(carriages, widths, strict=True):
        nodes = np.unique(np.linspace(width.min(), width.max(), _NODES))
        lengths.append(np.interp(width, nodes, [carriage.length(float(node)) for node in nodes]))
    return lengths


def drawn_range(values: Array) -> DrawnRange:
    """Range that holds `COVERAGE` of the draws, and the middle one."""
    tail = 50.0 * (1.0 - COVERAGE)
    low, median, high = np.percentile(values, [tail, 50.0, 100.0 - tail])
    return DrawnRange(float(low), float(median), float(high))
