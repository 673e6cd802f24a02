"""Combinations of carriage, machine and film: which have been matched, tried and claimed
together, and which test would be worth most.

A test is worth what it may change. Today each combination would be decided by what the sites so
far let expect; after one more trial by that and the trial. The value of the trial is the money
that the better decision brings in a year (expected value of sample information, normal beliefs,
linear money).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Self

import numpy as np
from pydantic import model_validator

from woold.case.fields import Section, SettingsFile, plain, quantity
from woold.case.reader import checked
from woold.case.toml_text import read_toml
from woold.errors import names_its_file
from woold.sites.claim_check import ClaimStrength, claim_strength
from woold.sites.effect import saving_of
from woold.sites.next_site import plausible_sites
from woold.sites.pooling import Pooled, pool
from woold.sites.site_table import Site, SiteTable
from woold.units import Money
from woold.words import say

__all__ = [
    "Combination",
    "CombinationRow",
    "Combinations",
    "UntriedView",
    "read_combinations",
    "trial_value",
    "untried_view",
]

NextStep = Literal["match", "trial", "nothing"]
MOST_COMBINATIONS = 5_000


class Combination(Section):
    """A carriage on a machine with a film, and the film it wraps in a year."""

    carriage: str = plain("name of the carriage", example='"short gap"', min_length=1)
    machine: str = plain("name of the machine", example='"line 1"', min_length=1)
    film: str = plain("name of the film", example='"63 gauge"', min_length=1)
    match: Literal["passed", "failed", "none"] = plain(
        "what the film match said, none where it was never made", "none"
    )
    loads_per_year: float = plain(
        "loads wrapped by it in a year",
        example="60000",
        ge=0.0,
        usual=(100.0, 1e6),
        lt=1e9,
        strict=True,
    )
    film_per_load: float = quantity(
        "small_mass",
        "film of the baseline on one load",
        example="175 g",
        gt=0.0,
        usual=("20 g", "5 kg"),
        le=1000.0,
    )
    film_price: Money = quantity(
        "money/kg", "price of the film", example="2.2 USD/kg", usual=("0.7 USD/kg", "10 USD/kg")
    )

    @property
    def film_cost_per_year(self) -> float:
        """Money for the baseline's film in a year [currency]."""
        return self.loads_per_year * self.film_per_load * self.film_price.amount

    @property
    def names(self) -> tuple[str, str, str]:
        """Carriage, machine and film."""
        return self.carriage, self.machine, self.film


class Combinations(SettingsFile):
    """All combinations, and the saving that pays for a change."""

    break_even: float = quantity(
        "fraction",
        "saving that pays for the change",
        example="2 %",
        gt=-1.0,
        usual=("0 %", "30 %"),
        lt=1.0,
    )
    combination: tuple[Combination, ...] = plain(
        "carriage, machine and film together", min_length=1, max_length=MOST_COMBINATIONS
    )

    @model_validator(mode="after")
    def _each_once_in_one_currency(self) -> Self:
        counts = Counter(each.names for each in self.combination)
        twice = [" + ".join(names) for names, count in counts.items() if count > 1]
        if twice:
            raise ValueError(say("each combination once, not {twice} twice", twice=twice[0]))
        currencies = sorted({each.film_price.currency for each in self.combination})
        if len(currencies) > 1:
            raise ValueError(say("one currency, not {found}", found=", ".join(currencies)))
        return self

    @property
    def currency(self) -> str:
        """Of all prices."""
        return self.combination[0].film_price.currency


@names_its_file
def read_combinations(path: Path, as_typed: Collection[str] = ()) -> Combinations:
    """Combinations and the saving that pays, from a TOML file.

    Args:
        path: the file.
        as_typed: fields that were asked about and are right, "combination[0].film_price".

    Raises:
        InputError: the file or any field cannot be used, or is asked about; every one is named.
    """
    return checked(Combinations, read_toml(path), as_typed)[0]


@dataclass(frozen=True, slots=True)
class CombinationRow:
    """What is known of a combination and what to do next.

    Args:
        combination: which.
        trials: how many trials of it are in the table.
        saving, saving_error: what to expect of it now, with its standard error [-].
        claim: the strongest claim that its own trials allow; None with fewer than two.
        trial_value: money that one more trial would bring in a year [currency].
        next_step: ``"match"`` before any trial; ``"nothing"`` when the match failed or a trial
            would change no decision worth a hundredth of a per cent of the film's cost.
    """

    combination: Combination
    trials: int
    saving: float
    saving_error: float
    claim: ClaimStrength | None
    trial_value: float
    next_step: NextStep


@dataclass(frozen=True, slots=True)
class UntriedView:
    """All combinations, the most valuable gap first.

    Args:
        rows: sorted by value of one more trial.
        break_even: saving that pays for the change [-].
        trial_error: standard error of the effect that a further trial is taken to have, the median
            of the trials so far [-].
        currency: of all money.
    """

    rows: tuple[CombinationRow, ...]
    break_even: float
    trial_error: float
    currency: str


def trial_value(
    spend: float, expected: float, error: float, trial_error: float, needed: float
) -> float:
    """Money that one more trial brings by a better decision.

    EVSI = spend s L(|expected - needed|/s), s² = error⁴/(error² + trial_error²),
    L(z) = phi(z) - z (1 - Phi(z)).

    Args:
        spend: money that the saving is a share of [currency/year].
        expected: saving expected now [-].
        error: standard deviation of that belief [-].
        trial_error: standard error of the trial [-].
        needed: saving that pays for the change [-].

    Source: Raiffa & Schlaifer, Applied Statistical Decision Theory (1961) ch. 5.
    """
    from scipy.stats import norm

    if error <= 0.0:
        return 0.0
    moved = error**2 / math.hypot(error, trial_error)
    distance = abs(expected - needed) / moved
    return float(spend * moved * (norm.pdf(distance) - distance * norm.sf(distance)))


def untried_view(combinations: Combinations, table: SiteTable) -> UntriedView:
    """What is known of each combination and what one more trial of it is worth.

    Before a trial a combination is expected to save what a further site would: the mean and the
    spread of :func:`~woold.sites.next_site.plausible_sites`. Its own trials are weighed against
    that, as if what differs between sites were the combination and not the load or the crew.

    Args:
        combinations: with their yearly film and the saving that pays.
        table: of the trials so far, with their carriage, machine and film.
    """
    pooled = pool(table.effects, table.standard_errors)
    means, spreads = plausible_sites(table.effects, table.standard_errors)
    # A spread with few sites has a heavy tail: quantiles stand in for the variance.
    following = means + spreads * np.random.default_rng(2).standard_normal(means.size)
    low, high = np.quantile(following, [0.1587, 0.8413])
    prior_error = float(high - low) / 2.0
    trial_error = float(np.median(table.standard_errors))
    rows = []
    for combination in combinations.combination:
        own = [
            site
            for site in table.sites
            if (site.carriage, site.machine, site.film) == combination.names
        ]
        expected, error = _belief(pooled, prior_error, own)
        # Money is linear in the saving 1 - exp(-effect); beliefs are carried over at its slope.
        slope = math.exp(-expected)
        value = trial_value(
            combination.film_cost_per_year,
            saving_of(expected),
            error * slope,
            trial_error * slope,
            combinations.break_even,
        )
        rows.append(
            CombinationRow(
                combination=combination,
                trials=len(own),
                saving=saving_of(expected),
                saving_error=error * slope,
                claim=_own_claim(own),
                trial_value=0.0 if combination.match == "failed" else value,
                next_step=_next_step(combination, value),
            )
        )
    rows.sort(key=lambda row: (-row.trial_value, -row.combination.film_cost_per_year))
    return UntriedView(tuple(rows), combinations.break_even, trial_error, combinations.currency)


def _belief(pooled: Pooled, prior_error: float, own: list[Site]) -> tuple[float, float]:
    """Mean and standard deviation of a combination's effect, its own trials weighed in."""
    precision = 1.0 / prior_error**2
    moment = pooled.mean * precision
    for site in own:
        precision += 1.0 / site.standard_error**2
        moment += site.effect / site.standard_error**2
    return moment / precision, math.sqrt(1.0 / precision)


def _own_claim(own: list[Site]) -> ClaimStrength | None:
    if len(own) < 2:
        return None
    return claim_strength(
        pool(
            np.array([site.effect for site in own]),
            np.array([site.standard_error for site in own]),
        )
    )


def _next_step(combination: Combination, value: float) -> NextStep:
    if combination.match == "failed" or value < 1e-4 * combination.film_cost_per_year:
        return "nothing"
    return "match" if combination.match == "none" else "trial"
