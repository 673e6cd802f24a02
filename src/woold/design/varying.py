"""The best program whose rise varies with height, of all that are looked for in different ways.

Quick travel with waits of parts of a turn (`woold.design.profiled`) is best where much is needed;
where two or three layers are, whole turns at stops on a steady rise often take less film; where
tiers must not travel, whole turns where one stay lies over most of them (`tier_stops`); and one
rise alone is a rise that varies as well. The best of them is then polished, and the last kind by
itself, since it leaves most to polish.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from woold.design.candidate import Objective
from woold.design.choices import Choices
from woold.design.polished import polished
from woold.design.profiled import best_profiled
from woold.design.refined import best_between
from woold.design.search import Search
from woold.design.tier_stops import best_at_stops
from woold.design.verified import Verified, best_verified, verify

__all__ = ["best_varying"]

_MOST_STOPS = 6


def best_varying(
    search: Search, choices: Choices, objective: Objective, chosen: Verified | None
) -> Verified | None:
    """The best program whose rise may vary with height; None where none was found.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
        chosen: the best program of one rise.
    """
    below = chosen.candidate.score if chosen else float("inf")
    waiting = best_profiled(search, choices, partial(verify, search), objective, below)
    stopping = replace(choices, bands_most=max(choices.bands_most, _MOST_STOPS))
    on_steps, _ = best_verified(search, stopping, objective, below=below)
    found = [chosen, None if waiting is None else waiting.made]
    if on_steps is not None:
        found.append(best_between(search, stopping, objective, on_steps)[0])
    held = [each for each in found if each is not None]
    best = min(held, key=_score, default=None)
    starts = [best, best_at_stops(search, choices, objective)]
    made = [polished(search, choices, objective, each) for each in starts if each is not None]
    return min(made, key=_score, default=None)


def _score(made: Verified) -> float:
    return made.candidate.score
