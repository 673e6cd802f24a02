"""Rolls that were wrapped with one treatment only: such a roll counts as one reading.

Loads of one roll share its thickness. Where both treatments were wrapped from the same rolls, that
falls out of their comparison. Where each treatment had rolls of its own, it does not, and many
loads of few rolls say no more than the rolls do. Their means are then compared, one value for each
roll (and block).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.trial.table import LoadTable

__all__ = ["RollUnits", "left_within", "roll_units"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_ENOUGH_WITHIN = 0.8
"""Share of what tells the treatments apart that must be left within rolls, to compare loads."""


@dataclass(frozen=True, slots=True)
class RollUnits:
    """Which loads count as one reading.

    Args:
        unit: code of each load, shape (n,).
        block: block of each load; all 0 where a roll went on through several blocks.
    """

    unit: Ints
    block: Ints

    def means(self, values: Floats, kind: Ints) -> tuple[Ints, Floats]:
        """Mean of each unit, in the unit of the values, load types taken out by per cent.

        Args:
            values: positive, NaN where a load was not measured.
            kind: load type of each load.

        Returns:
            First load of each unit (of all its loads), and the means.
        """
        measured = np.isfinite(values)
        kinds = np.unique(kind[measured])
        middle = np.full(int(kind.max()) + 1, np.nan)
        for each in kinds:
            middle[each] = values[measured & (kind == each)].mean()
        relative = values / middle[kind]
        first, means = [], []
        for code in np.unique(self.unit[measured]):
            of_unit = self.unit == code
            first.append(int(np.flatnonzero(of_unit)[0]))
            means.append(float(relative[of_unit & measured].mean()))
        scale = float(values[measured].mean())
        return np.array(first), scale * np.array(means)


def roll_units(table: LoadTable) -> RollUnits | None:
    """Units of comparison where treatments had rolls of their own; None where loads are.

    A load whose roll was not written down counts by itself.

    Args:
        table: the loads that are compared.
    """
    weighed = np.isfinite(table.film_mass)
    known = weighed & (table.roll > 0)
    if not known.any() or known.sum() < 0.5 * weighed.sum():
        return None
    roll, block, treatment = table.roll[known], table.block[known], table.treatment[known]
    if np.unique(np.stack([roll, treatment]), axis=1).shape[1] == roll.size:
        return None  # no roll had two loads of a treatment
    apart = left_within(treatment, block)
    if left_within(treatment, block, roll) >= _ENOUGH_WITHIN * apart:
        return None
    goes_on = any(np.unique(block[roll == each]).size > 1 for each in np.unique(roll))
    own_block = np.zeros_like(table.block) if goes_on else table.block
    alone = np.where(table.roll > 0, -1, np.arange(table.roll.size))
    codes = np.stack([own_block, table.roll, table.treatment, alone])
    unit = np.unique(codes, axis=1, return_inverse=True)[1].reshape(-1)
    return RollUnits(unit, own_block)


def left_within(treatment: Ints, *groups: Ints) -> float:
    """Sum of squares of the treatment that groups of loads do not explain.

    Args:
        treatment: 0 or 1 of each load.
        groups: codes of each load, such as its block and its roll.
    """
    columns = [
        (codes[:, None] == np.unique(codes)[None, :]).astype(float)
        for codes in (np.zeros_like(treatment), *groups)
    ]
    model = np.concatenate(columns, axis=1)
    side = treatment - treatment.mean()
    left = side - model @ np.linalg.lstsq(model, side, rcond=None)[0]
    return float(left @ left)
