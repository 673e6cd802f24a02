"""The least film that holds: search, proof of how good it is, and what stands in the way."""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from woold.asks import Design
from woold.carriage import teeth_stretch
from woold.case import Case
from woold.design_result import (
    ChangeStep,
    DesignResult,
    FrontPoint,
    HeldTarget,
    ProfiledResult,
    ProgramResult,
)
from woold.errors import InputError, Problem
from woold.helices import roped_turns
from woold.predict import predict
from woold.prediction import Finding, Prediction
from woold.profiled import best_profiled
from woold.reasons import binding_limits, obstacles
from woold.search import Count, Objective, Search
from woold.sections import Film
from woold.settings import SETTING_NAMES, Settings, changed_settings, settings_of
from woold.space import Space, held_space, space_of
from woold.targets import Targets, targets_of
from woold.units import show
from woold.verified import Verified, best_verified, most_containment, verify

__all__ = ["Goal", "design_program"]

Goal = Literal["film", "cost", "time", "containment"]
Progress = Callable[[str], None]

_FRONT_SCALES = tuple(round(1.15**power, 6) for power in range(-6, 9))
"""Multiples of the targets for which the front is looked for [-]."""

_MOST_CHANGES = 4
_NEAR = 0.995
"""Share of the whole gain at which fewer changes are as good as all [-]."""


def design_program(
    case: Case,
    shelf: Sequence[Film] = (),
    goal: Goal = "film",
    *,
    baseline: Case | None = None,
    profiled: bool = False,
    front: bool = False,
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

    report = _Report(case, targets, search, space, before, today)
    result = report.result(goal, chosen, count, took)
    if chosen is None:
        progress("looking for what stands in the way")
        return replace(result, obstacles=obstacles(search, space))
    progress("looking for what binds")
    binding = binding_limits(search, space, objective, chosen)
    progress("looking for fewer changes")
    steps = tuple(_fewer_changes(report, objective, chosen))
    waits = None
    if profiled:
        progress("letting the rise vary with height")
        waits = _profiled(report, chosen)
    return replace(
        result,
        binding=binding,
        fewer_changes=steps,
        profiled=waits,
        front=tuple(_front(report, progress)) if front else (),
        warnings=(*_findings(case, chosen), *result.warnings),
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
                    "nothing",
                    'a price of machine time, such as "60 USD/h"',
                    "The least cost weighs film against time.",
                )
            )
        currencies = {each.price.currency for each in films if each.price is not None}
        if any(each.price is None for each in films):
            problems.append(
                Problem(
                    "film.price",
                    "nothing for at least one film",
                    'a price for every film, such as "2.2 USD/kg"',
                    "The least cost weighs film against time.",
                )
            )
        elif len(currencies | {case.currency}) > 1:
            problems.append(
                Problem("film.price", ", ".join(sorted(currencies)), "one currency for all")
            )
    if asks.prestretches and teeth_stretch(case.carriage) is not None:
        problems.append(
            Problem(
                "design.prestretches",
                "settings, while the rollers' teeth fix the pre-stretch",
                "nothing, or rollers without teeth",
            )
        )
    roped = roped_turns(case)
    if roped > asks.bottom_wraps_most:
        problems.append(
            Problem(
                "program.ropes",
                f"gathered film up to turn {roped:g}",
                f"within the bottom wraps, of which there are at most {asks.bottom_wraps_most}",
                "A design keeps a rope at the bottom; take the others out.",
            )
        )
    if problems:
        raise InputError.many(problems)


class _Report:
    """What every part of a result is told against: the case, its targets and today's program."""

    def __init__(
        self,
        case: Case,
        targets: Targets,
        search: Search,
        space: Space,
        before: Settings,
        today: Prediction,
    ) -> None:
        self.case, self.targets, self.search, self.space = case, targets, search, space
        self.before, self.today = before, today

    def program(
        self, case: Case, settings: Settings, prediction: Prediction, place: int = 0
    ) -> ProgramResult:
        """A program as it is predicted, against the targets as they were asked for."""
        p = prediction
        misses = self.targets.shortfalls(case, p)
        shares = self.targets.shares(p)
        cost = self.search.cost(place, p.film_mass_kg, p.cycle_time_s)
        peak = self.search.asks.tension_peak * settings.force_to_load_n / p.drawing_force_n
        return ProgramResult(
            settings=settings,
            film_mass_kg=p.film_mass_kg,
            film_length_m=p.film_length_m,
            film_cost=p.film_cost,
            cost=None if cost is None else float(cost),
            turns=p.turns,
            cycle_time_s=p.cycle_time_s,
            layers_min=p.layers_min,
            containment_later_min_n=p.containment_later_min_n,
            share_of_targets=min(shares) if shares else None,
            film_width_on_load_m=p.film_width_on_load_m,
            prestretch_delivered=p.prestretch_delivered,
            corner_force_max_n_per_m=p.corner_force_max_n_per_m,
            tension_peak_share=peak,
            holds=not misses,
            misses=tuple(each.message for each in misses),
        )

    def of(self, verified: Verified) -> ProgramResult:
        """The same of a verified candidate."""
        made = verified.candidate
        return self.program(verified.case, made.settings, verified.prediction, made.place)

    def saved(self, film_mass: float) -> float:
        """Share of today's film that is saved [-]."""
        return 1.0 - film_mass / self.today.film_mass_kg

    def result(
        self, goal: Goal, chosen: Verified | None, count: Count, took: float
    ) -> DesignResult:
        """The result without what is looked for afterwards."""
        case, targets, today = self.case, self.targets, self.today
        held_today = targets.shares(today)
        held = targets.shares(chosen.prediction) if chosen else (None,) * len(targets.zones)
        groups, _ = self.search.groups(self.space, "film")
        bound = groups[0] if groups else None
        film = chosen.candidate.film_mass if chosen else None
        per_year = case.plant.loads_per_shift * case.plant.shifts_per_year
        return DesignResult(
            title=case.title,
            objective=goal,
            possible=chosen is not None,
            as_today=targets.as_today,
            targets=tuple(
                HeldTarget(
                    field=zone.field,
                    low_m=zone.low,
                    high_m=zone.high,
                    asked_n=zone.force,
                    held_today_n=now * zone.force,
                    held_n=None if then is None else then * zone.force,
                )
                for zone, now, then in zip(targets.zones, held_today, held, strict=True)
            ),
            transport_profiles=case.transport.profiles if case.transport else (),
            edge_load_limit_n_per_m=case.hold.edge_load_limit,
            today=self.program(case, self.before, today),
            chosen=self.of(chosen) if chosen else None,
            film_saved=None if film is None else self.saved(film),
            film_saved_per_year_kg=None if film is None else (today.film_mass_kg - film) * per_year,
            changed=changed_settings(self.before, chosen.candidate.settings) if chosen else (),
            binding=(),
            fewer_changes=(),
            film_bound_kg=bound.bound if bound else None,
            turns_bound=bound.least_turns if bound else None,
            gap=film / bound.bound - 1.0 if film is not None and bound else None,
            profiled=None,
            front=(),
            robustness=None,
            obstacles=(),
            programs_evaluated=count.evaluated,
            programs_pruned=count.pruned,
            search_time_s=took,
            currency=case.currency,
            warnings=(chosen.prediction if chosen else today).warnings,
        )


def _fewer_changes(report: _Report, objective: Objective, chosen: Verified) -> Iterator[ChangeStep]:
    """The best program for each number of changed settings, until that is as good as all."""
    search, space, before = report.search, report.space, report.before
    free = [name for name in SETTING_NAMES if _can_change(name, space, before)]
    everything = len(changed_settings(before, chosen.candidate.settings))
    base = report.program(report.case, before, report.today)
    now = {"film": base.film_mass_kg, "cost": base.cost, "time": base.cycle_time_s}[objective]
    whole = (now or 0.0) - chosen.candidate.score
    last = math.inf
    for changes in range(1, min(_MOST_CHANGES, everything - 1) + 1):
        best: Verified | None = None
        for names in itertools.combinations(free, changes):
            found, _ = best_verified(search, held_space(space, before, frozenset(names)), objective)
            if found and (best is None or found.candidate.score < best.candidate.score - 1e-12):
                best = found
        if best is None or best.candidate.score >= last - 1e-12:
            continue
        last = best.candidate.score
        share = ((now or 0.0) - last) / whole if whole > 0.0 else math.nan
        changed = changed_settings(before, best.candidate.settings)
        yield ChangeStep(
            changes=len(changed),
            changed=changed,
            program=report.of(best),
            film_saved=report.saved(best.candidate.film_mass),
            share_of_gain=share if math.isfinite(share) else 0.0,
        )
        if share >= _NEAR:
            return


def _can_change(name: str, space: Space, before: Settings) -> bool:
    choices = {
        "film": len(space.films) > 1,
        "prestretch": len(space.prestretches) > 1,
        "speed_rad_per_s": len(space.speeds) > 1,
        "bands": space.bands_most > 0 or bool(before.bands),
        "fall_per_turn_m": bool(space.falls) and not space.one_rise,
    }
    return choices.get(name, True)


def _profiled(report: _Report, chosen: Verified) -> ProfiledResult | None:
    search = report.search
    found = best_profiled(search, report.space, lambda each: verify(search, each) is not None)
    if found is None:
        return None
    made = verify(search, found.candidate)
    assert made is not None
    film = found.candidate.film_mass
    return ProfiledResult(
        program=report.of(made),
        film_bound_kg=found.bound,
        gap=film / found.bound - 1.0,
        film_saved=1.0 - film / chosen.candidate.film_mass,
    )


def _front(report: _Report, progress: Progress) -> Iterator[FrontPoint]:
    """Programs that no other beats in film, hold and time, the lightest first."""
    points: list[tuple[tuple[float, float, float], Verified]] = []
    objectives: tuple[Objective, ...] = ("film", "time")
    for index, scale in enumerate(_FRONT_SCALES):
        progress(f"drawing the front, {index + 1} of {len(_FRONT_SCALES)}")
        search = report.search.with_targets(report.targets.scaled(scale))
        for objective in objectives:
            found, _ = best_verified(search, report.space, objective)
            if found is not None:
                shares = report.targets.shares(found.prediction)
                hold = min(shares) if shares else found.prediction.containment_later_min_n
                made = found.candidate
                points.append(((made.film_mass, made.cycle_time, -hold), found))
    kept: dict[tuple[float, ...], Verified] = {}
    for values, found in sorted(points, key=lambda each: each[0]):
        beaten = any(
            all(a <= b + 1e-9 for a, b in zip(other, values, strict=True)) for other in kept
        )
        if not beaten:
            kept[values] = found
    for found in kept.values():
        shares = report.targets.shares(found.prediction)
        yield FrontPoint(
            film_mass_kg=found.candidate.film_mass,
            cycle_time_s=found.candidate.cycle_time,
            containment_later_min_n=found.prediction.containment_later_min_n,
            share_of_targets=min(shares) if shares else None,
            settings=found.candidate.settings,
        )


_THIN_OVERLAP = 0.1
"""Overlap under which a little more neck-down leaves a bare strip (common practice, no source)."""


def _findings(case: Case, chosen: Verified) -> Iterator[Finding]:
    p, made = chosen.prediction, chosen.candidate.settings
    overlaps = [("rise", p.overlap_up), ("fall", p.overlap_down)]
    thin = [
        (name, overlap)
        for name, overlap in overlaps
        if overlap is not None and overlap < _THIN_OVERLAP
    ]
    if thin and p.layers_min < 2.0:
        name, overlap = min(thin, key=lambda each: each[1])
        yield Finding(
            "thin_overlap",
            "carriage.gap",
            f"The {name} leaves {show(overlap, 'fraction')} overlap where one layer is all there"
            " is: a little more neck-down leaves a bare strip. Measure the film's width on the"
            " load, and look at --probability.",
        )
    if made.force_to_load_n > case.program.force_to_load:
        yield Finding(
            "more_force",
            "program.force_to_load",
            f"The force to load rises from {show(case.program.force_to_load, 'force')} to"
            f" {show(made.force_to_load_n, 'force')}: try it in small steps, watch for breaks and"
            " crushed corners, and check that the dancer holds it.",
        )
