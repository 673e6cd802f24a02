"""Film of each load, from the best source that the records hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.watch.charts import Array
from woold.watch.counters import amounts_of_counter
from woold.watch.settings import WatchSettings
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["FilmSource", "film_per_load"]

FilmSource = Literal["weighed", "length", "counter", "turns"]


def film_per_load(
    frame: pl.DataFrame, settings: WatchSettings, machine: str, findings: list[Finding]
) -> tuple[Array | None, FilmSource | None]:
    """Film of each load [kg] from the best source there is, and which that was."""

    def column(name: str) -> Array:
        return np.asarray(frame[name].cast(float).fill_null(np.nan).to_numpy(), float)

    if "film_mass_kg" in frame.columns:
        return column("film_mass_kg"), "weighed"
    length: Array
    source: FilmSource
    if "film_length_m" in frame.columns:
        length, source = column("film_length_m"), "length"
    elif "film_counter_m" in frame.columns:
        amounts = amounts_of_counter(column("film_counter_m"))
        length, source = amounts.values, "counter"
        if amounts.resets or amounts.gaps:
            findings.append(
                Finding(
                    "counter",
                    f"{machine}.film_counter",
                    say(
                        "the counter started again or jumped, as if rows were missing (starts:"
                        " {resets}, jumps: {gaps}): these loads have no film figure.",
                        resets=amounts.resets,
                        gaps=amounts.gaps,
                    ),
                )
            )
    elif settings.film.perimeter is not None and "turns" in frame.columns:
        length, source = column("turns") * settings.film.perimeter, "turns"
        findings.append(
            Finding(
                "film_from_turns",
                f"{machine}.film",
                say(
                    "film is reckoned from turns and perimeter: a change of stretch cannot be seen."
                ),
            )
        )
    else:
        findings.append(
            Finding(
                "no_film", f"{machine}.film", say("film from turns needs film.perimeter, as set.")
            )
        )
        return None, None
    if settings.film.mass_per_metre is None:
        if settings.promises:
            raise InputError.one(
                "film.mass_per_metre",
                say("nothing"),
                say('a mass per length, such as "3.6 g/m"'),
                say("The records hold film lengths, and the promise is in film mass."),
            )
        # Charts are of shares, for which any constant will do.
        findings.append(
            Finding("length_only", f"{machine}.film", say("film is a length: no mass, no money."))
        )
        return length, source
    return length * settings.film.mass_per_metre, source
