"""Sites that were tried, as a quote takes them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from woold.prediction.result import Finding
from woold.quote.expected import TriedSites
from woold.sites.site_table import Site
from woold.words import say

__all__ = ["tried_sites"]


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
