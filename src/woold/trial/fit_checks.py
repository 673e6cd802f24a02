"""Whether a fit can be believed: each kind of reading against it, and the error of all masses."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.trial.averages import DANCER, MASS, machine_averages
from woold.trial.fit_model import FitModel
from woold.trial.percent import percent
from woold.trial.table import LoadTable
from woold.units import show
from woold.words import say

__all__ = [
    "MassError",
    "QuantityCheck",
    "check_findings",
    "dancer_findings",
    "quantity_checks",
    "shared_mass_error",
]

Floats = NDArray[np.float64]

_FAR_OFF = 3.0
"""Standard errors beyond which a kind of reading is off by more than chance."""

_NORMAL_95 = 1.96
_STEP = 1e-4


@dataclass(frozen=True, slots=True)
class QuantityCheck:
    """How far the averages of one kind lie from the fit.

    Args:
        what: kind of reading.
        readings: averages of it.
        off: mean distance from the fit, as a share.
        standard_errors: the same in its standard errors.
        is_off: more than chance.
    """

    what: str
    readings: int
    off: float
    standard_errors: float
    is_off: bool


@dataclass(frozen=True, slots=True)
class MassError:
    """The error of the mass balance that all film masses share: thickness, film length.

    Args:
        estimate: measured film mass over what the fit gives, less 1.
        low, high: its 95 % interval.
        tolerance: standard error that was allowed for beforehand.
        thickness_from_rolls_m: film thickness by the rolls' mass and length; null where no roll
            was weighed.
        is_off: the interval leaves out 0.
    """

    estimate: float
    low: float
    high: float
    tolerance: float
    thickness_from_rolls_m: float | None
    is_off: bool


def quantity_checks(model: FitModel, fitted: Floats) -> tuple[QuantityCheck, ...]:
    """Every kind of reading against the fit.

    Args:
        model: with its readings.
        fitted: ln of what the fit gives for each.
    """
    found = []
    for what in dict.fromkeys(each.what for each in model.readings):
        own = np.array([each.what == what for each in model.readings])
        weights = 1.0 / model.errors[own] ** 2
        off = float(np.sum(weights * (model.measured - fitted)[own]) / weights.sum())
        errors = off * math.sqrt(float(weights.sum()))
        found.append(
            QuantityCheck(what, int(own.sum()), math.expm1(off), errors, abs(errors) > _FAR_OFF)
        )
    return tuple(found)


def shared_mass_error(
    model: FitModel, free: Sequence[int], covariance: Floats, at: Floats, thickness: float | None
) -> MassError | None:
    """The error that all film masses share, with what the free parameters leave open of it.

    Args:
        model: of the fit.
        free: which parameters were fitted.
        covariance: of these.
        at: fitted parameters (logarithms).
        thickness: by the rolls [m]; None where none was weighed.
    """
    if not any(each.what == MASS for each in model.readings):
        return None
    middle, own = model.mass_error(model.predicted(at))
    slope = np.zeros(len(free))
    for place, index in enumerate(free):
        moved = at.copy()
        moved[index] += _STEP
        slope[place] = (model.mass_error(model.predicted(moved))[0] - middle) / _STEP
    error = math.sqrt(own**2 + float(slope @ covariance @ slope))
    low, high = middle - _NORMAL_95 * error, middle + _NORMAL_95 * error
    return MassError(
        estimate=math.expm1(middle),
        low=math.expm1(low),
        high=math.expm1(high),
        tolerance=model.mass_tolerance,
        thickness_from_rolls_m=thickness,
        is_off=not low <= 0.0 <= high,
    )


def check_findings(checks: Sequence[QuantityCheck], mass_error: MassError | None) -> list[str]:
    """What the checks say, each a sentence."""
    said = [
        say(
            "Readings of one kind lie off the fit by more than chance: {what}, by {off}.",
            what=say(each.what),
            off=percent(each.off),
        )
        for each in checks
        if each.is_off
    ]
    if mass_error is not None and mass_error.is_off:
        values = {
            "off": percent(abs(mass_error.estimate)),
            "low": percent(min(abs(mass_error.low), abs(mass_error.high))),
            "high": percent(max(abs(mass_error.low), abs(mass_error.high))),
        }
        if mass_error.estimate > 0.0:
            said.append(
                say(
                    "Film masses lie {off} ({low} to {high}) above the mass balance: the film may"
                    " be thicker than stated, tare left on, or more film laid than the program"
                    " says. Weigh a roll of known length: that gives the thickness.",
                    **values,
                )
            )
        else:
            said.append(
                say(
                    "Film masses lie {off} ({low} to {high}) below the mass balance: the film may"
                    " be thinner than stated, tails not weighed, or less film laid than the program"
                    " says. Weigh a roll of known length: that gives the thickness.",
                    **values,
                )
            )
    return said


def dancer_findings(table: LoadTable, side: int, cases: Mapping[int, Case]) -> list[str]:
    """Film forces by the dancer beside those that the cases state: no fit takes them.

    Args:
        table: the loads.
        side: 0 baseline, 1 candidate.
        cases: case of each load type, by its code.
    """
    return [
        say(
            "{load}: the dancer's recordings say {measured} of film force, the case {stated}. No"
            " fit takes them: mend program.force_to_load where the case is off, or let woold learn"
            " weigh them.",
            load=table.type_names[each.load_type],
            measured=show(math.exp(each.log_mean), "force"),
            stated=show(cases[each.load_type].program.force_to_load, "force"),
        )
        for each in machine_averages(table, side, list(cases))
        if each.what == DANCER
    ]
