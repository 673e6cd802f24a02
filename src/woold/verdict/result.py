"""What a verdict says. Field names are JSON keys, listed in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.prediction.result import CAUTIONS
from woold.rows.told import Told
from woold.transport.result import Limit as TransportLimit

__all__ = ["Limit", "Sureness", "Verdict", "VerdictPart", "VerdictWord"]

Limit = (
    TransportLimit | Literal["target", "edge_load", "grip", "film_strength", "drive", "simulated"]
)
"""What may decide whether a load holds."""

VerdictWord = Literal["not_asked", "holds", "does_not_hold", "cannot_be_said"]
"""The verdict in a word."""


@dataclass(frozen=True, slots=True)
class VerdictPart:
    """One thing that the verdict rests on.

    Args:
        limit: what it is.
        field: field of the case that asks for it.
        holds: None where it cannot be said.
        share: of what is asked, 1 or more holds; None where nothing of a limit is used, or no
            share can be given [-].
        value, asked: what there is, and the least or most that is asked for, in `unit`; None where
            there is no number.
        unit: SI unit of the two.
        low_m, high_m: zone of height over the deck that it is about; None where it is about none.
        height_m: where in it is worst; None likewise.
        profile, direction: of a transport; "" for the rest.
        share_below: share of the zone's sides that hold less than is asked; None likewise [-].
        layers_missing: layers of film that would make up for what is missing; None likewise.
        friction_needed: static friction at which a tier stays without film; None where none slips
            [-].
        decided_by: inputs that nobody measured and that turn the answer over their ranges.
        share_least, share_most: of what is asked over those ranges; None where no share can be
            given, or nothing of a limit is used [-].
        reason: why it cannot be said, as a sentence.
    """

    limit: Limit
    field: str
    holds: bool | None
    share: float | None = None
    value: float | None = None
    asked: float | None = None
    unit: str = ""
    low_m: float | None = None
    high_m: float | None = None
    height_m: float | None = None
    profile: str = ""
    direction: str = ""
    share_below: float | None = None
    layers_missing: float | None = None
    friction_needed: float | None = None
    decided_by: tuple[str, ...] = ()
    share_least: float | None = None
    share_most: float | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Sureness:
    """How often it holds when what is not known exactly lies anywhere in its range.

    Args:
        share: of the draws in which it holds [-].
        low, high: 95 % interval of that share for so many draws [-].
        draws: how many were judged.
        refused: those of them whose values cannot be; they count as not holding.
        seed: of the draws.
        varied: inputs that were drawn, the law of the film's width among them.
    """

    share: float
    low: float
    high: float
    draws: int
    refused: int
    seed: int
    varied: tuple[str, ...]


@dataclass(frozen=True, slots=True, repr=False)
class Verdict(Told):
    """Whether a load holds what is asked of it: an engineering estimate.

    Args:
        asked: something is asked of the hold.
        asked_by: fields of the case that ask.
        word: the verdict in a word.
        holds: None where it cannot be said, or nothing is asked.
        share: of what is asked, at the worst place; 1 or more holds; None where it cannot be said
            or nothing of any limit is used [-].
        limited_by: what limits it; None where nothing is asked.
        worst: the part that limits it; None likewise.
        parts: everything that was judged.
        answer: the answer in a sentence or two.
        mend: what would mend it first; "" where it holds or nothing is asked.
        later_s: age of the film.
        safe_side: share by which the film's force is judged below the best guess of its loss [-].
        patch_height_m, patch_length_m: patch of film over which containment is judged.
        sure: how often it holds over the ranges of the inputs; None where that was not asked.
    """

    told_as = "verdict"
    told_by = "woold.verdict.rows:verdict_blocks"

    cautions = CAUTIONS

    asked: bool
    asked_by: tuple[str, ...]
    word: VerdictWord
    holds: bool | None
    share: float | None
    limited_by: Limit | None
    worst: VerdictPart | None
    parts: tuple[VerdictPart, ...]
    answer: str
    mend: str
    later_s: float
    safe_side: float
    patch_height_m: float
    patch_length_m: float
    sure: Sureness | None = None

    @property
    def fails(self) -> bool:
        """Something is asked, and it is not known to hold: the exit status 1 of a command."""
        return self.asked and self.holds is not True
