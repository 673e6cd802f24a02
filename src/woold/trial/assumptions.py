"""What the comparison takes for granted, looked at; and loads that stand apart, shown."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.compare import means_of
from woold.trial.setup import TREATMENTS
from woold.trial.table import LoadTable
from woold.trial.treatment_means import TreatmentMeans

__all__ = ["Check", "Outlier", "assumption_checks", "outliers", "swapped_blocks"]

FAR = 3.5
"""A modified z score beyond this marks an outlier (Iglewicz and Hoaglin)."""

_DOUBT_P = 0.01


@dataclass(frozen=True, slots=True)
class Check:
    """One assumption: what was looked at, what was found, whether it raises doubt."""

    name: str
    finding: str
    p: float | None
    raises_doubt: bool


@dataclass(frozen=True, slots=True)
class Outlier:
    """A load that stands apart; it stays in the analysis.

    Args:
        load: its number.
        treatment: baseline or candidate.
        film_mass_kg: what was weighed.
        expected_kg: what the rest of its treatment, type and block lead to expect.
        modified_z: robust distance in standard deviations.
        note: what was noted on it.
    """

    load: str
    treatment: str
    film_mass_kg: float
    expected_kg: float
    modified_z: float
    note: str


def _modified_z(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """0.6745 (x - median)/MAD.

    Source: B. Iglewicz, D. C. Hoaglin, How to Detect and Handle Outliers (1993).
    """
    centred = values - np.median(values)
    spread = float(np.median(np.abs(centred)))
    if spread == 0:
        # More than half are equal: fall back on the mean absolute deviation.
        spread = float(np.mean(np.abs(centred))) * 0.6745 * 1.2533
    return 0.6745 * centred / spread if spread > 0 else np.zeros_like(values)


def outliers(means: TreatmentMeans, table: LoadTable) -> tuple[Outlier, ...]:
    """Loads whose film mass stands apart from the rest of their treatment, the farthest first.

    One at a time: each is looked for among the others without those already found, since a load
    that is far off draws its own block after it and makes its neighbours look odd.
    """
    found: list[Outlier] = []
    masses = table.film_mass.copy()
    while len(found) < max(means.load.size // 5, 1):
        farthest = _farthest(means, table)
        if farthest is None:
            break
        found.append(farthest[1])
        masses[farthest[0]] = np.nan
        try:
            means = means_of(table, masses, "film mass")
        except InputError:
            break
    return tuple(found)


def _farthest(means: TreatmentMeans, table: LoadTable) -> tuple[int, Outlier] | None:
    """The load that stands farthest apart, if far enough, and its index."""
    treatments = table.treatment[means.load]
    best: tuple[int, Outlier] | None = None
    for side, name in enumerate(TREATMENTS):
        own = np.flatnonzero(treatments == side)
        if own.size < 4:
            continue
        scores = _modified_z(means.residual[own])
        index = int(np.abs(scores).argmax())
        score = float(scores[index])
        if abs(score) <= max(FAR, abs(best[1].modified_z) if best else 0.0):
            continue
        load = int(means.load[own[index]])
        mass = float(table.film_mass[load])
        relative = float(means.residual[own[index]] - np.median(means.residual[own]))
        best = (
            load,
            Outlier(
                load=table.numbers[load],
                treatment=name,
                film_mass_kg=mass,
                expected_kg=mass / (1 + max(relative, -0.99)),
                modified_z=score,
                note=table.notes.get(table.numbers[load], ""),
            ),
        )
    return best


def swapped_blocks(table: LoadTable) -> tuple[str, ...]:
    """Blocks in which the treatments look swapped: as far off as the rest, the other way round."""
    known = np.isfinite(table.film_mass)
    names, differences = [], []
    for code, name in enumerate(table.block_names):
        logs = []
        for load_type in np.unique(table.load_type):
            here = known & (table.block == code) & (table.load_type == load_type)
            sides = [table.film_mass[here & table.of_treatment(side)] for side in (0, 1)]
            if all(side.size for side in sides):
                logs.append(math.log(float(sides[1].mean()) / float(sides[0].mean())))
        if logs:
            names.append(name)
            differences.append(float(np.mean(logs)))
    if len(names) < 5:
        return ()
    values = np.array(differences)
    middle = float(np.median(values))
    scores = _modified_z(values)
    return tuple(
        name
        for name, value, score in zip(names, values, scores, strict=True)
        if abs(score) > FAR and value * middle < 0 and abs(value + middle) < abs(middle)
    )


def assumption_checks(means: TreatmentMeans, table: LoadTable) -> tuple[Check, ...]:
    """Looks at what the intervals rest on."""
    from scipy import stats

    treatments = table.treatment[means.load]
    residual = means.residual
    checks = []
    if np.ptp(residual) == 0:
        return (
            Check(
                "spread",
                "Every load of a treatment weighs the same: were values copied, or the scale too"
                " coarse?",
                None,
                True,
            ),
        )
    if 3 <= residual.size <= 5000:
        p = float(stats.shapiro(residual).pvalue)
        doubt = p < _DOUBT_P
        words = "far from a bell shape" if doubt else "near enough to a bell shape"
        checks.append(
            Check(
                "shape of the spread",
                f"Deviations are {words}; compare the bootstrap interval with Fieller's.",
                p,
                doubt,
            )
        )
    if min(np.bincount(treatments, minlength=2)) >= 3:
        # Absolute deviations from the median, so that skewness does not pass for spread.
        p = float(
            stats.levene(
                residual[treatments == 0], residual[treatments == 1], center="median"
            ).pvalue
        )
        spreads = " and ".join(f"{spread:.1%}" for spread in means.spreads)
        words = "differ" if p < _DOUBT_P else "do not clearly differ"
        checks.append(
            Check(
                "equal spread",
                f"Spreads of baseline and candidate, {spreads}, {words}; the intervals need no"
                " equal spread.",
                p,
                False,
            )
        )
    if residual.size >= 6:
        drift = stats.spearmanr(means.load, residual)
        p = float(drift.pvalue)
        doubt = p < _DOUBT_P
        words = (
            ("rises" if drift.statistic > 0 else "falls") + " from load to load"
            if doubt
            else "shows no trend from load to load"
        )
        checks.append(Check("drift", f"Film mass {words} (blocks taken out first).", p, doubt))
        lead = float(means.load[treatments == 1].mean() - means.load[treatments == 0].mean()) / max(
            table.treatment.size, 1
        )
        doubt = abs(lead) > 0.15
        words = (
            f"The candidate's loads come {'later' if lead > 0 else 'earlier'} on average, by"
            f" {abs(lead):.0%} of the trial: a drift could pass for a difference."
            if doubt
            else "Both treatments are spread alike over the trial."
        )
        checks.append(Check("order", words, None, doubt))
    repeated = _repeated(table)
    if repeated is not None:
        checks.append(repeated)
    return tuple(checks)


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
        f"{longest} loads in a row weigh exactly the same: were values copied?"
        if doubt
        else "No long run of equal masses."
    )
    return Check("repeated values", words, None, doubt)
