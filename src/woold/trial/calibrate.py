"""Fitting a case to what was measured: reload modulus, friction, loss of width and of force.

Where it is asked for, how far a load gives way is fitted as well.

The readings of one treatment, averaged by load type (and pull readings by height and age), against
the prediction of its case:

    minimise sum of [(ln measured - ln predicted)/s]^2 over the free parameters

with s the standard error of each average. What the readings do not tell is said, and not written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.rows.document import JsonDocument
from woold.trial.fit_checks import (
    MassError,
    QuantityCheck,
    check_findings,
    dancer_findings,
    quantity_checks,
    shared_mass_error,
)
from woold.trial.fit_model import PARAMETERS, UNASKED, FitModel
from woold.trial.fit_readings import FittedReading, fitted_reading
from woold.trial.predictable import nothing_measured, predictable_averages
from woold.trial.ratio import student_quantile
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.stretches import LENGTH_TOLERANCE, mass_balance_tolerance, roll_thickness
from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["PARAMETERS", "UNASKED", "Calibration", "FittedParameter", "FittedReading", "calibrate"]

Floats = NDArray[np.float64]

_WEAK = 0.5
"""A relative standard error beyond this says next to nothing."""

_TIED = 0.98
"""Beyond this correlation two parameters cannot be told apart."""

_TO_ENDS = math.sqrt(7.0) / 1.96
"""Half a PERT's range over half a 95 % interval of a normal of the same standard deviation."""

_FAR_OFF = 3.0
"""A misfit beyond this many standard errors is more than chance."""


@dataclass(frozen=True, slots=True)
class FittedParameter:
    """One parameter before and after.

    Args:
        field: dotted name in the case.
        kind: key of `woold.units.KINDS`.
        before, after: values, SI.
        standard_error: of the fitted value; null where nothing is known of it.
        low, high: 95 % interval of the value, within the hard limits.
        least, most: ends of a PERT distribution of the same spread, as a case states ranges.
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
    least: float | None
    most: float | None
    is_identified: bool
    finding: str


@dataclass(frozen=True, slots=True)
class Calibration(JsonDocument):
    """A fit.

    Args:
        trial, treatment: whose records were used.
        parameters: each that was asked for.
        readings: what they were fitted to.
        pull_scale: measured over predicted pull reading that was left free; null without pulls.
        mass_error: error that all film masses share; null without film masses.
        checks: each kind of reading against the fit.
        misfit: root mean square of the residuals, in standard errors; about 1 where all is well.
        degrees_of_freedom: readings less fitted parameters.
        findings: what limits it, each a sentence.
    """

    told_as = "calibration"

    trial: str
    treatment: str
    parameters: tuple[FittedParameter, ...]
    readings: tuple[FittedReading, ...]
    pull_scale: float | None
    mass_error: MassError | None
    checks: tuple[QuantityCheck, ...]
    misfit: float
    degrees_of_freedom: int
    findings: tuple[str, ...]


def calibrate(
    table: LoadTable,
    setup: TrialSetup,
    treatment: str,
    fields: Sequence[str] = UNASKED,
) -> Calibration:
    """Fit parameters of a treatment's cases to its records.

    Args:
        table: the loads.
        setup: the trial; every load type of the treatment needs a case.
        treatment: baseline or candidate.
        fields: what to fit.

    Raises:
        InputError: an unknown field, no case, or nothing to fit to.
    """
    unknown = [each for each in fields if each not in PARAMETERS]
    if unknown or not fields:
        raise InputError.one(
            "--fit",
            ", ".join(unknown) or say("nothing"),
            ", ".join(PARAMETERS),
            say("Write one or more of these names."),
        )
    code = TREATMENTS.index(treatment)
    cases, readings = predictable_averages(table, setup, treatment)
    if not readings:
        raise nothing_measured(treatment)
    own = table.of_treatment(code) & np.isfinite(table.film_mass)
    thickness = roll_thickness(next(iter(cases.values())), table.roll_density[own])
    if thickness is None:
        tolerance = mass_balance_tolerance(list(cases.values()))
    else:
        # The rolls say how thick the film is; what is left is the film length.
        cases = {n: each.with_values({"film.thickness": thickness}) for n, each in cases.items()}
        tolerance = LENGTH_TOLERANCE
    model = FitModel(cases, readings, tuple(fields), tolerance)
    return _fitted(model, table, setup, treatment, thickness)


def _fitted(
    model: FitModel, table: LoadTable, setup: TrialSetup, treatment: str, thickness: float | None
) -> Calibration:
    start = np.clip(np.log(model.start), model.low + 1e-6, model.high - 1e-6)
    fit, held, held_for = _settled(model, start)
    before, after = model.predicted(start), model.predicted(fit.values)
    parameters = tuple(
        _parameter(model, start, fit, (held, held_for), index) for index in range(start.size)
    )
    findings = [
        f"{each.field}: {each.finding}"
        for index, each in enumerate(parameters)
        if index in fit.free and not each.is_identified
    ]
    if fit.misfit > _FAR_OFF:
        findings.append(
            say(
                "The readings lie {misfit} standard errors from the fit: the model or a reading is"
                " off by more than chance.",
                misfit=f"{fit.misfit:.1f}",
            )
        )
    if fit.freedom <= 0:
        findings.append(
            say("As many parameters as readings: nothing is left to check the fit with.")
        )
    fitted = after + model.shifts(after)
    checks = quantity_checks(model, fitted)
    mass_error = shared_mass_error(model, fit.free, fit.covariance, fit.values, thickness)
    findings += check_findings(checks, mass_error)
    findings += dancer_findings(table, TREATMENTS.index(treatment), model.cases)
    return Calibration(
        trial=setup.trial.key,
        treatment=treatment,
        parameters=parameters,
        readings=tuple(
            fitted_reading(each, table, (float(before[index]), float(fitted[index])), fit.misfit)
            for index, each in enumerate(model.readings)
        ),
        pull_scale=math.exp(model.scale(after)) if model.has_pulls else None,
        mass_error=mass_error,
        checks=checks,
        misfit=fit.misfit,
        degrees_of_freedom=fit.freedom,
        findings=tuple(findings),
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """Parameters (logarithms) that fit best, and how far the free ones can be trusted."""

    values: Floats
    free: tuple[int, ...]
    errors: Floats
    correlation: Floats
    covariance: Floats
    misfit: float
    freedom: int

    def error(self, index: int) -> float:
        """Relative standard error of a free parameter."""
        return float(self.errors[self.free.index(index)])

    def tied_to(self, index: int) -> int | None:
        """The free parameter that this one cannot be told apart from."""
        row = np.abs(self.correlation[self.free.index(index)]).copy()
        row[self.free.index(index)] = 0.0
        most = int(row.argmax())
        return self.free[most] if row[most] > _TIED else None


def _fit(model: FitModel, start: Floats, free: tuple[int, ...]) -> _Fit:
    from scipy.optimize import least_squares

    freedom = len(model.readings) - len(free) - model.has_pulls
    if not free:
        misfit = float(np.sqrt(np.mean(model.residuals(start) ** 2)))
        return _Fit(start, free, np.zeros(0), np.zeros((0, 0)), np.zeros((0, 0)), misfit, freedom)
    picked = list(free)

    def of_free(values: Floats) -> Floats:
        full = start.copy()
        full[picked] = values
        return model.residuals(full)

    found = least_squares(
        of_free,
        np.clip(model.probed(start)[picked], model.low[picked] + 1e-9, model.high[picked] - 1e-9),
        bounds=(model.low[picked], model.high[picked]),
        # Well above the rounding of a prediction, well below its curvature.
        diff_step=1e-4,
        xtol=1e-10,
        ftol=1e-10,
    )
    values = start.copy()
    values[picked] = found.x
    misfit = math.sqrt(float(np.sum(found.fun**2)) / freedom) if freedom > 0 else 0.0
    # A direction that no reading sees gets an immense error, and not, as in a pseudo-inverse, none.
    _, sizes, directions = np.linalg.svd(found.jac, full_matrices=True)
    seen = np.zeros(len(free))
    seen[: sizes.size] = sizes
    seen = np.maximum(seen, 1e-6 * max(float(seen.max()), 1e-6))
    covariance = (directions.T / seen**2) @ directions * max(misfit, 1.0) ** 2
    errors = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(errors, errors)
    return _Fit(values, free, errors, correlation, covariance, misfit, freedom)


def _settled(model: FitModel, start: Floats) -> tuple[_Fit, dict[int, str], dict[int, str]]:
    """The fit with every parameter held that the readings do not tell, and why it is held."""
    held = {
        index: say(
            "No reading depends on it here; it is told by {told_by}.",
            told_by=say(PARAMETERS[name].told_by),
        )
        for index, name in enumerate(model.fields)
        if not model.is_told(start, index)
    }
    held_for: dict[int, str] = {}
    while True:
        free = tuple(index for index in range(start.size) if index not in held)
        fit = _fit(model, start, free)
        pairs = [(index, fit.tied_to(index)) for index in free]
        tied = [index for index, other in pairs if other is not None]
        # Of two that cannot be told apart, the one that somebody measured keeps its value.
        known = [index for index in tied if not model.is_placeholder[index]]
        vague = [index for index in free if index not in tied and fit.error(index) > _WEAK]
        if known and len(known) < len(tied):
            other = next(model.fields[o] for i, o in pairs if i == known[0] and o is not None)
            held[known[0]] = say(
                "Held at its given value, since these readings cannot tell it from {other}.",
                other=other,
            )
            held_for[known[0]] = other
        elif vague:
            worst = max(vague, key=fit.error)
            told_by = PARAMETERS[model.fields[worst]].told_by
            held[worst] = say(
                "These readings hardly tell it; it is told by {told_by}.", told_by=say(told_by)
            )
        else:
            return fit, held, held_for


def _parameter(
    model: FitModel,
    start: Floats,
    fit: _Fit,
    why_held: tuple[dict[int, str], dict[int, str]],
    index: int,
) -> FittedParameter:
    held, held_for = why_held
    name = model.fields[index]
    facts = PARAMETERS[name]
    before, after = math.exp(start[index]), math.exp(fit.values[index])
    if index in held:
        return FittedParameter(
            name, facts.kind, before, before, None, None, None, None, None, False, held[index]
        )
    error, tie = fit.error(index), fit.tied_to(index)
    reach = min(student_quantile(0.975, max(fit.freedom, 1)) * error, 50.0)
    to_limit = min(fit.values[index] - model.low[index], model.high[index] - fit.values[index])
    told_by = say(facts.told_by)
    finding = say("Told by {told_by}.", told_by=told_by)
    if tie is not None:
        finding = say(
            "It cannot be told apart from {other} with these readings.", other=model.fields[tie]
        )
    elif to_limit < 1e-3:
        finding = say("The fit ran to the limit of what can be: a reading or another value is off.")
    else:
        with_held = [model.fields[other] for other, why in held_for.items() if why == name]
        if with_held:
            finding = say(
                "Told by {told_by}, with {other} held at its given value.",
                told_by=told_by,
                other=with_held[0],
            )
    return FittedParameter(
        field=name,
        kind=facts.kind,
        before=before,
        after=after,
        standard_error=after * min(error, 1e6),
        low=max(after * math.exp(-reach), facts.low),
        high=min(after * math.exp(reach), facts.high),
        least=max(after * math.exp(-reach * _TO_ENDS), facts.low),
        most=min(after * math.exp(reach * _TO_ENDS), facts.high),
        is_identified=bool(tie is None and to_limit >= 1e-3),
        finding=finding,
    )
