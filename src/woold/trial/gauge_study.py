"""Gauge studies as they are written down: rows into a table, and what a gauge does to a trial."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, Problem, Question, names_its_file
from woold.store import Cell
from woold.trial.confirmed import grouped
from woold.trial.gauge import GaugeStudy, gauge_study, loads_factor
from woold.trial.percent import percent
from woold.trial.reading import read_written
from woold.trial.records import TrialRecords
from woold.units import parse_quantity
from woold.words import say

__all__ = ["GaugeTable", "gauge_effect", "gauge_tables", "tables_in_file"]


@dataclass(frozen=True, slots=True)
class GaugeTable:
    """Readings of one gauge: parts x people x repeats; and how their file was read."""

    name: str
    parts: tuple[str, ...]
    people: tuple[str, ...]
    readings: NDArray[np.float64]
    read_as: str = ""

    def study(self) -> GaugeStudy:
        """The measurement-system study."""
        return gauge_study(self.readings)


@names_its_file
def tables_in_file(path: str) -> dict[str, GaugeTable]:
    """Readings of every gauge in a workbook or CSV file.

    Raises:
        InputError: bad cells, each named.
    """
    written = read_written(path)
    # What is asked about elsewhere is not read, and a study needs no confirmation.
    problems = [each for each in written.problems if not isinstance(each, Question)]
    if problems:
        raise InputError.many(grouped(problems))
    read = [
        (sheet, row)
        for sheet in written.sheets
        if sheet.sheet.kind == "gauge"
        for row in sheet.rows
        if "reading" in row.cells
    ]
    blank = [
        Problem(
            sheet.place(name, row.number) if name in sheet.columns else f"{path}, {row.number}",
            say("nothing"),
            say("the {name} of this reading", name=name),
            say("Fill it in, or take the row out."),
        )
        for sheet, row in read
        for name in ("instrument", "part", "person", "repeat")
        if name not in row.cells
    ]
    if blank:
        raise InputError.many(blank[:20])
    rows = [dict(row.cells) for _, row in read]
    tables = gauge_tables(rows)
    return {name: replace(each, read_as=written.read_as) for name, each in tables.items()}


def gauge_tables(rows: Sequence[Mapping[str, Cell]]) -> dict[str, GaugeTable]:
    """Tables by gauge.

    Raises:
        InputError: a reading that is missing, or there twice; the first few are named.
    """
    names = dict.fromkeys(row["instrument"].typed for row in rows)
    return {
        name: _table(name, [r for r in rows if r["instrument"].typed == name]) for name in names
    }


def _table(name: str, rows: Sequence[Mapping[str, Cell]]) -> GaugeTable:
    parts, people, repeats = (
        tuple(dict.fromkeys(row[column].typed for row in rows))
        for column in ("part", "person", "repeat")
    )
    readings = np.full((len(parts), len(people), len(repeats)), np.nan)
    problems = []
    for row in rows:
        place = (
            parts.index(row["part"].typed),
            people.index(row["person"].typed),
            repeats.index(row["repeat"].typed),
        )
        if not math.isnan(readings[place]):
            problems.append(
                _problem(name, row["part"].typed, row["person"].typed, say("there twice"))
            )
        readings[place] = row["reading"].si
    missing = np.argwhere(np.isnan(readings))
    for part, person, repeat in missing[:10]:
        given = say("no repeat {repeat}", repeat=repeats[repeat])
        problems.append(_problem(name, parts[part], people[person], given))
    if problems:
        raise InputError.many(problems)
    return GaugeTable(name, parts, people, readings)


def _problem(name: str, part: str, person: str, given: str) -> Problem:
    return Problem(
        f"{name}, {part}, {person}",
        given,
        say("every part read by everyone, the same number of times"),
        say("Complete it, or leave the part or the person out."),
    )


def gauge_effect(name: str, study: GaugeStudy, records: TrialRecords) -> str:
    """What a gauge's spread does to the trial, in a sentence; "" where it cannot be said.

    The gauge is told by its name: one that names a scale is set against film mass, one that names
    a pull against pull readings. The unit stands in brackets, as in "scale [g]".
    """
    from woold.trial.compare import means_of
    from woold.trial.table import load_table

    unit = name[name.find("[") + 1 : name.find("]")] if "[" in name and "]" in name else ""
    words = name.casefold()
    table = load_table(records)
    readings = 1.0
    if "scale" in words:
        kind, values, what = "small_mass", table.film_mass, say("film mass")
    elif "pull" in words and table.pulls:
        kind, what = "force", say("pull readings of the {zone} zone", zone=table.zone_names[0])
        values = table.zones[:, 0]
        zones = len(table.zone_names)
        readings = max(len(table.pulls) / max(np.isfinite(table.zones).sum() / zones, 1) / zones, 1)
    else:
        return ""
    try:
        factor = parse_quantity(f"1 {unit}", kind, name)
        means = means_of(table, values, what, by_roll=False)
    except InputError:
        return ""
    # Spread of the loads as measured, the gauge's included, in the middle of both treatments. Who
    # reads adds the same to all readings of a load; repeatability is averaged out by reading more
    # often.
    middle = 0.5 * (means.baseline + means.candidate)
    seen = middle * math.sqrt(0.5 * sum(spread**2 for spread in means.spreads))
    repeat = study.component("repeatability").variance / readings
    person = study.gauge_sd**2 - study.component("repeatability").variance
    gauge = factor * math.sqrt(max(repeat + person, 0.0))
    true = math.sqrt(max(seen**2 - gauge**2, 0.0))
    if true <= 0.3 * gauge:
        return say(
            "The {what} spread no more than the gauge itself does: it hardly sees the loads.",
            what=what,
        )
    return say(
        "It spreads {what} by {gauge}, where the loads themselves spread by {loads}: the trial"
        " needs {times} times the loads that a perfect gauge would need.",
        what=what,
        gauge=percent(gauge / middle, 2),
        loads=percent(true / middle),
        times=f"{loads_factor(gauge, true):.2f}",
    )
