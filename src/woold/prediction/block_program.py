"""A case's program as numbers that compiled loops take: stops of the carriage and standstills."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.case.program import Program
from woold.physics.cycle_kernel import ROPE_NUMBERS
from woold.physics.pattern import BOTTOM_WRAPS, CLOSING_WRAPS, FALL, RISE, TOP_WRAPS

__all__ = ["ProgramNumbers", "program_numbers"]

_PARTS = (BOTTOM_WRAPS, RISE, "", TOP_WRAPS, FALL, CLOSING_WRAPS)
_START, _TOP, _OWN = 0.0, 1.0, 2.0
_BAND = 2


class ProgramNumbers(NamedTuple):
    """A program, as `woold.physics.cycle_kernel.lay_cycles` takes it.

    Args:
        stops, parts, waits, ropes: see there; each of one program.
    """

    stops: NDArray[np.float64]
    parts: NDArray[np.int64]
    waits: NDArray[np.float64]
    ropes: NDArray[np.float64]

    @property
    def most_legs(self) -> int:
        """No cycle of it has more."""
        return 2 * len(self.stops) + 2 * len(self.ropes)


def program_numbers(program: Program) -> ProgramNumbers:
    """The stops of a program and its standstills, in the order that `pattern` has them.

    Args:
        program: a case's.
    """
    up = sorted((each for each in program.bands if each.on_the_way == "up"), key=_height)
    down = sorted((each for each in program.bands if each.on_the_way == "down"), key=_height)
    rows: list[tuple[int, float, float, float]] = [(0, _START, 0.0, program.bottom_wraps)]
    rows += [(_BAND, _OWN, each.height, each.wraps) for each in up]
    rows += [(3, _TOP, 0.0, program.top_wraps)]
    if program.ends_at == "top":
        rows += [(5, _TOP, 0.0, program.closing_wraps)]
    else:
        rows += [(_BAND, _OWN, each.height, each.wraps) for each in reversed(down)]
        rows += [(5, _START, 0.0, program.closing_wraps)]
    waits = np.zeros(len(_PARTS))
    for pause in program.pauses:
        waits[_PARTS.index(pause.before)] += pause.time
    return ProgramNumbers(
        np.array([row[1:] for row in rows], dtype=float),
        np.array([row[0] for row in rows], dtype=np.int64),
        waits,
        np.array(
            [(r.first_turn, r.last_turn, r.width, r.at_edge == "upper") for r in program.ropes],
            dtype=float,
        ).reshape(-1, len(ROPE_NUMBERS)),
    )


def _height(band: object) -> float:
    return float(band.height)  # type: ignore[attr-defined]
