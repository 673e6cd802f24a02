"""The least cost or film that holds: search, how good it is, and what stands in the way."""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.design.against_today import AgainstToday
from woold.design.alternatives import (
    Progress,
    fewer_changes,
    front_points,
    profiled_result,
    robust_result,
)
from woold.design.choices import allowed_choices
from woold.design.findings import design_findings, no_price_finding, unpriced_finding
from woold.design.helices import roped_turns
from woold.design.kept import without_needless_changes
from woold.design.obstacles import obstacles
from woold.design.proof import any_that_holds, proven_best, with_proof
from woold.design.reasons import binding_limits
from woold.design.refined import best_between, with_layer_forces
from woold.design.result import DesignResult
from woold.design.search import Search
from woold.design.settings import film_names, settings_of
from woold.design.targets import targets_of
from woold.design.task import DesignTask, objective_of
from woold.design.verified import Verified, best_verified, most_containment
from woold.errors import InputError, Problem
from woold.prediction.film_on_load import teeth_stretch
from woold.prediction.predict import predict
from woold.words import say

__all__ = ["design_program"]


def design_program(
    case: Case,
    shelf: Sequence[Film] = (),
    task: DesignTask | None = None,
    progress: Progress = lambda _: None,
) -> DesignResult:
    """The best program for a case, with what binds it and how near to the bound it is.

    Args:
        case: the case; [hold] and [transport] say what must be held, [design] what may change.
        shelf: films to choose from besides the case's own.
        task: what is asked for; the least cost if nothing and prices are given.
        progress: told what is being done.

    Raises:
        WooldError: a case that cannot be predicted, targets that cannot be, or missing prices.
    """
    task, limits = task or DesignTask(), case.design or Design()
    films: tuple[Film, ...] = (case.film, *shelf)
    unpriced: tuple[str, ...] = ()
    if task.goal is None and not list(_lacking_prices(case, (case.film,))):
        # Films that cannot be weighed against time do not keep the others from it.
        priced = [not list(_lacking_prices(case, (each,))) for each in shelf]
        names = film_names(shelf)
        unpriced = tuple(itertools.compress(names, [not each for each in priced]))
        films = (case.film, *itertools.compress(shelf, priced))
    lacking = list(_lacking_prices(case, films))
    goal = task.goal_for(not lacking)
    _refuse_what_cannot_be_searched(case, limits, lacking if goal == "cost" else [])
    today = predict(case)
    targets = targets_of(case, today)
    search = Search(case, films, targets, limits)
    choices = allowed_choices(case, films, limits)

    progress(say("searching programs"))
    bounded = choices
    if targets.tiers is not None and not targets.beyond_film and goal != "containment":
        # What no program gets below is told at the end, and spares much of the search.
        search.bound(bounded, objective_of(goal))
    start, proof = time.perf_counter(), None
    if goal == "containment":
        base = today if task.baseline is None else predict(task.baseline)
        chosen, count, scale = most_containment(search, choices, base.film_mass_kg)
        search = search.with_targets(targets.scaled(scale)) if chosen else search
    else:
        chosen, count = best_verified(search, choices, objective_of(goal))
        progress(say("looking between the steps"))
        chosen, choices = best_between(search, choices, objective_of(goal), chosen)
        if chosen is None:
            chosen, choices = any_that_holds(search, choices, objective_of(goal))
        if chosen is not None:
            progress(say("proving how near it is to the best"))
            chosen, choices, proof = proven_best(search, choices, objective_of(goal), chosen)
    before = settings_of(case)
    if chosen is not None and goal != "containment":
        chosen = without_needless_changes(search, choices, objective_of(goal), chosen, before)
    took = time.perf_counter() - start

    against = AgainstToday(search, targets, choices, before, today, bounded)
    result = with_proof(against.result(goal, chosen, count, took), proof)
    if unpriced:
        result = replace(result, findings=(*result.findings, unpriced_finding(unpriced)))
    if task.goal is None and lacking:
        result = replace(result, findings=(*result.findings, no_price_finding(lacking)))
    if chosen is None:
        progress(say("looking for what stands in the way"))
        result = replace(result, obstacles=obstacles(search, with_layer_forces(search, choices)))
        if goal == "containment" or targets.beyond_film:
            return result
        progress(say("letting the rise vary with height"))
        return replace(result, profiled=profiled_result(against, None, objective_of(goal)))
    if task.probability is not None:
        return robust_result(against, result, task, chosen, progress)
    return _with_alternatives(against, result, task, chosen, progress)


def _with_alternatives(
    against: AgainstToday,
    result: DesignResult,
    task: DesignTask,
    chosen: Verified,
    progress: Progress,
) -> DesignResult:
    """The result with what binds it, fewer changes, and what else was asked for."""
    progress(say("looking for what binds"))
    objective = objective_of(result.objective)
    binding = binding_limits(against.search, against.choices, objective, chosen)
    progress(say("looking for fewer changes"))
    steps = tuple(fewer_changes(against, objective, chosen))
    profiled = None
    if task.profiled:
        progress(say("letting the rise vary with height"))
        profiled = profiled_result(against, chosen, objective)
    return replace(
        result,
        binding=binding,
        fewer_changes=steps,
        profiled=profiled,
        front=tuple(front_points(against, progress)) if task.front else (),
        findings=(*design_findings(against.case, chosen), *result.findings),
    )


def _lacking_prices(case: Case, films: tuple[Film, ...]) -> Iterator[Problem]:
    """Prices without which film cannot be weighed against time."""
    why = say("The least cost weighs film against time.")
    if case.plant.standstill_price is None:
        yield Problem(
            "plant.standstill_price",
            say("nothing"),
            say('a price of machine time, such as "60 USD/h"'),
            why,
        )
    currencies = {each.price.currency for each in films if each.price is not None}
    if any(each.price is None for each in films):
        yield Problem(
            "film.price",
            say("nothing for at least one film"),
            say('a price for every film, such as "2.2 USD/kg"'),
            why,
        )
    elif not any(each.price.amount for each in films if each.price) and not (
        case.plant.standstill_price and case.plant.standstill_price.amount
    ):
        yield Problem(
            "film.price", say("0, as machine time"), say("a price above 0 of either"), why
        )
    elif len(currencies | {case.currency}) > 1:
        yield Problem(
            "film.price",
            ", ".join(sorted(currencies)),
            say("one currency for all"),
            say("Give all film prices in the same currency."),
        )


def _refuse_what_cannot_be_searched(case: Case, limits: Design, problems: list[Problem]) -> None:
    if limits.prestretches and teeth_stretch(case.carriage) is not None:
        problems.append(
            Problem(
                "design.prestretches",
                say("settings, while the rollers' teeth fix the pre-stretch"),
                say("nothing, or rollers without teeth"),
                say("Take prestretches out, or give rollers without teeth."),
            )
        )
    roped = roped_turns(case)
    if roped > limits.bottom_wraps_most:
        problems.append(
            Problem(
                "program.ropes",
                say("gathered film up to turn {roped:g}", roped=roped),
                say(
                    "within the bottom wraps, of which there are at most {bottom_wraps_most}",
                    bottom_wraps_most=limits.bottom_wraps_most,
                ),
                say("A design keeps a rope at the bottom; take the others out."),
            )
        )
    if problems:
        raise InputError.many(problems)
