"""Machines that are tried together, what their change costs, and plans for beliefs of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from woold.line.folded_names import folded
from woold.line.release_belief import Belief, trial_value, weighed
from woold.line.release_file import ReleaseFile, StageEntry
from woold.line.release_plan import PlanMachine, PlanStage, PlanTrial, ReleasePlan, best_plan
from woold.sites.claim_check import ClaimStrength, claim_strength
from woold.sites.pooling import pool
from woold.sites.site_table import Site, SiteTable

__all__ = [
    "ChangeMoney",
    "Planner",
    "TriedTogether",
    "barred_by",
    "change_money",
    "own_claim",
    "trial_cost",
    "tried_together",
    "worth_of_trial",
]

_DAYS_OF_YEAR = 365.25

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class TriedTogether:
    """Machines of a model with a film: a trial of one of them tells of all.

    Args:
        key: model (or machine, where it has none) and film.
        machines: their places in the file.
        own: trials of them with the carriage.
        belief: of the effect, these weighed in.
        match: passed where it is on all of them, failed where it failed on one.
    """

    key: Key
    machines: tuple[int, ...]
    own: tuple[Site, ...]
    belief: Belief
    match: Literal["passed", "failed", "none"]


@dataclass(frozen=True, slots=True)
class ChangeMoney:
    """What a change of each machine costs and may save.

    Args:
        spend: film in a year today [currency].
        cost: of the change, a technician's days included where they have a price [currency].
        needed: saving that pays it back in the years that count [-]; above 1 where none does.
        delays: from the first stage to each [years].
    """

    spend: tuple[float, ...]
    cost: tuple[float, ...]
    needed: tuple[float, ...]
    delays: tuple[float, ...]


def trial_cost(asked: ReleaseFile) -> float:
    return asked.trial_cost.amount + asked.trial_days * asked.day_price


def change_money(asked: ReleaseFile, stages: Sequence[StageEntry]) -> ChangeMoney:
    spend = tuple(
        each.loads_per_year * each.film_per_load * each.film_price.amount for each in asked.machine
    )
    cost = tuple(
        each.conversion_cost.amount + each.technician_days * asked.day_price
        for each in asked.machine
    )
    needed = tuple(
        price / (year * asked.years) if year > 0.0 else (0.0 if price == 0.0 else np.inf)
        for year, price in zip(spend, cost, strict=True)
    )
    delays = tuple((each.start - stages[0].start).days / _DAYS_OF_YEAR for each in stages)
    return ChangeMoney(spend, cost, needed, delays)


def barred_by(asked: ReleaseFile, index: int) -> str:
    """Why a machine is not changed at all; "" where it may be."""
    machine = asked.machine[index]
    if folded(machine.carriage_now) == folded(asked.carriage):
        return "done"
    if machine.match == "failed":
        return "match"
    if machine.hold_margin is not None and machine.hold_margin < asked.least_margin:
        return "hold"
    return ""


def tried_together(
    asked: ReleaseFile, table: SiteTable, first: Belief
) -> tuple[TriedTogether, ...]:
    members: dict[Key, list[int]] = {}
    for index, machine in enumerate(asked.machine):
        key = folded(machine.model or machine.name), folded(machine.film)
        members.setdefault(key, []).append(index)
    found = []
    for (model, film), places in members.items():
        first_one = asked.machine[places[0]]
        key = first_one.model or first_one.name, first_one.film
        names = {model, *(folded(asked.machine[each].name) for each in places)}
        own = tuple(
            site
            for site in table.sites
            if folded(site.carriage) == folded(asked.carriage)
            and folded(site.film) == film
            and names & ({folded(site.machine), folded(site.model)} - {""})
        )
        matches = {asked.machine[each].match for each in places}
        match: Literal["passed", "failed", "none"] = (
            "failed" if "failed" in matches else "none" if "none" in matches else "passed"
        )
        found.append(TriedTogether(key, tuple(places), own, weighed(first, own), match))
    return tuple(found)


def worth_of_trial(
    asked: ReleaseFile,
    money: ChangeMoney,
    group: TriedTogether,
    may: Sequence[int],
    trial_error: float,
) -> float:
    """What one more trial of a combination brings over all its machines [currency]."""
    belief = group.belief
    slope = belief.saving_error / belief.error
    years = max(asked.years - money.delays[min(1, len(money.delays) - 1)], 0.0)
    return sum(
        trial_value(
            money.spend[each] * years,
            belief.saving,
            belief.saving_error,
            trial_error * slope,
            _needed_in(money, each, years),
        )
        for each in group.machines
        if each in may
    )


def _needed_in(money: ChangeMoney, machine: int, years: float) -> float:
    """Saving that pays a machine's change back in so many years [-]."""
    whole = money.spend[machine] * years
    return money.cost[machine] / whole if whole > 0.0 else 1.0


class Planner:
    """Plans under one set of stages, for beliefs that may differ.

    Args:
        asked, stages, money, groups: of the release.
        may: machines that may be changed.
    """

    def __init__(
        self,
        asked: ReleaseFile,
        stages: Sequence[StageEntry],
        money: ChangeMoney,
        groups: Sequence[TriedTogether],
        may: Sequence[int],
    ) -> None:
        self.asked, self.stages, self.money = asked, tuple(stages), money
        self.groups, self.may = tuple(groups), tuple(may)
        self.group_of = {each: at for at, group in enumerate(groups) for each in group.machines}
        self.limits = tuple(
            PlanStage(
                np.inf if each.budget is None else each.budget.amount,
                np.inf if each.technician_days is None else each.technician_days,
            )
            for each in stages
        )

    def gains(self, machine: int, belief: Belief) -> tuple[float, ...]:
        """Expected net gain of a machine changed in each stage [currency]."""
        yearly = self.money.spend[machine] * belief.saving
        return tuple(
            yearly * max(self.asked.years - delay, 0.0) - self.money.cost[machine]
            for delay in self.money.delays
        )

    def plan(
        self,
        beliefs: Sequence[Belief],
        values: Sequence[float],
        seconds: float = 20.0,
    ) -> ReleasePlan:
        """The best plan, its machines numbered as in the file."""
        cost = trial_cost(self.asked)
        trials = [at for at, value in enumerate(values) if value > cost]
        number = {group: at for at, group in enumerate(trials)}
        machines = [(each, self.gains(each, beliefs[self.group_of[each]])) for each in self.may]
        worth = [pair for pair in machines if max(pair[1]) > 0.0]
        found = best_plan(
            tuple(
                PlanMachine(
                    gains,
                    self.money.cost[each],
                    self.asked.machine[each].technician_days,
                    number.get(self.group_of[each]),
                )
                for each, gains in worth
            ),
            tuple(PlanTrial(values[at] - cost, cost, self.asked.trial_days) for at in trials),
            self.limits,
            seconds,
        )
        stage_of = np.full(len(self.asked.machine), -1)
        for (each, _), stage in zip(worth, found.stage_of, strict=True):
            stage_of[each] = stage
        made = np.zeros(len(self.groups), bool)
        made[trials] = found.trials
        return ReleasePlan(stage_of, made, found.worth, found.bound)


def own_claim(own: Sequence[Site]) -> ClaimStrength | None:
    if len(own) < 2:
        return None
    effects = np.array([site.effect for site in own])
    return claim_strength(pool(effects, np.array([site.standard_error for site in own])))
