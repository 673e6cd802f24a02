"""Trials of a store as sites that were tried."""

from __future__ import annotations

import numpy as np

from woold.errors import WooldError
from woold.prediction.result import Finding
from woold.quote.expected import TriedSites
from woold.sites.from_store import site_of_trial
from woold.store import Store
from woold.trial.records import asked_trials, trial_records
from woold.words import say

__all__ = ["tried_in_store"]


def tried_in_store(store: Store) -> tuple[TriedSites | None, tuple[Finding, ...]]:
    """Effects of all trials that can be compared; None where there is none.

    Args:
        store: where.

    Returns:
        The sites, and a finding for every trial that cannot be compared yet.
    """
    sites, findings = [], []
    for key in asked_trials(store, ()):
        try:
            sites.append(site_of_trial(trial_records(store, key)))
        except WooldError as error:
            text = say("{trial} is left out: {why}", trial=key, why=str(error.problems[0]))
            findings.append(Finding("trial_left_out", key, text))
    if not sites:
        return None, tuple(findings)
    effects = np.array([each.effect for each in sites])
    return TriedSites(effects, np.array([each.standard_error for each in sites])), tuple(findings)
