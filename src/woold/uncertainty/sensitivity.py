"""Which inputs to measure first: each one's part in the spread, and what it does alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from woold.case.model import Case, Input
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.uncertainty.draws import unknown_of
from woold.uncertainty.joint import JointShare, joint_shares
from woold.units import KINDS

__all__ = ["STEP", "Effect", "input_effects"]

STEP = 0.05
"""Inputs without a range are changed by this share of their value, down and up [-]."""

_LEAST_SPREAD = 5e-4

TEMPERATURE_STEP = 5.0
"""Temperatures are changed by this much, down and up [K]."""


@dataclass(frozen=True, slots=True)
class Effect:
    """An input's part in what is not known of film and hold, and what changing it alone does.

    Args:
        field: dotted name of the input.
        kind: key of `woold.units.KINDS`.
        unit: its SI unit.
        value, low, high: its value, and the two that were tried, SI.
        is_placeholder: nobody measured it; low and high are its range.
        film_mass_low, film_mass_high: change of film mass at low and at high, as shares [-].
        containment_low, containment_high: change of the least containment force, as shares [-].
        film_mass_share, containment_share: total part of the input in the variance of film mass and
            of the least containment while all inputs vary over their ranges [-]; None where it has
            no range.
        spread: standard deviation that it leaves of film mass or of containment, the larger, as a
            share of its mean; None likewise.
        refused: why one of the two values could not be predicted; "" where both were.
    """

    field: str
    kind: str
    unit: str
    value: float
    low: float
    high: float
    is_placeholder: bool
    film_mass_low: float
    film_mass_high: float
    containment_low: float
    containment_high: float
    film_mass_share: float | None = None
    containment_share: float | None = None
    spread: float | None = None
    refused: str = ""

    @property
    def size(self) -> float:
        """The largest of the four changes [-]."""
        changes = (
            self.film_mass_low,
            self.film_mass_high,
            self.containment_low,
            self.containment_high,
        )
        return max(abs(each) for each in changes)


def input_effects(case: Case) -> tuple[Effect, ...]:
    """Effect of every input that has one; what to measure first stands first.

    Inputs with a range are ranked by the spread that they leave of film mass or of containment, by
    their total parts in the variance while all ranges vary together. After them come numbers
    without a range, by what 5 % of each does alone. Containment is the least over a patch, at the
    age asked for.

    Args:
        case: a case that can be predicted.

    Raises:
        PhysicsError: the case itself cannot be predicted.
    """
    base = predict(case)
    inputs = [each for each in case.inputs() if each.is_amount]
    shares = joint_shares(case, [each for each in map(unknown_of, inputs) if each is not None])
    effects = [
        replace(_effect(case, base, each, low, high), **_joint_values(shares.get(each.field)))
        for each in inputs
        for low, high in _ends(each)
    ]
    moving = [each for each in effects if max(each.size, each.spread or 0) > 1e-9 or each.refused]
    ranked = sorted(moving, key=lambda each: (_ranked_spread(each), each.size), reverse=True)
    return tuple(ranked)


def _joint_values(share: JointShare | None) -> dict[str, Any]:
    if share is None:
        return {}
    return {
        "film_mass_share": share.film_mass,
        "containment_share": share.containment,
        "spread": share.spread,
    }


def _ranked_spread(effect: Effect) -> float:
    """Spread that an input leaves; what is next to nothing ranks with those without a range."""
    spread = effect.spread or 0.0
    return spread if spread > _LEAST_SPREAD else 0.0


def _ends(given: Input) -> Iterator[tuple[float, float]]:
    """The two values to try; none where there is nothing to change."""
    low, high = given.origin.low, given.origin.high
    if low is None or high is None:
        step = _step(given)
        low, high = given.value - step, given.value + step
    if low < high:
        yield low, high


def _step(given: Input) -> float:
    """By how much a number without a range is changed."""
    if KINDS[given.kind].unit == "K":
        return TEMPERATURE_STEP
    zero = 1.0 if KINDS[given.kind].is_elongation else 0.0
    return STEP * abs(given.value - zero)


def _effect(case: Case, base: Prediction, given: Input, low: float, high: float) -> Effect:
    changes: list[tuple[float, float]] = []
    refused = ""
    for value in (low, high):
        try:
            after = predict(case.with_values({given.field: value}))
        except WooldError as error:
            refused = str(error)
            changes.append((0.0, 0.0))
            continue
        changes.append(
            (
                after.film_mass_kg / base.film_mass_kg - 1.0,
                _change(after.containment_later_min_n, base.containment_later_min_n),
            )
        )
    return Effect(
        field=given.field,
        kind=given.kind,
        unit=KINDS[given.kind].unit,
        value=given.value,
        low=low,
        high=high,
        is_placeholder=given.origin.is_placeholder,
        film_mass_low=changes[0][0],
        film_mass_high=changes[1][0],
        containment_low=changes[0][1],
        containment_high=changes[1][1],
        refused=refused,
    )


def _change(after: float, before: float) -> float:
    return after / before - 1.0 if before > 0.0 else 0.0
