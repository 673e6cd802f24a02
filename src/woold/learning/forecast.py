"""What a load that nobody wrapped yet will take, before and after learning, and what to measure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.learning.density import SITE_SPREADS, SPREAD_OF_SPREADS, WAY_SPREADS
from woold.learning.learned import estimate
from woold.learning.log_readings import log_readings
from woold.learning.shared_unknowns import SharedUnknowns
from woold.prediction.yearly import Estimate
from woold.trial.averages import MARKS, MASS, WIDTH, Average
from woold.trial.setup import TREATMENTS
from woold.uncertainty.draws import values_at_scores
from woold.words import to_say

__all__ = [
    "READING_SPREADS",
    "RISK",
    "Forecast",
    "ForecastSaving",
    "Taught",
    "Worth",
    "decision_value",
    "forecast",
    "saving_draws",
]

Array = npt.NDArray[np.float64]

READING_SPREADS: Mapping[str, float] = {MASS: 0.04, MARKS: 0.04, WIDTH: 0.03}
"""Standard deviation of a reading from load to load, as a share [-].

Placeholders (engineering estimates): 2 to 8 % are usual.
"""

RISK = 0.05
"""Chance of another decision below which more wraps are not worth it (stated) [-]."""

LOADS = 6
"""Loads of a measurement whose worth is told."""

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


@dataclass(frozen=True, slots=True)
class Worth:
    """What one measurement would tell of what is asked.

    Args:
        treatment: of what; baseline or candidate.
        what: kind of reading.
        loads: on how many loads.
        narrower: part of the variance of what is asked that it would take away [-].
        changes: chance that it changes whether the saving asked for is likely; null where none is
            asked for.
        gain: saving that a decision by it gains on average over one without [-]; likewise.
    """

    treatment: str
    what: str
    loads: int
    narrower: float
    changes: float | None = None
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class ForecastSaving:
    """The saving of film by one case over another.

    Args:
        before, after: share saved, median and middle 90 %, without and with what was learnt.
        chance: that it reaches what was asked for; null where nothing was.
        asked: what was asked for.
    """

    before: Estimate
    after: Estimate
    asked: float | None
    chance: float | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """Mean film of a load at a site that nobody tried yet.

    Args:
        film_mass_before_kg, film_mass_kg: of the case, without and with what was learnt.
        baseline_mass_before_kg, baseline_mass_kg: of the case that it is held against, likewise;
            null if there is none.
        saving: of film; null if there is no baseline.
        worth: what to measure next, the most telling first.
        known: inputs of the case that something was learnt of.
        unknown: inputs that keep what was taken for them.
        torn: share of the draws in which the film tears, or runs through rollers unstretched, which
            are left out.
        is_enough: no measurement changes the decision in more than `RISK`; null where no saving is
            asked for.
    """

    film_mass_before_kg: Estimate
    film_mass_kg: Estimate
    baseline_mass_before_kg: Estimate | None
    baseline_mass_kg: Estimate | None
    saving: ForecastSaving | None
    worth: tuple[Worth, ...]
    known: tuple[str, ...]
    unknown: tuple[str, ...]
    torn: float
    is_enough: bool | None = None


def forecast(
    learned: Taught,
    case: Case,
    baseline: Case | None = None,
    asked: float | None = None,
    when: float | None = None,
    seed: int = 3,
) -> Forecast:
    """What a case will take at a site that nobody tried yet.

    Both cases are of the same load at the same site, so that what its readings share cancels.

    Args:
        learned: what the trials teach; it must be trusted.
        case: the load to be wrapped.
        baseline: what it is held against.
        asked: saving that is asked for [-].
        when: time of wrapping [s], as trials have it; that of the latest trial if not given.
        seed: of what nothing is known of.
    """
    if not learned.can_be_trusted:
        raise ValueError("nothing was learnt")
    random = np.random.default_rng(seed)
    ways = [(TREATMENTS[1], case)]
    if baseline is not None:
        ways.insert(0, (TREATMENTS[0], baseline))
    count = len(learned.draws)
    untaught = _Draws(
        learned,
        learned.unknowns.scores(random.standard_normal((count, learned.draws.shape[1]))),
        seed,
        when,
    )
    taught = _Draws(learned, learned.draws, seed, when)
    prior = {name: untaught.logs(name, each, is_prior=True) for name, each in ways}
    after = {name: taught.logs(name, each) for name, each in ways}
    last = TREATMENTS[1]
    mass = after[last][MASS]
    saved = None
    asked_for = mass
    if baseline is not None:
        asked_for = 1.0 - np.exp(mass - after[TREATMENTS[0]][MASS])
        sooner = 1.0 - np.exp(prior[last][MASS] - prior[TREATMENTS[0]][MASS])
        saved = ForecastSaving(
            _known(sooner),
            _known(asked_for),
            asked,
            None if asked is None else float(np.mean(asked_for[np.isfinite(asked_for)] >= asked)),
        )
    worth = _worth(asked_for, after, random, None if baseline is None else asked)
    first = TREATMENTS[0]
    told = dict(taught.named)
    return Forecast(
        film_mass_before_kg=_known(np.exp(prior[last][MASS])),
        film_mass_kg=_known(np.exp(mass)),
        baseline_mass_before_kg=None if baseline is None else _known(np.exp(prior[first][MASS])),
        baseline_mass_kg=None if baseline is None else _known(np.exp(after[first][MASS])),
        saving=saved,
        worth=worth,
        known=tuple(name for name, known in told.items() if known),
        unknown=tuple(name for name, known in told.items() if not known),
        torn=float(np.isnan(asked_for).mean()),
        is_enough=_is_enough(worth),
    )


def saving_draws(
    learned: Taught,
    pairs: Sequence[tuple[Case, Case, float]],
    when: float | None = None,
    seed: int = 3,
) -> Array:
    """Draws of the saving of film at a site that nobody tried yet, of several load types at once.

    Args:
        learned: what the trials teach; it must be trusted.
        pairs: of each load type: baseline, candidate, loads a year.
        when: as for :func:`forecast`.
        seed: of what nothing is known of.
    """
    taught = _Draws(learned, learned.draws, seed, when)
    before, after = np.zeros(len(learned.draws)), np.zeros(len(learned.draws))
    for baseline, candidate, loads in pairs:
        before += loads * np.exp(taught.logs(TREATMENTS[0], baseline)[MASS])
        after += loads * np.exp(taught.logs(TREATMENTS[1], candidate)[MASS])
    found: Array = 1.0 - after / before
    return found[np.isfinite(found)]


def _is_enough(worth: Sequence[Worth]) -> bool | None:
    changes = [each.changes for each in worth if each.changes is not None]
    return max(changes) <= RISK if changes else None


def _known(draws: Array) -> Estimate:
    return estimate(draws[np.isfinite(draws)])


class _Draws:
    """Draws of a new site's averages: what was learnt, and chance for the rest."""

    def __init__(self, learned: Taught, draws: Array, seed: int, when: float | None) -> None:
        self.learned, self.draws = learned, draws
        self.when = when
        self.random = np.random.default_rng(seed)
        self.named: list[tuple[str, bool]] = []
        self._fresh: dict[tuple[str, str], Array] = {}
        self._site: dict[str, Array] = {}

    def logs(self, treatment: str, case: Case, is_prior: bool = False) -> dict[str, Array]:
        """ln of mean film mass, stretch and width of a case; NaN where the film tears."""
        values = {}
        unknowns = self.learned.unknowns
        for owned, place in unknowns.known(case, (NEW_SITE, ""), self.when):
            scores = unknowns.scores_of(owned, self.draws, self._chance)
            values[owned.unknown.name] = values_at_scores(scores, owned.unknown)
            self.named.append((owned.unknown.name, place is not None))
        averages = [Average(each, 0, 0, 0.0, 0.0) for each in READING_SPREADS]
        logs = log_readings(case, averages, values, len(self.draws))
        found = {}
        for index, what in enumerate(READING_SPREADS):
            site, way = self._spread(what, is_prior)
            if what not in self._site:
                self._site[what] = self._chance(("site", what))
            found[what] = (
                logs[:, index] + site * self._site[what] + way * self._chance((treatment, what))
            )
        return found

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
        return sites[:, index], ways[:, index]


def _worth(
    asked_for: Array,
    logs: Mapping[str, Mapping[str, Array]],
    random: np.random.Generator,
    asked: float | None,
) -> tuple[Worth, ...]:
    """Part of the variance that each measurement would take away, by the squared correlation.

    Source: the linear Bayes estimate, Goldstein and Wooff, Bayes Linear Statistics (2007), 3.
    """
    known = np.isfinite(asked_for)
    found = []
    for treatment, readings in logs.items():
        for what, values in readings.items():
            error = READING_SPREADS[what] / LOADS**0.5
            read = values[known] + error * random.standard_normal(int(known.sum()))
            share = float(np.corrcoef(asked_for[known], read)[0, 1] ** 2)
            changes = gain = None
            if asked is not None:
                changes, gain = decision_value(
                    float(asked_for[known].mean()) - asked, float(asked_for[known].std()), share
                )
            found.append(Worth(treatment, what, LOADS, share, changes, gain))
    return tuple(sorted(found, key=lambda each: -each.narrower))


def decision_value(over: float, spread: float, share: float) -> tuple[float, float]:
    """Chance that a measurement changes a decision, and what deciding by it gains on average.

    With r = spread sqrt(share) and z = |over|/r: Phi(-z) and r (phi(z) - z Phi(-z)).

    Args:
        over: expected saving less what is asked for [-].
        spread: standard deviation of the saving [-].
        share: part of its variance that the measurement takes away [-].

    Source: Raiffa and Schlaifer, Applied Statistical Decision Theory (1961), 5.4 (from memory):
        normal beliefs, linear loss.
    """
    from scipy.special import ndtr

    told = spread * math.sqrt(share)
    if told <= 0.0:
        return 0.0, 0.0
    z = abs(over) / told
    chance = float(ndtr(-z))
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return chance, told * (density - z * chance)
