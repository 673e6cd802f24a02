"""One quantity of a machine's loads on its charts, each load as a share of its type's mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.prediction.result import Finding
from woold.watch.charts import LEAST_SET_UP, Array
from woold.watch.level_chart import LevelChart, level_chart
from woold.watch.level_steps import Hint, hints_for
from woold.watch.settings import ChartSettings
from woold.watch.text_labels import Labels
from woold.words import say, to_say

__all__ = [
    "QUANTITIES",
    "Charted",
    "proposed_group",
    "set_up_findings",
    "shares_of_types",
    "watch_values",
]

_GROUPS = (2, 5, 10, 20, 50, 100)
_GROUPED_WELL = 0.4  # below the next, as set-up phases know their correlation only roughly
_MOST_LIKE = 0.98
MOST_AUTOCORRELATION = 0.55  # up to here simulated false alarms come as seldom as asked
LEAST_OF_TYPE = 5
LOADS_OF_TYPE = 100
GROUP_OF_MEANS = 10  # loads whose mean spreads nearly normally; common practice
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
        chart: of of the shares; their centre is about 1.
        labels: roll, shift, setting of each charted value.
        hints: for each step of the level, what may have caused it.
        left_out: loads of types that the set-up phase did not see five times.
    """

    quantity: str
    mean: float
    loads: NDArray[np.int64]
    chart: LevelChart
    labels: Mapping[str, Labels]
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

    Each load is divided by the mean of its load type, so that loads of several sizes make one
    chart; see :func:`shares_of_types`.

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
    overall = float(kept[:setup].mean()) if setup else float("nan")
    shares = shares_of_types(kept, load_types.take(known), setup)
    usable = np.isfinite(shares)
    left_out = int(kept.size - usable.sum())
    known, shares = known[usable], shares[usable]
    setup = int(usable[:setup].sum())
    if settings.group > 1:
        known, shares, setup = _grouped(known, shares, setup, settings.group)
    every = max(20.0, settings.false_alarm_every / settings.group)  # values of a chart
    chart = level_chart(shares, setup, every, settings, of_means=settings.group >= GROUP_OF_MEANS)
    charted_labels = {name: each.take(known) for name, each in labels.items()}
    return Charted(
        quantity=quantity,
        mean=overall,
        loads=known,
        chart=chart,
        labels=charted_labels,
        hints=tuple(tuple(hints_for(step, shares, charted_labels)) for step in chart.steps),
        left_out=left_out,
    )


def shares_of_types(values: Array, types: Labels, setup: int) -> Array:
    """Each value as a share of its load type's mean; NaN where fewer than five came before it.

    A type that the set-up phase saw often is held against its mean there. One that it saw seldom is
    held against the mean of all its loads so far, up to its hundredth, and its share is drawn in by
    sqrt(n/(n + 1)) for the error of that mean.

    Args:
        values: in order, shape (values,).
        types: of each.
        setup: values of the set-up phase.

    Source: Hawkins, J. R. Statist. Soc. D 36 (1987) 299 (charts that start themselves).
    """
    shares = np.full(values.size, np.nan)
    for code in np.unique(types.codes):
        mine = np.flatnonzero(types.codes == code)
        own = values[mine]
        at_start = int(np.searchsorted(mine, setup))
        count = np.arange(own.size, dtype=float)  # loads of the type before each
        sums = np.concatenate([[0.0], np.cumsum(own)[:-1]])
        frozen = max(at_start, LOADS_OF_TYPE)
        if own.size > frozen:
            count[frozen:], sums[frozen:] = frozen, own[:frozen].sum()
        before = count >= LEAST_OF_TYPE
        mean = sums[before] / count[before]
        found = np.full(own.size, np.nan)
        found[before] = 1.0 + (own[before] / mean - 1.0) * np.sqrt(
            count[before] / (count[before] + 1.0)
        )
        if at_start >= LEAST_OF_TYPE:
            # Within the set-up phase each is one of those that the mean is of.
            drawn = np.sqrt(at_start / (at_start - 1.0))
            found[:at_start] = 1.0 + (own[:at_start] / own[:at_start].mean() - 1.0) * drawn
        shares[mine] = found
    return shares


def _grouped(
    known: NDArray[np.int64], shares: Array, setup: int, group: int
) -> tuple[NDArray[np.int64], Array, int]:
    """Means of consecutive loads; the set-up phase keeps whole groups only."""
    count = shares.size // group
    means = shares[: count * group].reshape(count, group).mean(axis=1)
    return known[group - 1 : count * group : group], means, setup // group


def proposed_group(autocorrelation: float) -> int:
    """Loads to be charted as one mean, so that neighbouring means are little enough alike.

    Means of g values of a first-order autoregression of correlation a are correlated by
    a (1 - a^g)^2/(g (1 - a^2) - 2 a (1 - a^g)).

    Args:
        autocorrelation: between one load and the next.
    """
    a = min(max(autocorrelation, 0.0), _MOST_LIKE)
    for group in _GROUPS:
        kept = 1.0 - a**group
        if a * kept**2 / (group * (1.0 - a**2) - 2.0 * a * kept) <= _GROUPED_WELL:
            return group
    return _GROUPS[-1]


def set_up_findings(machine: str, charted: Sequence[Charted], group: int = 1) -> list[Finding]:
    """What to know of the set-up phases before the charts are believed.

    Args:
        machine: name.
        charted: its quantities.
        group: loads that each charted value is the mean of.
    """
    found = []
    for each in charted:
        field = f"{machine}.{each.quantity}"
        chart, name = each.chart, say(QUANTITIES[each.quantity])
        if each.left_out:
            text = say(
                "Loads that are not charted: {left_out}; fewer than {least} of their load type had"
                " come before them.",
                left_out=each.left_out,
                least=LEAST_OF_TYPE,
            )
            found.append(Finding("load_types_left_out", field, text))
        if chart.set_up_wanders:
            text = say(
                "the set-up phase of {name} ({count} values) changes its level itself: limits are"
                " in the wrong place. Choose another set-up phase.",
                name=name,
                count=chart.set_up.count,
            )
            found.append(Finding("set_up_not_in_control", field, text))
        odd = abs(chart.left_over) > max(0.1, 3.0 / chart.set_up.count**0.5)
        if chart.autocorrelation > MOST_AUTOCORRELATION or odd:
            wanted = group * proposed_group(max(chart.autocorrelation, 0.5 if odd else 0.0))
            text = say(
                "each load is much like the one before it in {name} (correlation"
                " {correlation:.2f}), so slow ups and downs that are normal here may ring an alarm."
                " Chart the mean of every {group} loads: set charts.group = {group}, with a set-up"
                " phase of {loads} loads or more.",
                name=name,
                correlation=chart.autocorrelation,
                group=wanted,
                loads=wanted * LEAST_SET_UP,
            )
            found.append(Finding("loads_hang_together", field, text))
        if not chart.set_up.is_normal:
            text = say(
                "{name} does not spread normally in the set-up phase (skewness {skewness:.1f},"
                " excess kurtosis {kurtosis:.1f}): the chart goes by ranks, for which that does"
                " not matter.",
                name=name,
                skewness=chart.set_up.skewness,
                kurtosis=chart.set_up.excess_kurtosis,
            )
            found.append(Finding("not_normal", field, text))
    return found
