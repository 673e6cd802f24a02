"""What was wrapped and measured, load type by load type, as learning takes it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from woold.case.model import Case
from woold.errors import InputError
from woold.store import Store
from woold.trial.averages import DANCER, MASS, PULL, Average, machine_averages, roll_averages
from woold.trial.gauge_study import gauge_tables
from woold.trial.predictable import nothing_measured, predictable_averages
from woold.trial.records import TrialRecords, asked_trials
from woold.trial.setup import TREATMENTS
from woold.trial.table import load_table
from woold.words import say

__all__ = ["Wrapped", "other_trials", "time_of", "wrapped_in_trial"]


@dataclass(frozen=True, slots=True)
class Wrapped:
    """One load type, wrapped one way in one trial.

    Args:
        trial: key of the trial; a trial stands for a site.
        treatment: baseline or candidate.
        load_type: its name.
        case: what was wrapped, as stated.
        averages: what was measured of it.
        when: time of the trial [s], counted from 1970 or any other time that all trials share.
    """

    trial: str
    treatment: str
    load_type: str
    case: Case
    averages: tuple[Average, ...]
    when: float = 0.0


def other_trials(store: Store, keys: Sequence[str], apart: str | None) -> Sequence[str]:
    """Keys of the trials to take, without one that is held back.

    Args:
        store: where.
        keys: of the trials to take; all where empty.
        apart: of the one that is held back; None for none.

    Raises:
        InputError: a key that is not there, or nothing left.
    """
    taken = asked_trials(store, keys)
    if apart is None:
        return taken
    asked_trials(store, (apart,))
    left = [each for each in taken if each != apart]
    if not left:
        raise InputError.one(
            "--held-back",
            apart,
            say("one of at least two trials"),
            say("Nothing is left to learn from: wrap and measure another trial first."),
        )
    return left


def wrapped_in_trial(records: TrialRecords) -> tuple[Wrapped, ...]:
    """What one trial has wrapped and measured.

    Raises:
        InputError: no case file, or nothing measured on the load types that have one.
    """
    table, setup = load_table(records), records.setup
    found, when = [], time_of(records)
    gauges = _between_people(records)
    for side, treatment in enumerate(TREATMENTS):
        cases, averages = predictable_averages(table, setup, treatment)
        averages += machine_averages(table, side, list(cases))
        averages = [_with_gauge(each, gauges) for each in averages]
        averages += roll_averages(table, side, list(cases))
        for place, case in cases.items():
            own = tuple(each for each in averages if each.load_type == place)
            if own:
                name = setup.trial.load_types[place].name
                found.append(Wrapped(setup.trial.key, treatment, name, case, own, when))
    if not found:
        raise nothing_measured(setup.trial.key)
    return tuple(found)


def time_of(records: TrialRecords) -> float:
    """Mean time at which a trial's loads were written down [s, from 1970]; 0 without a load."""
    written = [datetime.datetime.fromisoformat(each.typed_at or each.at) for each in records.loads]
    return float(np.mean([each.timestamp() for each in written])) if written else 0.0


_INSTRUMENTS = {"scale": MASS, "pull": PULL, "dancer": DANCER}
"""Words by which a gauge study names what its gauge reads."""


def _between_people(records: TrialRecords) -> dict[str, float]:
    """What another person would read otherwise, by kind of reading, as a share [-].

    Repeats are in the spread from load to load; who reads stays the same all through a trial.
    """
    found: dict[str, float] = {}
    try:
        for name, table in gauge_tables([each.cells for each in records.gauges]).items():
            words = name.casefold()
            what = next((kind for word, kind in _INSTRUMENTS.items() if word in words), None)
            mean = float(table.readings.mean())
            if what is not None and mean > 0.0:
                found[what] = table.study().component("reproducibility").sd / mean
    except InputError:
        # A study that is not whole says nothing yet; the trial's own page tells what it lacks.
        return {}
    return found


def _with_gauge(average: Average, gauges: Mapping[str, float]) -> Average:
    """An average whose error holds what its gauge adds."""
    error = math.hypot(average.log_error, gauges.get(average.what, 0.0))
    return replace(average, log_error=error)
