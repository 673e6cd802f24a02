"""Readings so far off their case that nothing unknown of it explains them.

Film that runs through the rollers unstretched, or a case that is not what was wrapped, looks like
this. Learning from it would bend every input and call the rest a discrepancy.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from woold.learning.log_readings import log_readings
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.prediction.result import Finding
from woold.trial.averages import DANCER, MARKS, MASS, WIDTH
from woold.uncertainty.draws import values_at_scores
from woold.words import say

__all__ = ["FAR_OFF", "without_far_off"]

Array = npt.NDArray[np.float64]

FAR_OFF = 0.25
"""How far a mean reading lies off everything that a case's ranges allow, at least, in its logarithm
(engineering estimate: a trial's scale, tape and machine together are off by a tenth) [-]."""

_LOOKED_AT = (MASS, MARKS, WIDTH, DANCER)
_DRAWS = 400


def without_far_off(wrapped: Sequence[Wrapped]) -> tuple[list[Wrapped], list[Finding]]:
    """What was wrapped but for what its case does not explain, and a finding for each of those.

    Args:
        wrapped: what was wrapped and measured.
    """
    kept, findings = [], []
    for each in wrapped:
        off = _furthest_off(each)
        if off is None:
            kept.append(each)
            continue
        what, factor = off
        text = say(
            "{treatment}, {load}: {what} was measured {factor} times what the case says, and lies"
            " far beyond all that its ranges allow, so nothing is learnt from it. Film that runs"
            " through the rollers unstretched looks like this, and so does another film, force or"
            " program than the case has. Look at the machine, mend the case, and learn again.",
            treatment=say(each.treatment),
            load=each.load_type,
            what=what,
            factor=f"{factor:.2g}",
        )
        findings.append(Finding("far_off_its_case", each.trial, text))
    return kept, findings


def _furthest_off(each: Wrapped) -> tuple[str, float] | None:
    """The reading that lies furthest beyond the case's ranges, and how often its best guess."""
    looked_at = [average for average in each.averages if average.what in _LOOKED_AT]
    if not looked_at:
        return None
    measured = np.array([average.log_mean for average in looked_at])
    guess = log_readings(each.case, looked_at, {}, 1)[0]
    if np.all(np.abs(measured - guess) <= FAR_OFF):
        return None
    unknowns = SharedUnknowns([each])
    random = np.random.default_rng(7)
    scores = unknowns.scores(random.standard_normal((_DRAWS, unknowns.count)))
    values = {
        owned.unknown.name: values_at_scores(scores[:, place], owned.unknown)
        for place, owned in enumerate(unknowns.all)
    }
    drawn = log_readings(each.case, looked_at, values, _DRAWS)
    drawn = drawn[np.isfinite(drawn).all(axis=1)]
    if not len(drawn):
        return None
    beyond = np.maximum(measured - drawn.max(axis=0), drawn.min(axis=0) - measured)
    worst = int(beyond.argmax())
    if beyond[worst] <= FAR_OFF:
        return None
    return say(looked_at[worst].what), math.exp(measured[worst] - guess[worst])
