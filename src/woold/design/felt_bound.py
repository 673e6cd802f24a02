"""What no program gets below that holds over every patch a hand can feel, not at every point.

Search and bound ask at every point of the sides; a verdict asks over patches. A patch that holds c
layers in the mean is touched by c passes, rounded up, since no pass counts for more than one. A
pass touches it as one that is wider by the patch's height, and by the step between patches, covers
its upper end; so what wider film needs over those ends is a bound for all that hold over patches.
"""

from __future__ import annotations

from dataclasses import replace

from woold.case.model import Case
from woold.design.choices import Choices
from woold.design.search import Search
from woold.physics.felt_patch import rows_of_zone
from woold.prediction.result import FeltMap, FilmOnLoad

__all__ = ["felt_film_bound"]

_BROKEN_PLACES = 2
"""Places round the load at which the film begins or ends, and a part of a pass may count [-]."""


def felt_film_bound(search: Search, choices: Choices, felt: FeltMap, exact: float) -> float | None:
    """Film below which no program holds what is asked over every patch [kg].

    Where no containment force is asked for, patches say nothing, and it is what is needed at every
    point.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        felt: patches of any program on this load.
        exact: film that is needed to hold it at every point [kg].

    Returns:
        The film; None where it is gathered into ropes, which touch otherwise.

    Source: derived here; each relaxation only makes the need easier.
    """
    zones = [zone for zone in search.targets.zones if zone.felt is not None]
    if not zones:
        return exact
    if search.case.program.ropes:
        return None
    rows, places = len(felt.patches), felt.patches.shape[1] // 2
    patch = search.case.load.height - (rows - 1) * felt.step
    wider = patch + felt.step + search.most_travel(choices) / places
    ends = []
    for zone in zones:
        assert zone.felt is not None
        first, last = rows_of_zone(zone.felt, felt.step, rows)
        if last > first:
            low, high = (row * felt.step + patch for row in (first, last))
            ends.append(replace(zone, low=low, high=high))

    def seen_as(_: Case, sheet: FilmOnLoad) -> FilmOnLoad:
        return replace(sheet, width=sheet.width + wider)

    kept = replace(search.targets, zones=tuple(ends), tiers=None)
    found = search.with_targets(kept).with_sheets(seen_as).bound(choices, "film")
    if found is None:
        return None
    heaviest = max(
        sheet.mass_per_metre
        for place in choices.films
        for prestretch in choices.prestretches
        for _, sheet in search.films.at_forces(place, prestretch, (min(choices.forces),))
    )
    broken = _BROKEN_PLACES * search.around.load / places
    least: float = found.bound - heaviest * broken
    if search.targets.tiers is not None:
        # Tiers are not asked over patches; with either need alone the film is no more.
        alone = search.with_targets(replace(search.targets, zones=())).bound(choices, "film")
        least = max(least, 0.0 if alone is None else alone.bound)
    return min(least, exact)
