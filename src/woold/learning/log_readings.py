"""What a case predicts of its averages, for many draws of its unknowns at once.

Film is laid for all draws at once; what the program makes of it follows from its width, at evenly
set widths of which the full program is laid.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.physics import hold, layer_count, outlines, pattern, soft_load
from woold.physics.carriage import LaidFilm
from woold.physics.film import film_area, retained_force_fraction
from woold.prediction.clock import cycle_clock
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.prediction.film_over_height import count_heights
from woold.prediction.film_roll import modulus_as_laid
from woold.prediction.predict import load_outline, perimeter_below_deck, program_legs
from woold.trial.averages import DANCER, KEPT, MARKS, MASS, ROLL, TIME, WIDTH, Average

__all__ = ["log_grip_margin", "log_readings"]

Array = npt.NDArray[np.float64]

_WIDTHS = 129


def log_readings(
    case: Case, averages: Sequence[Average], draws: Mapping[str, Array], count: int
) -> Array:
    """Logarithms of what the case predicts of averages.

    Args:
        case: the case.
        averages: what was measured; pull readings of loads with a flat face only.
        draws: values by field, shape (count,).
        count: how many.

    Returns:
        ln of every average [SI], shape (count, averages); NaN where the film tears, or runs
        through rollers that shall draw it.
    """
    laid = lay_film(case, lacing_of(case), draws)
    width = _all(laid.width, count)
    widths = np.unique(np.linspace(float(width.min()), float(width.max()), _WIDTHS))
    result = np.empty((count, len(averages)))
    for index, each in enumerate(averages):
        if each.what == MASS:
            lengths, turns = _length_and_turns(case, widths)
            used = np.interp(width, widths, lengths) * _all(laid.mass_per_metre, count)
            if math.isfinite(each.turns):
                used = used * each.turns / np.interp(width, widths, turns)
            result[:, index] = np.log(used)
        elif each.what == MARKS:
            result[:, index] = np.log(_all(laid.stretch, count))
        elif each.what == WIDTH:
            result[:, index] = np.log(width)
        elif each.what == TIME:
            result[:, index] = np.log(_cycle_time(case, draws, width, widths))
        elif each.what == ROLL:
            result[:, index] = np.log(_of_a_roll(case, draws))
        elif each.what == DANCER:
            result[:, index] = np.log(_all(_force_to_load(case, draws), count))
        elif each.what == KEPT:
            result[:, index] = np.log(
                _kept(case, draws, each.age) / _kept(case, draws, each.first_age)
            )
        else:
            pull = _pull_reading(case, draws, laid, widths, each.height)
            result[:, index] = np.log(pull * _kept(case, draws, each.age))
    result[np.broadcast_to(_is_left_out(case, laid), count)] = np.nan
    return result


def _is_left_out(case: Case, laid: LaidFilm) -> npt.NDArray[np.bool_]:
    """Where the film tears; and where rollers that shall draw it let it through unstretched.

    There the model jumps, and nobody would go on wrapping.
    """
    torn = np.asarray(laid.breaks, dtype=bool)
    if not np.all(lay_film(case, lacing_of(case), {}).delivered.is_drawn):
        return torn
    return np.asarray(torn | ~np.asarray(laid.delivered.is_drawn, dtype=bool))


def log_grip_margin(case: Case, draws: Mapping[str, Array], count: int) -> Array:
    """ln of the force that the rollers hold over the one that the set stretch asks for.

    Below 0 film slips on one of them.

    Args:
        case, draws, count: as for :func:`log_readings`.

    Returns:
        Shape (count,) [-].
    """
    delivered = lay_film(case, lacing_of(case), draws).delivered
    least = np.minimum(delivered.margin_slow, delivered.margin_fast)
    return np.log(np.maximum(_all(least, count), 1e-3))


def _all(values: npt.ArrayLike, count: int) -> Array:
    return np.broadcast_to(np.asarray(values, dtype=float), count)


def _force_to_load(case: Case, draws: Mapping[str, Array]) -> Array:
    return draws.get("program.force_to_load", np.asarray(case.program.force_to_load))


def _kept(case: Case, draws: Mapping[str, Array], age: float) -> Array:
    """Share of the force that is left at an age, never quite nothing."""
    loss = draws.get("film.force_loss_per_decade", np.asarray(case.film.force_loss_per_decade))
    return np.maximum(retained_force_fraction(age, loss), 1e-6)


def _of_a_roll(case: Case, draws: Mapping[str, Array]) -> Array:
    """Mass of unstretched film over its length [kg/m]: density, width and thickness."""
    density, width, thickness = (
        draws.get(f"film.{name}", np.asarray(getattr(case.film, name)))
        for name in ("density", "roll_width", "thickness")
    )
    return np.asarray(density * film_area(width, thickness))


def _length_and_turns(case: Case, widths: Array) -> tuple[Array, Array]:
    """Film length [m] and turns of the program at film widths."""
    outline = load_outline(case)
    around, below = outlines.perimeter(outline), perimeter_below_deck(case, outline)
    tails = case.program.start_tail + case.program.end_tail
    lengths, turns = [], []
    for width in widths.tolist():
        legs = program_legs(case, width)
        lengths.append(float(pattern.film_length(legs, around, below).sum()) + tails)
        turns.append(legs[-1].last_turn)
    return np.array(lengths), np.array(turns)


def _cycle_time(case: Case, draws: Mapping[str, Array], width: Array, widths: Array) -> Array:
    """Time of the whole cycle [s]; exact where turns allow the full speed between standstills."""
    machine = case.machine
    turning, ramps = [], []
    for each in widths.tolist():
        clock = cycle_clock(case, program_legs(case, each))
        turning.append(clock.wrapping)
        ramps.append(clock.ramps)
    pauses = clock.pauses
    up, down, end = (
        draws.get(f"machine.{name}", np.asarray(getattr(machine, name)))
        for name in ("ramp_up", "ramp_down", "end_time")
    )
    speed = draws.get("machine.speed", np.asarray(machine.speed))
    both = machine.ramp_up + machine.ramp_down
    slower = (up + down) / both if both > 0.0 else 1.0
    turned = np.interp(width, widths, turning) * machine.speed / speed
    return np.asarray(turned + np.interp(width, widths, ramps) * slower + pauses + end)


def _pull_reading(
    case: Case, draws: Mapping[str, Array], laid: LaidFilm, widths: Array, height: float
) -> Array:
    """What a plate pulled off the middle of the longest face would read, when wrapped [N]."""
    count = np.size(laid.width)
    width, thickness = _all(laid.width, count), _all(laid.thickness, count)
    at_widths = np.array([_layers_at(case, each, height) for each in widths.tolist()])
    layers, layers_per_metre = (np.interp(width, widths, each) for each in at_widths.T)
    force = _force_to_load(case, draws)
    modulus = modulus_as_laid(case.film, draws)
    soft = case.load.hoop_stiffness
    stiffness = draws.get("load.hoop_stiffness", np.asarray(np.inf if soft is None else soft))
    share = soft_load.soft_load_share(
        layers, soft_load.stiffness_of_layer(modulus, thickness, width), stiffness
    )
    face = float(np.hypot(*outlines.side_vectors(load_outline(case).vertices).T).max())
    return np.asarray(
        hold.pull_plate_reading(
            hoop=force * layers_per_metre * share,
            membrane_stiffness=modulus * thickness * layers,
            plate_width=case.hold.pull_plate_width,
            pull=case.hold.pull_distance,
            near_corner=0.5 * face,
            far_corner=0.5 * face,
        )
    )


def _layers_at(case: Case, width: float, height: float) -> tuple[float, float]:
    """Mean layers around the load at a height, and the same over the width of each [1/m]."""
    legs = program_legs(case, width)
    heights = count_heights(legs, case.load.height)
    nearest = heights[[int(np.abs(heights - height).argmin())]]
    own = np.array([leg.width for leg in legs])
    _, mean = layer_count.weighted_layers(
        legs, [(width / own).tolist(), (1.0 / own).tolist()], nearest
    )
    return float(mean[0][0]), float(mean[1][0])
