"""Draws of what a site that nobody tried yet would measure, and what makes them so wide."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, Protocol, Self, get_args

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.learning.density import SITE_SPREADS, SPREAD_OF_SPREADS, WAY_SPREADS
from woold.learning.log_readings import log_readings
from woold.learning.shared_unknowns import SharedUnknowns
from woold.prediction.predict import load_outline
from woold.prediction.pull_plate import longest_face, pull_height
from woold.trial.averages import DANCER, MARKS, MASS, PULL, ROLL, TIME, WIDTH, Average
from woold.uncertainty.draws import values_at_scores
from woold.words import to_say

__all__ = [
    "CAUSES",
    "FILM_AND_CARRIAGE",
    "GRIP_THERE",
    "MACHINE_AND_PLACE",
    "MODEL",
    "NEW_SITE",
    "READING_SPREADS",
    "SITE",
    "Cause",
    "NewSiteDraws",
    "Taught",
]

Array = npt.NDArray[np.float64]

READING_SPREADS: Mapping[str, float] = {
    MASS: 0.04,
    MARKS: 0.04,
    WIDTH: 0.03,
    DANCER: 0.03,
    ROLL: 0.02,
    PULL: 0.08,
    TIME: 0.02,
}
"""Standard deviation of a reading from load to load, or roll to roll, as a share [-].

Placeholders (engineering estimates): 2 to 8 % are usual.
"""

_PULLED_AT = 600.0
"""Age at which a pull reading would be taken [s]."""

NEW_SITE = to_say("a site not tried yet")


class Taught(Protocol):
    """What a forecast needs of what was learnt."""

    @property
    def can_be_trusted(self) -> bool:
        """Whether chains agree and have moved enough."""

    @property
    def draws(self) -> Array:
        """Scores of the unknowns, shape (draws, numbers)."""

    @property
    def unknowns(self) -> SharedUnknowns:
        """Whose they are."""

    @property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of reading that were measured."""

    @property
    def spreads_by_kind(self) -> tuple[Array, Array]:
        """Spreads between sites and between ways, each of shape (draws, kinds)."""


CauseName = Literal["film and carriage", "grip there", "machine and place", "site", "model"]

FILM_AND_CARRIAGE: Final = "film and carriage"
GRIP_THERE: Final = "grip there"
MACHINE_AND_PLACE: Final = "machine and place"
SITE: Final = "site"
MODEL: Final = "model"
CAUSES: tuple[CauseName, ...] = get_args(CauseName)


@dataclass(frozen=True, slots=True)
class Cause:
    """Part of an answer's variance that is left open while one cause is not known.

    Args:
        cause: one of `CAUSES`.
        share: of the variance, all else being known [-].
    """

    cause: CauseName
    share: float


class NewSiteDraws:
    """Draws of a new site's averages: what was learnt, and chance for the rest.

    Args:
        learned: what was learnt.
        draws: scores of its unknowns and other numbers, shape (draws, numbers).
        seed: of chance.
        when: time of wrapping [s]; that of the latest trial if None.
    """

    def __init__(self, learned: Taught, draws: Array, seed: int, when: float | None) -> None:
        self.learned, self.draws = learned, draws
        self.when, self.seed = when, seed
        self.random = np.random.default_rng(seed)
        self.named: list[tuple[str, bool]] = []
        self._rows = np.arange(len(draws))
        self._fresh: dict[tuple[str, str], Array] = {}

    def film_mass(self, treatment: str, case: Case, is_prior: bool = False) -> Array:
        """ln of a case's mean film mass [kg], as :meth:`logs` gives it."""
        return self.logs(treatment, case, is_prior, (MASS,))[MASS]

    def logs(
        self,
        treatment: str,
        case: Case,
        is_prior: bool = False,
        kinds: Iterable[str] = tuple(READING_SPREADS),
    ) -> dict[str, Array]:
        """ln of a case's mean readings, as far as they can be taken; NaN where the film tears.

        Args:
            treatment: baseline or candidate.
            case: what is wrapped.
            is_prior: with spreads as they are taken for beforehand.
            kinds: of `READING_SPREADS`.
        """
        values = {}
        unknowns, is_timed = self.learned.unknowns, TIME in kinds
        for owned, place in unknowns.known(case, (NEW_SITE, ""), self.when, is_timed):
            scores = unknowns.scores_of(owned, self.draws, self._chance)
            values[owned.unknown.name] = values_at_scores(scores, owned.unknown)
            if not owned.unknown.name.startswith("machine."):  # film does not rest on these
                self.named.append((owned.unknown.name, place is not None))
        averages = [each for each in _to_read(case, values) if each.what in kinds]
        logs = log_readings(case, averages, values, len(self.draws))
        found = {}
        for index, what in enumerate(each.what for each in averages):
            site, way = self._spread(what, is_prior)
            shared, own = self._chance((_SITE, what)), self._chance((f"{_WAY}{treatment}", what))
            found[what] = logs[:, index] + site * shared + way * own
        return found

    def redrawn(self, cause: CauseName) -> Self:
        """The same draws, but for one cause of which others are taken.

        Args:
            cause: one of `CAUSES`.
        """
        other = type(self)(self.learned, self.draws, self.seed + 1, self.when)
        other._fresh = {key: each for key, each in self._fresh.items() if _cause(key) != cause}
        if cause == FILM_AND_CARRIAGE:
            other._rows = other.random.permutation(len(self.draws))
            other.draws = self.draws[other._rows]
        return other

    def _chance(self, key: tuple[str, str]) -> Array:
        if key not in self._fresh:
            self._fresh[key] = self.random.standard_normal(len(self.draws))
        return self._fresh[key]

    def _spread(self, what: str, is_prior: bool) -> tuple[Array, Array]:
        kinds = self.learned.kinds
        if is_prior or what not in kinds:
            site, way = (self._chance((each, what)) for each in ("sites", "ways"))
            return (
                SITE_SPREADS[what] * np.exp(SPREAD_OF_SPREADS * site),
                WAY_SPREADS[what] * np.exp(SPREAD_OF_SPREADS * way),
            )
        sites, ways = self.learned.spreads_by_kind
        index = kinds.index(what)
        return sites[self._rows, index], ways[self._rows, index]


def _to_read(case: Case, values: Mapping[str, Array]) -> list[Average]:
    """Readings that can be taken of a load, none yet."""
    found = {each: Average(each, 0, 0, 0.0, 0.0) for each in READING_SPREADS}
    if "program.force_to_load" not in values:
        del found[DANCER]  # a force that the case knows needs no recording
    if longest_face(load_outline(case)) is None:
        del found[PULL]
    else:
        height = pull_height(case.load, case.hold)
        found[PULL] = replace(found[PULL], height=height, age=_PULLED_AT)
    return list(found.values())


_SITE, _WAY = "site", "way "


def _cause(key: tuple[str, str]) -> CauseName:
    """What chance of a key stands for."""
    owner = key[0]
    if owner in (_SITE, "sites"):
        return SITE
    if owner.startswith(_WAY) or owner == "ways":
        return MODEL
    if owner.endswith(f" at {NEW_SITE}"):
        return GRIP_THERE
    return MACHINE_AND_PLACE if NEW_SITE in owner else FILM_AND_CARRIAGE
