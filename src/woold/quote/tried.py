"""Sites that were tried, as a quote takes them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path

import numpy as np

from woold.prediction.result import Finding
from woold.quote.expected import TriedSites
from woold.sites.read_sites import read_sites
from woold.sites.site_table import Site
from woold.words import say

__all__ = ["sites_of_table", "tried_sites"]


def tried_sites(
    sites: Sequence[Site], findings: Sequence[Finding]
) -> tuple[TriedSites | None, tuple[Finding, ...]]:
    """Sites as a quote takes them, and findings that name the trials that were left out.

    Args:
        sites: those of a store's trials that can be compared.
        findings: why others cannot.
    """
    left_out = tuple(
        Finding(
            each.code,
            each.field,
            say("{trial} is left out: {why}", trial=each.field, why=each.message),
        )
        for each in findings
    )
    if not sites:
        return None, left_out
    effects = np.array([each.effect for each in sites])
    return TriedSites(effects, np.array([each.standard_error for each in sites])), left_out


def sites_of_table(path: Path, cells: Collection[str]) -> tuple[TriedSites, tuple[Finding, ...]]:
    """Sites of a file as a quote takes them, and a finding about how they were read.

    Args:
        path: a CSV or TOML file of sites.
        cells: that were asked about and are right, "sites.csv, line 3.saving".

    Raises:
        InputError: as :func:`read_sites`.
    """
    table = read_sites(path, cells)
    told = (Finding("read_as", path.name, table.read_as),) if table.read_as else ()
    return TriedSites(table.effects, table.standard_errors), told
