"""Loads of a choice with which the dancer is not smooth at the machine's speed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.errors import WooldError
from woold.line.things import LineLoad
from woold.physics.dancer_tuning import TuningAim, tried_in_motion
from woold.prediction.load_columns import LoadColumns

__all__ = ["not_smooth"]

_TRIED_FIRST = 3


def not_smooth(case: Case, loads: Sequence[LineLoad], columns: LoadColumns) -> NDArray[np.bool_]:
    """Whether the dancer is not smooth, or its mean tension far off, with each load.

    Tried are the loads whose corners ask for most film beyond the mean. Where one of the first of
    them is not smooth, halving finds the load from which on they are; all before it count as not
    smooth, and so does every load where no motion can be worked out.

    Args:
        case: says carriage, dancer, film, machine and force; its own load does not count.
        loads: what is wrapped.
        columns: the same as columns.

    Returns:
        Shape (loads,); False where no spring of a dancer is listed.
    """
    found = np.zeros(len(loads), dtype=bool)
    if case.dancer is None or not case.dancer.springs:
        return found
    moves = np.round(columns.support[:, 2] - columns.support[:, 1], 9)
    kinds, first, kind_of = np.unique(-moves, return_index=True, return_inverse=True)

    def swings(at: int) -> bool:
        return _swings(case.with_values({"load": loads[int(first[at])].load}))

    tried = {at: swings(at) for at in range(min(_TRIED_FIRST, kinds.size))}
    if not any(tried.values()):
        return found
    low, high = max(at for at, each in tried.items() if each), kinds.size
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if swings(middle) else (low, middle)
    return np.asarray(kind_of <= low)


def _swings(case: Case) -> bool:
    """Whether a case's dancer, with the spring in use or the best for the force, is not smooth."""
    try:
        setup = case_dancer(case).setup
    except WooldError:
        return True
    aim = TuningAim(case.machine.speed, case.program.force_to_load)
    tuning = tried_in_motion(setup, aim)
    return tuning is None or not tuning.fits
