"""What the comparison takes for granted, looked at; and loads that stand apart, shown.

An accusation must be rare where nothing is wrong: loads that stand apart and swapped blocks are
each named in at most 5 % of trials whose data are clean and normal.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.trial.outlying import ACCUSED, Outlier
from woold.trial.percent import percent
from woold.trial.ratio import student_tail
from woold.trial.table import LoadTable
from woold.trial.treatment_means import TreatmentMeans
from woold.words import say

__all__ = ["Check", "assumption_checks", "swapped_blocks"]

_DOUBT_P = 0.01
_FEWEST_BLOCKS = 5


@dataclass(frozen=True, slots=True)
class Check:
    """One assumption: what was looked at, what was found, whether it raises doubt."""

    name: str
    finding: str
    p: float | None
    raises_doubt: bool


def swapped_blocks(table: LoadTable, apart: Sequence[Outlier] = ()) -> tuple[str, ...]:
    """Blocks in which the treatments look swapped: as far off as the rest, the other way round.

    Each block's log ratio is held against the mean of the others, by a one-sided t among so many
    blocks (Bonferroni); and it must fit a swap better than none.

    Args:
        table: the loads.
        apart: loads that stand apart; one that stands alone in its block is left out. Several in
            one block may be just what a swap looks like.
    """
    odd = np.isin(np.array(table.numbers), [each.load for each in apart])
    alone = np.bincount(table.block[odd], minlength=len(table.block_names)) == 1
    names, logs, sizes = _block_ratios(table, ~(odd & alone[table.block]))
    if len(names) < _FEWEST_BLOCKS:
        return ()
    found = []
    for place, name in enumerate(names):
        others = np.arange(len(names)) != place
        weight = 1.0 / sizes[others]
        middle = float(np.sum(weight * logs[others]) / weight.sum())
        freedom = len(names) - 2
        square = float(np.sum(weight * (logs[others] - middle) ** 2)) / freedom
        error = math.sqrt(square * (sizes[place] + 1.0 / weight.sum()))
        away = (middle - logs[place]) * math.copysign(1.0, middle)
        if not error > 0.0 or logs[place] * middle >= 0.0:
            continue
        p = student_tail(away / error, freedom)
        fits = abs(logs[place] + middle) < min(3.0 * error, abs(logs[place] - middle))
        if p * len(names) < ACCUSED and fits:
            found.append(name)
    return tuple(found)


def _block_ratios(
    table: LoadTable, kept: NDArray[np.bool_]
) -> tuple[list[str], NDArray[np.float64], NDArray[np.float64]]:
    """Names of the blocks with both treatments, their log ratios, and their relative variances."""
    known = kept & np.isfinite(table.film_mass)
    names, ratios, sizes = [], [], []
    for code, name in enumerate(table.block_names):
        logs, variances = [], []
        for load_type in np.unique(table.load_type):
            here = known & (table.block == code) & (table.load_type == load_type)
            masses = [table.film_mass[here & table.of_treatment(place)] for place in (0, 1)]
            if all(each.size for each in masses):
                logs.append(math.log(float(masses[1].mean()) / float(masses[0].mean())))
                variances.append(1.0 / masses[0].size + 1.0 / masses[1].size)
        if logs:
            weights = 1.0 / np.array(variances)
            names.append(name)
            ratios.append(float(np.sum(weights * logs) / weights.sum()))
            sizes.append(float(1.0 / weights.sum()))
    return names, np.array(ratios), np.array(sizes)


def assumption_checks(means: TreatmentMeans, table: LoadTable) -> tuple[Check, ...]:
    """Looks at what the intervals rest on."""
    if np.ptp(means.residual) == 0:
        return (
            Check(
                say("spread"),
                say(
                    "Every load of a treatment weighs the same: were values copied, or the scale"
                    " too coarse?"
                ),
                None,
                True,
            ),
        )
    checks = (
        _shape(means),
        _spreads(means, table),
        _drift(means),
        _order(means, table),
        _repeated(table),
    )
    return tuple(each for each in checks if each is not None)


def _shape(means: TreatmentMeans) -> Check | None:
    from scipy import stats

    if not 3 <= means.residual.size <= 5000:
        return None
    p = float(stats.shapiro(means.residual).pvalue)
    doubt = p < _DOUBT_P
    if not doubt:
        words = say("Deviations are near enough to a bell shape.")
    elif means.residual.size < 50:
        words = say(
            "Deviations are far from a bell shape, and the loads are few: a 95 % interval may hold"
            " in 92 % of such trials only."
        )
    else:
        words = say(
            "Deviations are far from a bell shape; compare the bootstrap interval with Fieller's."
        )
    return Check(say("shape of the spread"), words, p, doubt)


def _spreads(means: TreatmentMeans, table: LoadTable) -> Check | None:
    from scipy import stats

    treatments = table.treatment[means.load]
    if min(np.bincount(treatments, minlength=2)) < 3:
        return None
    # Absolute deviations from the median, so that skewness does not pass for spread.
    groups = [means.residual[treatments == code] for code in (0, 1)]
    p = float(stats.levene(*groups, center="median").pvalue)
    values = {"baseline": percent(means.spreads[0]), "candidate": percent(means.spreads[1])}
    words = (
        say(
            "Spreads of baseline and candidate, {baseline} and {candidate}, differ; the intervals"
            " need no equal spread.",
            **values,
        )
        if p < _DOUBT_P
        else say(
            "Spreads of baseline and candidate, {baseline} and {candidate}, do not clearly differ;"
            " the intervals need no equal spread.",
            **values,
        )
    )
    return Check(say("equal spread"), words, p, False)


def _drift(means: TreatmentMeans) -> Check | None:
    from scipy import stats

    if means.residual.size < 6:
        return None
    drift = stats.spearmanr(means.load, means.residual)
    p = float(drift.pvalue)
    if p >= _DOUBT_P:
        words = say("Film mass shows no trend from load to load (blocks taken out first).")
    elif drift.statistic > 0:
        words = say("Film mass rises from load to load (blocks taken out first).")
    else:
        words = say("Film mass falls from load to load (blocks taken out first).")
    return Check(say("drift"), words, p, p < _DOUBT_P)


def _order(means: TreatmentMeans, table: LoadTable) -> Check | None:
    if means.residual.size < 6:
        return None
    treatments = table.treatment[means.load]
    middles = [float(means.load[treatments == code].mean()) for code in (0, 1)]
    lead = (middles[1] - middles[0]) / max(table.treatment.size, 1)
    if abs(lead) <= 0.15:
        words = say("Both treatments are spread alike over the trial.")
    elif lead > 0:
        words = say(
            "The candidate's loads come later on average, by {share} of the trial: a drift could"
            " pass for a difference.",
            share=percent(lead, 0),
        )
    else:
        words = say(
            "The candidate's loads come earlier on average, by {share} of the trial: a drift could"
            " pass for a difference.",
            share=percent(-lead, 0),
        )
    return Check(say("order"), words, None, abs(lead) > 0.15)


def _repeated(table: LoadTable) -> Check | None:
    """Runs of equal film masses, as copying makes them."""
    masses = table.film_mass[np.isfinite(table.film_mass)]
    if masses.size < 8:
        return None
    longest = run = 1
    for before, after in itertools.pairwise(masses):
        run = run + 1 if before == after else 1
        longest = max(longest, run)
    share = np.unique(masses, return_counts=True)[1].max() / masses.size
    doubt = longest >= 4 and share < 0.9
    words = (
        say("{count} loads in a row weigh exactly the same: were values copied?", count=longest)
        if doubt
        else say("No long run of equal masses.")
    )
    return Check(say("repeated values"), words, None, doubt)
