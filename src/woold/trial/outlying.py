"""Loads that stand apart: film mass, pull readings, widths, marks and times, each by one rule.

An accusation must be rare where nothing is wrong: a load is named in at most 5 % of trials whose
data are clean and normal, once for its film mass, once for everything else that was read.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.compare import means_of
from woold.trial.ratio import student_tail
from woold.trial.setup import TREATMENTS
from woold.trial.table import LoadTable
from woold.trial.treatment_means import TreatmentMeans
from woold.words import say

__all__ = ["ACCUSED", "OddReading", "Outlier", "odd_readings_of_loads", "outliers"]

ACCUSED = 0.04
"""Level of the tests of loads and blocks: an accusation in at most 5 % of clean trials, said so."""

_MOST_APART = 5

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outlier:
    """A load that may stand apart; it stays in the analysis.

    Args:
        load: its number.
        treatment: baseline or candidate.
        film_mass_kg: what was weighed.
        expected_kg: what the rest of its treatment, type and block lead to expect.
        deviation: distance from that, in standard deviations of the others.
        p: chance of a load so far off in a clean trial of this size.
        note: what was noted on it.
    """

    load: str
    treatment: str
    film_mass_kg: float
    expected_kg: float
    deviation: float
    p: float
    note: str


@dataclass(frozen=True, slots=True)
class OddReading:
    """A load of which something else than its film stands apart; it is counted.

    Args:
        load: its number.
        treatment: baseline or candidate.
        quantity: pull, width, marks or time.
        zone: of a pull reading; "" of the others.
        value, expected: the mean of what was read on it, and what the others lead to expect; N, m,
            a ratio, s.
        deviation: distance from that, in standard deviations of the others.
        p: chance of a reading so far off in a clean trial of this size.
        note: what was noted on the load.
    """

    load: str
    treatment: str
    quantity: str
    zone: str
    value: float
    expected: float
    deviation: float
    p: float
    note: str


@dataclass(frozen=True, slots=True)
class _Apart:
    """A load that is far off: its index, what is expected, how far it is and how likely."""

    load: int
    value: float
    expected: float
    deviation: float
    p: float


def outliers(means: TreatmentMeans, table: LoadTable) -> tuple[Outlier, ...]:
    """Loads whose film mass stands apart from the rest of their treatment, the farthest first.

    Args:
        means: of film mass.
        table: the loads.
    """
    return tuple(
        Outlier(
            load=table.numbers[each.load],
            treatment=TREATMENTS[int(table.treatment[each.load])],
            film_mass_kg=each.value,
            expected_kg=each.expected,
            deviation=each.deviation,
            p=each.p,
            note=table.notes.get(table.numbers[each.load], ""),
        )
        for each in _apart(means, table, (table.film_mass, say("film mass")), ACCUSED)
    )


def odd_readings_of_loads(table: LoadTable) -> tuple[OddReading, ...]:
    """Loads whose pull readings, widths, marks or times stand apart, in this order.

    The level of the accusation is shared out among what was read.

    Args:
        table: the loads.
    """
    read = [each for each in _quantities(table) if np.isfinite(each[2]).any()]
    found = []
    for quantity, zone, values in read:
        try:
            means = means_of(table, values, quantity, by_roll=False)
        except InputError:  # too few to tell
            continue
        for each in _apart(means, table, (values, quantity), ACCUSED / len(read)):
            number = table.numbers[each.load]
            found.append(
                OddReading(
                    load=number,
                    treatment=TREATMENTS[int(table.treatment[each.load])],
                    quantity=quantity,
                    zone=zone,
                    value=each.value,
                    expected=each.expected,
                    deviation=each.deviation,
                    p=each.p,
                    note=table.notes.get(number, ""),
                )
            )
    return tuple(found)


def _quantities(table: LoadTable) -> Iterator[tuple[str, str, Floats]]:
    for place, zone in enumerate(table.zone_names):
        yield "pull", zone, table.zones[:, place]
    yield "width", "", table.film_width
    yield "marks", "", table.marks_stretch
    yield "time", "", table.cycle_time
    yield "dancer", "", table.dancer_force


def _apart(
    means: TreatmentMeans, table: LoadTable, of: tuple[Floats, str], level: float
) -> list[_Apart]:
    """Loads that stand apart from the rest of their treatment, the farthest first.

    The farthest load is set aside, then the farthest of the rest, and so on; each time its
    distance is judged by the deleted residual's t among so many loads (Bonferroni). All up to the
    last that is too far count: so two odd loads cannot hide one another.

    Args:
        means: of the values.
        table: the loads.
        of: one value a load, and what they are called.
        level: of the test.

    Source: B. Rosner, Technometrics 25 (1983) 165 (several outliers); R. D. Cook, S. Weisberg,
        Residuals and Influence in Regression (1982), chapter 2 (deleted residual).
    """
    values, name = of
    found: list[_Apart] = []
    apart = 0
    left = values.copy()
    while len(found) < min(_MOST_APART, means.load.size // 5):
        farthest = _farthest(means, table, values)
        if farthest is None:
            break
        found.append(farthest)
        if farthest.p < level:
            apart = len(found)
        left[farthest.load] = np.nan
        try:
            means = means_of(table, left, name, by_roll=False)
        except InputError:
            break
    return sorted(found[:apart], key=lambda each: -abs(each.deviation))


def _farthest(means: TreatmentMeans, table: LoadTable, values: Floats) -> _Apart | None:
    """The load that stands farthest apart.

    It must stand apart from all loads, by the deleted residual's exact t, and from those of its own
    treatment too, since one treatment may spread more than the other.
    """
    freedom = _freedom_by_treatment(means)
    if min(freedom) < 3.0 or not min(means.spreads) > 0.0:
        return None
    whole = float(np.sum(freedom))
    pooled = math.sqrt(float(np.dot(freedom, np.square(means.spreads))) / whole)
    own = table.treatment[means.load]
    among_all = _deleted(means.residual / pooled, whole)
    among_own = _deleted(means.residual / np.asarray(means.spreads)[own], np.asarray(freedom)[own])
    deviations = np.where(np.abs(among_all) < np.abs(among_own), among_all, among_own)
    index = int(np.abs(deviations).argmax())
    load = int(means.load[index])
    p = max(
        _two_sided(among_all[index], whole - 1.0),
        _two_sided(among_own[index], freedom[own[index]] - 1.0),
    )
    value = float(values[load])
    return _Apart(
        load=load,
        value=value,
        expected=value / (1.0 + max(float(means.residual[index]), -0.99)),
        deviation=float(deviations[index]),
        p=min(p * means.load.size, 1.0),
    )


def _deleted(
    standard: NDArray[np.float64], freedom: float | NDArray[np.float64]
) -> NDArray[np.float64]:
    """Residuals in standard errors of the fit without their own load."""
    left = np.clip(freedom - standard**2, 1e-12, None)
    return np.asarray(standard * np.sqrt((freedom - 1.0) / left))


def _two_sided(deviation: float, freedom: float) -> float:
    return 2.0 * student_tail(abs(float(deviation)), freedom)


def _freedom_by_treatment(means: TreatmentMeans) -> list[float]:
    return [float(np.sum(means.freedom[code :: len(TREATMENTS)])) for code in (0, 1)]
