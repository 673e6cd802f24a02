"""The line view: which carriage, machine and film have been matched, tried and claimed together,
and which test would be worth most.

A test is worth what it may change. Today each combination would be decided by what the sites so
far let expect; after one more trial by that and the trial. The value of the trial is the money
that the better decision brings in a year (expected value of sample information, normal beliefs,
linear money).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from woold.errors import InputError, Problem, UnitError
from woold.sites.claim import CAUTION, ClaimStrength, claim_strength
from woold.sites.pooling import Pooled, plausible_sites, pool, saving_of
from woold.sites.table import Site, SiteTable
from woold.units import parse_money, parse_quantity
from woold.words import say

__all__ = ["Combination", "LineRow", "LineView", "line_view", "read_combinations", "trial_value"]

MatchState = Literal["passed", "failed", "none"]
NextStep = Literal["match", "trial", "nothing"]
MOST_COMBINATIONS = 5_000


@dataclass(frozen=True, slots=True)
class Combination:
    """A carriage on a machine with a film, and the film it wraps in a year.

    Args:
        carriage, machine, film: names.
        match: what the film match said, ``"none"`` when it was never made.
        loads_per_year: loads wrapped by it in a year.
        film_per_load: film of the baseline on one load [kg].
        price: of the film [currency/kg].
    """

    carriage: str
    machine: str
    film: str
    match: MatchState
    loads_per_year: float
    film_per_load: float
    price: float

    @property
    def spend(self) -> float:
        """Money for the baseline's film in a year [currency]."""
        return self.loads_per_year * self.film_per_load * self.price


@dataclass(frozen=True, slots=True)
class LineRow:
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
class LineView:
    """All combinations, the most valuable gap first.

    Args:
        rows: sorted by value of one more trial.
        break_even: saving that pays for the change [-].
        trial_error: standard error of the effect that a further trial is taken to have, the median
            of the trials so far [-].
        currency: of all money.
    """

    rows: tuple[LineRow, ...]
    break_even: float
    trial_error: float
    currency: str

    def to_json(self) -> dict[str, Any]:
        """The document of ``woold sites line --json``; savings are shares."""
        return {
            "combinations": [
                {
                    "carriage": row.combination.carriage,
                    "machine": row.combination.machine,
                    "film": row.combination.film,
                    "match": row.combination.match,
                    "loads_per_year": row.combination.loads_per_year,
                    "film_cost_per_year": row.combination.spend,
                    "trials": row.trials,
                    "expected_saving": row.saving,
                    "expected_saving_error": row.saving_error,
                    "own_claim": row.claim,
                    "trial_value_per_year": row.trial_value,
                    "next_step": row.next_step,
                }
                for row in self.rows
            ],
            "break_even_saving": self.break_even,
            "trial_effect_error": self.trial_error,
            "currency": self.currency,
            "caution": CAUTION,
        }


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


def read_combinations(path: Path) -> tuple[tuple[Combination, ...], float, str]:
    """Combinations, the saving that pays, and the currency, from a TOML file.

    Top level: ``break_even = "2 %"``; then one ``[[combination]]`` each with ``carriage``,
    ``machine``, ``film``, ``loads_per_year``, ``film_per_load``, ``film_price`` and ``match``
    ("passed", "failed" or "none").

    Raises:
        InputError: the file or any field cannot be used; every fault is named.
    """
    import tomllib

    try:
        if path.stat().st_size > 5_000_000:
            raise InputError.one(str(path), say("too large"), say("at most 5 MB"))
        document = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise InputError.one(
            str(path), error.strerror or "unreadable", say("a readable file")
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise InputError.one(str(path), str(error)[:200], say("TOML")) from None
    rows = document.get("combination")
    if not isinstance(rows, list) or not rows or len(rows) > MOST_COMBINATIONS:
        raise InputError.one(
            "combination",
            (say("none") if not rows else say("too many")),
            say("1 to {most_combinations} tables", most_combinations=MOST_COMBINATIONS),
        )
    problems: list[Problem] = []
    combinations: list[Combination] = []
    currencies: set[str] = set()
    needed = 0.0
    if "break_even" not in document:
        problems.append(
            Problem(
                "break_even",
                say("nothing"),
                say('a saving, such as "2 %"'),
                say("What pays for the change?"),
            )
        )
    else:
        try:
            needed = parse_quantity(document["break_even"], "fraction", "break_even")
        except UnitError as error:
            problems.extend(error.problems)
    for index, row in enumerate(rows):
        try:
            combination, currency = _combination(row, f"combination[{index}]")
        except InputError as error:
            problems.extend(error.problems)
            continue
        currencies.add(currency)
        combinations.append(combination)
    names = [(each.carriage, each.machine, each.film) for each in combinations]
    for name in sorted({name for name in names if names.count(name) > 1}):
        problems.append(Problem("combination", " + ".join(name) + " twice", say("each one once")))
    if len(currencies) > 1:
        problems.append(Problem("film_price", ", ".join(sorted(currencies)), say("one currency")))
    if problems:
        raise InputError.many(problems)
    return tuple(combinations), needed, currencies.pop()


def _combination(row: Any, place: str) -> tuple[Combination, str]:
    known = {
        "carriage", "machine", "film", "match", "loads_per_year", "film_per_load", "film_price",
    }  # fmt: skip
    if not isinstance(row, dict):
        raise InputError.one(place, repr(row), say("a table"))
    problems = [
        Problem(f"{place}.{key}", say("unknown key"), ", ".join(sorted(known)))
        for key in row
        if key not in known
    ]
    for key in sorted(known - {"match"}):
        if row.get(key) in (None, ""):
            problems.append(Problem(f"{place}.{key}", say("nothing"), say("a value")))
    match = row.get("match", "none")
    if match not in ("passed", "failed", "none"):
        problems.append(Problem(f"{place}.match", repr(match), say('"passed", "failed" or "none"')))
    loads = row.get("loads_per_year")
    if not isinstance(loads, int | float) or isinstance(loads, bool) or not 0 <= loads < 1e9:
        problems.append(
            Problem(f"{place}.loads_per_year", repr(loads), say("a number from 0 to 1e9"))
        )
    if problems:
        raise InputError.many(problems)
    price = parse_money(row["film_price"], "kg", f"{place}.film_price")
    mass = parse_quantity(row["film_per_load"], "small_mass", f"{place}.film_per_load")
    if mass <= 0.0 or price.amount < 0.0:
        raise InputError.one(
            f"{place}.film_per_load",
            say("{mass:g} kg", mass=mass),
            say("above 0, at a price above 0"),
        )
    return (
        Combination(
            carriage=str(row["carriage"]),
            machine=str(row["machine"]),
            film=str(row["film"]),
            match=match,
            loads_per_year=float(row["loads_per_year"]),
            film_per_load=mass,
            price=price.amount,
        ),
        price.currency,
    )


def line_view(
    combinations: tuple[Combination, ...], needed: float, currency: str, table: SiteTable
) -> LineView:
    """What is known of each combination and what one more trial of it is worth.

    Before a trial a combination is expected to save what a further site would: the mean and the
    spread of :func:`~woold.sites.pooling.plausible_sites`. Its own trials are weighed against that,
    as if what differs between sites were the combination and not the load or the crew.

    Args:
        combinations: with their yearly film.
        needed: saving that pays for the change [-].
        currency: of all money.
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
    for combination in combinations:
        own = [
            site
            for site in table.sites
            if (site.carriage, site.machine, site.film)
            == (combination.carriage, combination.machine, combination.film)
        ]
        expected, error = _belief(pooled, prior_error, own)
        # Money is linear in the saving 1 - exp(-effect); beliefs are carried over at its slope.
        slope = math.exp(-expected)
        value = trial_value(
            combination.spend, saving_of(expected), error * slope, trial_error * slope, needed
        )
        rows.append(
            LineRow(
                combination=combination,
                trials=len(own),
                saving=saving_of(expected),
                saving_error=error * slope,
                claim=_own_claim(own),
                trial_value=0.0 if combination.match == "failed" else value,
                next_step=_next_step(combination, value),
            )
        )
    rows.sort(key=lambda row: (-row.trial_value, -row.combination.spend))
    return LineView(tuple(rows), needed, trial_error, currency)


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
    if combination.match == "failed" or value < 1e-4 * combination.spend:
        return "nothing"
    return "match" if combination.match == "none" else "trial"
