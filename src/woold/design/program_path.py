"""Film, time and turns of a case's program, without what its film holds: soon reckoned."""

from __future__ import annotations

from woold.case.model import Case
from woold.physics import outlines, pattern
from woold.prediction.clock import cycle_clock
from woold.prediction.predict import load_outline, perimeter_below_deck, program_legs

__all__ = ["ProgramPath"]


class ProgramPath:
    """Film, time and turns of a case's program, by the film's width.

    Args:
        case: the case; its film does not count.
    """

    def __init__(self, case: Case) -> None:
        outline = load_outline(case)
        self.case, self.around = case, outlines.perimeter(outline)
        self.below = perimeter_below_deck(case, outline)

    def at(self, width: float, case: Case | None = None) -> tuple[float, float, float]:
        """Film length [m], cycle time [s] and turns.

        Args:
            width: of the film on the load [m].
            case: the same load with another program.

        Raises:
            PhysicsError: a program that cannot be.
        """
        case = case or self.case
        legs = program_legs(case, width)
        length = float(pattern.film_length(legs, self.around, self.below).sum())
        length += case.program.start_tail + case.program.end_tail
        return length, cycle_clock(case, legs).cycle_time, legs[-1].last_turn
