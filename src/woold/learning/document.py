"""What was learnt as a JSON document."""

from __future__ import annotations

from dataclasses import dataclass

from woold.learning.forecast import Forecast
from woold.learning.held_back import HeldBack, PlainAverage
from woold.learning.learned import Learned, LearnedInput, LearnedReading, LearnedSpread
from woold.learning.sampling import Diagnostics
from woold.prediction.result import CAUTIONS
from woold.prediction.yearly import Estimate
from woold.rows.document import JsonDocument
from woold.words import say

__all__ = ["LearnedDocument", "learned_document"]


@dataclass(frozen=True, slots=True)
class LearnedDocument(JsonDocument):
    """What was learnt, and what it says of a case.

    Args:
        trials: keys of the trials.
        is_trusted: whether anything is said; `diagnostics` says why not.
        inputs, spreads, readings: as :class:`woold.learning.learned.Learned` holds them.
        drift: how far grip differs from site to site, as a share; null where no grip is unknown.
        forecast: of the case that was asked about; null if none was.
        plain: the trials' plain average, to be seen beside it; null where there are not two.
        held_back: a trial that was not learnt from, beside what the others say of it; null if none.
        diagnostics: of the draws.
        findings: what limits it.
        cautions: the usual ones.
    """

    told_as = "learned"

    trials: tuple[str, ...]
    is_trusted: bool
    inputs: tuple[LearnedInput, ...]
    spreads: tuple[LearnedSpread, ...]
    readings: tuple[LearnedReading, ...]
    drift: Estimate | None
    forecast: Forecast | None
    plain: PlainAverage | None
    held_back: HeldBack | None
    diagnostics: Diagnostics
    findings: tuple[str, ...]
    cautions: tuple[str, ...]


def learned_document(
    learned: Learned,
    told: Forecast | None = None,
    more_findings: tuple[str, ...] = (),
    plain: PlainAverage | None = None,
    back: HeldBack | None = None,
) -> LearnedDocument:
    """What was learnt, and what it says of a case.

    Args:
        learned: what was learnt.
        told: of a case; None if none was asked about.
        more_findings: of how the trials were read.
        plain: the trials' plain average.
        back: a trial that was not learnt from.
    """
    return LearnedDocument(
        trials=learned.trials,
        is_trusted=learned.can_be_trusted,
        inputs=learned.inputs,
        spreads=learned.spreads,
        readings=learned.readings,
        drift=learned.drift,
        forecast=told,
        plain=plain,
        held_back=back,
        diagnostics=learned.diagnostics,
        findings=(*more_findings, *learned.findings),
        cautions=tuple(say(each) for each in CAUTIONS),
    )
