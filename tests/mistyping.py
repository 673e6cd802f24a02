"""A simulated technician, who mistypes some cells: for a test and a benchmark.

The trial is made up here, from plain numbers: nothing of the program tells what is written down.
What a wrong cell does to the verdict is found by judging the sheet with that cell alone wrong.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from woold.errors import InputError
from woold.store import Cell, Record
from woold.tables.sheet_marks import SheetMarks
from woold.trial.analysis import Analysis, analyse
from woold.trial.load_order import PlannedLoad
from woold.trial.placed import placed_rows
from woold.trial.plausible import doubtful_readings
from woold.trial.records import TrialRecords, record_key
from woold.trial.setup import TrialSetup
from woold.trial.sheet_table import read_table
from woold.trial.sheets import SHEETS
from woold.trial.written_readings import Context, OneRow

UNITS = {
    "film_mass": ("g", {"kg": 1000.0, "oz": 28.349523, "lb": 453.59237}),
    "tare": ("g", {"kg": 1000.0, "oz": 28.349523}),
    "force": ("N", {"lbf": 4.4482216, "kgf": 9.80665}),
    "film_width": ("mm", {"cm": 10.0, "in": 25.4}),
    "mark_before": ("mm", {"cm": 10.0, "in": 25.4}),
    "mark_after": ("mm", {"cm": 10.0, "in": 25.4}),
    "cycle_time": ("s", {"min": 60.0}),
    "age": ("min", {"h": 60.0}),
    "height": ("mm", {}),
    "turns": ("", {}),
}
"""Unit of each column, and how many of it are one of the units that it may be mistaken for."""

TYPED = {
    "load": ("film_mass", "tare", "turns", "cycle_time", "mark_before", "mark_after"),
    "width": ("film_width",),
    "pull": ("force", "age"),
}
"""Cells that somebody types; loads, heights and sides are printed."""

Rows = dict[str, list[dict[str, Any]]]


@dataclass(frozen=True)
class Wrong:
    """A mistyped cell, or two that changed places: kind of sheet, row, field, what stands there."""

    how: str
    cells: tuple[tuple[str, int, str, float], ...]


@dataclass
class Sheets:
    """Sheets as they should be, as they are, and what is wrong with them."""

    right: Rows
    typed: Rows
    wrong: list[Wrong] = field(default_factory=list)


@dataclass(frozen=True)
class Habits:
    """Spreads of what is measured (standard deviation over mean), and the truth of the trial.

    Args:
        film, pull, width, marks, time: spreads.
        ratio, hold: candidate over baseline.
        share: of the cells that are mistyped.
    """

    film: float = 0.035
    pull: float = 0.12
    width: float = 0.02
    marks: float = 0.02
    time: float = 0.04
    ratio: float = 0.92
    hold: float = 1.0
    share: float = 0.02


def written_sheets(
    order: Sequence[PlannedLoad], rng: np.random.Generator, habits: Habits
) -> Sheets:
    """What a technician writes down of a trial, first right, then with slips."""
    right: Rows = {"load": [], "width": [], "pull": []}
    of_block: dict[str, float] = {}
    for load in order:
        larger = 1.35 if load.load_type == "cans" else 1.0
        ratio = habits.ratio if load.treatment == "candidate" else 1.0
        block = of_block.setdefault(load.block, 1 + 0.015 * rng.standard_normal())
        tare = float(rng.choice([12, 12, 12, 14]))
        mass = 185 * larger * ratio * block * (1 + habits.film * rng.standard_normal())
        stretch = 3.3 * (1 + habits.marks * rng.standard_normal())
        right["load"].append(
            {
                "load": load.number, "treatment": load.treatment, "load_type": load.load_type,
                "block": load.block, "film_mass": round(mass + tare, 1), "tare": tare,
                "turns": 16.0 if load.load_type == "jars" else 21.0,
                "cycle_time": round(140 * larger * (1 + habits.time * rng.standard_normal())),
                "mark_before": 100.0, "mark_after": round(100 * stretch),
            }
        )  # fmt: skip
        hold = habits.hold if load.treatment == "candidate" else 1.0
        of_load = 1 + 0.5 * habits.pull * rng.standard_normal()
        for height, strength in ((250, 38), (750, 27), (1250, 33)):
            for side in ("front", "right"):
                one = 1 + 0.85 * habits.pull * rng.standard_normal()
                force = max(strength * larger * hold * of_load * one, 4.0)
                right["pull"].append(
                    {"load": load.number, "height": height, "side": side,
                     "force": round(force, 1), "age": 30 + int(rng.integers(0, 5))}
                )  # fmt: skip
        for height in (250, 1250):
            width = 430 * (1 + habits.width * rng.standard_normal())
            right["width"].append(
                {"load": load.number, "height": height, "film_width": round(width)}
            )
    sheets = Sheets(right, copy.deepcopy(right))
    _mistype(sheets, rng, habits.share)
    return sheets


def _mistype(sheets: Sheets, rng: np.random.Generator, share: float) -> None:
    taken: set[tuple[str, int, str]] = set()
    for kind, names in TYPED.items():
        rows = sheets.typed[kind]
        for place in range(len(rows)):
            for name in names:
                if rng.random() >= share or (kind, place, name) in taken:
                    continue
                wrong = _slip(sheets, rng, (kind, place, name), taken)
                if wrong is None:
                    continue
                sheets.wrong.append(wrong)
                for of_kind, row, of_name, value in wrong.cells:
                    taken.add((of_kind, row, of_name))
                    sheets.typed[of_kind][row][of_name] = value


def _slip(
    sheets: Sheets,
    rng: np.random.Generator,
    cell: tuple[str, int, str],
    taken: set[tuple[str, int, str]],
) -> Wrong | None:
    kind, place, name = cell
    rows, others = sheets.right[kind], UNITS[name][1]
    value = float(rows[place][name])
    how = (
        str(rng.choice(["unit", "point", "rows"])) if others else str(rng.choice(["point", "rows"]))
    )
    if how == "unit":
        unit = str(rng.choice(sorted(others)))
        return Wrong(how, ((kind, place, name, float(f"{value / others[unit]:.3g}")),))
    if how == "point":
        power = float(rng.choice([0.1, 10.0, 0.1, 10.0, 100.0]))
        return Wrong(how, ((kind, place, name, float(f"{value * power:.6g}")),))
    if place + 1 >= len(rows) or (kind, place + 1, name) in taken:
        return None
    below = float(rows[place + 1][name])
    if below == value:
        return None
    return Wrong(how, ((kind, place, name, below), (kind, place + 1, name, value)))


def one_wrong(sheets: Sheets, wrong: Wrong) -> Rows:
    """The right sheets with one slip."""
    rows = dict(sheets.right)
    for kind, place, name, value in wrong.cells:
        rows[kind] = list(rows[kind])
        rows[kind][place] = {**rows[kind][place], name: value}
    return rows


def judged(setup: TrialSetup, order: Sequence[PlannedLoad], rows: Rows) -> Analysis:
    """The analysis of what is written down."""
    records: dict[str, list[Record]] = {}
    number = 0
    for kind, lines in rows.items():
        records[kind] = []
        for line in lines:
            number += 1
            cells = {name: _cell(name, value) for name, value in line.items()}
            key = record_key(kind, cells)
            records[kind].append(
                Record(number, str(number), setup.trial.key, kind, key, cells, False, "AB", "",
                       None, None, "")
            )  # fmt: skip
    return analyse(
        TrialRecords(setup, tuple(records["load"]), tuple(records["width"]),
                     tuple(records["pull"]), (), (), 0, tuple(order)),
        resamples=0,
    )  # fmt: skip


_SI = {"g": 1e-3, "N": 1.0, "mm": 1e-3, "s": 1.0, "min": 60.0, "": 1.0}


def _cell(name: str, value: Any) -> Cell:
    if name not in UNITS:
        return Cell(str(value))
    unit = UNITS[name][0]
    return Cell(f"{value:g}", unit, float(value) * _SI[unit])


def verdict_of(found: Analysis) -> tuple[Any, ...]:
    """What somebody would act on: the claim, and what is shown of each zone."""
    zones = tuple((each.zone, each.is_not_lower, each.is_lower) for each in found.containment)
    return found.verdict.claim, zones


def asked_cells(setup: TrialSetup, rows: Rows) -> set[tuple[str, int, str]]:
    """Cells that are asked about, or refused, where the sheets are read: kind, row, field."""
    tables, problems = [], []
    for kind, lines in rows.items():
        sheet = next(each for each in SHEETS if each.kind == kind)
        names = list(lines[0])
        heads = [f"{name} [{UNITS[name][0]}]" if UNITS.get(name, ("",))[0] else name
                 for name in names]  # fmt: skip
        table, found, _ = read_table(
            [heads, *([line[name] for name in names] for line in lines)], sheet, kind, SheetMarks()
        )
        assert table is not None
        problems += found
        tables.append((table, names))
    placed = placed_rows([table for table, _ in tables], problems).measured
    held = [
        OneRow(each.kind, each.cells["load"].typed, each.cells, each.table, each.row.number)
        for each in placed
    ]
    problems += doubtful_readings(Context(setup), held, ())
    names_of = {table.title: names for table, names in tables}
    return {cell for each in problems for cell in _asked(each.field, names_of, rows)}


@dataclass
class Caught:
    """What became of the slips of many sheets.

    Args:
        slips, asked: in all, and those that were asked about.
        moving, moving_asked: slips each of which alone would change what somebody acts on.
        right, false: cells that are right, and those of them that were asked about.
        missed: slips that would move a verdict, and were not asked about.
    """

    slips: int = 0
    asked: int = 0
    moving: int = 0
    moving_asked: int = 0
    right: int = 0
    false: int = 0
    missed: list[Wrong] = field(default_factory=list)

    @property
    def share_of_moving(self) -> float:
        """Share of the slips that would move a verdict and are asked about."""
        return self.moving_asked / max(self.moving, 1)

    @property
    def false_share(self) -> float:
        """False questions for each right cell."""
        return self.false / max(self.right, 1)


def caught(
    setup: TrialSetup, order: Sequence[PlannedLoad], habits: Habits, seeds: Sequence[int]
) -> Caught:
    """Lets the technician write so many sheets, and asks about each."""
    found = Caught()
    for seed in seeds:
        sheets = written_sheets(order, np.random.default_rng(seed), habits)
        asked = asked_cells(setup, sheets.typed)
        cells = {
            (kind, row, name)
            for kind, names in TYPED.items()
            for row in range(len(sheets.typed[kind]))
            for name in names
        }
        wrong = {cell[:3] for each in sheets.wrong for cell in each.cells}
        found.right += len(cells - wrong)
        found.false += len((asked & cells) - wrong)
        verdict = verdict_of(judged(setup, order, sheets.right))
        for each in sheets.wrong:
            is_asked = any(cell[:3] in asked for cell in each.cells)
            found.slips += 1
            found.asked += is_asked
            if _moves(setup, order, one_wrong(sheets, each), verdict):
                found.moving += 1
                found.moving_asked += is_asked
                found.missed += [] if is_asked else [each]
    return found


def _moves(
    setup: TrialSetup, order: Sequence[PlannedLoad], rows: Rows, verdict: tuple[Any, ...]
) -> bool:
    try:
        return verdict_of(judged(setup, order, rows)) != verdict
    except InputError:  # no film left once the bag is taken off: refused, whatever is asked
        return True


def _asked(
    place: str, names_of: Mapping[str, list[str]], rows: Rows
) -> Iterator[tuple[str, int, str]]:
    kind, _, cell = place.partition("!")
    name, number = names_of[kind][ord(cell[0]) - 65], int(cell[1:])
    if number == 1:  # the whole column
        yield from ((kind, row, name) for row in range(len(rows[kind])))
    else:
        yield kind, number - 2, name
