"""What a watch is told: film, promises and charts, from a TOML file; all of it optional."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import model_validator

from woold.case.fields import COMMON_PRACTICE, Section, SettingsFile, plain, quantity
from woold.case.reader import checked
from woold.case.toml_text import read_toml
from woold.errors import Question, names_its_file
from woold.units import Money, show
from woold.words import say

__all__ = [
    "ANY_TYPE",
    "MOST_SETUP_LOADS",
    "ChartSettings",
    "FilmSettings",
    "Promise",
    "WatchSettings",
    "read_settings",
    "settings_of",
]

_LEAST_KNOWN = 0.1
"""Standard error of a baseline that was weighed, over its mean; common practice, no source [-]."""

MOST_SETUP_LOADS = 1_000_000
ANY_TYPE = ""
"""Load type of a promise that holds for every load."""


class FilmSettings(Section):
    """What turns lengths and turns into mass and money."""

    mass_per_metre: float | None = quantity(
        "linear_density",
        "mass of the film length that the records hold",
        None,
        example="3.6 g/m",
        gt=0.0,
        usual=("0.3 g/m", "40 g/m"),
        le=10.0,
    )
    perimeter: float | None = quantity(
        "length",
        "of the load, when film is reckoned from turns",
        None,
        example="4.4 m",
        gt=0.0,
        usual=("1 m", "12 m"),
        le=100.0,
    )
    price: Money | None = quantity(
        "money/kg",
        "price of the film",
        None,
        example="2.2 USD/kg",
        usual=("0.7 USD/kg", "10 USD/kg"),
    )


class Promise(Section):
    """What the trial promised for loads of one type."""

    load_type: str = plain("load type that it holds for; every load where none is named", ANY_TYPE)
    baseline_film_per_load: float = quantity(
        "small_mass",
        "film per load before the change",
        example="340 g",
        gt=0.0,
        usual=("20 g", "5 kg"),
        le=1000.0,
    )
    baseline_standard_error: float = quantity(
        "small_mass",
        "its standard error; 0 where it is not known",
        "0 g",
        ge=0.0,
        usual=("0 g", "200 g"),
        le=1000.0,
    )
    saving: float = quantity(
        "fraction",
        "promised share of the baseline",
        example="5 %",
        gt=-1.0,
        usual=("-10 %", "60 %"),
        lt=1.0,
    )
    saving_low: float | None = quantity(
        "fraction",
        "its low limit; the saving itself where none is given",
        None,
        gt=-1.0,
        usual=("-30 %", "60 %"),
        lt=1.0,
    )
    saving_high: float | None = quantity(
        "fraction",
        "its high limit; the saving itself where none is given",
        None,
        gt=-1.0,
        usual=("-10 %", "70 %"),
        lt=1.0,
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.least <= self.saving <= self.most:
            raise ValueError(say("saving_low <= saving <= saving_high"))
        return self

    def doubts(self) -> Iterator[Question]:
        """A mean that is hardly known is seldom what was meant."""
        share = self.baseline_standard_error / self.baseline_film_per_load
        if share > _LEAST_KNOWN:
            yield Question(
                "baseline_standard_error",
                say("{error}, {share} of the film per load",
                    error=show(self.baseline_standard_error, "small_mass"),
                    share=show(share, "fraction")),
                say("at most {most}", most=show(_LEAST_KNOWN, "fraction"))
                + f" ({say(COMMON_PRACTICE)})",
                say("Is it the standard error of the mean, and in the right unit?"),
            )  # fmt: skip

    @property
    def least(self) -> float:
        """Low limit of the promised saving."""
        return self.saving if self.saving_low is None else self.saving_low

    @property
    def most(self) -> float:
        """High limit of the promised saving."""
        return self.saving if self.saving_high is None else self.saving_high


class ChartSettings(Section):
    """How the charts are drawn; each default is a placeholder that nobody measured."""

    setup_loads: int = plain(
        "loads of the set-up phase (placeholder, 50 to 3000)",
        300,
        ge=20,
        usual=(50, 3000),
        le=MOST_SETUP_LOADS,
        strict=True,
    )
    false_alarm_every: float = plain(
        "loads between two false alarms of one quantity (placeholder, 370 to 200 000)",
        20_000.0,
        ge=20.0,
        usual=(370.0, 200_000.0),
        le=1_000_000.0,
        strict=True,
    )
    chart: Literal["cusum", "ewma"] = plain(
        "cusum: cumulative sums; ewma: weighted mean, quicker for shifts under half a sigma",
        "cusum",
    )
    ewma_weight: float = plain(
        "of the newest load (placeholder, 0.05 to 0.3)",
        0.1,
        ge=0.02,
        usual=(0.05, 0.3),
        le=1.0,
        strict=True,
    )
    shift_to_find: float = plain(
        "shift that the cumulative sums are set for, in sigma (placeholder, 0.5 to 2)",
        1.0,
        ge=0.1,
        usual=(0.5, 2.0),
        le=3.0,
        strict=True,
    )
    group: int = plain(
        "loads whose mean is charted as one value; 1 charts every load",
        1,
        ge=1,
        usual=(1, 200),
        le=10_000,
        strict=True,
    )


class WatchSettings(SettingsFile):
    """Settings of a watch."""

    film: FilmSettings = FilmSettings()
    promise: tuple[Promise, ...] = plain("what the trial promised, by load type", ())
    charts: ChartSettings = ChartSettings()

    @model_validator(mode="after")
    def _each_type_once(self) -> Self:
        counts = Counter(each.load_type for each in self.promise)
        twice = [name for name, count in counts.items() if count > 1]
        if twice:
            raise ValueError(say("each load type once, not {name!r} twice", name=twice[0]))
        return self

    @cached_property
    def promises(self) -> Mapping[str, Promise]:
        """Load type -> promise."""
        return {each.load_type: each for each in self.promise}


@names_its_file
def read_settings(path: Path, as_typed: Collection[str] = ()) -> WatchSettings:
    """Settings from a TOML file with ``[film]``, ``[[promise]]`` and ``[charts]``, all optional.

    Args:
        path: the file.
        as_typed: fields that were asked about and are right, "film.price".

    Raises:
        InputError: the file or any field cannot be used, or is asked about; every one is named.
    """
    return settings_of(read_toml(path), as_typed)


def settings_of(table: Mapping[str, Any], as_typed: Collection[str] = ()) -> WatchSettings:
    """The same of tables that were read before.

    Args:
        table: of such a file.
        as_typed: fields that were asked about and are right.

    Raises:
        InputError: any field cannot be used, or is asked about; every one is named.
    """
    return checked(WatchSettings, table, as_typed)[0]
