"""What another carriage may save a customer: film, money and payback, and what would narrow it."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.errors import InputError, Question
from woold.prediction.result import Finding, RestsOn
from woold.prediction.yearly import Estimate, payback
from woold.quote.assumed import BRAKED_SHARE, Assumed, assumed_of, drawn_assumptions
from woold.quote.expected import (
    OFF,
    OFF_ALTOGETHER,
    OWN_SPREAD,
    ExpectedEffect,
    TriedSites,
    expected_effect,
)
from woold.quote.facts import QuoteFacts
from woold.quote.film_use import FilmUse, film_use
from woold.quote.narrowing import Narrowed, narrowing
from woold.uncertainty.draws import Unknown, draw_unknowns
from woold.units import show, show_range
from woold.words import say

__all__ = ["Payback", "Quote", "quote_of"]

Array = npt.NDArray[np.float64]

DRAWS = 64_000
_SHOWN = 4000
_ENDS = np.array([0.05, 0.5, 0.95])

_WEIGHED_OFF, _BOUGHT_OFF = 0.05, 0.08
"""How far film said to be on a load may be off, weighed or reckoned from rolls (placeholders):
standard deviations as shares; film bought is also wasted, left on cores and used elsewhere."""

_MASS_OFF = 0.07
"""How far physics may be off the film of one load, beyond its inputs (placeholder) [-]."""

_WEEKS = 365.25 / 7.0
_FEWEST = 200.0
_LEAST_WHOLE = 0.25
"""Share of the draws in which film must last, for an answer to be given (engineering estimate)."""


@dataclass(frozen=True, slots=True)
class Payback:
    """Years after which film saved has paid the carriage, without interest; null for never.

    Args:
        likely, cautious, good: with the saving that they name.
    """

    likely: float | None
    cautious: float | None
    good: float | None


@dataclass(frozen=True, slots=True)
class Quote:
    """What a customer may expect.

    Args:
        saving: of film, as a share: likely, with the cautious and the good end; one in twenty
            saves less, one in twenty more.
        chance_of_none: that nothing is saved at all [-].
        by_physics: the same by physics and the film used today alone.
        by_sites: the same by the sites alone; null where none was tried.
        sites: how many.
        film_per_load_kg: film on a load today.
        film_per_year_kg, saved_per_year_kg: film in a year today, and saved.
        saved_money: money saved on film in a year; null without a price.
        payback_years: of the carriage; null without prices.
        currency: of the money.
        narrowing: what to measure, the most telling first.
        rests_on: everything that nobody measured.
        findings: what limits the answer.
    """

    saving: Estimate
    chance_of_none: float
    by_physics: Estimate
    by_sites: Estimate | None
    sites: int
    film_per_load_kg: Estimate
    film_per_year_kg: Estimate
    saved_per_year_kg: Estimate
    saved_money: Estimate | None
    payback_years: Payback | None
    currency: str
    narrowing: tuple[Narrowed, ...]
    rests_on: tuple[RestsOn, ...]
    findings: tuple[Finding, ...]


def quote_of(
    facts: QuoteFacts,
    offered: Case | None = None,
    sites: TriedSites | None = None,
    seed: int = 1,
    as_read: Sequence[Finding] = (),
    as_typed: Collection[str] = (),
) -> Quote:
    """What a customer may expect to save.

    Args:
        facts: what the customer knows.
        offered: a case whose carriage is offered; a usual one of short gap where none is given.
        sites: where carriages were tried; None for none.
        seed: of the draws.
        as_read: findings about how the sites were read.
        as_typed: facts that were asked about and are right.

    Raises:
        InputError: a question about film of a load that physics does not bear out.
        WooldError: a load, film or carriage that cannot be.
    """
    random = np.random.default_rng(seed)
    assumed = assumed_of(facts, offered)
    today, after = _film(assumed, seed)
    whole = _whole(today, after)
    effects = np.log(today.mass[whole] / after.mass[whole])
    said = _said(facts, int(whole.sum()), random)
    field = "rolls_per_week" if facts.film_per_load is None else "film_per_load"
    likelihood, unlikely = _likelihood(said, today.mass[whole], field, as_typed)
    found = expected_effect(effects, likelihood, sites)
    drawn = found.drawn(_SHOWN, random)
    pairs = _paired(effects, likelihood, drawn, random)
    saving = _saving(found, found.expected)
    mass = today.mass[whole][pairs] if said is None else said[pairs]
    saved = (1.0 - np.exp(-drawn)) * mass * facts.loads_per_year
    price = facts.film_price
    money = None if price is None else _estimate(saved).times(price.amount)
    by_physics = _saving(found, found.by_physics)
    by_sites = None if sites is None else _saving(found, found.by_sites)
    more = _findings(facts, sites, by_physics, saving, offered)
    return Quote(
        saving=saving,
        chance_of_none=float(np.mean(drawn <= 0.0)),
        by_physics=by_physics,
        by_sites=by_sites,
        sites=0 if sites is None else len(sites.effects),
        film_per_load_kg=_estimate(mass),
        film_per_year_kg=_estimate(mass).times(facts.loads_per_year),
        saved_per_year_kg=_estimate(saved),
        saved_money=money,
        payback_years=_payback(facts, money),
        currency=_currency(facts),
        narrowing=narrowing(drawn, [each[whole][pairs] for each in _of(today)], saving, random),
        rests_on=(*_of_facts(facts), *assumed.rests_on),
        findings=(*as_read, *unlikely, *more),
    )


def _film(assumed: Assumed, seed: int) -> tuple[FilmUse, FilmUse]:
    today, offered = drawn_assumptions(assumed, DRAWS, seed)
    return film_use(assumed.today, today, DRAWS), film_use(assumed.offered, offered, DRAWS)


def _whole(today: FilmUse, after: FilmUse) -> npt.NDArray[np.bool_]:
    """Draws in which the film wraps a load on both carriages, without tearing.

    Raises:
        InputError: there are too few to say anything.
    """
    whole = np.isfinite(today.mass) & np.isfinite(after.mass)
    share = float(whole.mean())
    if share < _LEAST_WHOLE:
        raise InputError.one(
            "roll_width, thickness",
            say("film that tears in {share:.0%} of what may be", share=1.0 - share),
            say("film that wraps the load in {least:.0%} of it or more", least=_LEAST_WHOLE),
            say("Are the film's width and thickness right, and in the right units?"),
        )
    return np.asarray(whole)


def _of(used: FilmUse) -> tuple[Array, Array, Array]:
    return used.mass, used.width, used.stretch


def _currency(facts: QuoteFacts) -> str:
    money = facts.film_price or facts.price
    return money.currency if money else ""


def _payback(facts: QuoteFacts, money: Estimate | None) -> Payback | None:
    if money is None or facts.price is None:
        return None
    years = payback(facts.price.amount, money)
    known = [each if math.isfinite(each) else None for each in (years.value, years.high, years.low)]
    return Payback(*known)


def _said(facts: QuoteFacts, count: int, random: np.random.Generator) -> Array | None:
    """Draws of the film on a load today as the customer knows it [kg]."""
    if facts.film_per_load is not None:
        return facts.film_per_load * np.exp(_WEIGHED_OFF * _even_scores(count, random))
    if facts.rolls_per_week is None:
        return None
    roll = np.full(count, facts.roll_mass)
    if "roll_mass" not in facts.model_fields_set:
        rolls = Unknown("roll_mass", facts.roll_mass, *_ROLL)
        roll = draw_unknowns([rolls], count, random)[rolls.name]
    bought = facts.rolls_per_week * _WEEKS * roll / facts.loads_per_year
    return np.asarray(bought * np.exp(_BOUGHT_OFF * _even_scores(count, random)))


_ROLL = (14.0, 20.0)


def _even_scores(count: int, random: np.random.Generator) -> Array:
    """Normal scores spread evenly, in random order."""
    from scipy.special import ndtri

    return np.asarray(ndtri((random.permutation(count) + 0.5) / count))


def _likelihood(
    said: Array | None, mass: Array, field: str, as_typed: Collection[str]
) -> tuple[Array, tuple[Finding, ...]]:
    """How likely the film said is in each draw; even, with a finding, where none fits it."""
    even = np.ones(len(mass))
    if said is None:
        return even, ()
    logs = np.log(said)
    spread = math.hypot(float(logs.std()), _MASS_OFF)
    likelihood = np.exp(-0.5 * ((np.log(mass) - logs.mean()) / spread) ** 2)
    low, high = np.percentile(mass, [2.5, 97.5]).tolist()
    are_enough = likelihood.sum() ** 2 >= _FEWEST * (likelihood**2).sum() > 0.0
    if are_enough or low <= np.exp(logs.mean()) <= high:
        return likelihood, ()
    given = say("{mass} of film on a load", mass=show(float(np.exp(logs.mean())), "small_mass"))
    usual = say(
        "{range} on such a load, by physics",
        range=show_range(low, high, "small_mass"),
    )
    if field not in as_typed:
        todo = say("Are the load's size, the film, loads a year and rolls a week right?")
        raise InputError(Question(field, given, usual, todo))
    text = say("{given}; {usual}. It does not weigh the answer.", given=given, usual=usual)
    return even, (Finding("film_use_unlikely", field, text),)


def _paired(
    effects: Array, likelihood: Array, drawn: Array, random: np.random.Generator
) -> npt.NDArray[np.int64]:
    """For each expected effect a draw of physics near it that fits the film used today."""
    chosen = random.choice(len(effects), 4 * _SHOWN, p=likelihood / likelihood.sum())
    chosen = chosen[np.argsort(effects[chosen], kind="stable")]
    near = drawn + 0.01 * random.standard_normal(len(drawn))
    places = np.searchsorted(effects[chosen], near)
    return np.asarray(chosen[np.clip(places, 0, len(chosen) - 1)])


def _saving(found: ExpectedEffect, density: Array) -> Estimate:
    low, middle, high = (1.0 - np.exp(-found.quantiles(density, _ENDS))).tolist()
    return Estimate(middle, low, high)


def _estimate(values: Array) -> Estimate:
    low, middle, high = np.quantile(values, _ENDS).tolist()
    return Estimate(middle, low, high)


def _of_facts(facts: QuoteFacts) -> list[RestsOn]:
    """What is taken for facts that were not given, and for how far things may be off."""
    found = []

    def add(field: str, value: float, origin: str) -> None:
        found.append(RestsOn(field, value, "fraction", "", None, None, origin))

    if facts.rolls_per_week is not None and "roll_mass" not in facts.model_fields_set:
        text = say("usual machine roll; read it off the label")
        found.append(RestsOn("roll_mass", facts.roll_mass, "mass", "kg", *_ROLL, text))
    if facts.film_per_load is not None:
        text = say("engineering estimate: how far film weighed on a load may be off (1 sigma)")
        add("film_per_load", _WEIGHED_OFF, text)
    if facts.rolls_per_week is not None:
        text = say("engineering estimate: waste, film left on cores and other uses (1 sigma)")
        add("rolls_per_week", _BOUGHT_OFF, text)
    if facts.film_per_load is not None or facts.rolls_per_week is not None:
        text = say("engineering estimate: how far physics is off a load's film (1 sigma)")
        add("film_mass", _MASS_OFF, text)
    if facts.carriage == "unknown":
        text = say("engineering estimate: braked rolls among carriages of which nothing is known")
        add("carriage", BRAKED_SHARE, text)
    text = say("engineering estimate: chance that physics with its ranges is off altogether")
    add("physics", OFF_ALTOGETHER, text)
    text = say("engineering estimate: how far physics is off otherwise, alike for all (1 sigma)")
    add("physics_off", OFF, text)
    text = say("engineering estimate: spread that sites have beside physics, before they tell")
    add("sites", OWN_SPREAD, text)
    return found


def _findings(
    facts: QuoteFacts,
    sites: TriedSites | None,
    by_physics: Estimate,
    saving: Estimate,
    offered: Case | None,
) -> list[Finding]:
    found = []

    def add(code: str, field: str, text: str) -> None:
        found.append(Finding(code, field, text))

    if sites is None:
        add(
            "no_site_tried",
            "sites",
            say(
                "No trial stands behind this: it rests on physics and on ranges that nobody"
                " measured here. A trial of a day decides."
            ),
        )
    elif not saving.low <= by_physics.value <= saving.high:
        add(
            "sites_contradict_physics",
            "sites",
            say(
                "Physics alone would say {low:.1%} to {high:.1%}. The sites that were tried do not"
                " bear it out, and they count.",
                low=by_physics.low,
                high=by_physics.high,
            ),
        )
    if sites is not None and len(sites.effects) < 5:
        add(
            "few_sites",
            "sites",
            say(
                "Few sites were tried: how much sites differ is hardly known. More trials narrow"
                " this."
            ),
        )
    if facts.film_per_load is None and facts.rolls_per_week is None:
        add(
            "film_use_unknown",
            "film_per_load",
            say(
                "Nobody said how much film a load takes today: the film is reckoned. Weigh the film"
                " of one load."
            ),
        )
    if offered is None:
        add(
            "offered_assumed",
            "offered",
            say(
                "No carriage was named: one of short gap and full contact is taken. Name the case"
                " of the carriage that is offered."
            ),
        )
    return found
