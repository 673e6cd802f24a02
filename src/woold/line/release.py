"""What to release first: machines by gain and chance, the best set stage by stage, what to test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from woold.line.release_belief import (
    chance_above,
    first_belief,
    moved_by_trial,
)
from woold.line.release_counted import trials_counted
from woold.line.release_evidence import Evidence
from woold.line.release_file import MachineEntry, ReleaseRead, StageEntry
from woold.line.release_plan import ReleasePlan
from woold.line.release_planner import (
    Planner,
    TriedTogether,
    barred_by,
    change_money,
    own_claim,
    trial_cost,
    tried_together,
    worth_of_trial,
)
from woold.line.release_result import (
    CombinationRank,
    MachineRank,
    NextStep,
    Release,
)
from woold.line.release_stages import release_findings, stage_results
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["release"]

_PROMISED = 0.9
"""Chance at which a saving is promised."""
_MOST_ASKED = 8
"""Trials of which is asked what they would change in the plan."""
_SECONDS_AGAIN = 4.0


def release(read: ReleaseRead, evidence: Evidence) -> Release:
    """Which machines get the carriage first.

    A machine's gain is what it is expected to save in the years that count, from its stage on, less
    what the change costs. The plan has the largest sum of gains that money and days allow; a trial
    counts with what the better decision brings.

    Args:
        read: machines, costs and stages.
        evidence: the trials so far.
    """
    asked, table = read.asked, evidence.table
    stages = asked.stage or (StageEntry(name=say("all at once"), start=date.min),)
    money = change_money(asked, stages)
    first = first_belief(table)
    groups = tried_together(asked, table, first)
    trial_error = float(np.median(table.standard_errors))
    open_machines = [index for index in range(len(asked.machine)) if not barred_by(asked, index)]
    values = [worth_of_trial(asked, money, each, open_machines, trial_error) for each in groups]
    planner = Planner(asked, stages, money, groups, open_machines)
    plan = planner.plan([each.belief for each in groups], values)
    combinations = _combinations(planner, values, trial_error, plan)
    machines = _machines(planner, plan)
    return Release(
        title=asked.title,
        carriage=asked.carriage,
        years=asked.years,
        currency=asked.currency,
        trials=len(table.sites),
        trial_effect_error=trial_error,
        trial_cost=trial_cost(asked),
        machines=machines,
        combinations=combinations,
        evidence=trials_counted(asked, evidence, groups),
        stages=stage_results(planner, plan, machines, table),
        plan_worth=plan.worth,
        plan_bound=plan.bound,
        promised_with=_PROMISED,
        findings=tuple(release_findings(read, machines, evidence)),
    )


def _combinations(
    planner: Planner, values: Sequence[float], trial_error: float, plan: ReleasePlan
) -> tuple[CombinationRank, ...]:
    """Combinations, the most valuable trial first."""
    cost = trial_cost(planner.asked)
    order = sorted(range(len(values)), key=lambda at: -values[at])
    asked_of = {at for at in order[:_MOST_ASKED] if values[at] > 0.0}
    ranks = []
    for at in order:
        group = planner.groups[at]
        open_here = [each for each in group.machines if each in planner.may]
        needed = [planner.money.needed[each] for each in open_here]
        good = bad = None
        if at in asked_of:
            bad, good = (
                _changes(planner, values, plan, at, trial_error, sign) for sign in (-1.0, 1.0)
            )
        step: NextStep = "leave"
        if open_here:
            step = "match first" if group.match == "none" else "convert"
            if plan.trials[at]:
                step = "match first" if group.match == "none" else "test first"
            elif not (plan.stage_of[open_here] >= 0).any():
                step = "leave"
        paying = [each for each in needed if np.isfinite(each)]
        ranks.append(
            CombinationRank(
                carriage=planner.asked.carriage,
                machine=group.key[0],
                film=group.key[1],
                machines=len(group.machines),
                match=group.match,
                film_cost_per_year=sum(planner.money.spend[each] for each in group.machines),
                trials=len(group.own),
                own_claim=own_claim(group.own),
                expected_saving=group.belief.saving,
                expected_saving_error=group.belief.saving_error,
                break_even_low=min(paying, default=None),
                break_even_high=max(paying, default=None),
                trial_value=values[at],
                trial_pays=values[at] > cost,
                chance_of_change=_chance_of_change(group, needed, trial_error),
                machines_more_if_good=None if good is None else good[0],
                machines_fewer_if_bad=None if bad is None else bad[1],
                next_step=step,
            )
        )
    return tuple(ranks)


def _chance_of_change(group: TriedTogether, needed: Sequence[float], trial_error: float) -> float:
    """Chance that a trial moves the expected saving across what one of the machines needs."""
    from scipy.stats import norm

    slope = group.belief.saving_error / group.belief.error
    moved = moved_by_trial(group.belief.saving_error, trial_error * slope)
    nearest = min((abs(group.belief.saving - each) for each in needed), default=np.inf)
    return float(norm.sf(nearest / moved)) if moved > 0.0 else 0.0


def _changes(
    planner: Planner,
    values: Sequence[float],
    plan: ReleasePlan,
    group: int,
    trial_error: float,
    sign: float,
) -> tuple[int, int]:
    """Machines that come into the plan and fall out of it, where a trial finds more or less.

    At the lower or upper tenth of what may be believed after it.
    """
    from scipy.stats import norm

    belief = planner.groups[group].belief
    moved = moved_by_trial(belief.error, trial_error)
    beliefs = [each.belief for each in planner.groups]
    beliefs[group] = replace(belief, mean=belief.mean + sign * float(norm.ppf(0.9)) * moved)
    after = planner.plan(
        beliefs, [0.0 if at == group else value for at, value in enumerate(values)], _SECONDS_AGAIN
    )
    before, then = plan.stage_of >= 0, after.stage_of >= 0
    return int((then & ~before).sum()), int((before & ~then).sum())


def _machines(planner: Planner, plan: ReleasePlan) -> tuple[MachineRank, ...]:
    """Machines, the largest expected gain first; those that are not changed at all last."""
    ranks = [_machine(planner, plan, index) for index in range(len(planner.asked.machine))]
    last = {"done": 2, "leave": 1}
    ranks.sort(key=lambda each: (last.get(each.next_step, 0), -each.gain, each.machine))
    return tuple(replace(each, rank=place) for place, each in enumerate(ranks, start=1))


def _machine(planner: Planner, plan: ReleasePlan, index: int) -> MachineRank:
    asked, money = planner.asked, planner.money
    entry = asked.machine[index]
    group = planner.groups[planner.group_of[index]]
    belief = group.belief
    needed = money.needed[index]
    stage = int(plan.stage_of[index])
    gain = planner.gains(index, belief)[max(stage, 0)]
    barred = barred_by(asked, index)
    tested = bool(plan.trials[planner.group_of[index]])
    step = _step(barred, stage, gain, tested)
    promise = max(belief.saving_at(1.0 - _PROMISED), 0.0) * money.spend[index]
    return MachineRank(
        rank=0,
        machine=entry.name,
        site=entry.site,
        model=entry.model,
        film=entry.film,
        carriage_now=entry.carriage_now,
        hours_per_year=entry.hours_per_year,
        film_cost_per_year=money.spend[index],
        expected_saving=belief.saving,
        saving_low=belief.saving_at(0.1),
        saving_high=belief.saving_at(0.9),
        gain_per_year=money.spend[index] * belief.saving,
        cost=money.cost[index],
        technician_days=entry.technician_days,
        break_even_saving=needed if np.isfinite(needed) else None,
        gain=gain,
        chance_of_payback=chance_above(belief, needed) if np.isfinite(needed) else 0.0,
        promise_per_year=promise if group.own and not barred else None,
        trials=len(group.own),
        match=entry.match,
        hold_margin=entry.hold_margin,
        stage=planner.stages[stage].name if stage >= 0 else None,
        before=_before(entry, tested and not barred),
        next_step=step,
        reason=_reason(planner, index, barred, step),
    )


def _step(barred: str, stage: int, gain: float, tested: bool) -> NextStep:
    if barred == "done":
        return "done"
    if barred:
        return "leave"
    if tested:
        return "test first"
    if stage >= 0:
        return "convert"
    return "later" if gain > 0.0 else "leave"


def _before(entry: MachineEntry, tested: bool) -> tuple[str, ...]:
    """What must be done before a machine is changed."""
    found = []
    if entry.match == "none":
        found.append("match")
    if entry.hold_margin is None:
        found.append("hold")
    if tested:
        found.append("trial")
    return tuple(found)


def _reason(planner: Planner, index: int, barred: str, step: NextStep) -> str:
    """Why a machine stands where it stands."""
    asked, money = planner.asked, planner.money
    entry, belief = asked.machine[index], planner.groups[planner.group_of[index]].belief
    wording = Wording()
    if barred == "done":
        return say("it has this carriage already")
    if barred == "match":
        return say("the film match failed")
    if barred == "hold":
        return say(
            "its hold stands {margin} above what is asked, and {least} is the least",
            margin=wording.percent(entry.hold_margin or 0.0, 0),
            least=wording.percent(asked.least_margin, 0),
        )
    if money.spend[index] <= 0.0:
        return say("it wraps nothing")
    values = {
        "gain": wording.money(money.spend[index] * belief.saving, asked.currency),
        "cost": wording.money(money.cost[index], asked.currency),
        "needed": wording.percent(money.needed[index]),
        "saving": wording.percent(belief.saving),
    }
    if step == "leave":
        return say(
            "it would have to save {needed} to pay {cost} back, and {saving} is expected", **values
        )
    if step == "test first":
        return say(
            "{gain} a year for {cost}; a trial is worth more than it costs, so it comes first",
            **values,
        )
    if step == "later":
        if planner.gains(index, belief)[-1] > 0.0:
            return say("{gain} a year for {cost}; beyond money or days of the stages", **values)
        return say(
            "{gain} a year for {cost}; it pays only early on, and others bring more then", **values
        )
    return say("{gain} a year for {cost}", **values)
