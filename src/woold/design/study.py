"""The least film that holds: search, proof of how good it is, and what stands in the way."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.design.alternatives import (
    Progress,
    fewer_changes,
    front_points,
    profiled_result,
    robust_result,
)
from woold.design.candidate import Objective
from woold.design.choices import space_of
from woold.design.helices import roped_turns
from woold.design.reasons import binding_limits, obstacles
from woold.design.report import Goal, Report, design_findings
from woold.design.result import DesignResult
from woold.design.search import Search
from woold.design.settings import settings_of
from woold.design.targets import targets_of
from woold.design.verified import best_verified, most_containment
from woold.errors import InputError, Problem
from woold.prediction.film_on_load import teeth_stretch
from woold.prediction.predict import predict
from woold.words import say

__all__ = ["Goal", "design_program"]


def design_program(
    case: Case,
    shelf: Sequence[Film] = (),
    goal: Goal = "film",
    *,
    baseline: Case | None = None,
    profiled: bool = False,
    front: bool = False,
    probability: float | None = None,
    progress: Progress = lambda _: None,
) -> DesignResult:
    """The best program for a case, with what binds it and how near to the bound it is.

    Args:
        case: the case; [hold] and [transport] say what must be held, [design] what may change.
        shelf: films to choose from besides the case's own.
        goal: least film, cost or time; or most containment at the film of the baseline.
        baseline: case whose film may be used for most containment; the case itself if none.
        profiled: look also for a rise that varies with height.
        front: look for the front of film, hold and time.
        probability: hold as often as this while the inputs vary over their ranges [-].
        progress: told what is being done.

    Raises:
        WooldError: a case that cannot be predicted, targets that cannot be, or missing prices.
    """
    asks = case.design or Design()
    films = (case.film, *shelf)
    _refuse_what_cannot_be_searched(case, asks, films, goal)
    today = predict(case)
    targets = targets_of(case, today)
    search = Search(case, films, targets, asks)
    space = space_of(case, films, asks)
    before = settings_of(case)

    progress("searching programs")
    start = time.perf_counter()
    objective: Objective = "film" if goal == "containment" else goal
    if goal == "containment":
        film_mass = today.film_mass_kg if baseline is None else predict(baseline).film_mass_kg
        chosen, count, scale = most_containment(search, space, film_mass)
        search = search.with_targets(targets.scaled(scale)) if chosen else search
    else:
        chosen, count = best_verified(search, space, objective)
    took = time.perf_counter() - start

    report = Report(case, targets, search, space, before, today)
    result = report.result(goal, chosen, count, took)
    if chosen is None:
        progress("looking for what stands in the way")
        return replace(result, obstacles=obstacles(search, space))
    if probability is not None:
        return robust_result(report, result, goal, chosen, probability, progress)
    progress("looking for what binds")
    binding = binding_limits(search, space, objective, chosen)
    progress("looking for fewer changes")
    steps = tuple(fewer_changes(report, objective, chosen))
    waits = None
    if profiled:
        progress("letting the rise vary with height")
        waits = profiled_result(report, chosen)
    return replace(
        result,
        binding=binding,
        fewer_changes=steps,
        profiled=waits,
        front=tuple(front_points(report, progress)) if front else (),
        findings=(*design_findings(case, chosen), *result.findings),
    )


def _refuse_what_cannot_be_searched(
    case: Case, asks: Design, films: tuple[Film, ...], goal: Goal
) -> None:
    problems = []
    if goal == "cost":
        if case.plant.standstill_price is None:
            problems.append(
                Problem(
                    "plant.standstill_price",
                    say("nothing"),
                    say('a price of machine time, such as "60 USD/h"'),
                    say("The least cost weighs film against time."),
                )
            )
        currencies = {each.price.currency for each in films if each.price is not None}
        if any(each.price is None for each in films):
            problems.append(
                Problem(
                    "film.price",
                    say("nothing for at least one film"),
                    say('a price for every film, such as "2.2 USD/kg"'),
                    say("The least cost weighs film against time."),
                )
            )
        elif len(currencies | {case.currency}) > 1:
            problems.append(
                Problem("film.price", ", ".join(sorted(currencies)), say("one currency for all"))
            )
    if asks.prestretches and teeth_stretch(case.carriage) is not None:
        problems.append(
            Problem(
                "design.prestretches",
                say("settings, while the rollers' teeth fix the pre-stretch"),
                say("nothing, or rollers without teeth"),
            )
        )
    roped = roped_turns(case)
    if roped > asks.bottom_wraps_most:
        problems.append(
            Problem(
                "program.ropes",
                say("gathered film up to turn {roped:g}", roped=roped),
                say(
                    "within the bottom wraps, of which there are at most {bottom_wraps_most}",
                    bottom_wraps_most=asks.bottom_wraps_most,
                ),
                say("A design keeps a rope at the bottom; take the others out."),
            )
        )
    if problems:
        raise InputError.many(problems)
