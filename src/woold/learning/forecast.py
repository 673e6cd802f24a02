"""What a load that nobody wrapped yet will take, before and after learning, and what to measure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.learning.learned import estimate
from woold.learning.new_site import CAUSES, READING_SPREADS, Cause, NewSiteDraws, Taught
from woold.prediction.yearly import Estimate
from woold.trial.averages import MASS
from woold.trial.setup import TREATMENTS

__all__ = [
    "RISK",
    "Forecast",
    "ForecastSaving",
    "Worth",
    "decision_value",
    "expected",
    "forecast",
    "saving_draws",
]

Array = npt.NDArray[np.float64]

RISK = 0.05
"""Chance of another decision below which more wraps are not worth it (stated) [-]."""

_NOTHING = 0.005
"""Share of a variance that is not worth a line [-]."""

LOADS = 6
"""Loads of a measurement whose worth is told."""


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
        causes: what makes the answer's range so wide, the saving's where there is a baseline, the
            largest first.
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
    causes: tuple[Cause, ...] = ()


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
    ways = _ways(case, baseline)
    untaught = NewSiteDraws(learned, _untaught(learned, random), seed, when)
    taught = NewSiteDraws(learned, learned.draws, seed, when)
    prior = {name: untaught.film_mass(name, each, is_prior=True) for name, each in ways}
    after = {name: taught.logs(name, each) for name, each in ways}
    last = TREATMENTS[1]
    mass = after[last][MASS]
    saved = None
    asked_for = mass
    if baseline is not None:
        asked_for = 1.0 - np.exp(mass - after[TREATMENTS[0]][MASS])
        sooner = 1.0 - np.exp(prior[last] - prior[TREATMENTS[0]])
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
        film_mass_before_kg=_known(np.exp(prior[last])),
        film_mass_kg=_known(np.exp(mass)),
        baseline_mass_before_kg=None if baseline is None else _known(np.exp(prior[first])),
        baseline_mass_kg=None if baseline is None else _known(np.exp(after[first][MASS])),
        saving=saved,
        worth=worth,
        known=tuple(name for name, known in told.items() if known),
        unknown=tuple(name for name, known in told.items() if not known),
        torn=float(np.isnan(asked_for).mean()),
        is_enough=_is_enough(worth),
        causes=_causes(taught, ways),
    )


def expected(learned: Taught, case: Case, baseline: Case | None = None, seed: int = 3) -> Estimate:
    """The saving of film at a site that nobody tried yet [-], or the film per load [kg].

    Args:
        learned, case, baseline, seed: as for :func:`forecast`, of which it is the answer alone.
    """
    taught = NewSiteDraws(learned, learned.draws, seed, None)
    return _known(_asked_for(taught, _ways(case, baseline)))


def saving_draws(
    learned: Taught,
    pairs: Sequence[tuple[Case, Case, float]],
    when: float | None = None,
    seed: int = 3,
    is_prior: bool = False,
) -> Array:
    """Draws of the saving of film at a site that nobody tried yet, of several load types at once.

    Args:
        learned: what the trials teach; it must be trusted.
        pairs: of each load type: baseline, candidate, loads a year.
        when: as for :func:`forecast`.
        seed: of what nothing is known of.
        is_prior: as if nothing had been learnt.
    """
    drawn = _untaught(learned, np.random.default_rng(seed)) if is_prior else learned.draws
    taught = NewSiteDraws(learned, drawn, seed, when)
    before, after = np.zeros(len(learned.draws)), np.zeros(len(learned.draws))
    for baseline, candidate, loads in pairs:
        before += loads * np.exp(taught.film_mass(TREATMENTS[0], baseline, is_prior))
        after += loads * np.exp(taught.film_mass(TREATMENTS[1], candidate, is_prior))
    found: Array = 1.0 - after / before
    return found[np.isfinite(found)]


def _ways(case: Case, baseline: Case | None) -> list[tuple[str, Case]]:
    """What is wrapped by treatment, the baseline first where there is one."""
    found = zip(TREATMENTS, (baseline, case), strict=True)
    return [(name, each) for name, each in found if each is not None]


def _untaught(learned: Taught, random: np.random.Generator) -> Array:
    """Scores of all unknowns as they are taken for beforehand, as many as were learnt."""
    return learned.unknowns.scores(random.standard_normal(learned.draws.shape))


def _asked_for(drawn: NewSiteDraws, ways: Sequence[tuple[str, Case]]) -> Array:
    """Draws of the saving, or of film mass where there is no baseline."""
    mass = [drawn.film_mass(name, case) for name, case in ways]
    found: Array = np.exp(mass[0]) if len(mass) == 1 else 1.0 - np.exp(mass[1] - mass[0])
    return found


def _causes(taught: NewSiteDraws, ways: Sequence[tuple[str, Case]]) -> tuple[Cause, ...]:
    """Part of the answer's variance that each cause leaves open, the others known.

    S = mean (f - f with that cause drawn anew)^2/(2 var f): with how causes work together, so that
    the parts add up to one or more.

    Source: total-effect index of Homma and Saltelli (1996) by Jansen's estimator, Computer Physics
        Communications 117 (1999) 35-43.
    """
    base = _asked_for(taught, ways)
    spread = float(np.var(base[np.isfinite(base)]))
    found = []
    for cause in CAUSES:
        moved = _asked_for(taught.redrawn(cause), ways)
        both = np.isfinite(base) & np.isfinite(moved)
        share = 0.5 * float(np.mean((base[both] - moved[both]) ** 2)) / spread if spread else 0.0
        if share >= _NOTHING:
            found.append(Cause(cause, share))
    return tuple(sorted(found, key=lambda each: -each.share))


def _is_enough(worth: Sequence[Worth]) -> bool | None:
    changes = [each.changes for each in worth if each.changes is not None]
    return max(changes) <= RISK if changes else None


def _known(draws: Array) -> Estimate:
    return estimate(draws[np.isfinite(draws)])


def _worth(
    asked_for: Array,
    logs: Mapping[str, Mapping[str, Array]],
    random: np.random.Generator,
    asked: float | None,
) -> tuple[Worth, ...]:
    """Part of the variance that each measurement would take away, by the squared correlation.

    Source: the linear Bayes estimate, Goldstein and Wooff, Bayes Linear Statistics (2007), 3.
    """
    found = []
    for treatment, readings in logs.items():
        for what, values in readings.items():
            known = np.isfinite(asked_for) & np.isfinite(values)
            if not known.any():
                continue  # a pull where no film lies
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
