"""The store as a source: what a trial promised, and its candidate's loads as cycle records."""

from __future__ import annotations

import datetime

import numpy as np

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.trial.compare import compare_types, comparison, means_of
from woold.trial.records import TrialRecords
from woold.trial.table import LoadTable, load_table
from woold.watch.records import Records
from woold.watch.settings import Promise
from woold.words import say

__all__ = ["candidate_loads", "promises_of_trial"]

_BASELINE, _CANDIDATE = 0, 1


def promises_of_trial(records: TrialRecords) -> tuple[Promise, ...]:
    """What a trial promised for each of its load types: its baseline's film and its saving.

    The saving's limits are those of the load type where both treatments have two loads of it, else
    those of the whole trial.

    Raises:
        InputError: too few loads to compare.
    """
    table = load_table(records)
    whole = comparison(means_of(table, table.film_mass, "film mass"))
    promises = []
    for each in compare_types(table):
        interval = each.interval or whole.log_ratio
        ratio = each.ratio if each.interval else whole.ratio
        if interval.low is None or interval.high is None:
            continue
        promises.append(
            Promise(
                load_type=each.load_type,
                baseline_film_per_load=each.baseline_kg,
                baseline_standard_error=_baseline_error(table, each.load_type),
                saving=1.0 - ratio,
                saving_low=1.0 - interval.high,
                saving_high=1.0 - interval.low,
            )
        )
    if not promises:
        raise InputError.one(
            "--promise",
            say("{key}, without a saving", key=records.setup.trial.key),
            say("a trial that was weighed"),
            say("Enter both treatments' loads first, or promise from a file with --settings."),
        )
    return tuple(promises)


def _baseline_error(table: LoadTable, load_type: str) -> float:
    """Standard error of the baseline's mean film of a type; the usual spread for a single load."""
    code = table.type_names.index(load_type)
    known = np.isfinite(table.film_mass) & table.of_treatment(_BASELINE)
    values = table.film_mass[known & (table.load_type == code)]
    if values.size > 1:
        return float(values.std(ddof=1) / np.sqrt(values.size))
    return float(table.film_mass[known].std(ddof=0))


def candidate_loads(records: TrialRecords) -> Records:
    """The candidate's loads of a trial, in the order of the trial, as cycle records.

    A load's time is when it was written down; loads written down together are a millisecond apart.

    Raises:
        InputError: no load of the candidate.
    """
    import polars as pl

    key = records.setup.trial.key
    table = load_table(records)
    by_number = {each.cells["load"].typed: each for each in records.loads}
    rows: dict[str, list[object]] = {
        name: []
        for name in (
            "source_row", "time", "machine", "load_type", "film_mass_kg", "cycle_time_s", "breaks",
            "roll", "shift",
        )
    }  # fmt: skip
    latest = datetime.datetime.min
    for index, number in enumerate(table.numbers):
        if table.treatment[index] != _CANDIDATE:
            continue
        record = by_number[number]
        written = datetime.datetime.fromisoformat(record.at).astimezone(datetime.UTC)
        latest = max(written.replace(tzinfo=None), latest + datetime.timedelta(milliseconds=1))
        words = {
            name: record.cells[name].typed if name in record.cells else None
            for name in ("roll", "shift")
        }
        values = (
            index + 1,
            latest,
            key,
            table.type_names[table.load_type[index]],
            *(
                float(array[index]) if np.isfinite(array[index]) else None
                for array in (table.film_mass, table.cycle_time, table.breaks)
            ),
            words["roll"],
            words["shift"],
        )
        for name, value in zip(rows, values, strict=True):
            rows[name].append(value)
    if not rows["time"]:
        raise InputError.one(
            "--trial",
            say("{key}, without a load of the candidate", key=key),
            say("loads"),
            say("Enter loads of the candidate first."),
        )
    # A column of nothing has no type, and is left out below.
    frame = pl.DataFrame(rows)
    empty = [name for name in frame.columns if frame[name].null_count() == frame.height]
    finding = Finding(
        "time_of_writing", key, say("a load's time is when it was written down in the trial.")
    )
    return Records(frame.drop(empty), (finding,))
