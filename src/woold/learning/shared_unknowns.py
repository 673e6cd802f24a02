"""Which unknowns are one and the same in several cases, and what is known of each beforehand.

A film's own numbers go with the film wherever it runs. Grip, gap and how much width the film loses
go with carriage and film together. Tension and force go with the machine, which a trial stands
for, temperature with its place; what the load does, with the load type. Grip drifts: a site shares
part of it with the other sites of its carriage and film.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.shelf import hash_of
from woold.learning.wrapped import Wrapped
from woold.trial.averages import TIME
from woold.uncertainty.draws import Unknown
from woold.uncertainty.joint import NO_MATTER
from woold.uncertainty.spread import unknown_inputs
from woold.units import show
from woold.words import say

__all__ = [
    "DRIFT_SHARED",
    "OwnedUnknown",
    "Owner",
    "SharedUnknowns",
    "drifted",
    "owned_unknowns",
]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

_SECTIONS = ("load.", "film.", "carriage.", "program.", "hold.")
"""Sections that film mass, width, stretch and pull readings rest on."""

_OF_CARRIAGE_AND_FILM = (
    "film.neck_down_error",
    "film.width_loss",
    "carriage.friction",
    "carriage.gap",
    "carriage.contact_angle_slow",
    "carriage.contact_angle_fast",
    "carriage.slow_roller_diameter",
    "carriage.film_width_on_load",
)
_DRIFTING = ("carriage.friction",)
"""Rubber wears and gathers dust: at each site it differs from what it is elsewhere."""

DRIFT_SHARED = 0.5
"""Part of such an unknown's variance that all sites of its owner share [-] (placeholder)."""

_TIMES = ("machine.ramp_up", "machine.ramp_down", "machine.end_time", "machine.speed")
"""What cycle times rest on beside turns."""

_OF_PLACE = ("film.temperature", "hold.temperature", *_TIMES)


@dataclass(frozen=True, slots=True)
class Owner:
    """What an unknown belongs to: the same in every case of the same owner.

    Args:
        key: two owners are one where their keys are.
        named: what it is called.
    """

    key: str
    named: str


@dataclass(frozen=True, slots=True)
class OwnedUnknown:
    """An unknown input with its owner.

    Args:
        owner: film, carriage with film, machine or load.
        unknown: its field and range beforehand.
        kind: key of `woold.units.KINDS`.
        drifts_about: whose like-named unknown it has a part in common with; None for none.
    """

    owner: Owner
    unknown: Unknown
    kind: str
    drifts_about: Owner | None = None


class SharedUnknowns:
    """All unknowns of many cases, each once, and which of them each case has.

    Args:
        wrapped: what was wrapped.
    """

    def __init__(self, wrapped: Iterable[Wrapped]) -> None:
        self.all: list[OwnedUnknown] = []
        self._places: dict[tuple[str, str], int] = {}
        self._drifting: dict[int, int] = {}
        self.places: list[Ints] = [
            np.array(
                [
                    self._place(owned)
                    for owned in owned_unknowns(
                        each.case, each.trial, each.load_type, _is_timed(each)
                    )
                ],
                dtype=np.int64,
            )
            for each in wrapped
        ]

    @property
    def drifting(self) -> tuple[Ints, Ints]:
        """Places of unknowns that drift, and of what each drifts about."""
        pairs = np.array(sorted(self._drifting.items()), dtype=np.int64).reshape(-1, 2)
        return np.ascontiguousarray(pairs[:, 0]), np.ascontiguousarray(pairs[:, 1])

    def scores(self, at: Array) -> Array:
        """Normal scores of all unknowns from independent ones, shape (..., numbers).

        s = sqrt(shared) z_about + sqrt(1 - shared) z where it drifts; other numbers stay.
        """
        own, about = self.drifting
        found = np.array(at)
        found[..., own] = drifted(at[..., about], at[..., own])
        return found

    def independent(self, scores: Array) -> Array:
        """Independent scores from those of all unknowns: the other way of :meth:`scores`."""
        own, about = self.drifting
        found = np.array(scores)
        shared, alone = math.sqrt(DRIFT_SHARED), math.sqrt(1.0 - DRIFT_SHARED)
        found[..., own] = (scores[..., own] - shared * scores[..., about]) / alone
        return found

    def known(
        self, case: Case, trial: str, load_type: str
    ) -> list[tuple[OwnedUnknown, int | None, int | None]]:
        """A case's unknowns, each with its place and that of what it drifts about.

        Either is None where no case had it.

        Args:
            case: a case.
            trial, load_type: where it will be wrapped.
        """
        found = []
        for each in owned_unknowns(case, trial, load_type):
            name, about = each.unknown.name, each.drifts_about
            middle = None if about is None else self._places.get((about.key, name))
            found.append((each, self._places.get((each.owner.key, name)), middle))
        return found

    def _place(self, owned: OwnedUnknown) -> int:
        key = (owned.owner.key, owned.unknown.name)
        if key not in self._places:
            about = owned.drifts_about
            middle = (
                None
                if about is None
                else self._place(replace(owned, owner=about, drifts_about=None))
            )
            self._places[key] = len(self.all)
            self.all.append(owned)
            if middle is not None:
                self._drifting[self._places[key]] = middle
        return self._places[key]


def drifted(about: Array, own: Array) -> Array:
    """Scores of unknowns that drift about others, from independent scores."""
    return math.sqrt(DRIFT_SHARED) * about + math.sqrt(1.0 - DRIFT_SHARED) * own


def _is_timed(wrapped: Wrapped) -> bool:
    return any(each.what == TIME for each in wrapped.averages)


def owned_unknowns(
    case: Case, trial: str, load_type: str, is_timed: bool = False
) -> list[OwnedUnknown]:
    """The unknown inputs of a case, each with what it belongs to.

    Args:
        case: the case.
        trial: key of its trial, which stands for a machine at a site.
        load_type: name of its load type.
        is_timed: with what cycle times rest on.
    """
    film, pair = _film(case), _carriage_and_film(case)
    machine = Owner(
        f"machine {trial} {_hash(case, 'carriage')}", say("machine of trial {trial}", trial=trial)
    )
    place = Owner(f"place {trial}", say("where trial {trial} ran", trial=trial))
    load = Owner(
        f"load {trial} {load_type}", say("{load} of trial {trial}", load=load_type, trial=trial)
    )

    here = Owner(
        f"{pair.key} at {trial}", say("{pair}, in trial {trial}", pair=pair.named, trial=trial)
    )

    def owner(field: str) -> Owner:
        if field in _DRIFTING:
            return here
        if field in _OF_CARRIAGE_AND_FILM:
            return pair
        if field in _OF_PLACE:
            return place
        if not field.startswith(("film.", "load.", "hold.")):
            return machine
        return film if field.startswith("film.") else load

    kinds = {each.field: each.kind for each in case.inputs()}
    return [
        OwnedUnknown(
            owner(each.name), each, kinds[each.name], pair if each.name in _DRIFTING else None
        )
        for each in unknown_inputs(case, (*_SECTIONS, *(_TIMES if is_timed else ())), NO_MATTER)
    ]


def _film(case: Case) -> Owner:
    thing = _thing(case, "films")
    named = thing or say(
        "film {width}, {thickness}",
        width=show(case.film.roll_width, "small_length"),
        thickness=show(case.film.thickness, "thickness"),
    )
    return Owner(f"film {_hash(case, 'film')}", named)


def _carriage_and_film(case: Case) -> Owner:
    carriage = _thing(case, "carriages") or say(
        "carriage at {prestretch}", prestretch=show(case.carriage.prestretch, "elongation")
    )
    film = _film(case)
    named = say("{carriage} with {film}", carriage=carriage, film=film.named)
    return Owner(f"carriage {_hash(case, 'carriage')} with {film.key}", named)


def _thing(case: Case, kind: str) -> str:
    """What the shelf calls it, with its version; empty where it is not from a shelf."""
    return next((f"{each.name} {each.version}" for each in case.made_of if each.kind == kind), "")


def _hash(case: Case, section: str) -> str:
    """Tells sections apart that state something else, but for prices and places' temperatures."""
    left_out = {"price", "temperature", "film_width_on_load"}
    return hash_of(getattr(case, section).model_dump(mode="json", exclude=left_out))
