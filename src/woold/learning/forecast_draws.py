"""What was learnt, as it is kept for later questions: of its draws as many as a forecast needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from woold.case.model import Case
from woold.learning.forecast import NEW_SITE
from woold.learning.learned import Learned
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
        sites, ways: spreads by kind, shape (draws, kinds).
    """

    trials: tuple[str, ...]
    unknowns: SharedUnknowns
    draws: Array
    kinds: tuple[str, ...]
    sites: Array
    ways: Array

    can_be_trusted = True

    @classmethod
    def of(cls, learned: Learned) -> Self:
        """The same with draws evenly picked.

        Args:
            learned: what was learnt; it must be trusted.
        """
        step = -(-len(learned.draws) // _MOST)
        draws = learned.draws[::step]
        sites, ways = learned.density.spreads(draws)
        return cls(learned.trials, learned.unknowns, draws, learned.density.kinds, sites, ways)

    @property
    def density(self) -> Self:
        """Where spreads are asked for."""
        return self

    def spreads(self, _draws: Array) -> tuple[Array, Array]:
        """Spreads between sites and between ways, by kind, of every draw."""
        return self.sites, self.ways

    def tells(self, case: Case) -> bool:
        """Whether something was learnt of one of a case's inputs."""
        found = self.unknowns.known(case, NEW_SITE, "")
        return any(place is not None for _, place, _ in found)
