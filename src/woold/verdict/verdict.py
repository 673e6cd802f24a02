"""The verdict on a load: one object from its case, its prediction and its transport screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from woold.case.model import Case
from woold.errors import WooldError
from woold.prediction.result import Prediction
from woold.rows.wording import Wording
from woold.transport.result import TransportResult
from woold.transport.screen import screened_ways
from woold.transport.unmeasured import MARGIN
from woold.verdict.parts import asking_fields, judged_parts, simulated_parts, transport_parts
from woold.verdict.result import Sureness, Verdict, VerdictPart, VerdictWord
from woold.verdict.targets import patch_size, safe_side
from woold.verdict.texts import answer_text, mend_text

if TYPE_CHECKING:  # it brings the compiled simulation, which most verdicts do without
    from woold.transport.simulation import TransportSimulation

__all__ = ["holds_all", "verdict_of"]


def verdict_of(
    case: Case,
    prediction: Prediction,
    transport: TransportResult | None = None,
    sure: Sureness | None = None,
    simulation: TransportSimulation | None = None,
) -> Verdict:
    """Whether a load holds what its case asks, by how much, and what limits it.

    "No" if any part is no; "cannot be said" if a part cannot be judged and none is no.

    Args:
        case: the case.
        prediction: its prediction.
        transport: its screen, where that is known already; else it is made where one is asked for.
        sure: how often it holds, where that was asked.
        simulation: the load moved over time, where that was asked: if it falls or travels too far
            there, the answer is no, whatever the screen says.
    """
    fields = asking_fields(case)
    parts = tuple(_parts(case, prediction, transport, simulation)) if fields else ()
    holds, share, worst = _worst(parts)
    say = Wording()
    patch_height, patch_length = patch_size()
    return Verdict(
        asked=bool(fields),
        asked_by=fields,
        word=_word(bool(fields), holds),
        holds=holds,
        share=share,
        limited_by=None if worst is None else worst.limit,
        worst=worst,
        parts=parts,
        answer=answer_text(bool(fields), holds, share, worst, say),
        mend="" if worst is None or worst.holds else mend_text(worst, say),
        later_s=case.hold.after,
        safe_side=safe_side(case),
        patch_height_m=patch_height,
        patch_length_m=patch_length,
        sure=sure,
    )


def _word(asked: bool, holds: bool | None) -> VerdictWord:
    if not asked:
        return "not_asked"
    if holds is None:
        return "cannot_be_said"
    return "holds" if holds else "does_not_hold"


def _parts(
    case: Case,
    prediction: Prediction,
    transport: TransportResult | None = None,
    simulation: TransportSimulation | None = None,
) -> Iterator[VerdictPart]:
    """Every part that a verdict rests on; the transport's last, since it takes longest."""
    yield from judged_parts(case, prediction)
    if case.transport is None:
        return
    if transport is None:
        try:
            transport = screened_ways(case, prediction)
        except WooldError as error:
            first = error.problems[0]
            yield VerdictPart("slip", first.field, holds=None, reason=str(first))
            return
    if simulation is None:
        yield from transport_parts(transport)
        return
    stands = {(way.profile, way.direction) for way in simulation.ways if way.holds}
    for part in transport_parts(transport):
        # What the screen cannot say of how a start moves the load, the simulation can.
        is_moved = part.holds is None and set(part.decided_by) <= {MARGIN}
        if is_moved and (part.profile, part.direction) in stands:
            part = replace(part, holds=True, share=part.share_most, decided_by=(), reason="")
        yield part
    yield from simulated_parts(simulation, transport)


def holds_all(case: Case, prediction: Prediction) -> bool | None:
    """No if any part is no; None if one cannot be judged and none is no.

    Args:
        case: a case that asks something.
        prediction: its prediction.
    """
    is_unknown = False
    for each in _parts(case, prediction):
        if each.holds is False:
            return False
        is_unknown = is_unknown or each.holds is None
    return None if is_unknown else True


def _worst(parts: Sequence[VerdictPart]) -> tuple[bool | None, float | None, VerdictPart | None]:
    """Whether all hold, the share at the worst place, and the part that decides."""
    if not parts:
        return None, None, None
    failing = [each for each in parts if each.holds is False]
    # A simulation says that it falls; what the screen says of the same way names what to mend.
    failing = [each for each in failing if each.limit != "simulated"] or failing
    unknown = [each for each in parts if each.holds is None]
    sorting = _least_share if unknown and not failing else _share
    worst = min(failing or unknown or parts, key=sorting)
    if failing:
        return False, worst.share, worst
    if unknown:
        return None, None, worst
    return True, worst.share, worst


def _least_share(part: VerdictPart) -> float:
    """For sorting those that cannot be said: without any share first."""
    return -1.0 if part.share_least is None else part.share_least


def _share(part: VerdictPart) -> float:
    """For sorting: a part that fails without a share is worst, one that is not touched is best."""
    if part.share is not None:
        return part.share
    return float("inf") if part.holds else -1.0
