"""Stages of a release: what is done in each, what may be said of it, and what to do before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from woold.line.release_evidence import Evidence
from woold.line.release_file import ReleaseRead
from woold.line.release_plan import ReleasePlan
from woold.line.release_planner import Planner, own_claim, trial_cost
from woold.line.release_result import MachineRank, StageResult
from woold.prediction.result import Finding
from woold.rows.wording import Wording
from woold.sites.claim_check import strongest_claims
from woold.sites.claim_words import honest_claim
from woold.sites.pooling import pool
from woold.sites.site_table import SiteTable
from woold.words import say

__all__ = ["release_findings", "stage_results"]


def stage_results(
    planner: Planner, plan: ReleasePlan, machines: Sequence[MachineRank], table: SiteTable
) -> tuple[StageResult, ...]:
    """What is done in each stage, and what may be said of it."""
    pooled = pool(table.effects, table.standard_errors)
    strongest = strongest_claims(table.effects, table.standard_errors, pooled)
    sentence = honest_claim(pooled, strongest, Wording()).sentence
    ranks = {each.machine: each for each in machines}
    cost = trial_cost(planner.asked)
    found = []
    for at, stage in enumerate(planner.stages):
        here = np.flatnonzero(plan.stage_of == at).tolist()
        tests = [planner.groups[each] for each in np.flatnonzero(plan.trials)] if at == 0 else []
        names = [planner.asked.machine[each].name for each in here]
        own = [ranks[each] for each in names]
        limits = planner.limits[at]
        found.append(
            StageResult(
                name=stage.name,
                start=None if stage.start == date.min else stage.start.isoformat(),
                budget=limits.budget if np.isfinite(limits.budget) else None,
                days=limits.days if np.isfinite(limits.days) else None,
                trials_of=tuple(f"{each.key[0]}, {each.key[1]}" for each in tests),
                machines=tuple(names),
                cost=sum(each.cost for each in own) + cost * len(tests),
                days_used=sum(each.technician_days for each in own)
                + planner.asked.trial_days * len(tests),
                gain=sum(each.gain for each in own),
                gain_per_year=sum(each.gain_per_year for each in own),
                promise_per_year=sum(each.promise_per_year or 0.0 for each in own),
                machines_with_trials=sum(each.trials > 0 for each in own),
                machines_with_claim=sum(
                    (claim := own_claim(planner.groups[planner.group_of[each]].own)) is not None
                    and claim != "none"
                    for each in here
                ),
                claim=sentence,
            )
        )
    return tuple(found)


def release_findings(
    read: ReleaseRead, machines: Sequence[MachineRank], evidence: Evidence
) -> list[Finding]:
    """What a reader must be told before a machine is changed."""
    found = [
        Finding(
            "trial_left_out",
            each.trial,
            say("Trial {trial} is left out: {why}.", trial=each.trial, why=each.why.rstrip(".")),
        )
        for each in evidence.left_out
    ]
    counted: Mapping[str, int] = {
        code: sum(code in each.before and each.stage is not None for each in machines)
        for code in ("match", "hold")
    }
    if counted["hold"]:
        found.append(
            Finding(
                "hold_not_said",
                "machine.hold_margin",
                say(
                    "For machines in the plan: {count}, nobody said how much more than the hold"
                    " asked for is predicted. Predict each one's worst load before it is changed.",
                    count=counted["hold"],
                ),
            )
        )
    if counted["match"]:
        found.append(
            Finding(
                "match_not_made",
                "machine.match",
                say(
                    "For machines in the plan: {count}, the film match was not made. Make it before"
                    " they are changed: woold carriage match.",
                    count=counted["match"],
                ),
            )
        )
    if read.unused:
        found.append(
            Finding(
                "columns_left_aside",
                read.asked.register_file,
                say("Columns that were not used: {columns}.", columns=", ".join(read.unused)),
            )
        )
    if read.read_as:
        found.append(Finding("read_as", read.asked.register_file, read.read_as))
    return found
