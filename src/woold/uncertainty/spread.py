"""How far a prediction's numbers may be off, given what is not known exactly of its case."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.prediction.drawn import DrawnPrediction, predict_draws
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.prediction.yearly import Estimate
from woold.uncertainty.draws import Unknown, draw_unknowns, unknown_of

__all__ = [
    "COVERAGE",
    "DRAWS",
    "LAW",
    "SHOWN",
    "Quantity",
    "Spread",
    "explained_share",
    "prediction_spread",
    "unknown_inputs",
]

COVERAGE = 0.90
"""Share of the draws within each interval [-]."""

_SECTIONS = ("load.", "film.", "carriage.", "machine.", "program.", "hold.", "plant.")
"""Sections of the case that a prediction, and its worth, rest on."""

DRAWS = 1000
"""Predictions behind an interval, unless asked otherwise."""

LAW = "film.neck_down_error"
"""The input that stands for the error of the law of neck-down."""

Quantity = Callable[[Case, Prediction | DrawnPrediction], float | None]


def _of_prediction(name: str) -> Quantity:
    return lambda _, prediction: getattr(prediction, name)


SHOWN: Mapping[str, Quantity] = MappingProxyType(
    {
        name: _of_prediction(name)
        for name in (
            "film_mass_kg",
            "film_length_m",
            "film_mass_per_year_kg",
            "loads_per_roll",
            "turns",
            "prestretch_delivered",
            "stretch_on_load",
            "film_width_on_load_m",
            "neck_down_m",
            "containment_min_n",
            "containment_later_min_n",
            "pull_plate_reading_n",
            "cycle_time_s",
        )
    }
)
"""Numbers of a prediction that are shown with an interval."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Intervals of quantities of a prediction.

    Args:
        estimates: by name; a quantity that the case does not have is left out.
        varied: inputs that were drawn over their ranges.
        draws: how many draws could be predicted.
        refused: how many could not, because their values cannot happen together.
        seed: of the draws.
        law_shares: part of each quantity's variance that is the law of neck-down and not the
            inputs, by name [-]; empty where the law was not drawn.
    """

    estimates: Mapping[str, Estimate]
    varied: tuple[str, ...]
    draws: int
    refused: int
    seed: int
    law_shares: Mapping[str, float]


def prediction_spread(
    case: Case, quantities: Mapping[str, Quantity], draws: int = DRAWS, seed: int = 1
) -> Spread:
    """The middle 90 % of each quantity when every input of which a range is known varies over it.

    Each input is PERT over its range, or normal where it says so, independent of the others.

    Args:
        case: a case that can be predicted.
        quantities: each a function of a case and its prediction.
        draws: predictions made.
        seed: of the draws.

    Raises:
        WooldError: the case itself cannot be predicted.
    """
    base = predict(case)
    middle = {name: of(case, base) for name, of in quantities.items()}
    unknowns = unknown_inputs(case, _SECTIONS)
    drawn = draw_unknowns(unknowns, draws, np.random.default_rng(seed))
    values: dict[str, list[float]] = {name: [] for name, value in middle.items() if value}
    deviates: dict[str, list[float]] = {name: [] for name in values}
    refused = 0
    predicted = predict_draws(case, drawn, draws if unknowns else 0)
    for index, (changed, prediction) in enumerate(predicted):
        if prediction is None:
            refused += 1
            continue
        found = {name: quantities[name](changed, prediction) for name in values}
        for name, value in found.items():
            if value is not None:
                values[name].append(value)
                deviates[name].append(float(drawn[LAW][index]) if LAW in drawn else 0.0)
    return Spread(
        estimates={
            name: _estimate(value, values.get(name, []))
            for name, value in middle.items()
            if value is not None
        },
        varied=tuple(each.name for each in unknowns),
        draws=draws - refused if unknowns else 0,
        refused=refused,
        seed=seed,
        law_shares={
            name: explained_share(np.array(deviates[name]), np.array(each))
            for name, each in values.items()
            if LAW in drawn and len(each) > 10
        },
    )


def explained_share(deviate: npt.NDArray[np.float64], values: npt.NDArray[np.float64]) -> float:
    """Part of the variance of drawn values that follows a smooth curve of one input [-].

    A cubic on either side of the middle, where the law's two sides meet; less what as many
    columns of chance explain.

    Args:
        deviate: draws of the input, about 0.
        values: what came of them, same shape.
    """
    spread = float(np.sum((values - values.mean()) ** 2))
    if spread <= 1e-24 * float(np.sum(values**2)):
        return 0.0
    high = np.maximum(deviate, 0.0)
    basis = np.column_stack(
        [np.ones_like(deviate), deviate, deviate**2, deviate**3, high, high**2, high**3]
    )
    fit = np.linalg.lstsq(basis, values, rcond=None)[0]
    left = float(np.sum((values - basis @ fit) ** 2))
    count = len(values)
    return float(np.clip(1.0 - left / spread * (count - 1) / (count - basis.shape[1]), 0.0, 1.0))


def unknown_inputs(
    case: Case, sections: tuple[str, ...], but: Collection[str] = ()
) -> list[Unknown]:
    """Inputs of a case that are known within a range only.

    Args:
        case: the case.
        sections: tables that count, each with its dot: "film.".
        but: fields that do not count.
    """
    return [
        unknown
        for each in case.inputs()
        if each.field.startswith(sections) and each.field not in but
        for unknown in [unknown_of(each)]
        if unknown is not None
    ]


def _estimate(value: float, draws: list[float]) -> Estimate:
    if not draws:
        return Estimate(value, value, value)
    tail = 50.0 * (1.0 - COVERAGE)
    low, high = np.percentile(draws, [tail, 100.0 - tail])
    return Estimate(value, float(low), float(high))
