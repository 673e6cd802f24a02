"""When the level changed, and what changed with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from woold.watch.charts import MEAN_RANGE_OF_TWO, Array, moving_ranges
from woold.watch.text_labels import Labels
from woold.words import say, to_say

__all__ = [
    "PLACE_QUANTILE",
    "Hint",
    "LevelStep",
    "change_points",
    "hints_for",
    "level_steps",
    "place_of_step",
]

COLUMNS = {"roll": to_say("roll"), "shift": to_say("shift"), "setting": to_say("setting")}
"""Columns that a cause may stand in."""

MOST_BLOCKS = 1000
LEAST_LENGTH = 10  # blocks or loads on either side of a change
LEAST_IN_VALUE = 5  # loads of one shift, roll ... on either side, to compare their step
MOST_VALUES = 50
# 95 % quantile of (1 - exp(-x/2))², the law of the likelihood ratio of a change's place.
PLACE_QUANTILE = 7.352


@dataclass(frozen=True, slots=True)
class LevelStep:
    """A step of the level.

    Args:
        index: first value after the step.
        low, high: where that may lie (95 %).
        before, after: means of the stretches on either side, up to the neighbouring steps.
        before_count, after_count: values in them.
    """

    index: int
    low: int
    high: int
    before: float
    after: float
    before_count: int
    after_count: int


@dataclass(frozen=True, slots=True)
class Hint:
    """Something that may have caused a step.

    Args:
        column: ``roll``, ``shift``, ``setting``: which of the records' columns.
        text: what changed, in a sentence.
        chance: that such a thing would fall so close to a step that it has nothing to do with.
        index: where it happened; None for a hint about one value of the column.
    """

    column: str
    text: str
    chance: float
    index: int | None = None


def change_points(values: Array, penalty: float | None = None, least: int = 2) -> list[int]:
    """Indices of the first value after each step of the mean.

    Least squares with a penalty for each step, exact (pruned search over every index). The default
    penalty is 3 sigma² ln(n), sigma from the mean moving range.

    Args:
        values: shape (n,).
        penalty: for one more step [values²].
        least: values between two steps.

    Source: Killick, Fearnhead & Eckley, J. Am. Statist. Assoc. 107 (2012) 1590; computed by the
        library ruptures.
    """
    import ruptures

    values = np.asarray(values, float)
    if values.size < 2 * least:
        return []
    if penalty is None:
        sigma = float(np.abs(np.diff(values)).mean()) / MEAN_RANGE_OF_TWO
        penalty = 3.0 * sigma**2 * np.log(values.size)
    if penalty <= 0.0:
        return []
    # The kernel form with a linear kernel is the same cost, in compiled code and at every index.
    search = ruptures.KernelCPD(kernel="linear", min_size=least, jump=1).fit(values[:, None])
    return [int(index) for index in search.predict(pen=penalty)[:-1]]


def level_steps(values: Array, alike: float = 1.0) -> list[LevelStep]:
    """Steps of a long series: found on the means of blocks, then placed to the load.

    Args:
        values: shape (loads,), all finite.
        alike: how much more the mean of neighbours spreads than if they had nothing in common;
            1 where they have nothing, (1 + a)/(1 - a) with a correlation a.

    Returns:
        steps in order, each with the interval that its place lies in. Source of the interval:
        Hansen, Econometrica 68 (2000) 575.
    """
    values = np.asarray(values, float)
    block = max(1, -(-values.size // MOST_BLOCKS))
    whole = values.size // block * block
    if whole // block < 2 * LEAST_LENGTH:
        return []
    means = values[:whole].reshape(-1, block).mean(axis=1)
    alike = max(alike, 1.0)
    # Neighbours that are alike make the moving range small and the means of blocks spread.
    spread = float(moving_ranges(values).mean() / MEAN_RANGE_OF_TWO) ** 2 * 0.5 * (alike + 1.0)
    penalty = 3.0 * spread * alike / block * float(np.log(means.size))
    rough = change_points(means, penalty, LEAST_LENGTH)
    edges = [0, *(index * block for index in rough), values.size]
    # Each step is placed anew between the middles of its neighbours.
    placed = [0]
    for left, _, right in zip(edges, edges[1:], edges[2:], strict=False):
        start = max(placed[-1], left)
        placed.append(start + place_of_step(values[start:right])[0])
    placed.append(values.size)
    found = []
    for left, index, right in zip(placed, placed[1:], placed[2:], strict=False):
        _, low, high = place_of_step(values[left:right], index - left)
        found.append(
            LevelStep(
                index=index,
                low=left + low,
                high=left + high,
                before=float(values[left:index].mean()),
                after=float(values[index:right].mean()),
                before_count=index - left,
                after_count=right - index,
            )
        )
    return found


def place_of_step(values: Array, fixed: int | None = None) -> tuple[int, int, int]:
    """First value after one step of the mean, and the first and last place that it may have (95 %).

    Args:
        values: shape (n,), n of 2 or more.
        fixed: the place, where it is known and only the range is asked for.
    """
    count = values.size
    # Centred first: the sums of squares of a long series would lose their digits otherwise.
    sums = np.cumsum(values - values.mean())
    sizes = np.arange(1, count)
    gain = sums[:-1] ** 2 * (1.0 / sizes + 1.0 / (count - sizes))
    best = int(np.argmax(gain)) + 1 if fixed is None else fixed
    variance = (float(((values - values.mean()) ** 2).sum()) - float(gain[best - 1])) / max(
        count - 2, 1
    )
    near = np.flatnonzero(gain >= gain[best - 1] - PLACE_QUANTILE * variance) + 1
    return best, int(min(near[0], best)), int(max(near[-1], best))


def hints_for(step: LevelStep, values: Array, columns: Mapping[str, Labels]) -> list[Hint]:
    """What changed with a step, the least likely coincidence first.

    Two kinds: a column whose value changed within the step's interval; and a step that sits in
    one value of a column alone (one shift's loads, say).

    Args:
        step: the step.
        values: that it was found in, shape (loads,).
        columns: name -> text of each load.
    """
    hints: list[Hint] = []
    width = step.high - step.low + 1
    for column, labels in columns.items():
        switches = np.flatnonzero(labels.codes[1:] != labels.codes[:-1]) + 1
        near = switches[(switches >= step.low) & (switches <= step.high)]
        if near.size:
            index = int(near[np.argmin(np.abs(near - step.index))])
            rate = min(1.0, switches.size / max(values.size - 1, 1))
            hints.append(
                Hint(
                    column,
                    say(
                        "{column} changed from {before} to {after}",
                        column=say(COLUMNS[column]),
                        before=labels.at(index - 1),
                        after=labels.at(index),
                    ),
                    1.0 - (1.0 - rate) ** width,
                    index,
                )
            )
        hints.extend(_in_one_value(step, values, column, labels))
    return sorted(hints, key=lambda hint: hint.chance)


def _in_one_value(step: LevelStep, values: Array, column: str, labels: Labels) -> list[Hint]:
    """A value of the column whose loads took the step while all others did not take it as much."""
    from scipy.stats import norm

    before = slice(step.index - step.before_count, step.index)
    after = slice(step.index, step.index + step.after_count)
    sums = []
    for part in (before, after):
        codes, shares = labels.codes[part], values[part] - step.before
        sums.append(
            np.array(
                [
                    np.bincount(codes, weights, len(labels.names))
                    for weights in (np.ones(shares.size), shares, shares**2)
                ]
            )
        )
    usable = np.flatnonzero((sums[0][0] >= LEAST_IN_VALUE) & (sums[1][0] >= LEAST_IN_VALUE))
    if not 2 <= usable.size <= MOST_VALUES:
        return []
    found = []
    for code in usable:
        own, own_error = _step(sums[0][:, code], sums[1][:, code])
        rest = [part.sum(axis=1) - part[:, code] for part in sums]
        other, other_error = _step(rest[0], rest[1])
        if own_error + other_error <= 0.0:
            continue
        distance = (abs(own) - abs(other)) / (own_error + other_error) ** 0.5
        chance = min(1.0, usable.size * float(norm.sf(distance)))
        if chance < 0.001 and own * (step.after - step.before) > 0:
            text = say(
                "the step is mostly in the loads of {column} {name}",
                column=say(COLUMNS[column]),
                name=labels.names[code] or say("nothing"),
            )
            found.append(Hint(column, text, chance))
    return found


def _step(before: Array, after: Array) -> tuple[float, float]:
    """Difference of two means and its squared error, each from count, sum and sum of squares."""
    means = [part[1] / part[0] for part in (before, after)]
    error = sum(
        max(0.0, part[2] / part[0] - mean**2) / (part[0] - 1.0)
        for part, mean in zip((before, after), means, strict=True)
    )
    return float(means[1] - means[0]), float(error)
