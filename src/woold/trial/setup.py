"""The trial file: what is compared, over which load types, and what the trial must show."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import field_validator, model_validator

from woold.case.fields import Section, SettingsFile, plain, quantity
from woold.case.file import case_from_table, read_case_table
from woold.case.model import Case
from woold.case.reader import checked
from woold.case.toml_text import read_toml
from woold.errors import InputError, Problem, Question, WooldError, errors_in
from woold.trial.looks import Spending
from woold.words import say, to_say

__all__ = [
    "SIDES",
    "TREATMENTS",
    "Aim",
    "FittedOnce",
    "LoadType",
    "Looks",
    "Order",
    "Trial",
    "TrialSetup",
    "Zones",
    "read_trial",
    "trial_from_tables",
]

TREATMENTS = (to_say("baseline"), to_say("candidate"))
"""What is compared; "treatment" is the statistician's word for it."""

CHANGEOVERS = (to_say("each load"), to_say("once a block"))
ROLLS = (to_say("shared"), to_say("one for each treatment"))
"""Words of a trial file that reports say."""

SIDES = (to_say("front"), to_say("right"), to_say("back"), to_say("left"))


class Aim(Section):
    """What the trial must be able to show."""

    saving: float = quantity(
        "fraction",
        "film saving at equal hold that it must be able to see",
        "5 %",
        placeholder="choose the smallest saving that would change what you do",
        span=("2 %", "15 %"),
        gt=0,
        usual=("1 %", "40 %"),
        lt=0.9,
    )
    margin: float = quantity(
        "fraction",
        "largest loss of containment that still counts as not lower",
        "10 %",
        placeholder="choose it before the trial, from what the load can spare",
        span=("5 %", "20 %"),
        gt=0,
        usual=("1 %", "40 %"),
        lt=0.9,
    )
    power: float = quantity(
        "fraction",
        "chance of showing it, if it is so",
        "90 %",
        ge=0.5,
        usual=("70 %", "99 %"),
        le=0.999,
    )
    film_spread: float = quantity(
        "fraction",
        "spread of film mass from load to load (standard deviation over mean)",
        "4 %",
        placeholder="weigh a few loads first, or take the spread of an earlier trial",
        span=("2 %", "8 %"),
        gt=0,
        usual=("0.5 %", "25 %"),
        le=1,
    )
    containment_spread: float = quantity(
        "fraction",
        "spread of a zone's pull readings from load to load",
        "12 %",
        placeholder="read a few loads first, or take the spread of an earlier trial",
        span=("6 %", "25 %"),
        gt=0,
        usual=("2 %", "60 %"),
        le=1,
    )

    zone_correlation: float = quantity(
        "fraction",
        "how far the zones of one load go together (correlation of their pull readings)",
        "30 %",
        placeholder="read a few loads first; 0 where zones know nothing of one another",
        span=("0 %", "80 %"),
        ge=0,
        usual=("0 %", "90 %"),
        lt=1,
    )
    pulls_missing: float = quantity(
        "fraction",
        "share of loads that will lack a pull reading in a zone",
        "10 %",
        placeholder="nobody reads every load; say what is usual with you",
        span=("0 %", "30 %"),
        ge=0,
        usual=("0 %", "60 %"),
        le=0.8,
    )


class Looks(Section):
    """Points at which the running trial is judged; without any it is judged when it is full."""

    number: int = plain(
        "looks, the last of them at the full trial", 1, example="3", ge=1, usual=(1, 6), le=10
    )
    at: tuple[float, ...] = quantity(
        "fraction",
        "shares of the planned loads at which the looks fall; evenly spread if left out",
        (),
        example='["50 %", "100 %"]',
        usual=("10 %", "100 %"),
        each=(0.0, 1.0),
    )
    spending: Spending = plain(
        "how the error is spent: late (early looks need much, the last hardly more than a single"
        " one) or even",
        "late",
        example='"late"',
    )

    @model_validator(mode="after")
    def _shares_that_rise_to_the_whole(self) -> Self:
        if not self.at:
            return self
        if list(self.at) != sorted(set(self.at)) or self.at[0] < 0.1 or self.at[-1] != 1.0:
            raise ValueError(say("shares that rise from 10 % or more to 100 %"))
        if "number" in self.model_fields_set and self.number != len(self.at):
            raise ValueError(
                say("as many shares as looks ({count}), or no number", count=self.number)
            )
        return self

    @property
    def times(self) -> tuple[float, ...]:
        """Share of the planned loads at each look; the last is 1."""
        return self.at or tuple((place + 1) / self.number for place in range(self.number))


class LoadType(Section):
    """Loads that are wrapped alike."""

    name: str = plain("short name", example='"jars"', min_length=1, max_length=60)
    loads_per_year: float = quantity(
        "ratio",
        "wrapped in a year; sets the weight",
        example="40000",
        gt=0,
        usual=("1", "1000000"),
        lt=1e9,
    )
    baseline: str | None = plain("case file of the baseline", None, example='"today.toml"')
    candidate: str | None = plain("case file of the candidate", None, example='"next.toml"')


class Order(Section):
    """How the loads are put in order."""

    design: Literal["interleaved", "fitted once"] = plain(
        "interleaved: the treatments are mixed; fitted once: all of the baseline, then the"
        " candidate, where it cannot be taken off again",
        "interleaved",
        example='"interleaved"',
    )
    loads_per_block: int = plain(
        "of each treatment in a block; fitted once: weighed of each roll",
        2,
        example="2",
        ge=1,
        usual=(1, 20),
        le=100,
    )
    shifts: tuple[str, ...] = plain(
        "shifts that the trial runs in", ("day",), example='["early", "late"]', max_length=12
    )
    changeover: Literal["each load", "once a block"] = plain(
        "how often the treatments can change places", "each load", example='"each load"'
    )
    rolls: Literal["shared", "one for each treatment"] = plain(
        "whether both treatments take film from one roll", "shared", example='"shared"'
    )
    seed: int = plain("of the random order", 1, example="1", ge=0)

    @field_validator("rolls", mode="before")
    @classmethod
    def _as_once_written(cls, rolls: Any) -> Any:
        return "one for each treatment" if rolls == "one for each arm" else rolls


class FittedOnce(Section):
    """What a comparison of before with after rests on."""

    roll_spread: float = quantity(
        "fraction",
        "spread of film mass from roll to roll that is left (little where rolls are weighed)",
        "1.5 %",
        placeholder="weigh some rolls, or loads of several rolls, first",
        span=("0.5 %", "4 %"),
        ge=0,
        usual=("0 %", "10 %"),
        le=0.5,
    )
    wander: float = quantity(
        "fraction",
        "spread of slow changes from week to week (operators, weather, season)",
        "0.5 %",
        placeholder="nobody knows it beforehand; the records of an earlier month show it",
        span=("0 %", "2 %"),
        ge=0,
        usual=("0 %", "8 %"),
        le=0.5,
    )
    control: bool = plain("an unchanged machine is weighed beside it", False, example="true")


class Zones(Section):
    """Heights between which pull readings are averaged."""

    names: tuple[str, ...] = plain(
        "from the bottom up", ("bottom", "middle", "top"), min_length=1, max_length=12
    )
    limits: tuple[float, ...] = quantity(
        "length",
        "heights over the deck between them; thirds of the load if left out",
        (),
        example='["0.5 m", "1.0 m"]',
        usual=("0.05 m", "2.8 m"),
        each=(0.0, 20.0),
    )

    @model_validator(mode="after")
    def _one_limit_between(self) -> Self:
        if self.limits and len(self.limits) != len(self.names) - 1:
            raise ValueError(
                say(
                    "one limit between neighbours (zones: {zones}, limits: {limits})",
                    limits=len(self.names) - 1,
                    zones=len(self.names),
                )
            )
        if list(self.limits) != sorted(set(self.limits)):
            raise ValueError(say("limits that rise"))
        if len(set(self.names)) != len(self.names):
            raise ValueError(say("zones with names that differ"))
        return self


class Trial(SettingsFile):
    """A comparison of two ways to wrap the same loads."""

    key: str = plain("short name in the store", example='"line-1-carriage"')
    title: str = plain("one line", "", example='"Candidate carriage on line 1"', max_length=200)
    question: str = plain("what the trial shall answer", "", max_length=2000)
    notes: str = plain("anything worth keeping", "", max_length=10_000)
    units: Literal["metric", "trade"] = plain(
        "units that the worksheet starts with", "metric", example='"metric"'
    )
    aim: Aim = plain("what it must show", Aim())
    looks: Looks = plain("when the running trial is judged", Looks())
    order: Order = plain("how loads are put in order", Order())
    fitted_once: FittedOnce = plain("before and after", FittedOnce())
    zones: Zones = plain("heights that are looked at apart", Zones())
    load_types: tuple[LoadType, ...] = plain("loads that are wrapped", min_length=1, max_length=60)

    @field_validator("key")
    @classmethod
    def _plain_key(cls, key: str) -> str:
        if re.fullmatch(r"[a-z0-9][a-z0-9-]{0,62}", key) is None:
            raise ValueError(say("up to 63 of a-z, 0-9 and hyphens"))
        return key

    @model_validator(mode="after")
    def _one_look_where_fitted_once(self) -> Self:
        if self.is_fitted_once and len(self.looks.times) > 1:
            raise ValueError(say("a single look, since before is compared with after"))
        return self

    @property
    def is_fitted_once(self) -> bool:
        """Whether before is compared with after."""
        return self.order.design == "fitted once"

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [each.name.casefold() for each in self.load_types]
        if len(set(names)) != len(names):
            raise ValueError(say("load types with names that differ"))
        return self

    def type_named(self, name: str) -> LoadType | None:
        """The load type of that name, however it is written."""
        wanted = name.strip().casefold()
        return next((each for each in self.load_types if each.name.casefold() == wanted), None)


@dataclass(frozen=True, slots=True)
class TrialSetup:
    """A trial with the cases of its treatments.

    Args:
        trial: the trial file.
        tables: the trial file's tables as read, to keep.
        case_tables: the tables of each case file, by the name that the trial file gives it.
    """

    trial: Trial
    tables: Mapping[str, Any]
    case_tables: Mapping[str, Mapping[str, Any]]

    def case(self, load_type: str, treatment: str) -> Case | None:
        """Case of a load type of a treatment; None where the trial names none."""
        table = self.case_table(load_type, treatment)
        return None if table is None else case_from_table(table)

    def case_table(self, load_type: str, treatment: str) -> Mapping[str, Any] | None:
        """The tables of that case; None where the trial names none."""
        found = self.trial.type_named(load_type)
        name = getattr(found, treatment) if found else None
        return self.case_tables[name] if name else None


def read_trial(path: Path | str, as_typed: Collection[str] = ()) -> TrialSetup:
    """The trial in a file, with the case files that it names (relative to it).

    Args:
        path: the trial file.
        as_typed: its fields that were asked about and are right, "aim.saving".

    Raises:
        InputError: a file cannot be read, or holds fields that cannot be used.
    """
    path = Path(path)
    tables = read_toml(path, "woold trial new")
    with errors_in(path):
        trial, _ = checked(Trial, tables, as_typed)
    if as_typed:
        tables = {**tables, "as_typed": [*trial.as_typed, *as_typed]}
    names = {name for each in trial.load_types for name in (each.baseline, each.candidate) if name}
    cases = {name: read_case_table(path.parent / name) for name in sorted(names)}
    return trial_from_tables(tables, cases)


def _of_case_file(name: str, problem: Problem) -> Problem:
    """A problem of a case that a trial names; a question is answered in the case's file."""
    todo = problem.todo
    if isinstance(problem, Question):
        answer = f'as_typed = ["{problem.field}"]'
        line = say("If it is right, write {line} at the head of that file.", line=answer)
        todo = f"{todo} {line}"
    return Problem(f"{name}: {problem.field}", problem.given, problem.allowed, todo)


def trial_from_tables(
    tables: Mapping[str, Any], case_tables: Mapping[str, Mapping[str, Any]]
) -> TrialSetup:
    """A trial from tables that were read before; its cases are checked too.

    Raises:
        InputError: one problem for each field that cannot be used, with the case file's name.
    """
    trial, _ = checked(Trial, tables)
    problems = []
    for name, table in case_tables.items():
        try:
            case_from_table(table)
        except WooldError as error:
            problems += [_of_case_file(name, each) for each in error.problems]
    if problems:
        raise InputError.many(problems)
    return TrialSetup(trial, tables, case_tables)
