"""Programs that a machine's loads may be wrapped by: force, overlap or rise, wraps at the ends."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from woold.case.program import Program

__all__ = ["TriedProgram", "tried_programs"]

_FORCES = (0.7, 0.85, 1.0, 1.15, 1.3)
_OVERLAPS = (0.3, 0.4, 0.5, 0.6, 0.7)
_RISES = (1.4, 1.2, 1.0, 0.8, 0.65)
_WRAPS = (1.0, 2.0, 3.0)


@dataclass(frozen=True, slots=True)
class TriedProgram:
    """A program that is tried.

    Args:
        program: the program.
        in_use: name of a recipe of the line that has it; "" for none.
    """

    program: Program
    in_use: str = ""


def tried_programs(
    in_use: Sequence[tuple[str, Program]], forces: Iterable[float] = ()
) -> tuple[TriedProgram, ...]:
    """The programs in use, and such as vary the first of them over a grid.

    Force 0.7 to 1.3 times, in whole newtons; overlap 30 to 70 %, or rise 0.65 to 1.4 times in whole
    centimetres; 1 to 3 wraps at bottom and top. All else stays.

    Args:
        in_use: names and programs, the most used first.
        forces: to load that may be set, instead of the grid's [N].
    """
    base = in_use[0][1]
    pitches: list[dict[str, float]] = (
        [{"overlap": each} for each in _OVERLAPS]
        if base.overlap is not None
        else [
            {"rise_per_turn": max(round((base.rise_per_turn or 0.0) * each, 2), 0.01)}
            for each in _RISES
        ]
    )
    given = tuple(forces) or tuple(
        max(float(round(base.force_to_load * each)), 1.0) for each in _FORCES
    )
    found: dict[str, TriedProgram] = {}
    for name, program in in_use:
        found.setdefault(program.model_dump_json(), TriedProgram(program, name))
    for force, pitch, wraps in itertools.product(dict.fromkeys(given), pitches, _WRAPS):
        changes = {"force_to_load": force, "bottom_wraps": wraps, "top_wraps": wraps, **pitch}
        program = base.model_copy(update=changes)
        found.setdefault(program.model_dump_json(), TriedProgram(program))
    return tuple(found.values())
