"""Readings of a pull plate on many loads at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics.felt_kernel import mean_layers_near
from woold.prediction.block import SheetOnLoad, laid_cycles, layers_of_legs
from woold.prediction.film_roll import NO_DRAWS, Draws
from woold.prediction.load_columns import LoadColumns
from woold.prediction.pull_plate import pull_plate_reading

__all__ = ["block_pull_readings"]

Floats = NDArray[np.float64]


def block_pull_readings(
    case: Case, sheet: SheetOnLoad, loads: LoadColumns, draws: Draws = NO_DRAWS
) -> Floats:
    """Reading of a pull plate on each load [N]; NaN on a round one and where none can be wrapped.

    The load may give way.

    Args:
        case: the case.
        sheet: its film on the load, or on each of them.
        loads: what is wrapped, with the heights of the plate.
        draws: values that replace the case's, one for each load.
    """
    legs, counts, _ = laid_cycles(case, sheet.width, loads, draws)
    layers = np.full(len(loads), np.nan)
    weights = layers_of_legs(legs, sheet.width)
    sizes = np.column_stack([loads.height, loads.perimeter])
    mean_layers_near(sizes, legs, counts, weights, loads.pull_height, layers)
    film = sheet.width, sheet.thickness
    return np.asarray(pull_plate_reading(case, film, layers, loads.face, draws))
