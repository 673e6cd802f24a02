"""What a trial's cases predict of its readings; asked at every load, predicted once."""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass

from woold.case.file import case_from_table
from woold.errors import WooldError
from woold.physics.film import film_area, retained_force_fraction
from woold.prediction.predict import predict
from woold.trial.setup import TrialSetup
from woold.trial.worksheet import zone_heights

__all__ = ["PredictedReadings", "predicted_readings"]


@dataclass(frozen=True, slots=True)
class PredictedReadings:
    """What is predicted of one load type and treatment (SI).

    Args:
        film_mass, turns, cycle_time, stretch, film_width: of a load.
        force_to_load: film force as the case states it.
        pulls: pull reading in the middle of each zone, from the bottom up; None where none is.
        force_loss: share of the film's force lost in a tenfold time.
        roll_density: film mass over film length of a roll [kg/m].
        height: of the load over the deck.
    """

    film_mass: float
    turns: float
    cycle_time: float
    stretch: float
    film_width: float
    force_to_load: float
    pulls: tuple[float | None, ...]
    force_loss: float
    roll_density: float
    height: float

    def pull(self, zone: int | None, age: float | None) -> float | None:
        """Pull reading in a zone, at an age [s] where it is known."""
        if zone is None or zone >= len(self.pulls) or self.pulls[zone] is None:
            return None
        kept = float(retained_force_fraction(max(age, 60.0), self.force_loss)) if age else 1.0
        return (self.pulls[zone] or 0.0) * kept or None


def predicted_readings(
    setup: TrialSetup, load_type: str, treatment: str
) -> PredictedReadings | None:
    """What the case of a load type and treatment predicts; None where the trial names none."""
    table = setup.case_table(load_type, treatment)
    if table is None:
        return None
    heights = zone_heights(setup, load_type)
    return _of_case(json.dumps(table, default=str), heights)


@functools.lru_cache(maxsize=128)
def _of_case(text: str, heights: tuple[float, ...]) -> PredictedReadings | None:
    try:
        case = case_from_table(json.loads(text))
        found = predict(case)
    except WooldError:
        return None
    pulls: list[float | None] = []
    for height in heights:
        try:
            there = predict(case.with_values({"hold.pull_height": height}))
            pulls.append(there.pull_plate_reading_n)
        except WooldError:
            pulls.append(None)
    film = case.film
    return PredictedReadings(
        film_mass=found.film_mass_kg,
        turns=found.turns,
        cycle_time=found.cycle_time_s,
        stretch=found.stretch_on_load,
        film_width=found.film_width_on_load_m,
        force_to_load=case.program.force_to_load,
        pulls=tuple(pulls),
        force_loss=film.force_loss_per_decade,
        roll_density=film.density * float(film_area(film.roll_width, film.thickness)),
        height=case.load.height,
    )
