"""Everything that the trials of a store have wrapped and measured, and that a case explains."""

from __future__ import annotations

from collections.abc import Sequence

from woold.errors import InputError
from woold.learning.far_off import without_far_off
from woold.learning.roll_labels import with_roll_labels
from woold.learning.wrapped import Wrapped, wrapped_in_trial
from woold.prediction.result import Finding
from woold.shelf.kept import KeptShelf
from woold.store import Store
from woold.trial.every_trial import made_of_trials
from woold.words import say

__all__ = ["wrapped_in_store"]


def wrapped_in_store(
    store: Store, keys: Sequence[str] = ()
) -> tuple[tuple[Wrapped, ...], tuple[Finding, ...]]:
    """Everything that the trials of a store have wrapped and measured, and its shelf of the rolls.

    Args:
        store: where.
        keys: of the trials to take; all where empty.

    Returns:
        What was wrapped, and a finding for every trial, or way of wrapping in one, that teaches
        nothing.

    Raises:
        InputError: a key that is not there, or nothing to learn from.
    """
    trials, findings = made_of_trials(store, keys, wrapped_in_trial)
    found, far_off = without_far_off([each for trial in trials for each in trial])
    findings += far_off
    if not found:
        left = "; ".join(f"{each.field}: {each.message}" for each in findings)
        raise InputError.one(
            "store",
            left or say("no trial"),
            say("at least one trial with case files and measured loads"),
            say("Name case files in the trial, wrap and measure: woold trial import."),
        )
    return tuple(with_roll_labels(found, KeptShelf(store.engine).shelf())), tuple(findings)
