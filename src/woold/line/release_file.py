"""The file of a release: machines that may get a carriage, what that costs, and the stages.

Machines stand in the file, one [[machine]] each, or in a register of their own: a CSV table.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import model_validator

from woold.case.fields import Section, SettingsFile, as_in, facts_of, plain, quantity
from woold.case.film import Film
from woold.case.reader import checked
from woold.case.toml_text import read_toml
from woold.errors import InputError, Problem, Question, names_its_file
from woold.line.folded_names import folded
from woold.tables.text_table import is_missing, joined, plain_number, read_table, split_heading
from woold.units import Money
from woold.words import say

__all__ = [
    "MachineEntry",
    "ReleaseFile",
    "ReleaseRead",
    "StageEntry",
    "TriedEntry",
    "read_release",
]

MOST_MACHINES = 5_000
_FASTEST_LOADS = 200.0
"""Loads an hour above which a machine is asked about; common practice, no source."""


class MachineEntry(Section):
    """A machine that may get the carriage: what it wraps, and what the change costs."""

    name: str = plain("machine's name", example='"hall 2, machine 3"', min_length=1, max_length=80)
    site: str = plain("where it stands", "", max_length=120)
    model: str = plain("its model; machines of a model are tried together", "", max_length=80)
    film: str = plain("film that it runs", example='"63 gauge"', min_length=1, max_length=80)
    carriage_now: str = plain("carriage fitted to it today", "", max_length=80)
    loads_per_year: float = plain(
        "loads wrapped in a year",
        example="60000",
        ge=0.0,
        usual=(100.0, 1e6),
        lt=1e9,
        strict=True,
    )
    hours_per_year: float | None = plain(
        "hours that it runs in a year", None, gt=0.0, le=8784.0, usual=(100.0, 8784.0), strict=True
    )
    film_per_load: float = quantity(
        "small_mass",
        "film of today on one load",
        example="175 g",
        gt=0.0,
        usual=("20 g", "5 kg"),
        le=1000.0,
    )
    film_price: Money = as_in(Film, "price", "price of the film")
    conversion_cost: Money = quantity(
        "money",
        "carriage, parts and work, fitted",
        example="4000 USD",
        usual=("100 USD", "100000 USD"),
    )
    technician_days: float = plain(
        "days of a technician for it", example="1.5", ge=0.0, le=1000.0, usual=(0.1, 30.0),
        strict=True,
    )  # fmt: skip
    match: Literal["passed", "failed", "none"] = plain(
        "what the film match said, none where it was never made", "none"
    )
    hold_margin: float | None = quantity(
        "fraction",
        "predicted hold above the hold asked for, the worst load's",
        None,
        ge=-1.0,
        le=100.0,
        usual=("-50 %", "500 %"),
    )

    def doubts(self) -> Iterator[Question]:
        if self.hours_per_year and self.loads_per_year > _FASTEST_LOADS * self.hours_per_year:
            yield Question(
                "hours_per_year",
                say(
                    "{loads} loads in {hours} h",
                    loads=f"{self.loads_per_year:g}",
                    hours=f"{self.hours_per_year:g}",
                ),
                say("at most {most} loads an hour", most=f"{_FASTEST_LOADS:g}"),
                say("Are loads and hours of the same year and machine?"),
            )


class TriedEntry(Section):
    """A trial of the store that tried the release's carriage, where its cases do not say so."""

    key: str = plain("its key in the store", example='"line-1-carriage"', min_length=1,
                     max_length=63)  # fmt: skip
    machine: str = plain(
        "machine that it was made on, or its model", "", example='"T12"', max_length=80
    )
    film: str = plain("film that it ran, as the machines name it", "", example='"63 gauge"',
                      max_length=80)  # fmt: skip


class StageEntry(Section):
    """A stage of the release: from when on, with how much money and time."""

    name: str = plain("what it is called", example='"pilot"', min_length=1, max_length=80)
    start: date = plain("its first day", example="2026-09-01")
    budget: Money | None = quantity(
        "money", "that may be spent in it; as much as need be if left out", None,
        example="40000 USD", usual=("500 USD", "10000000 USD"),
    )  # fmt: skip
    technician_days: float | None = plain(
        "days of technicians that there are for it; as many as need be if left out", None,
        ge=0.0, le=100_000.0, usual=(1.0, 5000.0), strict=True,
    )  # fmt: skip


class ReleaseFile(SettingsFile):
    """Which machines may get a carriage, and what that may cost."""

    title: str = plain("one line", "", example='"Invented plants, 2026"', max_length=200)
    carriage: str = plain(
        "carriage that is to be released, as the table of sites names it",
        example='"short gap"',
        min_length=1,
        max_length=80,
    )
    years: float = plain(
        "years from the first stage on over which a saving counts", example="2.0", gt=0.0,
        le=30.0, usual=(0.5, 10.0), strict=True,
    )  # fmt: skip
    trial_cost: Money = quantity(
        "money", "of one trial, loads and work", example="1500 USD", usual=("100 USD", "50000 USD")
    )
    trial_days: float = plain(
        "days of a technician for a trial", 2.0, ge=0.0, le=365.0, usual=(0.5, 30.0), strict=True
    )
    technician_day: Money | None = quantity(
        "money", "price of a technician's day, beside the costs", None, example="400 USD",
        usual=("50 USD", "3000 USD"),
    )  # fmt: skip
    least_margin: float = quantity(
        "fraction", "of hold, below which no machine is changed", "0 %", ge=-0.5, le=10.0,
        usual=("0 %", "100 %"),
    )  # fmt: skip
    register_file: str = plain(
        "CSV table of machines, beside this file, instead of [[machine]]", "", max_length=400
    )
    stage: tuple[StageEntry, ...] = plain("stages, the first one first", (), max_length=12)
    trial: tuple[TriedEntry, ...] = plain(
        "trials of the store whose cases do not name what was tried", (), max_length=1000
    )
    machine: tuple[MachineEntry, ...] = plain(
        "machines that may get the carriage", (), max_length=MOST_MACHINES
    )

    @model_validator(mode="after")
    def _each_once_in_one_currency(self) -> Self:
        names = (
            [each.name for each in self.machine],
            [each.name for each in self.stage],
            [each.key for each in self.trial],
        )
        for every in names:
            counts = Counter(map(folded, every))
            twice = [name for name in every if counts[folded(name)] > 1]
            if twice:
                raise ValueError(say("each name once, not {twice} twice", twice=twice[-1]))
        if not self.machine:
            raise ValueError(say("a register, or one [[machine]] at least"))
        starts = [each.start for each in self.stage]
        if starts != sorted(starts):
            raise ValueError(say("stage by stage in the order of their start"))
        found = sorted({each.currency for each in self._money()})
        if len(found) > 1:
            raise ValueError(say("one currency, not {found}", found=", ".join(found)))
        return self

    def _money(self) -> Iterator[Money]:
        yield self.trial_cost
        if self.technician_day is not None:
            yield self.technician_day
        for stage in self.stage:
            if stage.budget is not None:
                yield stage.budget
        for machine in self.machine:
            yield machine.film_price
            yield machine.conversion_cost

    @property
    def currency(self) -> str:
        """Of all money."""
        return self.trial_cost.currency

    @property
    def day_price(self) -> float:
        """Money for a technician's day [currency]."""
        return 0.0 if self.technician_day is None else self.technician_day.amount


class ReleaseRead:
    """A release file as it was read.

    Args:
        asked: what it says.
        unused: columns of the register that are none of a machine's.
        read_as: how the register is written, in words.
    """

    def __init__(self, asked: ReleaseFile, unused: tuple[str, ...] = (), read_as: str = "") -> None:
        self.asked, self.unused, self.read_as = asked, unused, read_as


@names_its_file
def read_release(path: Path | str, as_typed: Collection[str] = ()) -> ReleaseRead:
    """The release in a TOML file, with its register of machines.

    Args:
        path: the file; its register is relative to it.
        as_typed: fields that were asked about and are right, such as "machine[0].film_price".

    Raises:
        InputError: a field that cannot be used, or is asked about; every one is named, those of a
            register with their line.
    """
    table = read_toml(path, "woold line new-release")
    register = table.get("register_file")
    if not isinstance(register, str) or not register:
        return ReleaseRead(checked(ReleaseFile, table, as_typed)[0])
    if table.get("machine"):
        raise InputError.one(
            "register_file",
            say("a register, and [[machine]] as well"),
            say("one of the two"),
            say("Put all machines into the register, or leave it out."),
        )
    rows, lines, unused, read_as = _register(Path(path).parent / register)
    try:
        asked = checked(ReleaseFile, {**table, "machine": rows}, as_typed)[0]
    except InputError as error:
        raise InputError.many(_at_line(each, register, lines) for each in error.problems) from None
    return ReleaseRead(asked, unused, read_as)


def _register(path: Path) -> tuple[list[dict[str, Any]], list[int], tuple[str, ...], str]:
    """Rows of a register as tables, the line of each, columns left aside, how it is written."""
    read = read_table(path, say("a CSV table of machines"))
    if len(read.rows) < 2:
        raise InputError.one(
            path.name,
            say("no row below its headings"),
            say("a row for each machine"),
            say("Fill in its rows."),
        )
    heads = [_heading(text) for text in read.rows[0][1]]
    names = [name for name, _ in heads]
    twice = [name for name, count in Counter(names).items() if count > 1 and name in _FIELDS]
    if twice or "name" not in names:
        given = say("the column {name} twice", name=twice[0]) if twice else ", ".join(names)
        raise InputError.one(
            f"{path.name}, line {read.rows[0][0]}",
            given,
            say("columns such as {names}, each once", names=", ".join(_FIELDS)),
            say("Name the columns in the first line."),
        )
    rows, lines = [], []
    for number, cells in read.rows[1:]:
        row: dict[str, Any] = {}
        for (name, unit), cell in zip(heads, cells, strict=False):
            if name in _FIELDS and not is_missing(cell):
                row[name] = _value(name, plain_number(cell, read.dialect), unit)
        rows.append(row)
        lines.append(number)
    unused = tuple(name for name in names if name and name not in _FIELDS)
    return rows, lines, unused, joined(read.decided)


_FIELDS: Mapping[str, bool] = {
    name: not facts_of(MachineEntry, name).kind and field.annotation in (float, float | None)
    for name, field in MachineEntry.model_fields.items()
}
"""Columns of a register, and whether plain numbers stand in them."""
_BARE = re.compile(r"[-+]?[\d.]+(?:[eE][-+]?\d+)?")


def _heading(text: str) -> tuple[str, str]:
    name, unit = split_heading(text)
    return "_".join(name.lower().replace("-", " ").split()), unit


def _value(name: str, cell: str, unit: str) -> Any:
    """A cell as a table has it: a number, or text with the unit of its heading."""
    if _FIELDS[name]:
        try:
            return float(cell)
        except ValueError:
            return cell
    return f"{cell} {unit}" if unit and _BARE.fullmatch(cell) else cell


def _at_line(problem: Problem, register: str, lines: list[int]) -> Problem:
    """A problem of machine[3] names the line of the register as well."""
    found = re.match(r"machine\[(\d+)\]", problem.field)
    if not found:
        return problem
    # The field's own name stays: it is what --as-typed takes.
    given = say(
        "{given} ({register}, line {line})",
        given=problem.given,
        register=register,
        line=lines[int(found[1])],
    )
    return type(problem)(problem.field, given, problem.allowed, problem.todo)
