"""Film mass and containment of very many draws at once, and each input's part in their spread."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.physics import film, outlines, pattern, soft_load
from woold.physics.felt_patch import felt_containment
from woold.prediction.clock import cycle_clock
from woold.prediction.drawn import predict_draws
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.prediction.film_over_height import loss_scale
from woold.prediction.film_roll import modulus_as_laid
from woold.prediction.predict import load_outline, perimeter_below_deck, program_legs
from woold.uncertainty.draws import Unknown, draw_unknowns

__all__ = ["NO_MATTER", "JointShare", "OverWidths", "film_and_hold", "joint_shares", "over_widths"]

Array = npt.NDArray[np.float64]

DRAWS = 16_384
"""Draws of each of the two samples behind the shares, where only film and carriage vary."""

FEW_DRAWS = 128
"""The same where each draw has to be predicted by itself."""

_NODES = 65
_SEED = 1
_AT_ONCE = ("film.", "carriage.")
_AT_ONCE_NAMES = ("program.force_to_load", "hold.after", "load.hoop_stiffness")
_SECTIONS = ("load.", "film.", "carriage.", "program.", "hold.")
NO_MATTER = ("film.roll_mass", "carriage.roughness")
"""They move neither film mass nor containment; other sections by a few seconds of age at most."""


@dataclass(frozen=True, slots=True)
class JointShare:
    """Part of the spread that is left open while one input is not known, the others known.

    Args:
        film_mass: of the variance of film mass [-].
        containment: of that of the least containment at the age asked for [-].
        spread: standard deviation that it leaves of either, the larger, as a share of its mean [-].
    """

    film_mass: float
    containment: float
    spread: float


@dataclass(frozen=True, slots=True)
class OverWidths:
    """What a case's program makes of film of evenly set widths.

    Args:
        widths: of the film on the load, shape (widths,) [m].
        lengths: film length, likewise [m].
        layers: least layers over a patch, likewise.
        age: mean age of the film when the cycle ends [s].
    """

    widths: Array
    lengths: Array
    layers: Array
    age: float


def over_widths(case: Case, low: float, high: float) -> OverWidths:
    """The case's program at evenly set widths between two.

    Args:
        case: the case.
        low, high: narrowest and widest film on the load [m].
    """
    widths = np.unique(np.linspace(low, high, _NODES))
    outline = load_outline(case)
    around, below = outlines.perimeter(outline), perimeter_below_deck(case, outline)
    tails = case.program.start_tail + case.program.end_tail
    lengths, layers, ages = [], [], []
    for width in widths.tolist():
        legs = program_legs(case, width)
        lengths.append(float(pattern.film_length(legs, around, below).sum()) + tails)
        counts = [width / leg.width for leg in legs]
        felt = felt_containment(legs, [counts], around, case.load.height)
        layers.append(float(felt.least[0]))
        ages.append(float(np.mean(cycle_clock(case, legs).ages(legs))))
    return OverWidths(widths, np.array(lengths), np.array(layers), float(np.mean(ages)))


def film_and_hold(
    case: Case, draws: Mapping[str, Array], count: int, over: OverWidths | None = None
) -> tuple[Array, Array]:
    """Film mass and least felt containment later, for draws of film, carriage and force.

    The film is laid for all draws at once; its length and layers follow from its width, at
    evenly set widths of which the full program is laid.

    Args:
        case: the case.
        draws: values by field, shape (count,).
        count: how many.
        over: the program at the widths that may come, where that is known already.

    Returns:
        Film mass [kg] and containment [N], shape (count,); NaN where the film tears.
    """
    laid = lay_film(case, lacing_of(case), draws)
    width, mass, thickness = (
        np.broadcast_to(np.asarray(each, dtype=float), count)
        for each in (laid.width, laid.mass_per_metre, laid.thickness)
    )
    over = over or over_widths(case, float(width.min()), float(width.max()))
    after = draws.get("hold.after", np.asarray(case.hold.after))
    at_23 = draws.get("film.force_loss_per_decade", np.asarray(case.film.force_loss_per_decade))
    loss = at_23 * loss_scale(case.hold.temperature)
    kept = film.retained_force_fraction(after + over.age, loss)
    force = draws.get("program.force_to_load", np.asarray(case.program.force_to_load)) * kept
    stiffness = soft_load.stiffness_of_layer(modulus_as_laid(case.film, draws), thickness, width)
    soft = case.load.hoop_stiffness
    held = soft_load.soft_load_force(
        np.interp(width, over.widths, over.layers),
        force,
        stiffness,
        draws.get("load.hoop_stiffness", np.asarray(np.inf if soft is None else soft)),
    )
    used = np.interp(width, over.widths, over.lengths) * mass
    tears = np.broadcast_to(laid.breaks, count)
    return np.where(tears, np.nan, used), np.where(tears, np.nan, held)


def joint_shares(case: Case, unknowns: Sequence[Unknown]) -> dict[str, JointShare]:
    """Each input's total part in the variance of film mass and of containment, all varying.

    S_i = mean (f(A) - f(A with i from B))^2/(2 var f): with how inputs work together in it, so the
    parts add up to one or more.

    Args:
        case: a case that can be predicted.
        unknowns: inputs with their ranges.

    Returns:
        Shares by field; none where nothing varies.

    Source:
        Total-effect index of Homma and Saltelli (1996) by Jansen's estimator, Computer Physics
        Communications 117 (1999) 35-43.
    """
    matter = [
        each for each in unknowns if each.name.startswith(_SECTIONS) and each.name not in NO_MATTER
    ]
    at_once = all(each.name.startswith(_AT_ONCE) or each.name in _AT_ONCE_NAMES for each in matter)
    count = DRAWS if at_once else FEW_DRAWS
    random = np.random.default_rng(_SEED)
    first = draw_unknowns(matter, count, random)
    second = draw_unknowns(matter, count, random)
    run: Callable[..., tuple[Array, Array]] = _one_by_one
    if at_once:
        run = functools.partial(film_and_hold, over=_all_widths(case, (first, second), count))
    base = run(case, first, count)
    variations = [_variation(each) for each in base]
    shares = {}
    for each in matter:
        moved = run(case, {**first, each.name: second[each.name]}, count)
        mass, force = (_total(here, there) for here, there in zip(base, moved, strict=True))
        spread = max(
            part**0.5 * variation for part, variation in zip((mass, force), variations, strict=True)
        )
        shares[each.name] = JointShare(mass, force, spread)
    return shares


def _all_widths(case: Case, samples: Sequence[Mapping[str, Array]], count: int) -> OverWidths:
    """The program at all widths that come in either sample, and some beyond."""
    lacing = lacing_of(case)
    widths = np.concatenate(
        [np.broadcast_to(lay_film(case, lacing, each).width, count) for each in samples]
    )
    most = float(np.max(np.concatenate([[case.film.roll_width], widths])))
    return over_widths(case, 0.9 * float(widths.min()), most)


def _variation(values: Array) -> float:
    """Standard deviation over mean, of what could be predicted."""
    known = values[np.isfinite(values)]
    mean = float(np.mean(known)) if known.size else 0.0
    return float(np.std(known)) / mean if mean > 0.0 else 0.0


def _total(base: Array, moved: Array) -> float:
    both = np.isfinite(base) & np.isfinite(moved)
    spread = float(np.var(base[np.isfinite(base)])) if both.any() else 0.0
    level = float(np.mean(np.abs(base[both]))) if both.any() else 0.0
    if spread <= (1e-9 * level) ** 2:
        return 0.0
    return 0.5 * float(np.mean((base[both] - moved[both]) ** 2)) / spread


def _one_by_one(case: Case, draws: Mapping[str, Array], count: int) -> tuple[Array, Array]:
    """The same by predictions of each draw, for inputs that change the program or the load."""
    mass, force = np.full(count, np.nan), np.full(count, np.nan)
    for index, (_, found) in enumerate(predict_draws(case, draws, count)):
        if found is not None:
            mass[index], force[index] = found.film_mass_kg, found.containment_later_min_n
    return mass, force
