"""Stretch on the load by marks and by mass balance, against each other and the prediction."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics.film import film_area
from woold.physics.stretch import stretch_from_mass_balance
from woold.prediction.result import Prediction
from woold.trial.compare import LEVEL, TrialInterval
from woold.trial.percent import percent
from woold.trial.ratio import student_quantile
from woold.trial.setup import TREATMENTS
from woold.trial.table import LoadTable
from woold.units import show
from woold.words import say

__all__ = [
    "Expected",
    "TreatmentStretch",
    "mass_balance_stretch",
    "mass_balance_tolerance",
    "roll_thickness",
    "treatment_stretches",
]

Floats = NDArray[np.float64]

LENGTH_TOLERANCE = 0.03
"""Error to allow in the film length of a program (placeholder, 1 to 5 %: measure one load)."""

THICKNESS_TOLERANCE = 0.05
"""Error to allow in a film's stated thickness where the case gives no range (placeholder)."""


@dataclass(frozen=True, slots=True)
class Expected:
    """A case of one load type and treatment, and its prediction."""

    case: Case
    prediction: Prediction


@dataclass(frozen=True, slots=True)
class TreatmentStretch:
    """Stretch on the load with one treatment; ratios (260 % is 3.6).

    Args:
        treatment: baseline or candidate.
        prestretch_set: what the carriage is set to; null without a case.
        predicted: stretch on the load that the case predicts.
        by_marks, by_marks_interval, marks_loads: mean by marks, its interval, loads behind it.
        by_mass, by_mass_interval, mass_loads: the same by mass balance.
        disagreement: by mass over by marks, less 1, on loads with both; null without any.
        disagreement_interval: its interval, from load to load.
        tolerance: systematic error to allow in it, from film thickness and film length.
        agree: whether the two agree within interval and tolerance; null where not both were read.
        finding: what that says, in a sentence.
    """

    treatment: str
    prestretch_set: float | None
    predicted: float | None
    by_marks: float | None
    by_marks_interval: TrialInterval | None
    marks_loads: int
    by_mass: float | None
    by_mass_interval: TrialInterval | None
    mass_loads: int
    disagreement: float | None
    disagreement_interval: TrialInterval | None
    tolerance: float
    agree: bool | None
    finding: str


def mass_balance_stretch(table: LoadTable, expected: Mapping[tuple[int, int], Expected]) -> Floats:
    """Stretch of each load by rho A0 L / M, with L the program's length at the load's turns.

    Args:
        table: the loads.
        expected: case and prediction by (load type, treatment); NaN where there is none.
    """
    stretch = np.full(table.film_mass.size, np.nan)
    for (load_type, side), each in expected.items():
        own = (
            (table.load_type == load_type)
            & (table.treatment == side)
            & np.isfinite(table.film_mass)
        )
        film = each.case.film
        turns = np.where(np.isfinite(table.turns[own]), table.turns[own], each.prediction.turns)
        length = each.prediction.film_length_m * turns / each.prediction.turns
        area = float(film_area(film.roll_width, film.thickness))
        stretch[own] = stretch_from_mass_balance(film.density, area, length, table.film_mass[own])
    return stretch


def treatment_stretches(
    table: LoadTable, expected: Mapping[tuple[int, int], Expected]
) -> tuple[TreatmentStretch, ...]:
    """Both treatments' stretches, with what a disagreement means."""
    by_mass = mass_balance_stretch(table, expected)
    return tuple(
        _treatment_stretch(
            table, side, by_mass, [e for (_, treatment), e in expected.items() if treatment == side]
        )
        for side in range(len(TREATMENTS))
    )


def _average(values: list[float]) -> float | None:
    return float(np.mean(values)) if values else None


def _mean(values: Floats, method: str) -> tuple[float | None, TrialInterval | None, int]:
    known = values[np.isfinite(values)]
    if known.size == 0:
        return None, None, 0
    mean = float(known.mean())
    if known.size == 1:
        return mean, None, 1
    half = float(known.std(ddof=1)) / math.sqrt(known.size)
    half *= student_quantile(0.5 + LEVEL / 2, known.size - 1)
    return mean, TrialInterval(mean - half, mean + half, LEVEL, method), int(known.size)


def _treatment_stretch(
    table: LoadTable, side: int, by_mass: Floats, cases: list[Expected]
) -> TreatmentStretch:
    own = table.of_treatment(side)
    marks, marks_interval, marks_loads = _mean(
        table.marks_stretch[own], say("t, from load to load")
    )
    mass, mass_interval, mass_loads = _mean(by_mass[own], say("t, from load to load"))
    logs = np.log(by_mass[own] / table.marks_stretch[own])
    log_mean, log_interval, _ = _mean(logs, say("t on the log scale, from load to load"))
    tolerance = mass_balance_tolerance([each.case for each in cases])
    disagreement = None if log_mean is None else math.expm1(log_mean)
    interval = None
    if log_interval is not None and log_interval.low is not None and log_interval.high is not None:
        interval = TrialInterval(
            math.expm1(log_interval.low), math.expm1(log_interval.high), LEVEL, log_interval.method
        )
    predicted = _average([e.prediction.stretch_on_load for e in cases])
    agree = None
    if disagreement is not None:
        certain = interval is None or not interval.holds(0.0)
        agree = not (certain and abs(disagreement) > tolerance)
    return TreatmentStretch(
        treatment=TREATMENTS[side],
        prestretch_set=float(np.mean([e.case.carriage.prestretch for e in cases]))
        if cases
        else None,
        predicted=predicted,
        by_marks=marks,
        by_marks_interval=marks_interval,
        marks_loads=marks_loads,
        by_mass=mass,
        by_mass_interval=mass_interval,
        mass_loads=mass_loads,
        disagreement=disagreement,
        disagreement_interval=interval,
        tolerance=tolerance,
        agree=agree,
        finding=_finding(agree, disagreement, marks, mass, predicted, tolerance),
    )


def mass_balance_tolerance(cases: Sequence[Case]) -> float:
    """Systematic error of the mass balance: film thickness and film length, added in squares."""
    thickness = THICKNESS_TOLERANCE
    for each in cases:
        for known in each.inputs():
            origin = known.origin
            if known.field == "film.thickness" and origin.low is not None:
                high = known.value if origin.high is None else origin.high
                thickness = (high - origin.low) / (2 * known.value)
    return math.hypot(thickness, LENGTH_TOLERANCE)


def _finding(
    agree: bool | None,
    disagreement: float | None,
    marks: float | None,
    mass: float | None,
    predicted: float | None,
    tolerance: float,
) -> str:
    if agree is None or disagreement is None:
        if marks is None and mass is None:
            return say("Neither marks nor film mass with a case were read: no stretch is known.")
        return say("Only one of marks and mass balance was read, so neither checks the other.")
    if not agree and disagreement < 0:
        return say(
            "By mass balance the film is stretched {share} less than by the marks: more film lies"
            " on the scale than the marks account for. It may be film thicker than stated, tare"
            " left on, more film length than the program says, or a ruler that reads long.",
            share=percent(-disagreement),
        )
    if not agree:
        return say(
            "By mass balance the film is stretched {share} more than by the marks: less film lies"
            " on the scale than the marks account for. It may be film thinner than stated, tails"
            " not weighed, less film length than the program says, or marks read on film that"
            " slipped or was not yet drawn.",
            share=percent(disagreement),
        )
    within = percent(tolerance)
    if predicted is None or marks is None or mass is None:
        return say("Marks and mass balance agree within {within}.", within=within)
    measured = math.sqrt(marks * mass)
    if abs(measured / predicted - 1) <= tolerance:
        return say(
            "Marks and mass balance agree within {within}, and with the prediction.", within=within
        )
    amounts = {
        "within": within,
        "measured": show(measured, "elongation"),
        "predicted": show(predicted, "elongation"),
    }
    if measured < predicted:
        return say(
            "Marks and mass balance agree within {within}, and say that the film is stretched less"
            " than predicted ({measured} against {predicted}): it may slip in the carriage, so that"
            " the set pre-stretch is not delivered, or spring back more than assumed (reload"
            " modulus).",
            **amounts,
        )
    return say(
        "Marks and mass balance agree within {within}, and say that the film is stretched more than"
        " predicted ({measured} against {predicted}): it may spring back less than assumed (reload"
        " modulus), or be pulled on by the load.",
        **amounts,
    )


def roll_thickness(case: Case, density: Floats) -> float | None:
    """Film thickness by rolls: t = (mass/length)/(density width); None where none was weighed.

    Args:
        case: gives the film's density and the roll's width.
        density: mass over length of each load's roll [kg/m]; NaN where unknown.
    """
    known = density[np.isfinite(density)]
    if known.size == 0 or known.size < density.size:
        return None
    return float(known.mean() / (case.film.density * case.film.roll_width))
