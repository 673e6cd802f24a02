"""What was wrapped otherwise than planned, said beside the comparison."""

from __future__ import annotations

from woold.prediction.result import Finding
from woold.trial.records import TrialRecords
from woold.words import say

__all__ = ["plan_findings"]

_MOST_NAMED = 12


def plan_findings(records: TrialRecords) -> tuple[Finding, ...]:
    """Loads outside of the plan, and those of another treatment or type than planned; all count.

    Args:
        records: of the trial; without a plan there is nothing to say.
    """
    plan = {str(load.number): load for load in records.planned}
    if not plan:
        return ()
    outside = [each.cells["load"].typed for each in records.loads if each.key not in plan]
    other = [
        each.cells["load"].typed
        for each in records.loads
        if (load := plan.get(each.key)) is not None
        and (each.cells["treatment"].typed, each.cells["load_type"].typed.casefold())
        != (load.treatment, load.load_type.casefold())
    ]
    found = []
    if outside:
        words = say("Loads that were not planned, and are counted: {loads}.", loads=_named(outside))
        found.append(Finding("loads_not_planned", "load", words))
    if other:
        words = say(
            "Loads of another treatment or type than planned, counted as they were wrapped:"
            " {loads}. Unless the order was drawn at random, neither can be told from what led to"
            " the change.",
            loads=_named(other),
        )
        found.append(Finding("loads_not_as_planned", "treatment", words))
    return tuple(found)


def _named(loads: list[str]) -> str:
    return ", ".join(loads[:_MOST_NAMED]) + (", …" if len(loads) > _MOST_NAMED else "")
