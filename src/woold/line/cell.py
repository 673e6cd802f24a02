"""One combination of a line: what every limit says of it, and its case for the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.cells import judged_limits
from woold.line.choice import ChosenFilm, chosen_film
from woold.line.dancer_swing import not_smooth
from woold.line.limits import FINDINGS, LIMITS, STATUSES
from woold.line.line_file import LineFile
from woold.line.map import line_loads, recipe_groups
from woold.line.things import LineChoice, LineLoad, LineThings, recipe_for
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.blocks import Block, Paragraph, Table
from woold.rows.told import Told
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["CellLimit", "LineCell", "NamedCell", "cell_blocks", "line_cell", "named_cell"]


@dataclass(frozen=True, slots=True)
class CellLimit:
    """A limit of a combination.

    Args:
        limit: its code.
        holds: whether it is kept.
        share: what there is over what is asked; None where no number is [-].
    """

    limit: str
    holds: bool
    share: float | None


@dataclass(frozen=True, slots=True, repr=False)
class LineCell(Told):
    """One combination of a line."""

    told_as = "line-cell"
    told_by = "woold.line.cell:cell_blocks"

    carriage: str
    machine_model: str
    film: str
    load: str
    recipe: str
    status: str
    limit: str
    share: float | None
    limits: tuple[CellLimit, ...]
    film_mass_kg: float | None
    cycle_time_s: float | None
    layers_min: float | None
    containment_later_low_n: float | None
    findings: tuple[Finding, ...]
    case_file: str | None = None
    cautions: tuple[str, ...] = CAUTIONS


@dataclass(frozen=True, slots=True)
class NamedCell:
    """A combination by what its things are called."""

    choice: LineChoice
    load: LineLoad


class _Named(Protocol):
    @property
    def name(self) -> str: ...


AnyNamed = TypeVar("AnyNamed", bound=_Named)


def named_cell(line: LineFile, catalogue: Catalogue, names: tuple[str, str, str, str]) -> NamedCell:
    """The combination of a carriage, a model of machine, a film and a load.

    Args:
        line, catalogue: where they are.
        names: of the four, in that order; the machine's may be that of a machine.

    Raises:
        InputError: a name that the line does not have.
    """
    things = line.things
    carriage = _find(things.carriages, names[0], "--carriage")
    own = {each.name for each in things.machines}
    wanted = names[1].removeprefix("@")
    model = things.model_of(wanted) if wanted in own else _find(things.models, wanted, "--machine")
    film = _find(things.films, names[2], "--film")
    load = _find(catalogue.loads, names[3], "--load")
    return NamedCell(LineChoice(carriage, model, film, recipe_for(things, model, film, load)), load)


def _find(things: Sequence[AnyNamed], name: str, option: str) -> AnyNamed:
    wanted = name.removeprefix("@")
    for each in things:
        if each.name == wanted:
            return each
    here = ", ".join(f'"{each.name}"' for each in things[:12])
    raise InputError.one(option, repr(name), here, say("Look at: woold line check"))


def line_cell(
    line: LineFile, cell: NamedCell, catalogue: Catalogue, case_file: str | None = None
) -> LineCell:
    """What every limit says of a combination, as the map has it.

    Args:
        line: the line.
        cell: the combination.
        catalogue: the loads of the line.
        case_file: where its case was written.
    """
    choice, load = cell.choice, cell.load
    columns = line_loads(line.things, (load,))
    chosen = chosen_film(line.things, choice, load, line.line.corner_tension)
    ratings = (choice.carriage.drive, choice.model.drive)
    swings: NDArray[np.bool_] | bool = False
    if chosen.sheet is not None and "spring" not in chosen.fails:
        swings = _swings(line.things, chosen, cell, catalogue)
    cells, judge = judged_limits(chosen, columns.columns, columns.frictions, ratings, swings)

    def number(name: str) -> float | None:
        value = float(getattr(cells, name)[0])
        return value if np.isfinite(value) else None

    limits = tuple(
        CellLimit(code, not bool(judge.fails[0, at]), _finite(float(judge.shares[0, at])))
        for at, code in enumerate(LIMITS)
        if judge.fails[0, at] or not np.isnan(judge.shares[0, at])
    )
    at = int(cells.limit[0])
    return LineCell(
        carriage=choice.carriage.name,
        machine_model=choice.model.name,
        film=choice.film.name,
        load=load.name,
        recipe=choice.recipe.name,
        status=list(STATUSES)[int(cells.status[0])],
        limit=list(LIMITS)[at] if at >= 0 else "",
        share=number("share"),
        limits=limits,
        film_mass_kg=number("film_mass_kg"),
        cycle_time_s=number("cycle_time_s"),
        layers_min=number("layers_min"),
        containment_later_low_n=number("containment_later_low_n"),
        findings=tuple(
            Finding(code, "line", say(text))
            for bit, (code, text) in enumerate(FINDINGS.items())
            if int(cells.findings[0]) >> bit & 1
        ),
        case_file=case_file,
    )


def _swings(
    things: LineThings, chosen: ChosenFilm, cell: NamedCell, catalogue: Catalogue
) -> NDArray[np.bool_] | bool:
    """Whether the dancer is not smooth: asked with all loads that the map asks about."""
    dancer, choice = chosen.case.dancer, cell.choice
    if dancer is None or not dancer.springs:
        return False
    groups = recipe_groups(things, choice.model, choice.film, catalogue.loads)
    which = next(own for recipe, own in groups if recipe.name == choice.recipe.name)
    loads = tuple(catalogue.loads[at] for at in which.tolist())
    found = not_smooth(chosen.case, loads, line_loads(things, loads).columns)
    return found[[at for at, each in enumerate(loads) if each.name == cell.load.name][:1]]


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def cell_blocks(result: LineCell, wording: Wording) -> list[Block]:
    """A combination, its answer first.

    Args:
        result: the combination.
        wording: units and marks of its numbers.
    """
    blocks: list[Block] = [
        Paragraph(
            say(
                "{carriage} on {machine}, {film}, {load} by {recipe}: {status}.",
                carriage=result.carriage,
                machine=result.machine_model,
                film=result.film,
                load=result.load,
                recipe=result.recipe,
                status=say(STATUSES[result.status]),
            ),
            is_strong=True,
        )
    ]
    rows = tuple(
        (
            say(LIMITS[each.limit]),
            "-" if each.share is None else wording.number(each.share),
            say("holds") if each.holds else say("does not hold"),
        )
        for each in result.limits
    )
    heads = (say("limit"), say("there over asked"), "")
    blocks.append(Table(say("What every limit says"), heads, rows, words=(0, 2)))
    amounts: list[tuple[Any, ...]] = [
        (say("film on the load"), result.film_mass_kg, "mass"),
        (say("cycle time"), result.cycle_time_s, "time"),
        (say("least containment later, at the worse end"), result.containment_later_low_n, "force"),
    ]
    known = tuple(
        (name, wording.amount(value, kind)) for name, value, kind in amounts if value is not None
    )
    if known:
        blocks.append(Table(say("What it comes to"), (say("quantity"), say("value")), known))
    return blocks
