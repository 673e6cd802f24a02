"""What a reader must be told of recipes before any is set."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from woold.line.recipe_result import MachineRecipes
from woold.prediction.result import Finding
from woold.words import say

__all__ = ["recipe_findings"]


def recipe_findings(found: Sequence[MachineRecipes], without: Sequence[str]) -> Iterable[Finding]:
    """Machines without a carriage, loads without a recipe, and what today's do not do.

    Args:
        found: recipes by machine and film.
        without: models of machine of which nobody says which carriage is fitted.
    """
    if without:
        yield Finding(
            "carriage_today_unknown",
            "machines",
            say(
                "Which carriage is fitted is not stated, or not the same, on {machines}: no recipe"
                " is said for them.",
                machines=", ".join(without),
            ),
        )
    unserved = sum(len(each.unserved) for each in found)
    if unserved:
        yield Finding(
            "loads_without_recipe",
            "line.catalogue",
            say(
                "Loads that no program tried serves: {count} kinds. They are named below, with what"
                " limits them; do not wrap them by another's recipe.",
                count=unserved,
            ),
        )
    at_end = [f"{each.machine}, {each.film}" for each in found if each.at_end_of_tried]
    if at_end:
        yield Finding(
            "best_at_the_end",
            "line.programs",
            say(
                "The largest force or the least overlap tried is among the recipes of {count}"
                " machines with a film, such as {example}. More of it may save more film, and asks"
                " more of film and load: try it on one load before it is set.",
                count=len(at_end),
                example=at_end[0],
            ),
        )
    fails = sum(each.today_fails for each in found)
    if fails:
        yield Finding(
            "today_does_not_work",
            "line.recipes",
            say(
                "Kinds of load that do not work by today's recipe, as predicted: {count}. Look at"
                " them first: woold line map.",
                count=fails,
            ),
        )
