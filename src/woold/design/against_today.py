"""Programs as they are predicted, against what must be held and against today's program."""

from __future__ import annotations

from woold.case.model import Case
from woold.design.candidate import Count
from woold.design.choices import Choices
from woold.design.result import DesignResult, HeldTarget, ProgramResult
from woold.design.saving import Saving, saving_over_ranges
from woold.design.search import Search
from woold.design.settings import Settings, changed_settings
from woold.design.targets import Targets
from woold.design.task import Goal, objective_of
from woold.design.verified import Verified
from woold.prediction.result import Prediction
from woold.verdict.verdict import verdict_of

__all__ = ["AgainstToday"]

_ALIKE = 1e-9
"""Programs that differ by less are alike [-]."""


def _is_better(goal: Goal, today: ProgramResult, chosen: ProgramResult | None) -> bool:
    """Whether a program gains anything of what was looked for."""
    if chosen is None:
        return False
    if goal == "cost" and chosen.cost is not None and today.cost is not None:
        return chosen.cost < today.cost * (1.0 - _ALIKE)
    if goal == "time":
        return chosen.cycle_time_s < today.cycle_time_s * (1.0 - _ALIKE)
    if goal == "containment":
        return chosen.share_of_targets > today.share_of_targets * (1.0 + _ALIKE)
    return chosen.film_mass_kg < today.film_mass_kg * (1.0 - _ALIKE)


class AgainstToday:
    """Compares programs with the case's targets and with today's program.

    Args:
        search: the search, with the case; its targets may be a multiple of those asked for.
        targets: what must be held, as it was asked for.
        choices: what may be chosen.
        before: today's settings.
        today: prediction of today's program.
        bounded: choices for which the bound is told; what may be chosen if None.
    """

    def __init__(
        self,
        search: Search,
        targets: Targets,
        choices: Choices,
        before: Settings,
        today: Prediction,
        bounded: Choices | None = None,
    ) -> None:
        self.case, self.targets, self.search, self.choices = search.case, targets, search, choices
        self.before, self.today, self.bounded = before, today, bounded or choices

    def program(
        self, case: Case, settings: Settings, prediction: Prediction, place: int = 0
    ) -> ProgramResult:
        """A program as it is predicted, against the targets as they were asked for."""
        p = prediction
        verdict = verdict_of(case, p)
        # What is asked is judged as it is everywhere; what today holds is a target of its own.
        is_judged = verdict.asked and verdict.share is not None
        misses = self.targets.shortfalls(case, p)
        holds = verdict.holds is True if verdict.asked else not misses
        parts = self.search.costs.parts(place, p.film_mass_kg, p.cycle_time_s, p.turns)
        peak = self.search.limits.tension_peak * settings.force_to_load_n / p.drawing_force_n
        return ProgramResult(
            settings=settings,
            film_mass_kg=p.film_mass_kg,
            film_length_m=p.film_length_m,
            film_cost=p.film_cost,
            cost=None if parts is None else parts.total,
            cost_parts=parts,
            turns=p.turns,
            cycle_time_s=p.cycle_time_s,
            layers_min=p.layers_min,
            containment_later_min_n=p.containment_later_min_n,
            share_of_targets=(verdict.share if is_judged else None)
            or self.targets.least_share(case, p),
            film_width_on_load_m=p.film_width_on_load_m,
            prestretch_delivered=p.prestretch_delivered,
            corner_force_max_n_per_m=p.corner_force_max_n_per_m,
            tension_peak_share=peak,
            holds=holds,
            misses=() if holds else tuple(each.message for each in misses),
            verdict=verdict,
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
        objective = objective_of(goal)
        least_film = self.search.bound(self.bounded, "film")
        least = least_film if objective == "film" else self.search.bound(self.bounded, objective)
        cost_saved = self._cost_saved(chosen)
        film = chosen.candidate.film_mass if chosen else None
        choice = None
        if chosen is not None and case.dancer is not None and case.dancer.springs:
            choice = self.search.films.dancer_choice(chosen.candidate.settings.force_to_load_n)
        per_year = case.plant.loads_per_shift * case.plant.shifts_per_year
        programs = (self.program(case, self.before, today), self.of(chosen) if chosen else None)
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
            today=programs[0],
            chosen=programs[1],
            keep_today=programs[0].holds and not _is_better(goal, *programs),
            film_saved=None if film is None else self.saved(film),
            film_saved_per_year_kg=None if film is None else (today.film_mass_kg - film) * per_year,
            loads_per_year=per_year,
            saving=None if chosen is None else self._saving(chosen),
            changed=changed_settings(self.before, chosen.candidate.settings) if chosen else (),
            dancer_spring=choice.spring if choice else None,
            dancer_hole_m=choice.hole_m if choice else None,
            binding=(),
            fewer_changes=(),
            film_bound_kg=least_film.bound if least_film else None,
            turns_bound=least_film.least_turns if least_film else None,
            bound=least.bound if least else None,
            bound_travel_m=self.search.most_travel(self.choices),
            gap=chosen.candidate.score / least.bound - 1.0
            if chosen and least and least.bound > 0.0
            else None,
            machine_bound=None,
            machine_gap=None,
            boxes_bounded=0,
            cost_saved=cost_saved,
            cost_saved_per_year=None if cost_saved is None else cost_saved * per_year,
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

    def _saving(self, chosen: Verified) -> Saving:
        """What is saved, with its range."""
        places = (0, chosen.candidate.place)
        return saving_over_ranges(self.case, chosen.case, places, self.search.costs)

    def _cost_saved(self, chosen: Verified | None) -> float | None:
        """Saved on a load; None where a price is missing."""
        p = self.today
        today = self.search.costs.parts(0, p.film_mass_kg, p.cycle_time_s, p.turns)
        if chosen is None or today is None or chosen.candidate.cost is None:
            return None
        return today.total - chosen.candidate.cost
