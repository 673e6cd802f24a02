"""No program has fewer turns than a column of patches needs: by hand, and by trying to beat it."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from design_cases import random_case
from woold.case.design import Design
from woold.case.model import Case
from woold.case.program import BandStop
from woold.design.candidate import Group
from woold.design.choices import allowed_choices
from woold.design.patch_columns import Column, column_of, fewest_passes
from woold.design.targets import LayerZone, Targets
from woold.physics.felt_patch import felt_containment, felt_zone, patch_grid
from woold.physics.outlines import perimeter
from woold.prediction.film_on_load import film_on_load
from woold.prediction.predict import load_outline, program_legs

TRIED = int(os.environ.get("WOOLD_COLUMNS_TRIED", "12"))


@dataclass(frozen=True)
class Asked:
    """What is asked of a column: mean layers over patches of zones, and cover."""

    zones: tuple[LayerZone, ...]
    cover: LayerZone

    def felt_zones(self, *_: Any) -> tuple[LayerZone, ...]:
        return self.zones

    def layer_zones(self, *_: Any, **__: Any) -> tuple[LayerZone, ...]:
        return (self.cover,)


def passes(asked: Asked, case: Case, column: Column) -> float:
    group = Group(0, case, film_on_load(case), 0.0, 0.0, 0.0, 0.0)
    return fewest_passes(cast(Targets, asked), group, column)


def any_program(case: Case, rng: np.random.Generator, most: float) -> Case:
    """A program of any kind whose carriage travels no more than that in a turn."""
    low = case.program.start_height
    high = case.load.height + case.program.top_overlap - film_on_load(case).width
    stops = tuple(
        {
            "height": float(rng.uniform(low, high)),
            "wraps": float(rng.choice([0.1, 0.5, 1.0, 1.7, 2.0])),
            "on_the_way": str(rng.choice(["up", "down"]))
            if case.program.ends_at == "bottom"
            else "up",
        }
        for _ in range(rng.integers(0, 4))
    )
    stops = tuple(sorted(stops, key=lambda each: cast(float, each["height"])))
    rise, fall = (float(rng.choice([most, rng.uniform(0.3, 1.0) * most])) for _ in "ab")
    return case.with_values(
        {
            "program.bottom_wraps": float(rng.choice([1.0, 1.0, 1.4, 2.0, 3.0])),
            "program.top_wraps": float(rng.choice([1.0, 1.0, 1.5, 2.0])),
            "program.rise_per_turn": rise,
            "program.fall_per_turn": None if case.program.ends_at == "top" else fall,
            "program.bands": tuple(BandStop(**cast(Any, each)) for each in stops),
        }
    )


@pytest.mark.parametrize("seed", range(TRIED))
def test_no_program_makes_fewer_turns_than_the_column_of_what_it_holds(seed: int) -> None:
    """Whatever a program holds, asked for again: what it makes is enough."""
    rng = np.random.default_rng(seed)
    _, case = random_case(6 * int(rng.integers(0, 7)) + int(rng.choice([0, 1, 3, 4, 5])))
    width = film_on_load(case).width
    most = float(rng.uniform(0.4, 0.98)) * width
    case = any_program(
        case.with_values({"program.closing_wraps": float(rng.choice([0.0, 0.4, 1.0, 1.3]))}),
        rng,
        most,
    )
    legs = program_legs(case, width)
    around = perimeter(load_outline(case))
    felt = felt_containment(legs, [[1.0] * len(legs)], around, case.load.height)
    cut = float(rng.uniform(0.2, 0.8)) * case.load.height
    zones = tuple(
        LayerZone(*ends, felt_zone(felt.patches[0], felt.step, ends).least)
        for ends in ((0.0, cut), (cut, case.load.height))
    )
    asked = Asked(zones, LayerZone(0.0, case.load.height, 0.0))
    limits = Design(rise_most=most, rise_least=0.3 * most, bottom_wraps_least=1.0)
    choices = allowed_choices(case, (case.film,), limits)
    choices = replace(choices, rises=(most,), falls=(most,) if choices.falls else ())
    grid = patch_grid(around, case.load.height)
    fewest = passes(asked, case, column_of(case, choices, width, grid))
    turns = legs[-1].last_turn
    print(f"{seed}: {turns:.3f} turns, no fewer than {fewest:g}; asked {zones}")
    assert turns >= fewest - 2.0 / grid.around
    # The column says something: without travel and whole turns no more is known than the area.
    assert fewest >= zones[0].layers * cut / width - 1.0


def test_three_passes_where_no_two_reach_by_hand() -> None:
    # A load 20 mm higher than the film is wide, 1.7 layers asked of its lowest and highest 25 mm.
    # Film whose edge lies at e above the bottom covers (25 mm - e)/25 mm of the lowest patch, and
    # of the highest (5 mm + e)/25 mm. Of two passes one lies at the bottom: it leaves 0.7 to the
    # other, which then is no higher than 7.5 mm; of the highest patch the two have
    # (5 + 5 + 7.5)/25 = 0.7 layers, not 1.7. Three are enough: at 0, 10 and 20 mm they have
    # (25 + 15 + 5)/25 = 1.8 of either.
    _, case = random_case(0)
    width = film_on_load(case).width
    height = width + 0.020
    case = case.with_values({"load.height": height})
    grid = patch_grid(4.0, height)
    column = Column(grid, 0.0, 0.020, 0.4, False, 0.0, 0.0, ())
    one, whole = LayerZone(0.0, height, 1.7), LayerZone(0.0, height, 1.0)
    assert passes(Asked((one,), whole), case, column) == 3.0
    # What two do reach is not called three: one at the bottom and one at the top have 1.2.
    one = replace(one, layers=1.19)
    assert passes(Asked((one,), whole), case, column) == 2.0
    # Nor is a need that no whole turn is told from by rounding.
    one = replace(one, low=0.0, high=width, layers=2.0)
    assert passes(Asked((one,), whole), case, column) == 3.0
    # A rope of one turn over all of the lowest 50 mm is a pass; those above it need as many.
    rope = ((0.0, 0.050, 1.0, 1.0),)
    assert passes(Asked((one,), whole), case, replace(column, ropes=rope)) >= 3.0


def test_turns_of_a_rope_count_where_it_lies_and_nowhere_else_by_hand() -> None:
    # Film as wide as the load is high lies one way only, so that passes are the largest need.
    _, case = random_case(0)
    width = film_on_load(case).width
    case = case.with_values({"load.height": width})
    column = Column(patch_grid(4.0, width), 0.0, 0.0, 0.4, False, 0.0, 0.0, ())
    foot, side = LayerZone(0.0, 0.050, 5.0), LayerZone(0.0, width, 2.0)
    asked = Asked((foot, side), replace(side, layers=1.0))

    def with_rope(low: float, turns: float, layers: float) -> float:
        return passes(asked, case, replace(column, ropes=((low, low + 0.060, turns, layers),)))

    assert passes(asked, case, column) == 5.0
    # A turn gathered to a quarter of its width is 4 layers of the foot: 1 is left, 2 are asked of
    # the side, and the gathered turn is a turn as well.
    assert with_rope(0.0, 1.0, 4.0) == 3.0
    # Gathered to a half it is 2 of the 5.
    assert with_rope(0.0, 1.0, 2.0) == 4.0
    # Half way up it helps nobody.
    assert with_rope(0.5 * width, 1.0, 4.0) == 6.0
    # A turn and a half lie twice at some place: all 5 are there, and one whole turn is counted.
    assert with_rope(0.0, 1.5, 4.0) == 3.0


@pytest.mark.parametrize("seed", range(6))
def test_fewest_passes_beside_a_rope_are_those_of_another_solver(seed: int) -> None:
    """Whole passes at every millimetre, with what a rope lays over each patch, by scipy's milp."""
    rng = np.random.default_rng(seed)
    _, case = random_case(0)
    width = film_on_load(case).width
    travel = float(rng.uniform(0.05, 0.3))
    height = width + travel
    case, grid = case.with_values({"load.height": height}), patch_grid(4.0, height)
    cut = float(rng.uniform(0.3, 0.7)) * height
    zones = tuple(
        LayerZone(*ends, float(rng.uniform(1.0, 6.0))) for ends in ((0.0, cut), (cut, height))
    )
    turns, low, layers = float(rng.integers(1, 3)), float(rng.uniform(0.0, travel)), 3.0
    ropes = ((low, low + width / layers, turns, layers),)
    column = Column(grid, 0.0, travel, 0.4, False, 0.0, 0.0, ropes)
    found = passes(Asked(zones, LayerZone(0.0, height, 1.0)), case, column)
    edges = np.linspace(0.0, travel, round(1e3 * travel) + 1)
    rows, least = [], []
    for bottom in np.asarray(grid.bottoms).tolist():
        top = bottom + grid.patch
        needs = [z.layers for z in zones if z.low - 1e-6 <= bottom and top <= z.high + 1e-6]
        over = np.minimum(edges + width, top) - np.maximum(edges, bottom)
        rows.append(np.clip(over / grid.patch, 0.0, 1.0))
        touches = low <= top and bottom <= low + width / layers
        least.append(max(needs, default=0.0) - turns * layers * touches)
    for point in np.linspace(0.0, height, 50).tolist():
        rows.append(((edges <= point) & (point <= edges + width)).astype(float))
        least.append(1.0 - turns * layers * (low <= point <= low + width / layers))
    solved = milp(
        np.ones(edges.size),
        integrality=np.ones(edges.size),
        constraints=LinearConstraint(np.array(rows), np.array(least) - 1e-6, np.inf),
    )
    assert solved.success
    most = round(solved.fun) + turns
    print(f"{seed}: {found:g} by the column, {most:g} by whole numbers")
    assert most - 1.0 <= found <= most


def test_a_carriage_passes_every_height_on_its_way_up_and_down() -> None:
    # Nothing is felt, one layer covers. From 0 to 1.0 m at 0.3 m a turn: edges at 0, 0.3, 0.6, 0.9
    # and 1.0 m at the fewest on the way up, of which only the top need not be passed again.
    _, case = random_case(0)
    width = film_on_load(case).width
    case = case.with_values({"load.height": 1.0 + width})
    grid = patch_grid(4.0, 1.0 + width)
    column = Column(grid, 0.0, 1.0, 0.3, True, 2.0, 1.0, ())
    nothing, whole = LayerZone(0.0, 0.1, 0.0), LayerZone(0.0, 1.0 + width, 1.0)
    up_and_down = passes(Asked((nothing,), whole), case, column)
    up = passes(Asked((nothing,), whole), case, replace(column, returns=False, at_bottom=1.0))
    assert up == 5.0
    assert up_and_down == 9.0
