"""Which unknowns are one and the same in several cases, and what is known of each beforehand.

A film's own numbers go with the film wherever it runs. Grip, gap and how much width the film loses
go with carriage and film together. Tension and force go with the machine, which a trial stands
for, temperature with its place; what the load does, with the load type. Grip drifts about what its
carriage and film have at all sites. A film or carriage whose later version on the shelf states the
same was marked as changed: its inputs drift about those of the version that was tried first.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.shelf import hash_of
from woold.learning.drift import CHANGED, DRIFT, SPREAD_OF_DRIFT, Drift
from woold.learning.wrapped import Wrapped
from woold.trial.averages import TIME
from woold.uncertainty.draws import SCORE_AT_END, Unknown
from woold.uncertainty.joint import NO_MATTER
from woold.uncertainty.spread import unknown_inputs
from woold.units import show
from woold.words import say

__all__ = [
    "OwnedUnknown",
    "Owner",
    "SharedUnknowns",
    "first_versions",
    "owned_unknowns",
]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FirstVersions = Mapping[tuple[str, str, str], int]
"""Version of a thing that was tried first, by its list on the shelf, name and what it states."""

Chance = Callable[[tuple[str, str]], Array]

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
        about: what it drifts about; None for none.
        reached: its time [s], or changes of film and carriage, where it drifts.
    """

    owner: Owner
    unknown: Unknown
    kind: str
    about: OwnedUnknown | None = None
    reached: tuple[float, ...] = ()

    @property
    def key(self) -> tuple[str, str]:
        """Two unknowns are one where their keys are."""
        return self.owner.key, self.unknown.name

    @property
    def is_by_site(self) -> bool:
        """Whether it drifts by site and time, and not by changes."""
        return len(self.reached) == 1

    @property
    def unit(self) -> float:
        """Scores that a drift of `DRIFT`, or a change, stands for."""
        if not self.is_by_site:
            return CHANGED
        return DRIFT * 2.0 * SCORE_AT_END / math.log(self.unknown.high / self.unknown.low)


class SharedUnknowns:
    """All unknowns of many cases, each once, and which of them each case has.

    Args:
        wrapped: what was wrapped.

    Attributes:
        all: each unknown.
        places: which of them each case has.
        drifts: which of them drift about which; what others drift about comes first.
        latest: time of the latest trial [s].
    """

    def __init__(self, wrapped: Sequence[Wrapped]) -> None:
        self.all: list[OwnedUnknown] = []
        self.latest = max((each.when for each in wrapped), default=0.0)
        self._places: dict[tuple[str, str], int] = {}
        self._first = first_versions([each.case for each in wrapped])
        self.places: list[Ints] = []
        for each in wrapped:
            is_timed = any(average.what == TIME for average in each.averages)
            at = (each.trial, each.load_type)
            found = owned_unknowns(each.case, at, self._first, each.when, is_timed)
            self.places.append(np.array([self._place(owned) for owned in found], dtype=np.int64))
        drifting: dict[tuple[int, bool], list[int]] = {}
        for place, owned in enumerate(self.all):
            if owned.about is not None:
                key = self._places[owned.about.key], owned.is_by_site
                drifting.setdefault(key, []).append(place)
        drifts = [self._drift(about, own) for (about, _), own in drifting.items()]
        self.drifts = tuple(sorted(drifts, key=lambda each: each.is_learnt))

    @property
    def count(self) -> int:
        """Numbers that scores are made of: one of each unknown, and that of the drift's spread."""
        return len(self.all) + 1

    def drift_spread(self, at: Array) -> Array:
        """How far one site is off others over `DRIFT`, from numbers of shape (..., count)."""
        spread: Array = np.exp(SPREAD_OF_DRIFT * at[..., len(self.all)])
        return spread

    def scores(self, at: Array) -> Array:
        """Normal scores of all unknowns from independent ones, shape (..., count or more).

        s = s_about + L z where it drifts; other numbers stay.
        """
        found = np.array(at)
        for each in self.drifts:
            off = (self._sizes(each, at) * at[..., each.own]) @ each.directions.T
            found[..., each.own] = found[..., [each.about]] + each.unit * off
        return found

    def independent(self, scores: Array) -> Array:
        """Independent scores from those of all unknowns: the other way of :meth:`scores`."""
        found = np.array(scores)
        for each in self.drifts:
            off = (scores[..., each.own] - scores[..., [each.about]]) / each.unit
            along = off @ np.linalg.inv(each.directions).T
            found[..., each.own] = along / self._sizes(each, scores)
        return found

    def usual_spreads(self) -> Array:
        """Standard deviation of each unknown's scores beforehand, drift being as it is guessed."""
        squares = np.ones(len(self.all))
        for each in self.drifts:
            off = each.unit * each.directions * each.sizes(np.ones(()))
            squares[each.own] = squares[each.about] + (off**2).sum(axis=1)
        return np.sqrt(squares)

    def known(
        self,
        case: Case,
        at: tuple[str, str],
        when: float | None = None,
        is_timed: bool = False,
    ) -> list[tuple[OwnedUnknown, int | None]]:
        """A case's unknowns, each with its place, or that of what it drifts about.

        None where no case had either.

        Args:
            case: a case.
            at: trial and load type where it will be wrapped.
            when: time there [s]; that of the latest trial if not given.
            is_timed: with what cycle times rest on.
        """
        found = []
        then = self.latest if when is None else when
        for each in owned_unknowns(case, at, self._first, then, is_timed):
            nearest: OwnedUnknown | None = each
            while nearest is not None and nearest.key not in self._places:
                nearest = nearest.about
            found.append((each, None if nearest is None else self._places[nearest.key]))
        return found

    def scores_of(self, owned: OwnedUnknown, draws: Array, chance: Chance) -> Array:
        """Scores of an unknown, of which perhaps only what it drifts about was learnt.

        Args:
            owned: the unknown.
            draws: scores of all unknowns and other numbers, shape (draws, numbers).
            chance: independent scores for what nothing is known of, by key.
        """
        place = self._places.get(owned.key)
        if place is not None:
            known: Array = draws[:, place]
            return known
        if owned.about is None:
            return chance(owned.key)
        middle = self.scores_of(owned.about, draws, chance)
        about = self._places.get(owned.about.key, -1)
        alike = (each for each in self.drifts if each.about == about)
        drift = next((each for each in alike if each.is_learnt == owned.is_by_site), None)
        spread = self._spread(draws, owned.is_by_site)
        if drift is not None:
            factors, spread = drift.at(owned.reached, spread)
            middle = middle + ((draws[:, drift.own] - middle[:, None]) * factors).sum(axis=-1)
        elif not owned.is_by_site:
            spread = spread * math.sqrt(sum(owned.reached))
        found: Array = middle + owned.unit * spread * chance(owned.key)
        return found

    def _sizes(self, drift: Drift, at: Array) -> Array:
        return drift.sizes(self._spread(at, drift.is_learnt))

    def _spread(self, at: Array, is_learnt: bool) -> Array:
        return self.drift_spread(at) if is_learnt else np.ones(at.shape[:-1])

    def _drift(self, about: int, own: Sequence[int]) -> Drift:
        order = sorted(own, key=lambda place: (self.all[place].reached, place))
        first = self.all[order[0]]
        return Drift(
            about,
            np.array(order, dtype=np.int64),
            np.array([self.all[place].reached for place in order]),
            first.unit,
            first.is_by_site,
        )

    def _place(self, owned: OwnedUnknown) -> int:
        if owned.key not in self._places:
            if owned.about is not None:
                self._place(owned.about)
            self._places[owned.key] = len(self.all)
            self.all.append(owned)
        return self._places[owned.key]


def first_versions(cases: Iterable[Case]) -> FirstVersions:
    """The first version of each film and carriage of the shelf among cases, by what it states.

    Args:
        cases: cases.
    """
    found: dict[tuple[str, str, str], int] = {}
    for case in cases:
        for key, version in _versions(case):
            found[key] = min(version, found.get(key, version))
    return found


def owned_unknowns(
    case: Case,
    at: tuple[str, str],
    first: FirstVersions,
    when: float = 0.0,
    is_timed: bool = False,
) -> list[OwnedUnknown]:
    """The unknown inputs of a case, each with what it belongs to.

    Args:
        case: the case.
        at: key of its trial, which stands for a machine at a site, and name of its load type.
        first: versions of things that were tried first.
        when: time of the trial [s].
        is_timed: with what cycle times rest on.
    """
    trial, load_type = at
    film, pair = _film(case), _carriage_and_film(case)
    machine = Owner(
        f"machine {trial} {_hash(case, 'carriage')}", say("machine of trial {trial}", trial=trial)
    )
    place = Owner(f"place {trial}", say("where trial {trial} ran", trial=trial))
    load = Owner(
        f"load {trial} {load_type}", say("{load} of trial {trial}", load=load_type, trial=trial)
    )
    changes = _changes(case, first)

    def owner(field: str) -> Owner:
        if field in _OF_CARRIAGE_AND_FILM:
            return pair
        if field in _OF_PLACE:
            return place
        if not field.startswith(("film.", "load.", "hold.")):
            return machine
        return film if field.startswith("film.") else load

    kinds = {each.field: each.kind for each in case.inputs()}
    found = []
    for each in unknown_inputs(case, (*_SECTIONS, *(_TIMES if is_timed else ())), NO_MATTER):
        whose, kind = owner(each.name), kinds[each.name]
        if each.name.startswith("program."):
            # Ways of wrapping that are set otherwise are each off by themselves.
            setting = show(each.value, kind)
            named = say("{machine}, set to {setting}", machine=whose.named, setting=setting)
            whose = Owner(f"{whose.key} set to {each.value!r}", named)
        drifts = each.name in _DRIFTING
        # Wear may lead beyond any range that was stated.
        taken = replace(each, shape="lognormal") if drifts else each
        owned = OwnedUnknown(whose, taken, kind)
        since = changes if whose is pair else (changes[0], 0.0)
        if whose in (film, pair) and any(since):
            named = say("{thing}, changed since", thing=whose.named)
            after = Owner(f"{whose.key} after {since[0]:.0f} and {since[1]:.0f}", named)
            owned = replace(owned, owner=after, about=owned, reached=since)
        if drifts:
            key, named = owned.owner.key, owned.owner.named
            here = Owner(
                f"{key} at {trial}", say("{pair}, in trial {trial}", pair=named, trial=trial)
            )
            owned = replace(owned, owner=here, about=owned, reached=(when,))
        found.append(owned)
    return found


def _versions(case: Case) -> Iterator[tuple[tuple[str, str, str], int]]:
    for kind, section in (("films", "film"), ("carriages", "carriage")):
        for each in case.made_of:
            if each.kind == kind:
                yield (kind, each.name, _hash(case, section)), each.version


def _changes(case: Case, first: FirstVersions) -> tuple[float, float]:
    """How many versions film and carriage are on from those tried first, which state the same."""
    since = {"films": 0, "carriages": 0}
    for key, version in _versions(case):
        since[key[0]] = max(version - first.get(key, version), 0)
    return float(since["films"]), float(since["carriages"])


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
