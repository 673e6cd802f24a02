"""Fitting a case to what was measured: reload modulus, friction, effective gap, loss of force.

The readings of one arm, averaged by load type (and pull readings by height and age), against the
prediction of its case:

    minimise sum of [(ln measured - ln predicted)/s]^2 over the free parameters

with s the standard error of each average. What the readings do not tell is said, and not written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.case import Case
from woold.errors import InputError, WooldError
from woold.physics.film import retained_force_fraction
from woold.predict import predict
from woold.trial.ratio import student_quantile
from woold.trial.setup import ARMS, TrialSetup
from woold.trial.table import LoadTable, PullReading

__all__ = ["Calibration", "FittedParameter", "FittedReading", "calibrate"]

Floats = NDArray[np.float64]

PARAMETERS: dict[str, tuple[str, str, float, float]] = {
    "film.reload_modulus": ("stress", "film mass and marks", 50e6, 2000e6),
    "carriage.friction": ("ratio", "film mass and marks, where the film slips", 0.05, 3.0),
    "carriage.gap": ("small_length", "film width on the load", 1e-3, 1.5),
    "film.force_loss_per_decade": ("fraction", "pull readings at several ages", 0.005, 0.3),
}
"""What can be fitted: kind, what it is read from, and hard limits [SI]."""

_FLOOR = 0.003
"""No average is trusted further than this, however well its loads agree."""

_UNKNOWN_SPREAD = 0.05
"""Spread of single values, which show none of their own."""

_WEAK = 0.5
"""A relative standard error beyond this says next to nothing."""

_TIED = 0.95
"""Beyond this correlation two parameters cannot be told apart."""


@dataclass(frozen=True, slots=True)
class FittedParameter:
    """One parameter before and after.

    Args:
        field: dotted name in the case.
        kind: key of `woold.units.KINDS`.
        before, after: values, SI.
        standard_error: of the fitted value; null where nothing is known of it.
        low, high: 95 % interval, within the hard limits.
        is_identified: whether the readings tell it.
        finding: why, or why not.
    """

    field: str
    kind: str
    before: float
    after: float
    standard_error: float | None
    low: float | None
    high: float | None
    is_identified: bool
    finding: str


@dataclass(frozen=True, slots=True)
class FittedReading:
    """One average: measured, predicted before and after (SI), and its relative error."""

    what: str
    load_type: str
    readings: int
    measured: float
    relative_error: float
    before: float
    after: float
    unit: str


@dataclass(frozen=True, slots=True)
class Calibration:
    """A fit.

    Args:
        trial, arm: whose records were used.
        parameters: each that was asked for.
        readings: what they were fitted to.
        pull_scale: measured over predicted pull reading that was left free; null without pulls.
        misfit: root mean square of the residuals, in standard errors; about 1 where all is well.
        degrees_of_freedom: readings less fitted parameters.
        warnings: what limits it, each a sentence.
    """

    trial: str
    arm: str
    parameters: tuple[FittedParameter, ...]
    readings: tuple[FittedReading, ...]
    pull_scale: float | None
    misfit: float
    degrees_of_freedom: int
    warnings: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The JSON document of this calibration."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class _Reading:
    what: str
    load_type: int
    values: int
    log_mean: float
    log_error: float
    height: float = math.nan
    age: float = math.nan
    first_age: float = math.nan


_UNITS = {
    "film mass": "kg",
    "stretch by marks": "",
    "film width": "m",
    "pull reading": "N",
    "force kept": "",
}


def calibrate(
    table: LoadTable,
    setup: TrialSetup,
    arm: str,
    fields: Sequence[str] = tuple(PARAMETERS),
) -> Calibration:
    """Fit parameters of an arm's cases to its records.

    Args:
        table: the loads.
        setup: the trial; every load type of the arm needs a case.
        arm: baseline or candidate.
        fields: what to fit.

    Raises:
        InputError: an unknown field, no case, or nothing to fit to.
    """
    unknown = [each for each in fields if each not in PARAMETERS]
    if unknown or not fields:
        raise InputError.one("--fit", ", ".join(unknown) or "nothing", ", ".join(PARAMETERS), "")
    side = ARMS.index(arm)
    cases = {
        code: case
        for code, each in enumerate(setup.trial.load_types)
        if (case := setup.case(each.name, arm)) is not None
    }
    readings = _with_pooled_errors(_readings(table, side, cases))
    if not readings:
        raise InputError.one(
            arm,
            "no case, or nothing measured on its load types",
            "a case file for each load type, and film mass, marks, widths or pulls",
            "Name the case in the trial file; import a sheet.",
        )
    model = _Model(cases, readings, tuple(fields))
    return _fitted(model, table, setup, arm)


# --- What was measured -----------------------------------------------------------------------


def _readings(table: LoadTable, side: int, cases: dict[int, Case]) -> list[_Reading]:
    found: list[_Reading] = []
    for code in cases:
        own = table.in_arm(side) & (table.load_type == code)
        for what, values in (
            ("film mass", table.film_mass),
            ("stretch by marks", table.marks_stretch),
            ("film width", table.film_width),
        ):
            found += _averaged(what, code, values[own])
        pulls = [each for each in table.pulls if own[each.load] and math.isfinite(each.age)]
        found += _first_pulls(code, pulls)
        found += _kept_force(code, pulls)
    return found


def _first_pulls(code: int, pulls: Sequence[PullReading]) -> list[_Reading]:
    """Pull readings at each load's youngest age, averaged by height."""
    found: list[_Reading] = []
    by_load = _by_load_and_age(pulls)
    for height in sorted({round(each.height, 2) for each in pulls}):
        means, ages = [], []
        for ages_of_load in by_load.values():
            first = [
                each for each in ages_of_load[min(ages_of_load)] if round(each.height, 2) == height
            ]
            if first:
                means.append(float(np.mean([each.force for each in first])))
                ages.append(math.log(max(float(np.mean([each.age for each in first])), 1.0)))
        if means:
            age = math.exp(float(np.mean(ages)))
            found += _averaged("pull reading", code, np.array(means), height=height, age=age)
    return found


def _kept_force(code: int, pulls: Sequence[PullReading]) -> list[_Reading]:
    """Later pull readings over the first ones of the same load, at the same places."""
    ratios: dict[int, list[tuple[float, float, float]]] = {}
    for ages_of_load in _by_load_and_age(pulls).values():
        first, *later = sorted(ages_of_load)
        before = {(each.height, each.side): each for each in ages_of_load[first]}
        for age_class in later:
            pairs = [
                (before[each.height, each.side], each)
                for each in ages_of_load[age_class]
                if (each.height, each.side) in before
            ]
            if pairs:
                ratio = math.exp(float(np.mean([math.log(b.force / a.force) for a, b in pairs])))
                ratios.setdefault(age_class, []).append(
                    (
                        ratio,
                        math.log(max(float(np.mean([a.age for a, _ in pairs])), 1.0)),
                        math.log(max(float(np.mean([b.age for _, b in pairs])), 1.0)),
                    )
                )
    found: list[_Reading] = []
    for _, rows in sorted(ratios.items()):
        first_age, age = (math.exp(float(np.mean([row[n] for row in rows]))) for n in (1, 2))
        values = np.array([row[0] for row in rows])
        found += _averaged("force kept", code, values, age=age, first_age=first_age)
    return found


def _by_load_and_age(
    pulls: Sequence[PullReading],
) -> dict[int, dict[int, list[PullReading]]]:
    """Readings by load and age; ages that differ by less than a fifth of a decade are one."""
    grouped: dict[int, dict[int, list[PullReading]]] = {}
    for each in pulls:
        age_class = round(5 * math.log10(max(each.age, 1.0)))
        grouped.setdefault(each.load, {}).setdefault(age_class, []).append(each)
    return grouped


def _averaged(what: str, code: int, values: Floats, **place: float) -> list[_Reading]:
    logs = np.log(values[np.isfinite(values) & (values > 0)])
    if logs.size == 0:
        return []
    spread = float(logs.std(ddof=1)) if logs.size > 1 else math.nan
    return [_Reading(what, code, int(logs.size), float(logs.mean()), spread, **place)]


def _with_pooled_errors(readings: list[_Reading]) -> list[_Reading]:
    """Readings with standard errors from the spread pooled over all averages of one kind.

    Averages of three or four loads know their own spread too badly to weigh themselves.
    """
    pooled = {}
    for what in {each.what for each in readings}:
        known = [each for each in readings if each.what == what and each.values > 1]
        freedom = sum(each.values - 1 for each in known)
        square = sum((each.values - 1) * each.log_error**2 for each in known)
        pooled[what] = math.sqrt(square / freedom) if freedom else _UNKNOWN_SPREAD
    return [
        replace(each, log_error=max(pooled[each.what] / math.sqrt(each.values), _FLOOR))
        for each in readings
    ]


# --- What would be predicted --------------------------------------------------------------------


class _Model:
    """Predicted logarithm of every reading at given parameters (logarithms too)."""

    def __init__(
        self, cases: dict[int, Case], readings: list[_Reading], fields: tuple[str, ...]
    ) -> None:
        self.cases, self.readings, self.fields = cases, readings, fields
        first = next(iter(cases.values()))
        values = {each.field: each.value for each in first.inputs()}
        self.start = np.array([values.get(name, math.nan) for name in fields])
        if not np.isfinite(self.start).all():
            missing = [name for name in fields if name not in values]
            raise InputError.one(
                "--fit", ", ".join(missing), "fields that the case has a value for", "Drop it."
            )
        self.turns = {code: predict(case).turns for code, case in cases.items()}
        limits = [PARAMETERS[name][2:] for name in fields]
        self.low = np.log([limit[0] for limit in limits])
        self.high = np.log([limit[1] for limit in limits])

    def predicted(self, log_values: Floats) -> Floats:
        """ln of every reading; pull readings without their common scale."""
        changes = dict(zip(self.fields, np.exp(log_values).tolist(), strict=True))
        result = np.empty(len(self.readings))
        for code, case in self.cases.items():
            here = case.with_values(changes)
            prediction = predict(here)
            pulls: dict[float, float] = {}
            for index, each in enumerate(self.readings):
                if each.load_type != code:
                    continue
                if each.what == "film mass":
                    value = prediction.film_mass_kg
                elif each.what == "stretch by marks":
                    value = prediction.stretch_on_load
                elif each.what == "film width":
                    value = prediction.film_width_on_load_m
                elif each.what == "force kept":
                    loss = here.film.force_loss_per_decade
                    kept = retained_force_fraction(np.array([each.age, each.first_age]), loss)
                    value = float(np.divide(*np.maximum(kept, 1e-6)))
                else:
                    if each.height not in pulls:
                        at_height = here.with_values({"hold.pull_height": each.height})
                        pulls[each.height] = predict(at_height).pull_plate_reading_n
                    kept = retained_force_fraction(each.age, here.film.force_loss_per_decade)
                    value = pulls[each.height] * max(float(kept), 1e-6)
                result[index] = math.log(value)
        return result

    def scale(self, predicted: Floats) -> float:
        """ln of the common factor of the pull readings that fits best."""
        pulls = np.array([each.what == "pull reading" for each in self.readings])
        if not pulls.any():
            return 0.0
        weights = 1 / self.errors[pulls] ** 2
        return float(np.sum(weights * (self.measured - predicted)[pulls]) / weights.sum())

    def residuals(self, log_values: Floats) -> Floats:
        """(measured - predicted)/error of every reading."""
        try:
            predicted = self.predicted(log_values)
        except WooldError:
            return np.full(len(self.readings), 1e3)
        pulls = np.array([each.what == "pull reading" for each in self.readings])
        return np.asarray(
            (self.measured - predicted - np.where(pulls, self.scale(predicted), 0.0)) / self.errors
        )

    @property
    def measured(self) -> Floats:
        """ln of every reading."""
        return np.array([each.log_mean for each in self.readings])

    @property
    def errors(self) -> Floats:
        """Standard error of each."""
        return np.array([each.log_error for each in self.readings])


# --- The fit -----------------------------------------------------------------------------------


def _fitted(model: _Model, table: LoadTable, setup: TrialSetup, arm: str) -> Calibration:
    from scipy.optimize import least_squares

    start = np.clip(np.log(model.start), model.low + 1e-6, model.high - 1e-6)
    # Differences of 1e-4 stand well above the rounding of a prediction and below its curvature.
    told = _told(model, start)
    free = [index for index, known in enumerate(told) if known]
    best, covariance = start.copy(), np.zeros((0, 0))
    has_pulls = any(each.what == "pull reading" for each in model.readings)
    freedom = len(model.readings) - len(free) - has_pulls
    misfit = float(np.sqrt(np.mean(model.residuals(start) ** 2)))
    if free:

        def of_free(values: Floats) -> Floats:
            full = start.copy()
            full[free] = values
            return model.residuals(full)

        found = least_squares(
            of_free,
            start[free],
            bounds=(model.low[free], model.high[free]),
            diff_step=1e-4,
            x_scale=1.0,
            xtol=1e-10,
            ftol=1e-10,
        )
        best[free] = found.x
        square = float(np.sum(found.fun**2))
        misfit = math.sqrt(square / max(freedom, 1)) if freedom > 0 else 0.0
        covariance = np.linalg.pinv(found.jac.T @ found.jac) * max(misfit, 1.0) ** 2
    before, after = model.predicted(start), model.predicted(best)
    parameters, warnings = _parameters(model, start, best, free, covariance, freedom)
    if misfit > 3:
        warnings.append(
            f"The readings lie {misfit:.1f} standard errors from the fit: the model or a reading is"
            " off by more than chance."
        )
    if freedom <= 0:
        warnings.append("As many parameters as readings: nothing is left to check the fit with.")
    names = table.type_names
    pull_shift = (model.scale(before), model.scale(after))
    return Calibration(
        trial=setup.trial.key,
        arm=arm,
        parameters=tuple(parameters),
        readings=tuple(
            FittedReading(
                what=_described(each),
                load_type=names[each.load_type],
                readings=each.values,
                measured=math.exp(each.log_mean),
                relative_error=each.log_error,
                before=math.exp(before[index]),
                after=math.exp(
                    after[index] + (pull_shift[1] if each.what == "pull reading" else 0.0)
                ),
                unit=_UNITS[each.what],
            )
            for index, each in enumerate(model.readings)
        ),
        pull_scale=math.exp(pull_shift[1]) if has_pulls else None,
        misfit=misfit,
        degrees_of_freedom=freedom,
        warnings=tuple(warnings),
    )


def _described(reading: _Reading) -> str:
    if reading.what == "pull reading":
        return f"pull reading at {reading.height:.2f} m, {reading.age / 60:.0f} min"
    if reading.what == "force kept":
        return f"force kept from {reading.first_age / 60:.0f} to {reading.age / 60:.0f} min"
    return reading.what


def _told(model: _Model, at: Floats) -> list[bool]:
    """Which parameters move any reading by a noticeable part of its error."""
    told = []
    for index in range(at.size):
        most = 0.0
        # The response can be one-sided: friction acts only below the grip limit.
        for step in (-0.3, 0.3):
            moved = at.copy()
            moved[index] = np.clip(at[index] + step, model.low[index], model.high[index])
            change = model.residuals(moved) - model.residuals(at)
            most = max(most, float(np.abs(change).max()))
        told.append(most > 0.05)
    return told


def _parameters(
    model: _Model,
    start: Floats,
    best: Floats,
    free: list[int],
    covariance: Floats,
    freedom: int,
) -> tuple[list[FittedParameter], list[str]]:
    warnings: list[str] = []
    errors = np.sqrt(np.clip(np.diag(covariance), 0, None)) if free else np.zeros(0)
    quantile = student_quantile(0.975, max(freedom, 1))
    ties = _ties(model.fields, free, covariance, errors)
    parameters = []
    for index, name in enumerate(model.fields):
        kind, source, low_limit, high_limit = PARAMETERS[name]
        before, after = math.exp(start[index]), math.exp(best[index])
        if index not in free:
            finding = f"No reading depends on it here; it is told by {source}."
            parameters.append(
                FittedParameter(name, kind, before, before, None, None, None, False, finding)
            )
            continue
        error = float(errors[free.index(index)])
        low = max(after * math.exp(-min(quantile * error, 50)), low_limit)
        high = min(after * math.exp(min(quantile * error, 50)), high_limit)
        at_limit = min(best[index] - model.low[index], model.high[index] - best[index]) < 1e-3
        identified, finding = True, f"Told by {source}."
        if error == 0 or error > _WEAK:
            identified = False
            finding = f"The readings hardly tell it; it is told by {source}."
        elif at_limit:
            identified = False
            finding = "The fit ran to the limit of what can be: a reading or another value is off."
        elif index in ties:
            identified = False
            finding = f"It cannot be told apart from {ties[index]} with these readings."
        parameters.append(
            FittedParameter(
                name, kind, before, after, after * error, low, high, identified, finding
            )
        )
        if not identified:
            warnings.append(f"{name}: {finding}")
    return parameters, warnings


def _ties(
    fields: tuple[str, ...], free: list[int], covariance: Floats, errors: Floats
) -> dict[int, str]:
    ties: dict[int, str] = {}
    for row, first in enumerate(free):
        for column, second in enumerate(free):
            product = errors[row] * errors[column]
            if row != column and product > 0 and abs(covariance[row, column]) > _TIED * product:
                ties[first] = fields[second]
    return ties
