"""Rows of a catalogue of loads that cannot be used, and columns that are asked about."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.things import MachineModel
from woold.errors import InputError, Problem, Question
from woold.line.broken_rows import BrokenRows, RowFaults
from woold.line.catalogue_columns import AMOUNTS
from woold.line.catalogue_table import CatalogueTable
from woold.line.line_file import LineFile
from woold.line.things import LineThings
from woold.units import show, show_range
from woold.words import say

__all__ = ["FoundFaults", "find_row_faults", "require_answers", "require_few_broken"]

_DENSITIES = (15.0, 5000.0)
"""Mass of a load over the volume of its box [kg/m^3]; common practice, no source."""
_MOST_SLENDER = 5.0
"""Height of a load over its narrower side [-]; common practice, no source."""
_EXAMPLES = 3


@dataclass(frozen=True, eq=False)
class FoundFaults:
    """What is wrong in a table of loads.

    Args:
        rows: that cannot be used, by reason.
        values: its columns of numbers, in SI.
    """

    rows: RowFaults
    values: dict[str, NDArray[np.float64]]

    @property
    def sound(self) -> NDArray[np.intp]:
        """Numbers of rows that can be used."""
        return np.flatnonzero(~self.rows.is_broken)


def find_row_faults(
    line: LineFile,
    table: CatalogueTable,
    elsewhere: tuple[Collection[tuple[str, str]], set[tuple[str, str]]] = ((), set()),
) -> FoundFaults:
    """What is wrong in a table of loads, or in a portion of one.

    Args:
        line: the line.
        table: its catalogue.
        elsewhere: loads and machines that stand twice in all portions, and those of them that were
            met already, to which this portion's are added.
    """
    faults = RowFaults(len(table.rows))
    values = {name: _numbers(table, name, faults) for name in table.amounts}
    twice, seen = elsewhere
    if twice:
        names = table.texts("load")
        keys = list(zip(names, table.texts("machine"), strict=True))
        again = np.array([key in seen for key in keys], dtype=bool)
        seen |= {key for key in keys if key in twice}
        faults.add("twice", "load", again, names)
    _find_faults(table, values, faults, line.things)
    return FoundFaults(faults, values)


def require_answers(
    line: LineFile, table: CatalogueTable, found: FoundFaults, as_typed: Collection[str]
) -> None:
    """Asks about columns in which something stands that is not usual.

    Args:
        line, table, found: the catalogue and what is wrong in it.
        as_typed: columns that were asked about and are right.

    Raises:
        InputError: one question for each.
    """
    # By the name that the question gives, or the column's own.
    right = {each.removeprefix("catalogue.") for each in as_typed}
    _require_answers(table, found.values, found.sound, {*line.line.catalogue.as_typed, *right})


def _numbers(table: CatalogueTable, name: str, faults: RowFaults) -> NDArray[np.float64]:
    """A column in SI; NaN where nothing stands. Cells that are no number are faults."""
    values, unread = table.numbers(name)
    faults.add("no number", name, unread, table.texts(name))
    facts = AMOUNTS[name].facts
    low, high = facts.hard
    with np.errstate(invalid="ignore"):
        beyond = (values < low) | (values > high) | np.isinf(values)
        if name not in ("deck_height", "hold_after"):
            beyond |= values <= 0.0
        if name == "tiers":
            beyond |= values != np.rint(values)
    faults.add("impossible", name, beyond & ~np.isnan(values), table.texts(name))
    return values


def _find_faults(
    table: CatalogueTable,
    values: dict[str, NDArray[np.float64]],
    faults: RowFaults,
    things: LineThings,
) -> None:
    """Rows that cannot be used, each by its first fault."""
    names = table.texts("load")
    faults.add("no name", "load", np.array([not each for each in names], dtype=bool), names)
    for name in ("height", "mass", "loads_per_year"):
        faults.add("missing", name, np.isnan(values[name]), table.texts(name))
    nothing = np.full(len(names), np.nan)
    length, width, diameter, pallet_length, pallet_width = (
        values.get(name, nothing)
        for name in ("length", "width", "diameter", "pallet_length", "pallet_width")
    )
    is_round, has_sides = ~np.isnan(diameter), ~np.isnan(length) & ~np.isnan(width)
    half = np.isnan(length) != np.isnan(width)
    faults.add("outline", "length", (is_round == has_sides) | half, names)
    faults.add(
        "half pallet", "pallet_length", np.isnan(pallet_length) != np.isnan(pallet_width), names
    )
    models = {each.name: each for each in things.models}
    own = {each.name: things.model_of(each.name) for each in things.machines}
    machines = {**models, **own}
    for column, known in (
        ("machine", machines),
        ("film", {each.name for each in things.films}),
        ("recipe", {each.name for each in things.recipes}),
    ):
        texts = table.texts(column)
        faults.add(
            f"no {column}",
            column,
            np.array([bool(each) and each not in known for each in texts], dtype=bool),
            texts,
        )
    given = table.texts("machine")
    if len(things.models) > 1:
        faults.add("which machine", "machine", np.array([not each for each in given]), names)
    reach = np.where(is_round, 0.5 * diameter, 0.5 * np.hypot(length, width))
    room = np.array([_room(machines.get(each), things) for each in given])
    with np.errstate(invalid="ignore"):
        faults.add("too wide", "machine", reach >= room, names)
    # The same load on the same machine twice is one of them too many.
    keys = list(zip(names, given, strict=True))
    first = {key: at for at, key in reversed(list(enumerate(keys)))}
    twice = np.array([first[key] != at for at, key in enumerate(keys)], dtype=bool)
    faults.add("twice", "load", twice, names)


def _room(model: MachineModel | None, things: LineThings) -> float:
    """Exit distance of a load's machine [m]; of the only one where none is named."""
    if model is None:
        return things.models[0].machine.exit_distance if len(things.models) == 1 else np.inf
    return model.machine.exit_distance


def require_few_broken(line: LineFile, path: str, rows: int, broken: Sequence[BrokenRows]) -> None:
    """Refuses a catalogue of which too much cannot be used.

    Args:
        line: says how much that is.
        path: where the catalogue stands.
        rows: all of them.
        broken: those that cannot be used.

    Raises:
        InputError: one problem for each reason.
    """
    most = line.line.catalogue.refuse_above
    count = sum(each.count for each in broken)
    if count <= most * rows:
        return
    head = Problem(
        path,
        say(
            "{count} of {rows} rows that cannot be used ({share})",
            count=count,
            rows=rows,
            share=show(count / rows, "fraction"),
        ),
        say("at most {most}, as refuse_above says below [catalogue]", most=show(most, "fraction")),
        say("Mend the rows, or state a larger share: refuse_above below [catalogue]."),
    )
    raise InputError.many(
        [head]
        + [
            Problem(
                say("column {name}", name=each.column),
                each.told(),
                say("rows that can be used"),
                say("Mend the rows."),
            )
            for each in broken
        ]
    )


def _require_answers(
    table: CatalogueTable,
    values: dict[str, NDArray[np.float64]],
    sound: NDArray[np.intp],
    right: Collection[str],
) -> None:
    """Asks about columns in which something stands that is not usual.

    Raises:
        InputError: one question for each.
    """
    asked: list[Problem] = []
    for name, column in values.items():
        facts = AMOUNTS[name].facts
        if facts.usual is None or name in right:
            continue
        low, high = facts.usual
        slack = 1e-9 * max(abs(low), abs(high))
        with np.errstate(invalid="ignore"):
            odd = sound[(column[sound] < low - slack) | (column[sound] > high + slack)]
        if odd.size:
            usual = show_range(low, high, facts.kind) if facts.kind else f"{low:g} to {high:g}"
            asked.append(_question(table, name, odd, usual))
    yearly = values["loads_per_year"][sound]
    part = sound[yearly != np.rint(yearly)]
    if part.size and "loads_per_year" not in right and not asked:
        # "1.200" may be twelve hundred, or one and a fifth.
        asked.append(_question(table, "loads_per_year", part, say("whole numbers")))
    if asked:
        raise InputError.many(asked)
    height, mass = values["height"][sound], values["mass"][sound]
    sides = [values[name][sound] if name in values else np.full(sound.size, np.nan)
             for name in ("length", "width", "diameter")]  # fmt: skip
    length, width = (np.where(np.isnan(each), sides[2], each) for each in sides[:2])
    # What is beyond all numbers is beyond what is usual, too.
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        density = mass / (length * width * height)
        slender = height / np.minimum(length, width)
    for name, odd, usual in (
        (
            "mass",
            sound[(density < _DENSITIES[0]) | (density > _DENSITIES[1])],
            say("{density} of the load's box", density=show_range(*_DENSITIES, "density")),
        ),
        (
            "height",
            sound[slender > _MOST_SLENDER],
            say("at most {times} times the narrower side", times=f"{_MOST_SLENDER:g}"),
        ),
    ):
        if odd.size and name not in right:
            asked.append(_question(table, name, odd, usual))
    if asked:
        raise InputError.many(asked)


def _question(table: CatalogueTable, name: str, odd: NDArray[np.intp], usual: str) -> Question:
    texts, names = table.texts(name), table.texts("load")
    shown = ", ".join(
        say("row {row} ({load}): {given}", row=table.rows[at], load=names[at], given=texts[at])
        for at in odd[:_EXAMPLES]
    )
    given = (
        say("1 row: {shown}", shown=shown)
        if odd.size == 1
        else say("{count} rows, such as {shown}", count=odd.size, shown=shown)
    )
    return Question(
        f"catalogue.{name}",
        given,
        say("{usual} (common practice, no source)", usual=usual),
        say("Are they right, and in the right unit?"),
    )
