"""A block of predictions: many loads, films and settings at once.

The film is laid for all of them together and their cycles are counted by compiled loops, so nothing
is made for a single one. The numbers are those of :func:`woold.prediction.predict.predict`, which a
test holds them against. What the loops do not count, loads that give way, is predicted one by one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.errors import WooldError
from woold.physics import film
from woold.physics.cycle_kernel import CYCLE_NUMBERS, LEG_NUMBERS, lay_cycles
from woold.physics.felt_kernel import HELD, hold_cycles
from woold.physics.felt_patch import felt_zone
from woold.physics.hold import corner_force
from woold.physics.numeric import FloatOrArray
from woold.prediction.block_program import program_numbers
from woold.prediction.film_roll import NO_DRAWS, Draws
from woold.prediction.load_columns import LoadColumns
from woold.prediction.predict import predict

__all__ = [
    "BlockPrediction",
    "FilmUsed",
    "SheetOnLoad",
    "film_lengths",
    "film_used",
    "laid_cycles",
    "layers_of_legs",
    "predict_block",
]

Floats = NDArray[np.float64]
_FULL_TURN = 2.0 * math.pi


@dataclass(frozen=True, eq=False)
class BlockPrediction:
    """Predictions of many loads, each of shape (loads,) and NaN where a load cannot be wrapped so.

    Names are those of :class:`woold.prediction.result.Prediction`.

    Args:
        can_be: the program can be run on the load.
        target_share: of each target, what holds over what is asked, at the worse end of the film's
            loss of force; NaN where nothing is asked, shape (loads, targets) [-].
    """

    can_be: NDArray[np.bool_]
    film_length_m: Floats
    film_mass_kg: Floats
    turns: Floats
    cycle_time_s: Floats
    wrapping_time_s: Floats
    ramp_time_s: Floats
    pause_time_s: Floats
    layers_min: Floats
    layers_mean: Floats
    hoop_tension_max_n_per_m: Floats
    corner_force_max_n_per_m: Floats
    containment_min_n: Floats
    containment_later_min_n: Floats
    containment_later_low_n: Floats
    containment_later_high_n: Floats
    containment_least_height_m: Floats
    first_layer_force_n: Floats
    film_speed_max_m_per_s: Floats
    film_speed_mean_m_per_s: Floats
    target_share: Floats


_SAME = (
    "film_length_m",
    "film_mass_kg",
    "turns",
    "cycle_time_s",
    "wrapping_time_s",
    "ramp_time_s",
    "pause_time_s",
    "layers_min",
    "layers_mean",
    "hoop_tension_max_n_per_m",
    "containment_min_n",
    "containment_later_min_n",
    "containment_later_low_n",
    "containment_later_high_n",
    "containment_least_height_m",
    "first_layer_force_n",
    "film_speed_max_m_per_s",
    "film_speed_mean_m_per_s",
)


class SheetOnLoad(Protocol):
    """Film as it lies: of one film for all loads, or one element for each."""

    @property
    def width(self) -> FloatOrArray: ...
    @property
    def thickness(self) -> FloatOrArray: ...
    @property
    def mass_per_metre(self) -> FloatOrArray: ...


def predict_block(
    case: Case, sheet: SheetOnLoad, loads: LoadColumns, draws: Draws = NO_DRAWS
) -> BlockPrediction:
    """Film use, cover, hold and time of many loads.

    Args:
        case: says film, carriage, machine and program; its own load and hold do not count.
        sheet: its film on the load, by :func:`woold.prediction.film_on_load.film_on_load`; or of
            each load, by :func:`woold.prediction.film_on_load.lay_film`.
        loads: what is wrapped, and what it must hold.
        draws: values of the program, the machine and the film's loss of force that replace the
            case's, one for each load; rigid loads only.

    Returns:
        The predictions. Whether a load passes the film's exit is not asked here.
    """
    if not loads.is_soft.any():
        return _at_once(case, sheet, loads, draws)
    soft, rigid = np.flatnonzero(loads.is_soft), np.flatnonzero(~loads.is_soft)
    parts = (
        _one_by_one(case, loads.some(soft)),
        _at_once(case, sheet, loads.some(rigid), NO_DRAWS),
    )
    back = np.argsort(np.concatenate([soft, rigid]))
    return BlockPrediction(
        **{
            each.name: np.concatenate([getattr(part, each.name) for part in parts])[back]
            for each in fields(BlockPrediction)
        }
    )


def _at_once(case: Case, sheet: SheetOnLoad, loads: LoadColumns, draws: Draws) -> BlockPrediction:
    """The block of rigid loads, by the compiled loops."""
    values = _Values(case, draws)
    legs, counts, times = laid_cycles(case, sheet.width, loads, draws)
    weights = _leg_weights(values, loads, legs, layers_of_legs(legs, sheet.width))
    held, in_zones = _held(loads, legs, counts, weights)
    is_leg = np.arange(legs.shape[1]) < counts[:, None]
    can_be = counts > 0
    nowhere = np.where(can_be, 1.0, np.nan)
    used = _used(values, counts, times)
    force, speed = values["program.force_to_load"], values["machine.speed"]
    _, wrapping, ramps, pauses = times.T
    hoop = nowhere * force / sheet.width * held["layers_most"]
    later = nowhere * held["felt_later"]
    with np.errstate(divide="ignore", invalid="ignore"):
        now, low, high = (
            np.where(held["at_later"] > 0.0, later * held[name] / held["at_later"], later)
            for name in ("at_now", "at_low", "at_high")
        )
        kept = np.where(weights[:, 2] > 0.0, weights[:, 3] / weights[:, 2], 0.0)
        worse = np.where(is_leg, kept, np.inf).min(axis=1)
        share = in_zones * worse[:, None] / loads.asked
    share[loads.is_above | ~can_be[:, None]] = np.nan
    return BlockPrediction(
        can_be=can_be,
        film_length_m=used.length,
        film_mass_kg=used.length * sheet.mass_per_metre,
        turns=used.turns,
        cycle_time_s=nowhere * (wrapping + ramps + pauses + values["machine.end_time"]),
        wrapping_time_s=nowhere * wrapping,
        ramp_time_s=nowhere * ramps,
        pause_time_s=nowhere * pauses,
        layers_min=nowhere * held["layers_min"],
        layers_mean=nowhere * held["layers_mean"],
        hoop_tension_max_n_per_m=hoop,
        corner_force_max_n_per_m=np.asarray(corner_force(hoop, loads.turn)),
        containment_min_n=now,
        containment_later_min_n=later,
        containment_later_low_n=low,
        containment_later_high_n=high,
        containment_least_height_m=nowhere * held["felt_height"],
        first_layer_force_n=nowhere * force,
        film_speed_mean_m_per_s=speed * loads.support[:, 1],
        film_speed_max_m_per_s=speed * loads.support[:, 2],
        target_share=share,
    )


class _Values:
    """Numbers of a case, or what was drawn for them."""

    def __init__(self, case: Case, draws: Draws) -> None:
        self.case, self.draws = case, draws

    def __getitem__(self, field: str) -> FloatOrArray:
        """A number by its dotted name."""
        found = self.draws.get(field)
        if found is None:
            table, _, name = field.partition(".")
            found = getattr(getattr(self.case, table), name)
        return found

    def rises(self, film_width: FloatOrArray) -> tuple[FloatOrArray, FloatOrArray]:
        """Travel of the carriage in a turn, up and down [m]."""
        program = self.case.program
        if program.rise_per_turn is not None:
            up = self["program.rise_per_turn"]
        else:
            up = film_width * (1.0 - self["program.overlap"])
        return up, self["program.fall_per_turn"] if program.fall_per_turn else up


@dataclass(frozen=True, eq=False)
class FilmUsed:
    """What a program lays on each load; NaN where it cannot be run. Shapes (loads,).

    Args:
        length: of film, its tails with it [m].
        turns: of the load.
    """

    length: Floats
    turns: Floats


def film_used(
    case: Case, film_width: FloatOrArray, loads: LoadColumns, draws: Draws = NO_DRAWS
) -> FilmUsed:
    """Film and turns that a program takes on each load.

    Args:
        case: says machine and program.
        film_width: of the film on the load, or on each of them [m].
        loads: what is wrapped.
        draws: values that replace the case's, as for :func:`predict_block`.
    """
    _, counts, times = laid_cycles(case, film_width, loads, draws)
    return _used(_Values(case, draws), counts, times)


def _used(values: _Values, counts: NDArray[np.int64], times: Floats) -> FilmUsed:
    nowhere = np.where(counts > 0, 1.0, np.nan)
    tails = values["program.start_tail"] + values["program.end_tail"]
    turns = times[:, 1] * values["machine.speed"] / _FULL_TURN
    return FilmUsed(nowhere * (times[:, 0] + tails), nowhere * turns)


def film_lengths(case: Case, film_width: FloatOrArray, loads: LoadColumns) -> Floats:
    """Film that the case's program lays on each load [m]; NaN where it cannot be run.

    Args:
        case: says machine and program.
        film_width: of the film on the load [m].
        loads: what is wrapped.
    """
    return film_used(case, film_width, loads).length


def laid_cycles(
    case: Case, film_width: FloatOrArray, loads: LoadColumns, draws: Draws = NO_DRAWS
) -> tuple[Floats, NDArray[np.int64], Floats]:
    """Legs of each load's cycle, how many there are, and length and times.

    Args:
        case, film_width, loads, draws: as for :func:`film_used`.

    Returns:
        As :func:`woold.physics.cycle_kernel.lay_cycles` has them.
    """
    program, count, values = case.program, len(loads), _Values(case, draws)
    rise, fall = values.rises(film_width)
    start, overlap = values["program.start_height"], values["program.top_overlap"]
    column = {
        "load_height": loads.height,
        "film_width": film_width,
        "perimeter": loads.perimeter,
        "perimeter_below": loads.perimeter_below,
        "start_height": start,
        "top_overlap": overlap,
        "rise_per_turn": rise,
        "fall_per_turn": fall,
        "turning_speed": values["machine.speed"],
        "ramp_up": values["machine.ramp_up"],
        "ramp_down": values["machine.ramp_down"],
    }
    numbers = np.empty((count, len(CYCLE_NUMBERS)))
    for at, name in enumerate(CYCLE_NUMBERS):
        numbers[:, at] = column[name]
    told = program_numbers(program)
    most = told.most_legs
    legs = np.zeros((count, most, len(LEG_NUMBERS)))
    counts, times = np.zeros(count, dtype=np.int64), np.zeros((count, 4))
    room = (legs, counts, times, np.empty((4 * most + 8, 3)), np.empty(most, dtype=np.int64))
    lay_cycles(numbers, np.zeros(count, dtype=np.int64), *(each[None] for each in told), room)
    # A band must lie on the carriage's way even where the program leaves that way out.
    top = np.maximum(loads.height + overlap - film_width, start)
    for band in program.bands:
        counts[(band.height < start) | (band.height > top)] = -1
    return legs, counts, times


def layers_of_legs(legs: Floats, film_width: FloatOrArray) -> Floats:
    """Layers that a pass of each leg counts: a rope as many as it is gathered of.

    Args:
        legs: as :func:`laid_cycles` lays them.
        film_width: of the film on the load, or on each of them [m].
    """
    widths = legs[:, :, 4]
    open_film = np.reshape(np.asarray(film_width), (-1, 1))
    return np.divide(open_film, widths, out=np.ones(widths.shape), where=widths > 0.0)


def _leg_weights(values: _Values, loads: LoadColumns, legs: Floats, layers: Floats) -> Floats:
    """What a pass of each leg counts, as `hold_cycles` takes it."""
    loss = np.asarray(values["film.force_loss_per_decade"])
    ends = values.case.range_of("film.force_loss_per_decade")
    low, high = np.minimum(loss, ends[0]), np.maximum(loss, ends[1])
    ages = legs[:, :, 5]
    later = ages + loads.after[:, None]
    weights = np.empty((len(loads), 5, legs.shape[1]))
    weights[:, 0] = layers
    force = np.asarray(values["program.force_to_load"])
    for at, (age, lost) in enumerate(((ages, loss), (later, loss), (later, high), (later, low))):
        kept = film.retained_force_fraction(age, (lost * loads.loss_scale)[:, None])
        weights[:, at + 1] = np.reshape(force, (-1, 1)) * kept
    return weights


def _held(
    loads: LoadColumns, legs: Floats, counts: NDArray[np.int64], weights: Floats
) -> tuple[dict[str, Floats], Floats]:
    """What is held, by name, and the least in each zone."""
    held = np.zeros((len(loads), len(HELD)))
    in_zones = np.zeros(loads.asked.shape)
    sizes = np.column_stack([loads.height, loads.perimeter])
    hold_cycles(sizes, legs, counts, weights, loads.zones, (held, in_zones))
    return dict(zip(HELD, held.T, strict=True)), in_zones


def _one_by_one(case: Case, loads: LoadColumns) -> BlockPrediction:
    """The same by full predictions."""
    rows = [np.full(len(loads), np.nan) for _ in _SAME]
    corner = np.full(len(loads), np.nan)
    share = np.full(loads.asked.shape, np.nan)
    can_be = np.zeros(len(loads), dtype=bool)
    for index, (load, ask) in enumerate(zip(loads.loads, loads.holds, strict=True)):
        one = case.with_values({"load": load, "hold": ask})
        # The film's exit is not asked about here, and nothing but that check rests on it.
        reach = float(loads.radius[index])
        if one.machine.exit_distance <= reach:
            one = one.with_values({"machine.exit_distance": 2.0 * reach})
        try:
            p = predict(one)
        except WooldError:
            continue
        can_be[index] = True
        for column, name in zip(rows, _SAME, strict=True):
            column[index] = getattr(p, name)
        if p.corner_force_max_n_per_m is not None:
            corner[index] = p.corner_force_max_n_per_m
        for at, target in enumerate(ask.targets):
            if not loads.is_above[index, at]:
                zone = tuple(loads.zones[index, at].tolist())
                felt = felt_zone(p.felt.patches, p.felt.step, zone)
                share[index, at] = felt.least * p.felt.worse_share / target.force
    return BlockPrediction(
        can_be=can_be,
        corner_force_max_n_per_m=corner,
        target_share=share,
        **dict(zip(_SAME, rows, strict=True)),
    )
