"""Loads of a choice with which the dancer is not smooth at the machine's speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.errors import WooldError
from woold.line.things import LineLoad
from woold.physics.dancer_setup import DancerSetup
from woold.physics.dancer_tuning import TuningAim, tried_in_motion
from woold.prediction.load_columns import LoadColumns
from woold.prediction.predict import load_outline

__all__ = ["not_smooth"]

_TRIED = 8
_TRIED_FIRST = 3


def not_smooth(case: Case, loads: Sequence[LineLoad], columns: LoadColumns) -> NDArray[np.bool_]:
    """Whether the dancer is not smooth, or its mean tension far off, with each load.

    Few outlines are tried one by one. Of many are tried those whose corners ask for most film
    beyond the mean, and some of the others. Where one is not smooth, halving finds the load from
    which on they are; all before it count as not smooth, and so does every load where no motion can
    be worked out. The answer for a load hangs on the loads beside it: ask with all that a map has.

    Args:
        case: says carriage, dancer, film, machine and force; its own load does not count.
        loads: what is wrapped.
        columns: the same as columns.

    Returns:
        Shape (loads,); False where no spring of a dancer is listed.
    """
    if case.dancer is None or not case.dancer.springs:
        return np.zeros(len(loads), dtype=bool)
    shapes, first, shape_of = np.unique(
        np.round(columns.support, 9), axis=0, return_index=True, return_inverse=True
    )
    # The ones whose corners move the dancer most come first.
    order = np.argsort(shapes[:, 1] - shapes[:, 2], kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(order.size)
    place_of = place[shape_of.reshape(-1)]

    aim = TuningAim(case.machine.speed, case.program.force_to_load)
    setup: DancerSetup | None = None

    def swings(at: int) -> bool:
        nonlocal setup
        loaded = case.with_values({"load": loads[int(first[order[at]])].load})
        try:
            # Another load changes nothing of a dancer but the outline behind it.
            setup = (
                replace(setup, outline=load_outline(loaded)) if setup else case_dancer(loaded).setup
            )
        except WooldError:
            return True
        return _swings(setup, aim)

    if order.size <= _TRIED:
        return np.array([swings(at) for at in range(order.size)], dtype=bool)[place_of]
    others = np.linspace(_TRIED_FIRST, order.size - 1, _TRIED - _TRIED_FIRST).round()
    tried = {at: swings(at) for at in [*range(_TRIED_FIRST), *others.astype(int).tolist()]}
    if not any(tried.values()):
        return np.zeros(len(loads), dtype=bool)
    low = max(at for at, each in tried.items() if each)
    high = min((at for at in tried if at > low), default=order.size)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if swings(middle) else (low, middle)
    return np.asarray(place_of <= low)


def _swings(setup: DancerSetup, aim: TuningAim) -> bool:
    """Whether a dancer, as it is set, is not smooth."""
    tuning = tried_in_motion(setup, aim)
    return tuning is None or not tuning.fits
