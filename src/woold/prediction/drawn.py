"""Predictions of many draws of one case at once, by the block's compiled loops."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.errors import WooldError
from woold.physics.carriage import LaidFilm
from woold.prediction.film_on_load import lacing_of, lay_film, teeth_stretch
from woold.prediction.film_roll import Draws, film_curve
from woold.prediction.load_columns import LoadColumns, load_columns
from woold.prediction.predict import predict, use_values
from woold.prediction.result import Prediction

if TYPE_CHECKING:
    from woold.prediction.block import BlockPrediction

__all__ = ["DrawnPrediction", "predict_draws"]

Floats = NDArray[np.float64]

_AT_ONCE = frozenset(
    f"{table}.{name}"
    for table, names in {
        "film": (
            *("roll_width", "thickness", "density", "reload_modulus", "width_loss"),
            *("yield_stress", "hardening_modulus", "extensibility", "elastic_modulus"),
            *("temperature", "softening", "neck_down_error", "force_loss_per_decade", "roll_mass"),
        ),
        "carriage": (
            *("prestretch", "gap", "unwind_tension", "friction", "slow_roller_diameter"),
            *("contact_angle_slow", "contact_angle_fast", "nip_force_slow", "nip_force_fast"),
            *("film_width_on_load", "neck_down", "roughness"),
        ),
        "machine": (
            *("speed", "ramp_up", "ramp_down", "end_time", "rethread_time", "exit_distance"),
            "carriage_speed_limit",
        ),
        "program": (
            *("force_to_load", "start_height", "top_overlap", "rise_per_turn", "overlap"),
            *("fall_per_turn", "start_tail", "end_tail"),
        ),
        "hold": ("after", "temperature", "edge_load_limit", "pull_height"),
    }.items()
    for name in names
)
"""What may differ from draw to draw within a block, beside every number of load and plant."""


@dataclass(frozen=True, slots=True)
class DrawnPrediction:
    """What is asked of a draw; named as in :class:`woold.prediction.result.Prediction`."""

    film_mass_kg: float
    film_length_m: float
    film_mass_per_year_kg: float
    loads_per_roll: float
    turns: float
    prestretch_delivered: float
    stretch_on_load: float
    film_width_on_load_m: float
    neck_down_m: float
    containment_min_n: float
    containment_later_min_n: float
    pull_plate_reading_n: float | None
    cycle_time_s: float


def predict_draws(
    case: Case, draws: Mapping[str, Floats], count: int
) -> Iterator[tuple[Case, DrawnPrediction | Prediction | None]]:
    """Each draw's case and prediction, in order; None where it cannot be predicted.

    Where the block cannot tell that all is well with a draw, :func:`predict` is asked.

    Args:
        case: the case.
        draws: values by field [SI], each of shape (count,).
        count: how many.
    """
    block = _at_once(case, draws, count)
    columns = {name: each.tolist() for name, each in draws.items()}
    for index in range(count):
        drawn = case.with_values({name: each[index] for name, each in columns.items()})
        found = None if block is None else block.row(drawn, index)
        if found is not None:
            yield drawn, found
            continue
        try:
            yield drawn, predict(drawn)
        except WooldError:
            yield drawn, None


@dataclass(frozen=True, eq=False)
class _DrawnBlock:
    """Draws that were predicted at once; each list has one element a draw."""

    is_well: list[bool]
    pulls: list[float]
    numbers: Mapping[str, list[float]]

    def row(self, drawn: Case, index: int) -> DrawnPrediction | None:
        """One draw; None where a prediction by itself must say."""
        if not self.is_well[index]:
            return None
        one = {name: each[index] for name, each in self.numbers.items()}
        used = use_values(drawn, one["film_length_m"], one["film_mass_kg"])
        pull = self.pulls[index]
        return DrawnPrediction(
            **one,
            film_mass_per_year_kg=used["film_mass_per_year_kg"],
            loads_per_roll=used["loads_per_roll"],
            neck_down_m=drawn.film.roll_width - one["film_width_on_load_m"],
            pull_plate_reading_n=None if np.isnan(pull) else pull,
        )


def _at_once(case: Case, draws: Mapping[str, Floats], count: int) -> _DrawnBlock | None:
    """The draws as a block; None where they must be predicted one by one."""
    # Its loops load a compiler, which a prediction without draws does not need.
    from woold.prediction.block import predict_block
    from woold.prediction.block_pulls import block_pull_readings

    others = [each for each in draws if not each.startswith(("load.", "plant."))]
    if case.load.hoop_stiffness is not None or not _AT_ONCE.issuperset(others):
        return None
    counted = _counted(case, draws)
    loads = _loads(case, draws, count)
    try:
        laid = lay_film(case, lacing_of(case), counted)
    except WooldError:  # one of them at least: each by itself says which
        return None
    block = predict_block(case, laid, loads, counted)
    numbers = {
        name: np.broadcast_to(np.asarray(each, dtype=float), count).tolist()
        for name, each in (
            *((name, getattr(block, name)) for name in _OF_BLOCK),
            ("prestretch_delivered", laid.delivered.stretch),
            ("stretch_on_load", laid.stretch),
            ("film_width_on_load_m", laid.width),
        )
    }
    return _DrawnBlock(
        is_well=_is_well(case, counted, loads, laid, block).tolist(),
        pulls=block_pull_readings(case, laid, loads, counted).tolist(),
        numbers=numbers,
    )


_OF_BLOCK = (
    *("film_mass_kg", "film_length_m", "turns", "cycle_time_s"),
    *("containment_min_n", "containment_later_min_n"),
)


def _counted(case: Case, draws: Mapping[str, Floats]) -> dict[str, Floats]:
    """Without the draws of typed numbers that rollers and teeth stand in for."""
    idle = {f"carriage.{name}" for name in case.carriage.unused()}
    if teeth_stretch(case.carriage) is not None:
        idle.add("carriage.prestretch")
    return {name: each for name, each in draws.items() if name not in idle}


def _loads(case: Case, draws: Mapping[str, Floats], count: int) -> LoadColumns:
    """Load and hold of each draw."""
    own = {name: v.tolist() for name, v in draws.items() if name.startswith(("load.", "hold."))}
    if not own:
        return load_columns([case.load], [case.hold]).some(np.zeros(count, dtype=np.intp))
    cases = [
        case.with_values({name: each[index] for name, each in own.items()})
        for index in range(count)
    ]
    return load_columns([each.load for each in cases], [each.hold for each in cases])


def _is_well(
    case: Case, draws: Draws, loads: LoadColumns, laid: LaidFilm, block: BlockPrediction
) -> NDArray[np.bool_]:
    """Draws that nothing is the matter with: whatever else there is, a prediction refuses."""
    carriage = case.carriage
    geared = draws.get("carriage.prestretch", teeth_stretch(carriage) or carriage.prestretch)
    room = draws.get("machine.exit_distance", case.machine.exit_distance)
    roll = draws.get("film.roll_width", case.film.roll_width)
    limit = film_curve(case.film, draws).largest_stretch
    return np.asarray(
        block.can_be
        & np.isfinite(block.film_mass_kg)
        & np.isfinite(block.containment_later_min_n)
        # Film that lost all of its force is looked at by itself; where none lies, none is lost.
        & (np.greater(block.containment_later_min_n, 0.0) | np.less(block.layers_min, 1.0))
        & np.logical_not(laid.breaks)
        & np.less(geared, limit)
        & np.less_equal(laid.width, roll)
        & np.greater(laid.width, 0.0)
        & np.less(loads.radius, room)
    )
