"""How a design is told: programs as they are predicted, against the targets and today's."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from woold.case.model import Case
from woold.design.candidate import Count
from woold.design.choices import Space
from woold.design.result import DesignResult, HeldTarget, ProgramResult
from woold.design.search import Search
from woold.design.settings import Settings, changed_settings
from woold.design.targets import Targets
from woold.design.verified import Verified
from woold.prediction.result import Finding, Prediction
from woold.units import show
from woold.words import say

__all__ = ["Goal", "Report", "design_findings"]

Goal = Literal["film", "cost", "time", "containment"]


class Report:
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
            share_of_targets=self.targets.least_share(case, p),
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
        choice = None
        if chosen is not None and case.dancer is not None and case.dancer.springs:
            choice = self.search.films.dancer_choice(chosen.candidate.settings.force_to_load_n)
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
            dancer_spring=choice.spring if choice else None,
            dancer_hole_m=choice.hole_m if choice else None,
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
            findings=(chosen.prediction if chosen else today).findings,
        )


_THIN_OVERLAP = 0.1
"""Overlap under which a little more neck-down leaves a bare strip (common practice, no source)."""


def design_findings(case: Case, chosen: Verified) -> Iterator[Finding]:
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
            say(
                "The {name} leaves {overlap} overlap where one layer is all there is: a little"
                " more neck-down leaves a bare strip. Measure the film's width on the load,"
                " and look at --probability.",
                name=name,
                overlap=show(overlap, "fraction"),
            ),
        )
    if made.force_to_load_n > case.program.force_to_load:
        yield Finding(
            "more_force",
            "program.force_to_load",
            f"The force to load rises from {show(case.program.force_to_load, 'force')} to"
            f" {show(made.force_to_load_n, 'force')}: try it in small steps, and watch for breaks"
            " and crushed corners"
            + ("." if case.dancer and case.dancer.springs else ", and that the dancer holds it."),
        )
