"""What was learnt, as it is kept for later questions: of its draws as many as a forecast needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.learning.learned import Learned
from woold.learning.new_site import NEW_SITE
from woold.learning.shared_unknowns import SharedUnknowns

__all__ = ["ForecastDraws"]

Array = npt.NDArray[np.float64]

_MOST = 2000


@dataclass(frozen=True, eq=False)
class ForecastDraws:
    """What was learnt and can be trusted.

    Args:
        trials: keys of the trials.
        unknowns: whose the draws are.
        draws: of every unknown, shape (draws, unknowns).
        kinds: of readings.
        spreads_by_kind: between sites and between ways, each of shape (draws, kinds).
    """

    trials: tuple[str, ...]
    unknowns: SharedUnknowns
    draws: Array
    kinds: tuple[str, ...]
    spreads_by_kind: tuple[Array, Array]

    can_be_trusted = True

    @classmethod
    def of(cls, learned: Learned) -> Self:
        """The same with draws evenly picked.

        Args:
            learned: what was learnt; it must be trusted.
        """
        step = -(-len(learned.draws) // _MOST)
        sites, ways = learned.spreads_by_kind
        return cls(
            learned.trials,
            learned.unknowns,
            learned.draws[::step],
            learned.kinds,
            (sites[::step], ways[::step]),
        )

    def tells(self, case: Case) -> bool:
        """Whether something was learnt of one of a case's inputs."""
        found = self.unknowns.known(case, (NEW_SITE, ""))
        return any(place is not None for _, place in found)
