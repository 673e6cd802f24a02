"""The load seen from above: its outline, its sides, and how far it stands out over its pallet."""

from __future__ import annotations

import numpy as np

from woold.case.load import Load
from woold.physics import outlines
from woold.physics.outlines import Outline

__all__ = ["load_outline", "overhang", "sides"]


def load_outline(load: Load) -> Outline:
    """Convex outline of the load, in the frame of the axis of turning.

    Raises:
        InputError: corners that enclose no area.
    """
    if load.footprint is not None:
        return outlines.polygon_outline(load.footprint, load.offset)
    if load.diameter is not None:
        return outlines.round_outline(load.diameter, load.offset)
    assert load.length is not None
    assert load.width is not None
    return outlines.rectangle_outline(load.length, load.width, load.offset)


def sides(load: Load) -> tuple[float, float]:
    """Length and width of the box round the load [m]."""
    if load.footprint is not None:
        spread = np.ptp(np.asarray(load.footprint), axis=0)
        return float(spread[0]), float(spread[1])
    if load.diameter is not None:
        return load.diameter, load.diameter
    return load.length or 0.0, load.width or 0.0


def overhang(load: Load) -> float | None:
    """How far the load stands out over its pallet, on the worst side [m]; None if not known.

    The load is taken as centred on its pallet.
    """
    if load.pallet_length is None or load.pallet_width is None:
        return None
    length, width = sides(load)
    return max(length - load.pallet_length, width - load.pallet_width, 0.0) / 2.0
