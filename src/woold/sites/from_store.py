"""Trials in the store as sites: each trial's film saving with its standard error."""

from __future__ import annotations

import math
from collections.abc import Sequence

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.sites.site_table import Site, SiteTable, table_of_sites
from woold.store import Store
from woold.trial.compare import means_of
from woold.trial.every_trial import made_of_trials
from woold.trial.records import TrialRecords
from woold.trial.setup import TrialSetup
from woold.trial.table import load_table
from woold.words import say

__all__ = ["comparable_sites", "site_of_trial", "sites_of_store"]


def sites_of_store(store: Store, keys: Sequence[str] = ()) -> tuple[SiteTable, tuple[Finding, ...]]:
    """The trials of a store as sites; a trial stands for a site.

    Args:
        store: where.
        keys: of the trials to take; all where empty.

    Returns:
        The table, and a finding for every trial that cannot be compared yet.

    Raises:
        InputError: a key that is not there, or fewer than two trials that can be compared.
    """
    sites, findings = comparable_sites(store, keys)
    if len(sites) < 2:
        left = "; ".join(f"{each.field}: {each.message}" for each in findings)
        raise InputError.one(
            "sites",
            say("trials that can be compared: {count} ({left})", count=len(sites), left=left)
            if left
            else say("trials that can be compared: {count}", count=len(sites)),
            say("at least 2"),
            say("One trial says nothing about other sites: woold trial analyse is its report."),
        )
    return table_of_sites(sites), findings


def comparable_sites(
    store: Store, keys: Sequence[str] = ()
) -> tuple[tuple[Site, ...], tuple[Finding, ...]]:
    """The trials of a store that can be compared, as sites, however few they are.

    Args:
        store: where.
        keys: of the trials to take; all where empty.

    Returns:
        The sites, and a finding for every trial that cannot be compared yet.

    Raises:
        InputError: a key that is not there.
    """
    sites, findings = made_of_trials(store, keys, site_of_trial)
    return tuple(sites), tuple(findings)


def site_of_trial(records: TrialRecords) -> Site:
    """A trial's film saving over the annual mix, and what its candidate case says of it.

    effect = -ln(candidate/baseline), its variance = v_cc/c² + v_bb/b² - 2 v_bc/(b c).

    Raises:
        InputError: too few loads to compare.
    """
    table = load_table(records)
    means = means_of(table, table.film_mass, "film mass")
    c, b, v = means.candidate, means.baseline, means.covariance
    variance = float(v[0, 0] / c**2 + v[1, 1] / b**2 - 2.0 * v[0, 1] / (b * c))
    trial = records.setup.trial
    if not variance > 0.0:
        raise InputError.one(
            trial.key,
            say("film masses without spread"),
            say("weighed loads"),
            say("Was the scale read?"),
        )
    return Site(
        name=trial.key,
        saving=1.0 - means.ratio,
        effect=-math.log(means.ratio),
        standard_error=math.sqrt(variance),
        loads=len(table.numbers),
        covariates=_covariates(records.setup),
    )


def _covariates(setup: TrialSetup) -> dict[str, float]:
    """Force, film and load of the candidate's case of the load type wrapped most; SI."""
    most = max(setup.trial.load_types, key=lambda each: each.loads_per_year)
    case = setup.case(most.name, "candidate")
    if case is None:
        return {}
    return {
        "force_to_load": case.program.force_to_load,
        "thickness": case.film.thickness,
        "load_height": case.load.height,
    }
