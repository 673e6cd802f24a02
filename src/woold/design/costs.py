"""What a wrapped load costs: film, machine time, roll changes and film breaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from woold.case.film import Film
from woold.case.model import Case
from woold.physics.numeric import FloatOrArray

__all__ = ["CostParts", "Costs"]

_THOUSAND = 1000.0


@dataclass(frozen=True, slots=True)
class CostParts:
    """What a load costs, in the case's currency. Field names are JSON keys.

    Args:
        film: at its price.
        machine_time: the cycle at the price of standstill.
        roll_changes: standstill while rolls are changed, for this load's share of a roll.
        breaks: standstill while film is laced again after a break, for this load's turns.
    """

    film: float
    machine_time: float
    roll_changes: float
    breaks: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.film + self.machine_time + self.roll_changes + self.breaks


class Costs:
    """Prices loads of a case, each with a film of a shelf.

    A break is taken to need as long as a roll change, and to come as often in every turn as it does
    today, whatever film and force (common practice, no source; nobody measured how much oftener
    film breaks at more force).

    Args:
        case: says prices, times and breaks.
        shelf: the films.
        turns_today: that the case's own program makes [-].
    """

    def __init__(self, case: Case, shelf: Sequence[Film], turns_today: float) -> None:
        self.shelf, self.rate = shelf, case.plant.standstill_price
        self.rethread_time = case.machine.rethread_time
        self.breaks_per_turn = case.plant.breaks_per_1000_loads / _THOUSAND / turns_today

    def per_load(
        self, place: int, mass: FloatOrArray, time: FloatOrArray, turns: FloatOrArray
    ) -> FloatOrArray | None:
        """Cost of a load; None where a price is missing.

        Equation: (price + rate t_r/M) m + rate t + rate t_r b turns, t_r the time of a roll change,
        M film on a roll, b breaks in a turn.

        Args:
            place: of the film on the shelf.
            mass: film [kg].
            time: of the cycle [s].
            turns: turns [-].
        """
        film, rate = self.shelf[place], self.rate
        if film.price is None or rate is None:
            return None
        standing = rate.amount * self.rethread_time
        per_kg = film.price.amount + standing / film.roll_mass
        return per_kg * mass + rate.amount * time + standing * self.breaks_per_turn * turns

    def parts(self, place: int, mass: float, time: float, turns: float) -> CostParts | None:
        """The same, part by part."""
        film, rate = self.shelf[place], self.rate
        if film.price is None or rate is None:
            return None
        standing = rate.amount * self.rethread_time
        return CostParts(
            film=film.price.amount * mass,
            machine_time=rate.amount * time,
            roll_changes=standing * mass / film.roll_mass,
            breaks=standing * self.breaks_per_turn * turns,
        )
