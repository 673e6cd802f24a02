"""Reports of a line: spring kits, recipes, parts and wear, and which machines come first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from woold.line.kit_rows import kit_blocks
from woold.line.recipe_result import LineRecipes
from woold.line.recipe_rows import recipe_blocks
from woold.line.release_belief import trial_value
from woold.line.release_result import Release
from woold.line.release_rows import release_blocks
from woold.line.spring_kits import SpringKits
from woold.line.wear_result import LineWear
from woold.line.wear_rows import wear_blocks
from woold.line.whole_numbers import WholeChoices
from woold.physics import demand, film, grip
from woold.report.making import Making, closing_blocks, finding_blocks, finished
from woold.report.model import Report
from woold.rows.blocks import Block, Heading
from woold.words import to_say

__all__ = ["LineResult", "line_plan_report"]

LineResult = SpringKits | LineRecipes | LineWear | Release


def line_plan_report(result: LineResult, making: Making) -> Report:
    """The report of what a line was asked.

    Args:
        result: the answer.
        making: how the report is made.
    """
    say = making.say
    told: Iterable[Block]
    match result:
        case SpringKits():
            kind, told = "kits", kit_blocks(result, say)
        case LineRecipes():
            kind, told = "recipes", recipe_blocks(result, say)
        case LineWear():
            kind, told = "wear", wear_blocks(result, say)
        case Release():
            kind, told = "release", release_blocks(result, say)
    # The title stands above the report and says the same as the first heading: parts follow it.
    blocks: list[Block] = [
        Heading(each.text) if isinstance(each, Heading) else each
        for each in told
        if not (isinstance(each, Heading) and each.level == 2)
    ]
    blocks += finding_blocks(result.findings, say)
    blocks += closing_blocks(making, _sources(result), tuple(say(c) for c in result.cautions))
    return finished(kind, result.title or say("A line without a title"), blocks, making)


def _sources(result: LineResult) -> Iterator[tuple[str, object]]:
    if not isinstance(result, LineWear):
        yield to_say("choices in whole numbers"), WholeChoices
    if isinstance(result, Release):
        yield to_say("worth of a trial"), trial_value
        return
    yield to_say("film demand"), demand.demand_range
    if not isinstance(result, SpringKits):
        yield to_say("film's curve"), film.true_stress
        yield to_say("grip of the rollers"), grip.grip_limit
