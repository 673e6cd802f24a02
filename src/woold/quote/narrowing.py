"""What measuring would narrow of a customer's saving, and by how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.prediction.yearly import Estimate
from woold.words import say, to_say

__all__ = ["MEASURED_LOADS", "Narrowed", "narrowing"]

Array = npt.NDArray[np.float64]

MEASURED_LOADS = 6
"""Loads that one person measures in an hour [-]."""

_AN_HOUR = to_say("an hour")
_A_DAY = to_say("a day's trial")
_WEIGHED, _WIDTH, _MARKS = (
    to_say("film of today's loads, cut off and weighed"),
    to_say("film width on today's loads"),
    to_say("stretch by marks on today's loads"),
)
_ALL, _TRIAL = (
    to_say("all three on the same loads"),
    to_say("both carriages wrapped in turn and weighed"),
)
_LOAD_SPREAD = {_WEIGHED: 0.04, _WIDTH: 0.03, _MARKS: 0.04}
"""Standard deviation of a reading from load to load, as a share (placeholders) [-]."""

_MODEL_OFF = 0.02
"""What a mean reading lies off the model beyond its inputs, as a share (placeholder) [-]."""


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What one measurement would narrow.

    Args:
        effort: an hour, or a day's trial.
        what: is measured.
        loads: on how many.
        narrower: part of the saving's variance that it takes away on average [-].
        width_now, width_then: of the range of the saving, now and then [-].
    """

    effort: str
    what: str
    loads: int
    narrower: float
    width_now: float
    width_then: float


def narrowing(
    effects: Array, used: Sequence[Array], saving: Estimate, random: np.random.Generator
) -> tuple[Narrowed, ...]:
    """What each measurement takes off the saving's variance, by the best linear estimate.

    Args:
        effects: drawn ones of the customer, shape (draws,) [-].
        used: film mass, width and stretch of a load today in each draw.
        saving: its range.
        random: seeded source.

    Source: Goldstein and Wooff, Bayes Linear Statistics (2007), 3.
    """
    asked = 1.0 - np.exp(-effects)
    read = []
    for what, values in zip((_WEIGHED, _WIDTH, _MARKS), used, strict=True):
        error = math.hypot(_LOAD_SPREAD[what] / math.sqrt(MEASURED_LOADS), _MODEL_OFF)
        read.append(np.log(values) + error * random.standard_normal(len(values)))
    error = _LOAD_SPREAD[_WEIGHED] * math.sqrt(2.0 / MEASURED_LOADS)
    tried = effects + error * random.standard_normal(len(effects))
    shares = [
        (_AN_HOUR, _ALL, _told(asked, read)),
        *(
            (_AN_HOUR, what, _told(asked, [each]))
            for what, each in zip((_WEIGHED, _WIDTH, _MARKS), read, strict=True)
        ),
        (_A_DAY, _TRIAL, _told(asked, [tried])),
    ]
    width = saving.high - saving.low
    return tuple(
        Narrowed(
            say(effort), say(what), MEASURED_LOADS, share, width, width * math.sqrt(1.0 - share)
        )
        for effort, what, share in sorted(shares, key=lambda each: -each[2])
    )


def _told(asked: Array, read: Sequence[Array]) -> float:
    """Part of a quantity's variance that a linear estimate from readings takes away."""
    basis = np.column_stack([np.ones_like(asked), *read])
    left = asked - basis @ np.linalg.lstsq(basis, asked, rcond=None)[0]
    return float(np.clip(1.0 - left.var() / asked.var(), 0.0, 1.0))
