"""What is made of each trial of a store, and which trials nothing can be made of."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from woold.errors import WooldError
from woold.prediction.result import Finding
from woold.store import Store
from woold.trial.records import TrialRecords, asked_trials, trial_records

__all__ = ["made_of_trials"]

Made = TypeVar("Made")


def made_of_trials(
    store: Store, keys: Sequence[str], make: Callable[[TrialRecords], Made]
) -> tuple[list[Made], list[Finding]]:
    """What is made of each trial, and a finding for each of which nothing can be made.

    Args:
        store: where.
        keys: of the trials to take; all where empty.
        make: makes it of a trial's records.

    Raises:
        InputError: a key that is not there.
    """
    found: list[Made] = []
    findings: list[Finding] = []
    for key in asked_trials(store, keys):
        try:
            found.append(make(trial_records(store, key)))
        except WooldError as error:
            findings.append(Finding("trial_left_out", key, str(error.problems[0])))
    return found, findings
