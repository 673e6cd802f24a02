"""Film's calibration, friction and kinetic share of a case, from a real test of its load."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from woold.case.model import Case
from woold.errors import InputError
from woold.physics.stack_fit import CalibratedRange, stack_fit
from woold.physics.stack_motion import MovingStack
from woold.prediction.result import Finding, Prediction
from woold.rows.told import Told
from woold.transport.film_over_interfaces import wrap_over_interfaces
from woold.transport.measured import MeasuredRow, measured_slips
from woold.transport.screen import load_bearings, transport_of
from woold.transport.simulation import moving_stack
from woold.words import say

__all__ = ["FITTED", "TransportCalibration", "calibrate_transport"]

FITTED = ("restraint_calibration", "friction", "deck_friction", "kinetic_share")
"""Fields of [transport] that a test of the load may set."""

_POOR_FIT = 2.0
_FEW_DRAWS = 25.0


@dataclass(frozen=True, slots=True, repr=False)
class TransportCalibration(Told):
    """What a test says of the inputs; a field without a range was taken as it is."""

    told_as = "transport-calibration"
    told_by = "woold.transport.simulation_rows:calibration_blocks"

    title: str
    tests: int
    readings: int
    reading_error_m: float
    misfit: float
    effective_draws: float
    inputs: tuple[CalibratedRange, ...]
    findings: tuple[Finding, ...]


def calibrate_transport(
    case: Case,
    prediction: Prediction,
    rows: Sequence[MeasuredRow],
    reading_error: float = 0.002,
    draws: int = 900,
    progress: Callable[[int, int], None] | None = None,
) -> TransportCalibration:
    """Ranges that fit with the slips of a real test, along the side that lies lengthways.

    Args:
        case: a case with a [transport] table; its film as it was when tested.
        prediction: its prediction.
        rows: what was measured.
        reading_error: standard deviation of a reading [m].
        draws: inputs that are tried.
        progress: called with draws done and draws in all.

    Raises:
        InputError: no [transport] table, no readings, or no input that has a range.
    """
    asked = transport_of(case)
    given = {each.field: each.origin for each in case.inputs()}
    ranges: dict[str, tuple[float, float]] = {}
    for name in FITTED:
        origin = given.get(f"transport.{name}")
        if (
            origin
            and origin.low is not None
            and origin.high is not None
            and origin.low < origin.high
        ):
            ranges[name] = (origin.low, origin.high)
    if not ranges:
        raise InputError.one(
            "transport",
            say("no range for any of {names}", names=", ".join(FITTED)),
            say("a range for one of them or more"),
            say("Give one of them its value as a table with low and high."),
        )
    bearing = float(load_bearings(asked)[0])

    def stack_of(values: Mapping[str, float]) -> MovingStack:
        drawn = asked.model_copy(update=dict(values))
        return moving_stack(case, drawn, wrap_over_interfaces(case, drawn, prediction), bearing)

    fit = stack_fit(
        stack_of, ranges, measured_slips(case, rows), reading_error, draws, progress=progress
    )
    return TransportCalibration(
        title=case.title,
        tests=len({(row.level, row.ramp_time, row.hold_time) for row in rows}),
        readings=sum(1 if row.kept is None else 2 for row in rows),
        reading_error_m=reading_error,
        misfit=fit.misfit,
        effective_draws=fit.effective_draws,
        inputs=fit.ranges,
        findings=tuple(_findings(fit.misfit, fit.effective_draws)),
    )


def _findings(misfit: float, effective_draws: float) -> list[Finding]:
    found = []
    if misfit > _POOR_FIT:
        found.append(
            Finding(
                "test_not_explained",
                "transport",
                say(
                    "The simulation misses the readings by {misfit:.1f} times what they may be"
                    " off, at its best. Something else moved the load, or the case is not the load"
                    " that was tested: do not use these ranges.",
                    misfit=misfit,
                ),
            )
        )
    if effective_draws < _FEW_DRAWS:
        found.append(
            Finding(
                "few_draws",
                "transport",
                say(
                    "Only {count:.0f} draws carry the answer, so that its ranges are rough.",
                    count=effective_draws,
                ),
            )
        )
    return found
