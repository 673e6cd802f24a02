"""A trial's records as arrays, one place for each load: what the comparison works on."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.store import Record
from woold.trial.load_names import load_key
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS
from woold.trial.worksheet import zone_limits
from woold.words import say

__all__ = ["LoadTable", "PullReading", "load_table", "zone_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class PullReading:
    """One pull reading: load (index), height [m], side, force [N], age [s]."""

    load: int
    height: float
    side: str
    force: float
    age: float


@dataclass(frozen=True, slots=True)
class LoadTable:
    """The loads of a trial. Arrays have one place for each load; NaN where nothing was read.

    Args:
        numbers: load numbers as written, in the order of the trial.
        treatment: 0 baseline, 1 candidate.
        load_type: index into the trial's load types.
        block: block codes; all 0 where none were written.
        block_names: name of each block.
        machine: 0 the machine of the trial, 1 and so on unchanged ones beside it.
        roll: roll codes; all 0 where none were written.
        shift: shift codes; all 0 where none were written.
        roll_density: film mass over film length of each load's roll [kg/m].
        film_mass: net film mass [kg].
        cycle_time: [s].
        turns: turns of the cycle.
        breaks: film breaks; NaN where nothing was written.
        marks_stretch: distance between marks on the load over that on the roll.
        film_width: mean film width on the load [m].
        dancer_force: mean film force by a recording of the dancer [N].
        zones: mean of a load's first pull readings in each zone [N], shape (n, zones).
        pull_age: age of a load's first pull readings [s].
        pulls: every reading.
        mix: loads of each type in a year.
        type_names: names of the load types.
        zone_names: names of the zones, from the bottom up.
        notes: what was noted on loads, by number.
        aside: film breaks of each wrap that does not count, with its treatment.
    """

    numbers: tuple[str, ...]
    treatment: Ints
    load_type: Ints
    block: Ints
    block_names: tuple[str, ...]
    machine: Ints
    roll: Ints
    shift: Ints
    roll_density: Floats
    film_mass: Floats
    cycle_time: Floats
    turns: Floats
    breaks: Floats
    marks_stretch: Floats
    film_width: Floats
    dancer_force: Floats
    zones: Floats
    pull_age: Floats
    pulls: tuple[PullReading, ...]
    mix: Floats
    type_names: tuple[str, ...]
    zone_names: tuple[str, ...]
    notes: dict[str, str]
    aside: tuple[tuple[int, float], ...] = ()

    @property
    def has_blocks(self) -> bool:
        """Whether more than one block was written down."""
        return len(self.block_names) > 1

    def of_treatment(self, side: int) -> NDArray[np.bool_]:
        """Which loads belong to a treatment."""
        return np.asarray(self.treatment == side)

    def only(self, kept: NDArray[np.bool_]) -> LoadTable:
        """The table of some of the loads.

        Args:
            kept: which, shape (n,).
        """
        place = np.cumsum(kept) - 1
        numbers = tuple(itertools.compress(self.numbers, kept))
        arrays: dict[str, Any] = {
            each.name: value[kept]
            for each in fields(self)
            if each.name != "mix" and isinstance(value := getattr(self, each.name), np.ndarray)
        }
        return replace(
            self,
            numbers=numbers,
            pulls=tuple(
                replace(each, load=int(place[each.load])) for each in self.pulls if kept[each.load]
            ),
            notes={name: note for name, note in self.notes.items() if name in set(numbers)},
            **arrays,
        )


def zone_of(height: float, limits: Sequence[float]) -> int:
    """Index of the zone in which a height lies."""
    return int(np.searchsorted(np.asarray(limits), height, side="right"))


def load_table(records: TrialRecords) -> LoadTable:
    """Arrays of a trial's records.

    Raises:
        InputError: no load, or pull readings that fall in no zone because neither the zones'
            limits nor the load's height is known.
    """
    trial = records.setup.trial
    if not records.loads:
        raise InputError.one(
            "trial",
            say("{key}, without a load", key=trial.key),
            say("a trial with loads"),
            say("Import a sheet first."),
        )
    loads = sorted(records.loads, key=_place)
    place = {each.key: index for index, each in enumerate(loads)}
    blocks = [each.cells["block"].typed if "block" in each.cells else "" for each in loads]
    names = sorted(set(blocks), key=blocks.index)
    types = {each.name.casefold(): index for index, each in enumerate(trial.load_types)}
    gross, tare = _column(loads, "film_mass"), _column(loads, "tare")
    pulls = _pulls(records.pulls, place)
    limits = _zone_limits(records, loads)
    zones, age = _by_zone(pulls, limits, len(trial.zones.names))
    return LoadTable(
        numbers=tuple(each.cells["load"].typed for each in loads),
        treatment=np.array([TREATMENTS.index(each.cells["treatment"].typed) for each in loads]),
        load_type=np.array([types[each.cells["load_type"].typed.casefold()] for each in loads]),
        block=np.array([names.index(name) for name in blocks]),
        block_names=tuple(names),
        machine=_codes(loads, "machine"),
        roll=_codes(loads, "roll"),
        shift=_codes(loads, "shift"),
        roll_density=_column(loads, "roll_mass") / _column(loads, "roll_length"),
        film_mass=gross - np.nan_to_num(tare),
        cycle_time=_column(loads, "cycle_time"),
        turns=_column(loads, "turns"),
        breaks=_column(loads, "breaks"),
        marks_stretch=_column(loads, "mark_after") / _column(loads, "mark_before"),
        film_width=_mean_by_load(records.widths, "film_width", place),
        dancer_force=_column(loads, "dancer_force"),
        zones=zones,
        pull_age=age,
        pulls=pulls,
        mix=np.array([each.loads_per_year for each in trial.load_types]),
        type_names=tuple(each.name for each in trial.load_types),
        zone_names=trial.zones.names,
        notes={
            each.cells["load"].typed: each.cells["notes"].typed
            for each in loads
            if "notes" in each.cells and each.cells["notes"].typed
        },
        aside=_breaks_aside(records.attempts),
    )


def _breaks_aside(attempts: Sequence[Record]) -> tuple[tuple[int, float], ...]:
    """Treatment and film breaks of wraps of the trial's own machine that do not count."""
    found = []
    for each in attempts:
        breaks, machine = each.cells.get("breaks"), each.cells.get("machine")
        is_own = machine is None or not machine.typed
        if is_own and breaks is not None and breaks.si is not None:
            found.append((TREATMENTS.index(each.cells["treatment"].typed), breaks.si))
    return tuple(found)


def _place(record: Record) -> tuple[float, str]:
    """Loads by number where they have one, else in the order of writing."""
    typed = record.cells["load"].typed
    try:
        return float(typed), typed
    except ValueError:
        return math.inf, f"{record.number:012d}"


def _codes(loads: Sequence[Record], name: str) -> Ints:
    """Codes of the words written in a field; an empty one is 0."""
    words = [each.cells[name].typed.casefold() if name in each.cells else "" for each in loads]
    known = ["", *dict.fromkeys(word for word in words if word)]
    return np.array([known.index(word) for word in words], np.int64)


def _column(loads: Sequence[Record], name: str) -> Floats:
    values = np.full(len(loads), np.nan)
    for index, each in enumerate(loads):
        cell = each.cells.get(name)
        if cell is not None and cell.si is not None:
            values[index] = cell.si
    return values


def _mean_by_load(records: Sequence[Record], name: str, place: dict[str, int]) -> Floats:
    total, count = np.zeros(len(place)), np.zeros(len(place))
    for each in records:
        index = place.get(load_key(each.cells["load"].typed))
        value = each.cells[name].si
        if index is not None and value is not None:
            total[index] += value
            count[index] += 1
    means: Floats = np.divide(total, count, out=np.full(len(place), np.nan), where=count > 0)
    return means


def _pulls(records: Sequence[Record], place: dict[str, int]) -> tuple[PullReading, ...]:
    found = []
    for each in records:
        index = place.get(load_key(each.cells["load"].typed))
        force, height, age = (each.cells.get(name) for name in ("force", "height", "age"))
        if index is None or not force or force.si is None or not height or height.si is None:
            continue
        hours = age.si if age and age.si is not None else math.nan
        found.append(PullReading(index, height.si, each.cells["side"].typed, force.si, hours))
    return tuple(found)


def _zone_limits(records: TrialRecords, loads: Sequence[Record]) -> list[tuple[float, ...]]:
    """Limits between the zones of each load."""
    setup = records.setup
    by_type = {
        each.name.casefold(): zone_limits(setup, each.name) for each in setup.trial.load_types
    }
    found = [by_type[each.cells["load_type"].typed.casefold()] for each in loads]
    if records.pulls and None in found:
        raise InputError.one(
            "zones.limits",
            say("nothing, and no case that gives the load's height"),
            say(
                "the heights over the deck between the zones ({names})",
                names=len(setup.trial.zones.names) - 1,
            ),
            say('Add limits = ["0.5 m", "1.0 m"] to [zones], or name a case for each load type.'),
        )
    return [each or () for each in found]


def _by_zone(
    pulls: Sequence[PullReading], limits: Sequence[Sequence[float]], zones: int
) -> tuple[Floats, Floats]:
    """Mean of the first readings of each load in each zone, and their age.

    Readings of a load that was kept and read again later are for the film's loss of force: film
    that is older holds less, so only the readings of the load's youngest age count here.
    """
    youngest: dict[int, float] = {}
    for each in pulls:
        if math.isfinite(each.age):
            youngest[each.load] = min(each.age, youngest.get(each.load, math.inf))
    loads = len(limits)
    total, count = np.zeros((loads, zones)), np.zeros((loads, zones))
    for each in pulls:
        first = youngest.get(each.load, math.nan)
        if math.isfinite(each.age) and each.age > 1.25 * first + 60.0:
            continue
        zone = min(zone_of(each.height, limits[each.load]), zones - 1)
        total[each.load, zone] += each.force
        count[each.load, zone] += 1
    means: Floats = np.divide(total, count, out=np.full((loads, zones), np.nan), where=count > 0)
    return means, np.array([youngest.get(load, math.nan) for load in range(loads)])
