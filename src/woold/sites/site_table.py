"""The table of sites: one row a trial, with its saving, standard error and what may explain it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from woold.errors import InputError, Problem
from woold.sites.between_sites import Array
from woold.words import say

__all__ = ["Site", "SiteTable", "table_of_sites"]


@dataclass(frozen=True, slots=True)
class Site:
    """One trial's result.

    Args:
        name: of the site.
        saving: film saved, as a share of the baseline's film [-].
        effect: -ln(1 - saving) [-].
        standard_error: of the effect [-].
        loads: wrapped in the trial; 0 when not told.
        carriage, machine, film: what was tried; empty when not told.
        model: of that machine, where it is told beside the machine's own name.
        covariates: name -> SI value or plain number; a missing one is NaN.
    """

    name: str
    saving: float
    effect: float
    standard_error: float
    loads: int = 0
    carriage: str = ""
    machine: str = ""
    film: str = ""
    covariates: Mapping[str, float] = field(default_factory=dict)
    model: str = ""


@dataclass(frozen=True, slots=True)
class SiteTable:
    """All sites, and the covariates in the order of the columns.

    Args:
        sites: at least two, names all different.
        covariates: names that every site has and that differ between sites.
        left_out: covariate -> why it cannot be used.
        read_as: how a text table of them is written, in words; "" for plain commas.
    """

    sites: tuple[Site, ...]
    covariates: tuple[str, ...] = ()
    left_out: Mapping[str, str] = field(default_factory=dict)
    read_as: str = field(default="", compare=False)

    @property
    def effects(self) -> Array:
        return np.array([site.effect for site in self.sites])

    @property
    def standard_errors(self) -> Array:
        return np.array([site.standard_error for site in self.sites])

    def values_of(self, names: Iterable[str]) -> dict[str, Array]:
        """Covariates by name, each of shape (sites,); a word's column also by its bare name."""
        values: dict[str, Array] = {}
        problems = []
        bare = {label.partition(" (")[0]: label for label in self.covariates}
        for asked in names:
            name = bare.get(asked, asked)
            if name in self.covariates:
                values[name] = np.array([site.covariates[name] for site in self.sites])
                continue
            if name in self.left_out:
                problems.append(
                    Problem(
                        f"covariates.{name}",
                        self.left_out[name],
                        say("full column"),
                        say("Fill the column in for every site, or leave it out."),
                    )
                )
                continue
            allowed = ", ".join(self.covariates) or say("none in this table")
            problems.append(
                Problem(
                    f"covariates.{name}",
                    say("no such column"),
                    allowed,
                    say("Name a column of the table."),
                )
            )
        if problems:
            raise InputError.many(problems)
        return values


def table_of_sites(
    sites: Sequence[Site], words: Sequence[Mapping[str, str]] | None = None
) -> SiteTable:
    """The table of sites that are already read, at least two.

    Args:
        sites: names all different.
        words: column -> word of each site; a column of two words becomes a covariate of 0 and 1.
    """
    texts = words or [{} for _ in sites]
    names = list(
        dict.fromkeys(
            name
            for site, row in zip(sites, texts, strict=True)
            for name in (*site.covariates, *row)
        )
    )
    usable: list[str] = []
    left_out: dict[str, str] = {}
    filled: list[dict[str, float]] = [dict(site.covariates) for site in sites]
    for name in names:
        seen = sorted({row[name] for row in texts if name in row})
        missing = sum(
            name not in site.covariates and name not in row
            for site, row in zip(sites, texts, strict=True)
        )
        numeric = any(name in site.covariates for site in sites)
        if missing:
            left_out[name] = say(
                "missing at {missing} of {sites} sites", missing=missing, sites=len(sites)
            )
        elif seen and (numeric or len(seen) > 2):
            left_out[name] = (
                say("text and numbers") if numeric else say("text with more than two values")
            )
        elif len(seen) == 1:
            left_out[name] = say("the same at every site")
        else:
            label = _two_words(name, seen) if seen else name
            column = [
                float(row[name] == seen[1]) if seen else site.covariates[name]
                for site, row in zip(sites, texts, strict=True)
            ]
            if not all(math.isfinite(value) for value in column):
                left_out[name] = say("a value that is not finite")
            elif len(set(column)) == 1:
                left_out[name] = say("the same at every site")
            else:
                usable.append(label)
                for values, value in zip(filled, column, strict=True):
                    values[label] = value
    return SiteTable(
        sites=tuple(
            replace(site, covariates=values) for site, values in zip(sites, filled, strict=True)
        ),
        covariates=tuple(usable),
        left_out=left_out,
    )


def _two_words(name: str, seen: Sequence[str]) -> str:
    return say("{name} ({second} against {first})", name=name, first=seen[0], second=seen[1])
