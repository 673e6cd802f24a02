"""Simulated trials whose truth is known, and how often what is said of them is right.

Everything is seeded. A share p of n trials has a Monte Carlo error sqrt(p (1 - p)/n).
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from trial_tables import Truth, made_up
from woold.trial.assumptions import swapped_blocks
from woold.trial.compare import comparison, means_of
from woold.trial.judged import judge
from woold.trial.outlying import outliers
from woold.trial.progress import PlanState, progress_of
from woold.trial.setup import Looks
from woold.trial.verdict import trial_verdict
from woold.trial.verdict_method import VerdictFacts

__all__ = ["Told", "accusations", "own_rolls_covered", "verdicts", "with_error"]


def with_error(count: float, trials: int) -> str:
    """A share with its Monte Carlo error."""
    share = count / trials
    return f"{share:.4f} ± {math.sqrt(max(share * (1 - share), 0.25 / trials) / trials):.4f}"


@dataclass
class Told:
    """What many trials said.

    Args:
        trials: how many.
        claims: how often each claim was made.
        covered: how often the interval of the saving held the truth.
        judged: trials in which there was such an interval.
        loads: loads of both treatments wrapped until the first look that claimed, in all.
        lower: trials in which any zone was said to hold less.
    """

    trials: int
    claims: Counter[str] = field(default_factory=Counter)
    covered: int = 0
    judged: int = 0
    loads: int = 0
    lower: int = 0
    estimates: list[float] = field(default_factory=list)

    @property
    def savings(self) -> int:
        """Trials that claimed a saving at equal hold."""
        return sum(count for claim, count in self.claims.items() if claim.startswith("saves film"))


def verdicts(
    truth: Truth, trials: int, seed: int, looks: Looks | None = None, margin: float = 0.10
) -> Told:
    """Verdicts of trials that stop at the first look that claims a saving at equal hold.

    Args:
        truth: what they are drawn from.
        trials: how many.
        seed: of them all.
        looks: planned; a single one at the end if not given.
        margin: of containment.
    """
    told = Told(trials)
    looks = looks or Looks()
    state = PlanState(2 * truth.pairs)
    equal = math.log(truth.ratio) - float(np.mean(np.log(truth.hold)))
    for trial in range(trials):
        table = made_up(np.random.default_rng([seed, trial]), truth)
        progress, limits, reached = progress_of(table, looks, state)
        for look in range(1, len(reached) + 1):
            judged = judge(table, margin, limits, reached[:look])
            at_look = table.only(reached[look - 1])
            film = comparison(means_of(at_look, at_look.film_mass, "film mass"))
            is_last = look == len(reached)
            facts = VerdictFacts(
                film=film,
                judged=judged,
                progress=progress if is_last else _running(progress, look),
                aim=0.05,
                margin=margin,
                zones_asked=3,
                confounded="",
            )
            verdict = trial_verdict(facts)
            if is_last or verdict.claim == "saves film at equal hold":
                break
        told.claims[verdict.claim] += 1
        told.loads += int(np.isfinite(at_look.film_mass).sum())
        told.lower += any(each.is_lower for each in judged.zones)
        if judged.equal_hold is not None:
            told.judged += 1
            interval = judged.equal_hold.interval
            low, high = interval.low or 0.0, interval.high or math.inf
            told.covered += low <= math.exp(equal) <= high
            told.estimates.append(math.log(judged.equal_hold.ratio) - equal)
    return told


def _running(progress, look):  # type: ignore[no-untyped-def]
    return replace(progress, look=look, is_filled=False, next_look_loads=progress.looks[look].loads)


def accusations(truth: Truth, trials: int, seed: int) -> tuple[int, int]:
    """Clean trials in which a load is said to stand apart, and a block to be swapped."""
    apart = swapped = 0
    for trial in range(trials):
        table = made_up(np.random.default_rng([seed, trial]), truth)
        means = means_of(table, table.film_mass, "film mass")
        odd = outliers(means, table)
        apart += bool(odd)
        swapped += bool(swapped_blocks(table, odd))
    return apart, swapped


def own_rolls_covered(trials: int, seed: int, loads_of_roll: int) -> int:
    """Trials without a difference whose film interval holds 1, each treatment on rolls of its own.

    Args:
        trials: how many, 28 loads of each treatment, rolls that differ by 3 %.
        seed: of them all.
        loads_of_roll: that a roll lasts.
    """
    covered = 0
    truth = Truth(28, ratio=1.0, one_type=True, with_pulls=False)
    for trial in range(trials):
        rng = np.random.default_rng([seed, trial])
        table = made_up(rng, truth)
        nth = np.zeros(table.treatment.size, int)
        for side in (0, 1):
            own = table.treatment == side
            nth[own] = np.arange(own.sum()) // loads_of_roll
        roll = 1 + 28 * table.treatment + nth
        of_roll = np.exp(0.03 * rng.standard_normal(1 + roll.max()))[roll]
        found = replace(table, roll=roll, film_mass=table.film_mass * of_roll)
        covered += comparison(means_of(found, found.film_mass, "film mass")).fieller.holds(1.0)
    return covered
