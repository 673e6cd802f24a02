"""What a wrapped load costs: film, machine time, roll changes and film breaks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

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
        self.breaks, self.turns_today = case.plant.breaks_per_1000_loads, turns_today

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
        if film.price is None or rate is None or film.price.currency != rate.currency:
            return None
        standing = rate.amount * self.rethread_time
        per_kg = film.price.amount + standing / film.roll_mass
        breaks = self.breaks / _THOUSAND / self.turns_today
        return per_kg * mass + rate.amount * time + standing * breaks * turns

    def parts(self, place: int, mass: float, time: float, turns: float) -> CostParts | None:
        """The same, part by part."""
        found = self.arrays(place, (mass, time, turns), {})
        if len(found) < len(fields(CostParts)):
            return None
        return CostParts(**{name: float(each) for name, each in found.items()})

    def arrays(
        self,
        place: int,
        used: tuple[FloatOrArray, FloatOrArray, FloatOrArray],
        drawn: Mapping[str, FloatOrArray],
        turns_today: FloatOrArray | None = None,
    ) -> dict[str, FloatOrArray]:
        """The parts by name, at values that may be drawn; those without a price are left out.

        Args:
            place: of the film on the shelf.
            used: film, time of the cycle and turns, of the same shape [kg, s, -].
            drawn: values instead of the case's, by dotted field name.
            turns_today: that the case's own program makes at these values [-].
        """
        film, rate = self.shelf[place], self.rate
        mass, time, turns = used
        own = self.shelf[0].price
        if film.price is None or (own is not None and film.price.currency != own.currency):
            return {}
        found = {"film": film.price.amount * mass}
        if rate is None or rate.currency != film.price.currency:
            return found
        standing = rate.amount * drawn.get("machine.rethread_time", self.rethread_time)
        breaks = drawn.get("plant.breaks_per_1000_loads", self.breaks) / _THOUSAND
        breaks /= self.turns_today if turns_today is None else turns_today
        return found | {
            "machine_time": rate.amount * time,
            "roll_changes": standing * mass / drawn.get("film.roll_mass", film.roll_mass),
            "breaks": standing * breaks * turns,
        }
