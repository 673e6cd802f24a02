"""One quantity of a machine's loads on its charts, each load as a share of its type's mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.prediction.result import Finding
from woold.watch.chart_set import ChartSet, chart_set_of
from woold.watch.charts import Array, Mask
from woold.watch.level_steps import Hint, hints_for
from woold.watch.settings import ChartSettings
from woold.watch.text_labels import Labels
from woold.words import say, to_say

__all__ = ["QUANTITIES", "Charted", "set_up_findings", "type_means", "watch_values"]

MOST_AUTOCORRELATION = 0.2  # above this the run lengths no longer hold; common practice
QUANTITIES = {
    "film": to_say("film per load"),
    "prestretch": to_say("pre-stretch"),
    "cycle_time": to_say("cycle time"),
    "breaks": to_say("film breaks"),
}


@dataclass(frozen=True, slots=True)
class Charted:
    """One quantity of one machine on its charts, as a share of its mean in the set-up phase.

    Args:
        quantity: film, prestretch or cycle_time.
        mean: in the set-up phase, over the load types [SI unit; pre-stretch as a ratio].
        loads: index of the (last) load of each charted value.
        charts: of of the shares; their centre is about 1.
        hints: for each step of the level, what may have caused it.
        left_out: loads of types that the set-up phase did not see five times.
    """

    quantity: str
    mean: float
    loads: NDArray[np.int64]
    charts: ChartSet
    hints: tuple[tuple[Hint, ...], ...]
    left_out: int


def watch_values(
    quantity: str,
    values: Array,
    load_types: Labels,
    labels: Mapping[str, Labels],
    settings: ChartSettings,
) -> Charted:
    """Charts of one quantity.

    Each load is divided by the mean of its load type in the set-up phase, so that loads of several
    sizes make one chart. Types without five loads in that phase are left out.

    Args:
        quantity: name.
        values: of the loads in order, NaN where not known, shape (loads,).
        load_types: of each load.
        labels: roll, shift, setting of each load.
        settings: set-up phase and false alarms.

    Raises:
        InputError: fewer than twenty values in the set-up phase, or values that never change.
    """
    known = np.flatnonzero(np.isfinite(values))
    kept = values[known]
    setup = min(settings.setup_loads, kept.size)
    in_setup = np.arange(kept.size) < setup
    means = type_means(kept, np.ones(kept.size, np.int64), load_types.take(known), in_setup)
    usable = np.isfinite(means)
    left_out = int(kept.size - usable.sum())
    known, kept, means = known[usable], kept[usable], means[usable]
    setup = int(usable[:setup].sum())
    shares = kept / means if kept.size else kept
    overall = float(kept[:setup].mean()) if setup else float("nan")
    if settings.group > 1:
        known, shares, setup = _grouped(known, shares, setup, settings.group)
    every = max(20.0, settings.false_alarm_every / settings.group)  # values of a chart
    charts = chart_set_of(shares, setup, every, settings)
    charted_labels = {name: each.take(known) for name, each in labels.items()}
    return Charted(
        quantity=quantity,
        mean=overall,
        loads=known,
        charts=charts,
        hints=tuple(tuple(hints_for(step, shares, charted_labels)) for step in charts.steps),
        left_out=left_out,
    )


def type_means(
    totals: Array, counts: NDArray[np.int64], types: Labels, in_setup: Mask, least: int = 5
) -> Array:
    """Mean per load of each row's type in the set-up phase; NaN where it has too few loads there.

    Args:
        totals: summed over the row's loads, shape (rows,).
        counts: loads of each row.
        types: of each row.
        in_setup: which rows belong to the set-up phase.
        least: loads that a type must have there.
    """
    names = len(types.names)
    loads = np.bincount(types.codes[in_setup], counts[in_setup], names)
    sums = np.bincount(types.codes[in_setup], totals[in_setup], names)
    means = np.where(loads >= least, sums / np.maximum(loads, 1), np.nan)
    return np.asarray(means[types.codes], float)


def _grouped(
    known: NDArray[np.int64], shares: Array, setup: int, group: int
) -> tuple[NDArray[np.int64], Array, int]:
    """Means of consecutive loads; the set-up phase keeps whole groups only."""
    count = shares.size // group
    means = shares[: count * group].reshape(count, group).mean(axis=1)
    return known[group - 1 : count * group : group], means, setup // group


def set_up_findings(machine: str, charted: Sequence[Charted]) -> list[Finding]:
    found = []
    for each in charted:
        field = f"{machine}.{each.quantity}"
        charts, count = each.charts, each.charts.set_up.count
        if each.left_out:
            found.append(
                Finding(
                    "load_types_left_out",
                    field,
                    say(
                        "{left_out} loads are not charted: the set-up phase saw their load"
                        " type fewer than five times. Lengthen charts.setup_loads.",
                        left_out=each.left_out,
                    ),
                )
            )
        outside = int(
            each.charts.individuals.signals[:count].sum() + each.charts.ewma.signals[:count].sum()
        )
        if outside:
            found.append(
                Finding(
                    "set_up_not_in_control",
                    field,
                    say(
                        "the set-up phase of {names} is not in control itself ({outside}"
                        " signals in {count} values): limits are too wide or in the wrong"
                        " place. Choose another set-up phase.",
                        names=say(QUANTITIES[each.quantity]),
                        outside=outside,
                        count=count,
                    ),
                )
            )
        if each.charts.set_up.autocorrelation > max(MOST_AUTOCORRELATION, 2.0 / count**0.5):
            found.append(
                Finding(
                    "loads_hang_together",
                    field,
                    say(
                        "neighbouring loads are alike in {names} (correlation"
                        " {autocorrelation:.2f}): false alarms come more often than asked."
                        " Chart means with charts.group.",
                        names=say(QUANTITIES[each.quantity]),
                        autocorrelation=charts.set_up.autocorrelation,
                    ),
                )
            )
    return found
