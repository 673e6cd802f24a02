"""What a program saves on a load against today's, over the ranges of what is not known exactly.

Both programs are reckoned with at the same draw: an input that is alike in both is one unknown.
Film is laid for all draws at once; its length, turns and time follow from its width, at evenly set
widths of which the full program is laid.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.costs import Costs
from woold.design.program_path import ProgramPath
from woold.errors import WooldError
from woold.prediction.film_on_load import film_on_load, lacing_of, lay_film
from woold.prediction.yearly import Estimate
from woold.uncertainty.draws import draw_unknowns
from woold.uncertainty.spread import COVERAGE, DRAWS, unknown_inputs

__all__ = ["Saving", "saving_over_ranges"]

Floats = NDArray[np.float64]

_SEED = 1
_NODES = 129
_SECTIONS = ("load.", "film.", "carriage.", "machine.", "program.", "plant.")
_WITH_THE_FILM = ("film.", "carriage.")
"""Tables whose numbers change how the film lies, but not the program's path for a width of film."""

_BESIDE_THE_PATH = (
    "program.force_to_load",
    "load.mass",
    "load.hoop_stiffness",
    "machine.rethread_time",
    "machine.exit_distance",
)
"""Other numbers that leave the path alone, beside those of the plant."""

_OF_THE_SETTINGS = (
    "carriage.prestretch",
    "program.force_to_load",
    "program.bottom_wraps",
    "program.rise_per_turn",
    "program.top_wraps",
    "program.fall_per_turn",
    "machine.speed",
)
"""What the new program sets: where it differs, today's range says nothing of it."""


@dataclass(frozen=True, slots=True)
class Saving:
    """What is saved on a load, negative where more is used; each with its 90 % range.

    Field names are JSON keys. The share is of today's film. Money is in the case's currency; None
    where a price is missing, but film's own where films alone are priced.
    """

    film_mass_kg: Estimate
    film_share: Estimate
    film: Estimate | None
    machine_time: Estimate | None
    roll_changes: Estimate | None
    breaks: Estimate | None
    total: Estimate | None
    draws: int


@dataclass(frozen=True, slots=True)
class _Used:
    """Film [kg], time [s] and turns of a load, in every draw; not a number where film tears."""

    mass: Floats
    time: Floats
    turns: Floats


def saving_over_ranges(
    today: Case, new: Case, places: tuple[int, int], costs: Costs, draws: int = DRAWS
) -> Saving:
    """What the new program saves on a load, with the middle 90 % over the inputs' ranges.

    Args:
        today: the case.
        new: the case with the new film and settings.
        places: of both films on the shelf.
        costs: prices of the shelf's films.
        draws: of what is known within a range only.
    """
    ours = {each.name: each for each in unknown_inputs(today, _SECTIONS)}
    names: tuple[dict[str, str], dict[str, str]] = ({name: name for name in ours}, {})
    unknowns = dict(ours)
    for each in unknown_inputs(new, _SECTIONS):
        is_alike = ours.get(each.name) == each
        if is_alike or each.name not in _OF_THE_SETTINGS:
            name = each.name if is_alike else f"new.{each.name}"
            names[1][each.name], unknowns[name] = name, replace(each, name=name)
    drawn = draw_unknowns(list(unknowns.values()), draws, np.random.default_rng(_SEED))
    of_both = [{field: drawn[name] for field, name in own.items()} for own in names]
    middle = _saved((today, new), ({}, {}), 1, places, costs)
    spread = _saved((today, new), of_both, draws, places, costs) if unknowns else middle
    known = np.isfinite(spread["film_mass_kg"])
    tail = 50.0 * (1.0 - COVERAGE)

    def estimate(name: str) -> Estimate | None:
        if name not in middle:
            return None
        value, drawn = float(middle[name][0]), spread[name][known]
        low, high = np.percentile(drawn, [tail, 100.0 - tail]) if drawn.size else (value, value)
        return Estimate(value, float(low), float(high))

    mass, share = estimate("film_mass_kg"), estimate("film_share")
    assert mass is not None
    assert share is not None
    return Saving(
        film_mass_kg=mass,
        film_share=share,
        film=estimate("film"),
        machine_time=estimate("machine_time"),
        roll_changes=estimate("roll_changes"),
        breaks=estimate("breaks"),
        total=estimate("total"),
        draws=int(known.sum()) if unknowns else 0,
    )


def _saved(
    cases: tuple[Case, Case],
    values: Sequence[Mapping[str, Floats]],
    count: int,
    places: tuple[int, int],
    costs: Costs,
) -> dict[str, Floats]:
    """Film and each part of the cost that is saved in every draw; film alone without prices."""
    used = [_used(case, drawn, count) for case, drawn in zip(cases, values, strict=True)]
    saved = {"film_mass_kg": used[0].mass - used[1].mass}
    saved["film_share"] = saved["film_mass_kg"] / used[0].mass
    parts = [
        costs.arrays(place, (each.mass, each.time, each.turns), drawn, used[0].turns)
        for place, each, drawn in zip(places, used, values, strict=True)
    ]
    both = [name for name in parts[0] if name in parts[1]]
    saved |= {name: np.asarray(parts[0][name] - parts[1][name]) for name in both}
    if "machine_time" in both:
        saved["total"] = np.sum([saved[name] for name in both], axis=0)
    return saved


def _used(case: Case, values: Mapping[str, Floats], count: int) -> _Used:
    """What a case's program takes in every draw of its unknowns."""
    on_film = {
        name: each
        for name, each in values.items()
        if name.startswith(_WITH_THE_FILM) or name == "program.force_to_load"
    }
    others = {
        name: each
        for name, each in values.items()
        if not name.startswith((*_WITH_THE_FILM, "plant.")) and name not in _BESIDE_THE_PATH
    }
    if any(name.startswith("carriage.rollers") for name in values):
        return _path_by_path(case, values, _laid_one_by_one(case, values, count))
    if others:
        try:
            return _path_by_path(case, others, _laid(case, on_film, count))
        except WooldError:  # of some draw; which one, only each by itself tells
            return _path_by_path(case, values, _laid_one_by_one(case, values, count))
    width, per_metre = _laid(case, on_film, count)
    path = ProgramPath(case)
    nodes = np.unique(np.linspace(width.min(), width.max(), _NODES))
    table = np.array([path.at(float(node)) for node in nodes])
    length, time, turns = (np.interp(width, nodes, column) for column in table.T)
    torn = np.where(np.isfinite(per_metre), 1.0, np.nan)
    return _Used(per_metre * length, time * torn, turns * torn)


def _laid(case: Case, on_film: Mapping[str, Floats], count: int) -> tuple[Floats, Floats]:
    """Width of the film on the load and its mass per metre, no number where it cannot be laid."""
    laid = lay_film(case, lacing_of(case), on_film)
    # It tears, or its curve ends before the pre-stretch that is set.
    is_none = np.asarray(laid.breaks) | np.isinf(laid.delivered.geared_force)
    per_metre = np.where(is_none, np.nan, laid.mass_per_metre)
    return np.broadcast_to(laid.width, count), np.broadcast_to(per_metre, count)


def _laid_one_by_one(case: Case, values: Mapping[str, Floats], count: int) -> tuple[Floats, Floats]:
    """The same where rollers themselves vary, or a draw cannot be."""
    laid = np.full((2, count), np.nan)
    for index in range(count):
        with contextlib.suppress(WooldError):
            sheet = film_on_load(_drawn(case, values, index))
            laid[:, index] = sheet.width, sheet.mass_per_metre
    return laid[0], laid[1]


def _drawn(case: Case, values: Mapping[str, Floats], index: int) -> Case:
    return case.with_values({name: float(each[index]) for name, each in values.items()})


def _path_by_path(case: Case, values: Mapping[str, Floats], laid: tuple[Floats, Floats]) -> _Used:
    """The film laid, where the load or the program varies from draw to draw."""
    width, per_metre = laid
    rows = np.full((3, width.size), np.nan)
    for index in np.flatnonzero(np.isfinite(per_metre)).tolist():
        with contextlib.suppress(WooldError):
            length, time, turns = ProgramPath(_drawn(case, values, index)).at(float(width[index]))
            rows[:, index] = per_metre[index] * length, time, turns
    return _Used(*rows)
