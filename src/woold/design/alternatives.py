"""Other programs than the best one: fewer changes, varying rise, front, and a given probability."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from woold.design.against_today import AgainstToday
from woold.design.candidate import Count, Objective
from woold.design.choices import Choices, held_choices
from woold.design.findings import design_findings
from woold.design.result import (
    ChangeStep,
    DesignResult,
    FrontPoint,
    ProfiledResult,
    ProgramResult,
    Robustness,
)
from woold.design.robust import (
    DRAWS,
    RobustDesign,
    best_robust,
    hold_probability,
    probability_interval,
    unknowns_of,
)
from woold.design.settings import SETTING_NAMES, Settings, changed_settings
from woold.design.task import DesignTask, objective_of
from woold.design.varying import best_varying
from woold.design.verified import Verified, best_verified
from woold.prediction.predict import predict
from woold.words import say

__all__ = ["Progress", "fewer_changes", "front_points", "profiled_result", "robust_result"]

Progress = Callable[[str], None]

_FRONT_SCALES = tuple(round(1.1**power, 6) for power in range(11))
"""Multiples of the targets for which the front is looked for; what holds less is not shown [-]."""

_MOST_CHANGES = 4
_NEAR = 0.995
"""Share of the whole gain at which fewer changes are as good as all [-]."""


def fewer_changes(
    against: AgainstToday, objective: Objective, chosen: Verified
) -> Iterator[ChangeStep]:
    """The best program for each number of changed settings, until that is as good as all."""
    search, choices, before = against.search, against.choices, against.before
    free = [name for name in SETTING_NAMES if _can_change(name, choices, before)]
    everything = len(changed_settings(before, chosen.candidate.settings))
    base = against.program(against.case, before, against.today)
    now = {"film": base.film_mass_kg, "cost": base.cost, "time": base.cycle_time_s}[objective]
    whole = (now or 0.0) - chosen.candidate.score
    last = math.inf
    for changes in range(1, min(_MOST_CHANGES, everything - 1) + 1):
        best: Verified | None = None
        for names in itertools.combinations(free, changes):
            held = held_choices(choices, before, frozenset(names))
            limit = last if best is None else best.candidate.score
            found, _ = best_verified(search, held, objective, below=limit * (1.0 - 1e-12))
            best = found or best
        if best is None:
            continue
        last = best.candidate.score
        share = ((now or 0.0) - last) / whole if whole > 0.0 else math.nan
        changed = changed_settings(before, best.candidate.settings)
        yield ChangeStep(
            changes=len(changed),
            changed=changed,
            program=against.of(best),
            film_saved=against.saved(best.candidate.film_mass),
            share_of_gain=share if math.isfinite(share) else 0.0,
        )
        if share >= _NEAR:
            return


def _can_change(name: str, choices: Choices, before: Settings) -> bool:
    can = {
        "film": len(choices.films) > 1,
        "prestretch": len(choices.prestretches) > 1,
        "speed_rad_per_s": len(choices.speeds) > 1,
        "bands": choices.bands_most > 0 or bool(before.bands),
        "fall_per_turn_m": bool(choices.falls) and not choices.one_rise,
    }
    return can.get(name, True)


def profiled_result(
    against: AgainstToday, chosen: Verified | None, objective: Objective
) -> ProfiledResult | None:
    """The best program whose rise varies with height; None where none was found that holds."""
    search = against.search
    bound = search.bound(against.bounded, objective)
    made = best_varying(search, against.choices, objective, chosen)
    if bound is None or bound.bound <= 0.0 or made is None:
        return None
    program, score = against.of(made), made.candidate.score
    if program.verdict.fails:
        return None
    one = chosen and chosen.candidate
    return ProfiledResult(
        program=program,
        bound=bound.bound,
        gap=score / bound.bound - 1.0,
        film_saved=1.0 - made.candidate.film_mass / one.film_mass if one else None,
        price_of_one_rise=one.score / score - 1.0 if one else None,
    )


def front_points(against: AgainstToday, progress: Progress) -> Iterator[FrontPoint]:
    """Programs that no other beats in film, hold and time, the lightest first."""
    points: list[tuple[tuple[float, float, float], ProgramResult]] = []
    objectives: tuple[Objective, ...] = ("film", "time")
    for index, scale in enumerate(_FRONT_SCALES):
        step, steps = index + 1, len(_FRONT_SCALES)
        progress(say("drawing the front, {step} of {steps}", step=step, steps=steps))
        search = against.search.with_targets(against.targets.scaled(scale))
        for objective in objectives:
            found, _ = best_verified(search, against.choices, objective)
            if found is not None:
                made, program = found.candidate, against.of(found)
                # Shares that are shown alike do not set programs apart.
                share = round(program.share_of_targets, 3)
                values = (made.film_mass, made.cycle_time, -share)
                points.append((values, program))
    kept: dict[tuple[float, float, float], ProgramResult] = {}
    for values, shown in sorted(points, key=lambda each: each[0]):
        beaten = any(
            all(a <= b + 1e-9 for a, b in zip(other, values, strict=True)) for other in kept
        )
        if not beaten:
            kept[values] = shown
    for each in kept.values():
        yield FrontPoint(
            film_mass_kg=each.film_mass_kg,
            cycle_time_s=each.cycle_time_s,
            containment_later_min_n=each.containment_later_min_n,
            share_of_targets=each.share_of_targets,
            settings=each.settings,
            verdict=each.verdict,
        )


def robust_result(
    against: AgainstToday,
    result: DesignResult,
    task: DesignTask,
    plain: Verified,
    progress: Progress,
) -> DesignResult:
    """The result for a program that holds often enough, in place of the plain best."""
    search, probability = against.search, task.probability
    assert probability is not None
    progress(say("counting how often today's program holds"))
    today = hold_probability(against.case, against.targets)
    often = hold_probability(plain.case, search.targets)
    if often >= probability:
        # Nothing that holds at the best guess is better than the plain best.
        found: RobustDesign | None = RobustDesign(plain.candidate, often)
    else:
        objective = objective_of(result.objective)
        found = best_robust(search, against.choices, objective, probability, progress)
    reached = found.probability if found else often
    low, high = probability_interval(reached)
    robustness = Robustness(
        asked=probability,
        reached=found is not None,
        draws=DRAWS,
        today=today,
        plain=often,
        plain_film_mass_kg=plain.candidate.film_mass,
        chosen=reached,
        chosen_low=low,
        chosen_high=high,
        varied=tuple(each.name for each in unknowns_of(against.case)),
    )
    if found is None:
        return replace(result, possible=False, robustness=robustness)
    case = search.case_of(found.candidate)
    made = Verified(found.candidate, case, predict(case))
    count = Count(result.programs_evaluated, result.programs_pruned)
    robust = against.result(result.objective, made, count, result.search_time_s)
    return replace(
        robust,
        robustness=robustness,
        findings=(*design_findings(against.case, made), *robust.findings),
    )
