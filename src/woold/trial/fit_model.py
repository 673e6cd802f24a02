"""What a case predicts of a trial's averages, as a function of the parameters to be fitted."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.errors import InputError, WooldError
from woold.physics.film import retained_force_fraction
from woold.prediction.block import film_used
from woold.prediction.block_pulls import block_pull_readings
from woold.prediction.film_on_load import film_on_load, lacing_of, width_loss_told
from woold.prediction.film_over_height import one_layer_stiffness
from woold.prediction.load_columns import LoadColumns, load_columns
from woold.prediction.predict import predict
from woold.trial.averages import KEPT, MARKS, MASS, WIDTH, Average
from woold.words import say, to_say

__all__ = ["PARAMETERS", "UNASKED", "FitModel", "Parameter"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter that can be fitted: kind, what tells it, and hard limits [SI]."""

    kind: str
    told_by: str
    low: float
    high: float


_AS_RIGID = 1e7
"""Hoop stiffness of a load of which no pull reading tells that it gives way [N]."""

PARAMETERS: dict[str, Parameter] = {
    "film.reload_modulus": Parameter("stress", to_say("film mass and marks"), 50e6, 2000e6),
    "carriage.friction": Parameter(
        "ratio", to_say("film mass and marks, where the film slips"), 0.05, 3.0
    ),
    "film.width_loss": Parameter("ratio", to_say("film width on the load"), 5e-3, 4.0),
    "film.force_loss_per_decade": Parameter(
        "fraction", to_say("pull readings of the same load at several ages"), 0.005, 0.3
    ),
    "load.hoop_stiffness": Parameter(
        "force", to_say("pull readings over 1, 2, 4 and 8 layers"), 100.0, _AS_RIGID
    ),
}
"""What can be fitted, by its name in the case."""

UNASKED = tuple(name for name in PARAMETERS if name != "load.hoop_stiffness")
"""What is fitted where nobody says what."""

_PROBE = 20.0
"""Stiffness of a load over that of one layer where the search for it begins [-]."""

_NOTICEABLE = 0.05
"""Of a standard error."""


class FitModel:
    """Predicted logarithm of every average at given parameters (logarithms too).

    Args:
        cases: case of each load type, by its code.
        readings: averages to fit to.
        fields: parameters, keys of :data:`PARAMETERS`.
        mass_tolerance: standard error of the mass balance that all film masses share: thickness
            and film length; it is estimated along with the parameters, and held near 0 by this.

    Raises:
        InputError: a parameter that the case has no value for.
    """

    def __init__(
        self,
        cases: dict[int, Case],
        readings: list[Average],
        fields: tuple[str, ...],
        mass_tolerance: float,
    ) -> None:
        self.cases = {code: _with_free_values(case) for code, case in cases.items()}
        self.readings, self.fields = readings, fields
        self._columns = {code: _with_plates(case, code, readings) for code, case in cases.items()}
        for case in self.cases.values():
            predict(case)  # what cannot be is said before any search
        self.measured = np.array([each.log_mean for each in readings])
        self.errors = np.array([each.log_error for each in readings])
        self._pulls = np.array([each.is_pull for each in readings])
        self._masses = np.array([each.what == MASS for each in readings])
        self.mass_tolerance = mass_tolerance
        inputs = {each.field: each for each in next(iter(self.cases.values())).inputs()}
        missing = [name for name in fields if name not in inputs]
        if missing:
            raise InputError.one(
                "--fit",
                ", ".join(missing),
                say("fields that the case has a value for"),
                say("Drop it."),
            )
        self.start = np.array([inputs[name].value for name in fields])
        first = next(iter(cases.values()))
        known = {
            "film.width_loss": first.film.width_loss is not None or first.width_is_measured,
            "load.hoop_stiffness": first.load.hoop_stiffness is not None,
        }
        self.is_placeholder = [
            not known.get(name, not inputs[name].origin.is_placeholder) for name in fields
        ]
        self.low = np.log([PARAMETERS[name].low for name in fields])
        self.high = np.log([PARAMETERS[name].high for name in fields])

    @property
    def has_pulls(self) -> bool:
        """Whether a scale of the pull readings is fitted as well."""
        return bool(self._pulls.any())

    def predicted(self, log_values: Floats) -> Floats:
        """ln of every reading; pull readings without their common scale."""
        changes = dict(zip(self.fields, np.exp(log_values).tolist(), strict=True))
        result = np.empty(len(self.readings))
        for code, case in self.cases.items():
            here, columns = case.with_values(changes), self._columns[code]
            sheet = film_on_load(here)
            used = film_used(here, sheet.width, columns)
            if not np.isfinite(used.length[0]):
                predict(here)  # it says why this cannot be
            film_mass, turns = float(used.length[0]) * sheet.mass_per_metre, float(used.turns[0])
            readings = block_pull_readings(here, sheet, columns).tolist()
            pulls = dict(zip(columns.pull_height.tolist(), readings, strict=True))
            for index, each in enumerate(self.readings):
                if each.load_type != code:
                    continue
                if each.what == MASS:
                    # At the turns that were counted, where they were.
                    counted = each.turns if math.isfinite(each.turns) else turns
                    value = film_mass * counted / turns
                elif each.what == MARKS:
                    value = sheet.stretch
                elif each.what == WIDTH:
                    value = sheet.width
                elif each.what == KEPT:
                    loss = here.film.force_loss_per_decade
                    kept = retained_force_fraction(np.array([each.age, each.first_age]), loss)
                    value = float(np.divide(*np.maximum(kept, 1e-6)))
                else:
                    kept = retained_force_fraction(each.age, here.film.force_loss_per_decade)
                    value = pulls[each.height] * max(float(kept), 1e-6)
                result[index] = math.log(value)
        return result

    def scale(self, predicted: Floats) -> float:
        """ln of the common factor of the pull readings that fits best."""
        if not self.has_pulls:
            return 0.0
        weights = 1 / self.errors[self._pulls] ** 2
        off = (self.measured - predicted)[self._pulls]
        return float(np.sum(weights * off) / weights.sum())

    def mass_error(self, predicted: Floats) -> tuple[float, float]:
        """ln of the error that all film masses share, and its standard error at given parameters.

        It is known beforehand to lie near 0, within the tolerance of the mass balance.
        """
        if not self._masses.any():
            return 0.0, self.mass_tolerance
        weights = 1 / self.errors[self._masses] ** 2
        known = weights.sum() + 1 / self.mass_tolerance**2
        off = (self.measured - predicted)[self._masses]
        return float(np.sum(weights * off) / known), float(1 / math.sqrt(known))

    def shifts(self, predicted: Floats) -> Floats:
        """What is added to predictions: the pulls' common factor, the film masses' common error."""
        pulls = np.where(self._pulls, self.scale(predicted), 0.0)
        return np.asarray(pulls + np.where(self._masses, self.mass_error(predicted)[0], 0.0))

    def residuals(self, log_values: Floats) -> Floats:
        """(measured - predicted)/error of every average, and of the film masses' common error."""
        try:
            predicted = self.predicted(log_values)
        except WooldError:  # values that cannot happen together: as far off as can be
            return np.full(len(self.readings) + 1, 1e3)
        off = (self.measured - predicted - self.shifts(predicted)) / self.errors
        return np.append(off, self.mass_error(predicted)[0] / self.mass_tolerance)

    def probed(self, at: Floats) -> Floats:
        """The same values, with a load that gives way where it is taken as rigid.

        From rigid no small step shows anything, nor leads a search anywhere.
        """
        probed = at.copy()
        for index, name in enumerate(self.fields):
            if name == "load.hoop_stiffness" and at[index] > math.log(0.1 * _AS_RIGID):
                case = next(iter(self.cases.values()))
                sheet = film_on_load(case)
                stiffness = one_layer_stiffness(case, sheet.thickness, sheet.width)
                probed[index] = math.log(_PROBE * stiffness)
        return probed

    def is_told(self, at: Floats, index: int) -> bool:
        """Whether a parameter moves any average by a noticeable part of its error."""
        if self.fields[index] == "load.hoop_stiffness":
            at = self.probed(at)
        here = self.residuals(at)
        # The response can be one-sided: friction acts only below the grip limit.
        for step in (-0.3, 0.3):
            moved = at.copy()
            moved[index] = np.clip(at[index] + step, self.low[index], self.high[index])
            if float(np.abs(self.residuals(moved) - here).max()) > _NOTICEABLE:
                return True
        return False


def _with_plates(case: Case, code: int, readings: list[Average]) -> LoadColumns:
    """The load of a case once for each height at which a plate was pulled; once where none was."""
    heights = {each.height for each in readings if each.load_type == code and each.is_pull}
    holds = [case.with_values({"hold.pull_height": each}).hold for each in sorted(heights)] or [
        case.hold
    ]
    return load_columns([case.load] * len(holds), holds)


def _with_free_values(case: Case) -> Case:
    """The case with a width loss for its law or measured width, and a stiffness of its load.

    The effective gap stays as it is, so that friction, by the arc of the slow roller on which film
    is drawn, does not pass for a loss of width.
    """
    sheet, lacing = film_on_load(case), lacing_of(case)
    told = width_loss_told(case, lacing, sheet)
    values: dict[str, object] = {
        "carriage.rollers": (),
        "carriage.gap": lacing.gap + sheet.slip_arc,
        "carriage.slow_roller_diameter": 0.0,
        "carriage.contact_angle_slow": lacing.contact_angle_slow,
        "carriage.contact_angle_fast": lacing.contact_angle_fast,
        "carriage.nip_force_slow": lacing.nip_force_slow,
        "carriage.nip_force_fast": lacing.nip_force_fast,
        "carriage.film_width_on_load": None,
        "carriage.neck_down": None,
    }
    if case.film.width_loss is None:
        values["film.width_loss"] = sheet.width_loss if told is None else told
        values["film.width_loss_prestretch"] = sheet.delivered
    if case.load.hoop_stiffness is None:
        values["load.hoop_stiffness"] = _AS_RIGID
    return case.with_values(values)
