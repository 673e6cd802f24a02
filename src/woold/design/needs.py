"""What must lie at each height of helices so that a program of one film and force holds."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from woold.design.bound import tier_turns, travel_of, whole_layers
from woold.design.candidate import Group, Query
from woold.design.felt_need import FeltNeed, older_factor
from woold.design.helices import Helices, Need
from woold.design.targets import LayerZone, Targets
from woold.physics.tier_wraps import TierTables

__all__ = ["felt_needs", "helix_needs"]

_NEARLY = 1.002
"""Older film that needs no more than this many times as many layers is nearly like new film [-]."""

Floats = NDArray[np.float64]


def helix_needs(
    targets: Targets, group: Group, query: Query, heights: Floats, oldest: float
) -> list[Need]:
    """What is needed at each height: as if all film were the youngest, and the oldest.

    Film laid earlier has lost a little more force. The first need is never too high, the second
    never too low; where both are the same nothing is open. Where there may be stops, ways to share
    the tiers' travel are needs as well.

    Args:
        targets: what must be held.
        group: film, pre-stretch and force.
        query: what is looked for.
        heights: over the deck, shape (heights,) [m].
        oldest: age of the first film when the longest cycle ends [s].
    """
    needs: list[Need] = []
    for age in (oldest,) if query.safe else (0.0, oldest):
        tables = targets.tier_tables(group.case, group.sheet, age)
        for zones in _zone_sets(targets, group, query, age, tables):
            layers = _layers_at(heights, zones)
            if layers is None:
                continue
            need = Need(layers, tables)
            if not any(_same(need, other) for other in needs):
                needs.append(need)
    return needs


def felt_needs(
    targets: Targets, group: Group, query: Query, laid: tuple[Helices, FeltNeed], ages: Floats
) -> list[Need]:
    """What is needed where a verdict asks it over patches: as if all film were the oldest.

    Where film loses much of its force during a cycle, as if it were half as old, too.

    Args:
        targets: what must be held.
        group: film, pre-stretch and force.
        query: what is looked for.
        laid: the helices, and what patches of film that was just laid need.
        ages: age of each helix's first film when its cycle ends, shape (programs,) [s].
    """
    helices, felt = laid
    needs = []
    oldest = older_factor(group.case, ages)
    is_sure = query.safe or float(oldest.max()) < _NEARLY
    factors = (oldest,) if is_sure else (older_factor(group.case, 0.5 * ages), oldest)
    age = float(ages.max())
    for factor in factors:
        zones = targets.layer_zones(group.case, group.sheet, age, is_felt=True)
        layers = _layers_at(helices.heights, zones)
        if layers is None:
            continue
        tables = targets.tier_tables(group.case, group.sheet, age)
        needs.append(Need(layers, tables, felt=replace(felt, factor=factor)))
    return needs


def _layers_at(heights: Floats, zones: Iterable[LayerZone]) -> Floats | None:
    """Whole layers needed at heights; None where film of that age never holds it."""
    layers = np.zeros(heights.size)
    for zone in zones:
        if not math.isfinite(zone.layers):
            return None
        inside = (heights >= zone.low - 1e-9) & (heights <= zone.high + 1e-9)
        layers[inside] = np.maximum(layers[inside], whole_layers(zone.layers))
    return layers


def _zone_sets(
    targets: Targets, group: Group, query: Query, age: float, tables: TierTables | None
) -> Iterator[list[LayerZone]]:
    """The least that is needed, and what is with the tiers' travel shared in other ways."""
    zones, tiers = list(targets.layer_zones(group.case, group.sheet, age)), targets.tiers
    yield zones
    if tables is None or tiers is None or query.choices.bands_most == 0:
        return
    even = tiers.even_layers(tables)
    shared = [*tiers.shared_layers(tables), *([] if even is None else [even])]
    if query.safe:
        travel = travel_of(group.case, query.choices, group.sheet.width)
        shared.append(tier_turns(targets, group, travel, age)[1])
    for layers in shared:
        yield zones + targets.tier_zones(group.case, layers)


def _same(one: Need, other: Need) -> bool:
    """Whether two needs ask for the same."""
    if not np.array_equal(one.layers, other.layers):
        return False
    if one.tiers is None or other.tiers is None:
        return one.tiers is other.tiers
    tables = zip(one.tiers, other.tiers, strict=True)
    return all(np.array_equal(np.asarray(a), np.asarray(b)) for a, b in tables)
