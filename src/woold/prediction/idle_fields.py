"""Fields of a case that have no effect in it, each with what says the same instead."""

from __future__ import annotations

from dataclasses import dataclass

from woold.case.model import Case
from woold.prediction.film_on_load import teeth_stretch
from woold.words import say

__all__ = ["IdleField", "idle_fields"]


@dataclass(frozen=True, slots=True)
class IdleField:
    """A field without an effect, and why that is so, as a sentence."""

    field: str
    why: str


def idle_fields(case: Case) -> tuple[IdleField, ...]:
    """Fields of a case that have no effect in it.

    Args:
        case: a checked case.
    """
    carriage, film = case.carriage, case.film
    found = []
    if teeth_stretch(carriage) is not None:
        why = say("No effect here: the teeth of the slow and the fast roller give the pre-stretch.")
        found.append(IdleField("carriage.prestretch", why))
    rollers = say("No effect here: it follows from the rollers that are listed below.")
    found += [IdleField(f"carriage.{name}", rollers) for name in sorted(carriage.unused())]
    tested = say("No effect here: the points of the tensile test say it.")
    found += [IdleField(f"film.{name}", tested) for name in sorted(film.unused())]
    if case.width_is_measured:
        width = say("No effect here: the film's width on the load was measured, and that counts.")
        names = ("film.neck_down_error", "film.width_loss", "film.width_loss_prestretch")
        found += [IdleField(name, width) for name in names]
        if not carriage.rollers:
            found.append(IdleField("carriage.slow_roller_diameter", width))
    return tuple(found)
