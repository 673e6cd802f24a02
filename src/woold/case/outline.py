"""The load seen from above: its outline, its sides, and how far it stands out over its pallet."""

from __future__ import annotations

import functools

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
    sides = None if load.length is None or load.width is None else (load.length, load.width)
    return _outline(load.footprint, load.diameter, sides, load.offset)


@functools.lru_cache(maxsize=64)
def _outline(
    footprint: tuple[tuple[float, float], ...] | None,
    diameter: float | None,
    sides: tuple[float, float] | None,
    offset: tuple[float, float],
) -> Outline:
    """One load is asked for again and again; its outline is made once, and nobody changes it."""
    if footprint is not None:
        outline = outlines.polygon_outline(footprint, offset)
    elif diameter is not None:
        outline = outlines.round_outline(diameter, offset)
    else:
        assert sides is not None
        outline = outlines.rectangle_outline(*sides, offset)
    return outline


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
