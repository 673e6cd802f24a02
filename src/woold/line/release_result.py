"""What a release says. Field names are the JSON document's keys; money in its currency."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.prediction.result import Finding
from woold.rows.told import Told
from woold.sites.claim_check import ClaimStrength
from woold.sites.claim_words import HOLD_CAUTION
from woold.words import to_say

__all__ = [
    "CombinationRank",
    "CountsAs",
    "MachineRank",
    "NextStep",
    "Release",
    "StageResult",
    "TrialCounted",
]

NextStep = Literal["convert", "test first", "match first", "later", "leave", "done"]

_CAUTIONS = (
    to_say(
        "Expected gains are estimates from the sites that were tried; a machine may save less, or"
        " nothing."
    ),
    to_say("The carriage is changed with the machine locked out, by people who may do it."),
    HOLD_CAUTION,
)


@dataclass(frozen=True, slots=True)
class MachineRank:
    """A machine in the order of what its change is expected to bring.

    Args:
        saving_low, saving_high: limits between which the saving lies with a chance of 80 % [-].
        gain_per_year: saved in a year, cost not taken off.
        gain: over the years that count, from its stage on, less the cost.
        break_even_saving: that pays the cost back in these years; None where nothing is wrapped.
        promise_per_year: money that may be promised; None before a trial of its own.
        before: what must be done first: "match", "hold", "trial".
    """

    rank: int
    machine: str
    site: str
    model: str
    film: str
    carriage_now: str
    hours_per_year: float | None
    film_cost_per_year: float
    expected_saving: float
    saving_low: float
    saving_high: float
    gain_per_year: float
    cost: float
    technician_days: float
    break_even_saving: float | None
    gain: float
    chance_of_payback: float
    promise_per_year: float | None
    trials: int
    match: str
    hold_margin: float | None
    stage: str | None
    before: tuple[str, ...]
    next_step: NextStep
    reason: str


@dataclass(frozen=True, slots=True)
class CombinationRank:
    """The carriage on a model of machine with a film: what a trial of it is worth and changes.

    Args:
        machine: the model, or the machine where it has none.
        break_even_low, break_even_high: savings that pay back, of its machines.
        trial_value: that the better decision brings over the years that count.
        chance_of_change: that a trial changes whether one of its machines is worth it, at least.
        machines_more_if_good: in the plan where the trial finds as much as one in ten would.
        machines_fewer_if_bad: where it finds as little as one in ten would.
    """

    carriage: str
    machine: str
    film: str
    machines: int
    match: str
    film_cost_per_year: float
    trials: int
    own_claim: ClaimStrength | None
    expected_saving: float
    expected_saving_error: float
    break_even_low: float | None
    break_even_high: float | None
    trial_value: float
    trial_pays: bool
    chance_of_change: float
    machines_more_if_good: int | None
    machines_fewer_if_bad: int | None
    next_step: NextStep


CountsAs = Literal["own", "further site", "left out"]


@dataclass(frozen=True, slots=True)
class TrialCounted:
    """A trial and what it counts for.

    Args:
        trial: name of the site, or key of the trial in the store.
        carriage, machine, film: what was tried; "" where nobody says.
        saving: of film; None where it cannot be compared yet [-].
        saving_error: its standard error, likewise [-].
        counts_as: of its own combination's machines; as what a further site saves; or not at all.
        machines: of the release whose own trial it is.
        reason: why it is left out, or is no machine's own; "" where it is one's own.
    """

    trial: str
    carriage: str
    machine: str
    film: str
    saving: float | None
    saving_error: float | None
    counts_as: CountsAs
    machines: int
    reason: str


@dataclass(frozen=True, slots=True)
class StageResult:
    """A stage: what is done in it, what that costs, and what may be said of it.

    Args:
        claim: of the sites that were tried; machines without trials of their own have none.
        machines_with_trials: of this stage's, those with a trial of their own combination.
        machines_with_claim: those whose own trials carry a claim.
    """

    name: str
    start: str | None
    budget: float | None
    days: float | None
    trials_of: tuple[str, ...]
    machines: tuple[str, ...]
    cost: float
    days_used: float
    gain: float
    gain_per_year: float
    promise_per_year: float
    machines_with_trials: int
    machines_with_claim: int
    claim: str


@dataclass(frozen=True, slots=True, repr=False)
class Release(Told):
    """Which machines get a carriage first.

    Args:
        plan_worth: expected gains of the plan, and what its trials bring less their cost.
        plan_bound: no plan is worth more.
    """

    told_as = "release"
    told_by = "woold.line.release_rows:release_blocks"

    title: str
    carriage: str
    years: float
    currency: str
    trials: int
    trial_effect_error: float
    trial_cost: float
    machines: tuple[MachineRank, ...]
    combinations: tuple[CombinationRank, ...]
    evidence: tuple[TrialCounted, ...]
    stages: tuple[StageResult, ...]
    plan_worth: float
    plan_bound: float
    promised_with: float
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = _CAUTIONS
