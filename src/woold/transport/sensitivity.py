"""Which inputs decide whether a load holds its way: each is moved alone over its range."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from woold.case.model import Case, Input
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.transport.result import TransportResult
from woold.transport.screen import screen_transport
from woold.transport.unmeasured import at_one_value

__all__ = ["TransportEffect", "transport_effects"]

_FIELDS = ("transport.", "film.", "hold.", "load.")


@dataclass(frozen=True, slots=True)
class TransportEffect:
    """What moving one input alone over its range does to the transport screen.

    Args:
        field: dotted name of the input.
        kind: key of `woold.units.KINDS`.
        low, high: ends of its range, SI.
        is_placeholder: nobody measured it.
        used_low, used_high: largest share of a limit that is reached there; None where film never
            stops a tier [-].
        holds_low, holds_high: whether the load holds there, all else as guessed.
    """

    field: str
    kind: str
    low: float
    high: float
    is_placeholder: bool
    used_low: float | None
    used_high: float | None
    holds_low: bool | None
    holds_high: bool | None

    @property
    def decides(self) -> bool:
        """The load holds at one end of the range and not at the other."""
        return self.holds_low != self.holds_high


def transport_effects(case: Case, prediction: Prediction) -> tuple[TransportEffect, ...]:
    """Effect of every input that has a range and moves the screen, those that decide first.

    Args:
        case: a case with a [transport] table.
        prediction: its prediction.
    """
    guessed = at_one_value(case)
    effects = [
        each
        for given in case.inputs()
        if given.is_amount and given.field.startswith(_FIELDS)
        for each in _effect(guessed, prediction, given)
    ]
    moving = [each for each in effects if _size(each) > 1e-6]
    return tuple(sorted(moving, key=lambda each: (not each.decides, -_size(each))))


def _effect(case: Case, prediction: Prediction, given: Input) -> Iterator[TransportEffect]:
    low, high = given.origin.low, given.origin.high
    if low is None or high is None or low >= high:
        return
    try:
        ends = [_screened(case, prediction, given.field, value) for value in (low, high)]
    except WooldError:  # a value that cannot be, or cannot be predicted: nothing to say of it
        return
    yield TransportEffect(
        field=given.field,
        kind=given.kind,
        low=low,
        high=high,
        is_placeholder=given.origin.is_placeholder,
        used_low=ends[0].used,
        used_high=ends[1].used,
        holds_low=ends[0].holds,
        holds_high=ends[1].holds,
    )


def _screened(case: Case, prediction: Prediction, field: str, value: float) -> TransportResult:
    changed = case.with_drawn({field: value})
    film = prediction if field.startswith("transport.") else predict(changed)
    return screen_transport(changed, film)


def _size(effect: TransportEffect) -> float:
    """Ratio of the shares at the two ends, as a logarithm."""
    ends = [math.inf if each is None else each for each in (effect.used_low, effect.used_high)]
    if ends[0] == ends[1]:
        return 0.0
    if math.inf in ends or 0.0 in ends:
        return math.inf
    return abs(math.log(ends[1] / ends[0]))
