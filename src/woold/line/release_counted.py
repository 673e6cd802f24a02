"""What each trial counts for in a release."""

from __future__ import annotations

from collections.abc import Sequence

from woold.line.folded_names import folded
from woold.line.release_evidence import Evidence
from woold.line.release_file import ReleaseFile
from woold.line.release_planner import TriedTogether
from woold.line.release_result import TrialCounted
from woold.sites.site_table import Site
from woold.words import say

__all__ = ["trials_counted"]


def trials_counted(
    asked: ReleaseFile, evidence: Evidence, groups: Sequence[TriedTogether]
) -> tuple[TrialCounted, ...]:
    """Every trial with what it counts for: machines' own ones, further sites, those left out.

    Args:
        asked: the release.
        evidence: its trials.
        groups: machines that are tried together, with their own trials.
    """
    machines = {site.name: len(group.machines) for group in groups for site in group.own}
    counted = [
        TrialCounted(
            trial=site.name,
            carriage=site.carriage,
            machine=site.machine or site.model,
            film=site.film,
            saving=site.saving,
            saving_error=site.standard_error * (1.0 - site.saving),
            counts_as="own" if site.name in machines else "further site",
            machines=machines.get(site.name, 0),
            reason="" if site.name in machines else _why_no_own(asked, site),
        )
        for site in evidence.table.sites
    ]
    counted.sort(key=lambda each: each.counts_as != "own")
    left = [
        TrialCounted(
            trial=each.trial,
            carriage=each.carriage,
            machine=each.machine,
            film=each.film,
            saving=each.saving,
            saving_error=None,
            counts_as="left out",
            machines=0,
            reason=each.why,
        )
        for each in evidence.left_out
    ]
    return (*counted, *left)


def _why_no_own(asked: ReleaseFile, site: Site) -> str:
    """Why a trial is no machine's own."""
    if not site.carriage:
        return say("nobody says which carriage it tried")
    if folded(site.carriage) != folded(asked.carriage):
        return say("it tried another carriage: {name}", name=site.carriage)
    if not (site.machine or site.model) or not site.film:
        return say("nobody says on which machine and film it was made")
    return say("no machine here is of its model and runs its film")
