"""Many loads as columns of numbers: what a block of predictions asks of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.hold import Hold
from woold.case.load import Load
from woold.case.outline import load_outline, overhang
from woold.physics import demand, outlines
from woold.prediction.film_over_height import loss_scale
from woold.prediction.predict import perimeter_with_pallet, sharpest_turn
from woold.prediction.pull_plate import longest_face, pull_height

__all__ = ["LoadColumns", "load_columns"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LoadColumns:
    """Loads and what is asked of them, each of shape (loads,) unless said otherwise.

    Args:
        loads, holds: the tables that they were made of.
        height, perimeter, radius: of each, the radius that of the circle that it sweeps [m].
        perimeter_below: of load and pallet together; NaN where the pallet is not given [m].
        support: least, mean and largest distance from the axis to the film's line, shape
            (loads, 3) [m].
        turn: sharpest turn of the film round a corner; NaN for a round load [rad].
        deck_height, overhang: of the pallet; the load's overhang is NaN where it is not given [m].
        is_soft: the load gives way under the film.
        face: longest flat face; NaN for a round load [m].
        pull_height: of the pull plate over the deck [m].
        after: age at which the film's force is asked for [s].
        loss_scale: loss of force where it stands over that at 23 degC [-].
        edge_limit: most force on a corner; NaN where none is asked for [N/m].
        zones: low and high end of each target, shape (loads, targets, 2) [m].
        asked: force of each target; NaN where there are fewer, shape (loads, targets) [N].
        is_above: targets that reach above the load, likewise.
    """

    loads: tuple[Load, ...]
    holds: tuple[Hold, ...]
    height: Floats
    perimeter: Floats
    radius: Floats
    perimeter_below: Floats
    support: Floats
    turn: Floats
    deck_height: Floats
    overhang: Floats
    is_soft: NDArray[np.bool_]
    face: Floats
    pull_height: Floats
    after: Floats
    loss_scale: Floats
    edge_limit: Floats
    zones: Floats
    asked: Floats
    is_above: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.loads)

    def some(self, which: NDArray[np.intp]) -> LoadColumns:
        """Some of the loads.

        Args:
            which: their numbers.
        """
        rows = which.tolist()
        picked = {
            name: value[which]
            for name, value in vars(self).items()
            if isinstance(value, np.ndarray)
        }
        return LoadColumns(
            loads=tuple(self.loads[at] for at in rows),
            holds=tuple(self.holds[at] for at in rows),
            **picked,
        )


_COLUMNS = (
    "height",
    "perimeter",
    "radius",
    "perimeter_below",
    "turn",
    "deck_height",
    "overhang",
    "face",
    "pull_height",
    "after",
    "loss_scale",
    "edge_limit",
)


def load_columns(loads: Sequence[Load], holds: Sequence[Hold]) -> LoadColumns:
    """The columns of many loads.

    Args:
        loads, holds: tables of a case, one each for a load.
    """
    nothing = np.nan
    rows, support, zones, asked, above = [], [], [], [], []
    most = max((len(each.targets) for each in holds), default=0)
    for load, hold in zip(loads, holds, strict=True):
        outline = load_outline(load)
        around = outlines.perimeter(outline)
        below = perimeter_with_pallet(load, outline)
        turn, over, face = sharpest_turn(outline), overhang(load), longest_face(outline)
        rows.append(
            (
                load.height,
                around,
                outlines.largest_radius(outline),
                nothing if below is None else below,
                nothing if turn is None else turn,
                load.deck_height,
                nothing if over is None else over,
                nothing if face is None else face,
                pull_height(load, hold),
                hold.after,
                loss_scale(hold.temperature),
                nothing if hold.edge_load_limit is None else hold.edge_load_limit,
            )
        )
        range_ = demand.demand_range(outline, 1.0)
        support.append((range_.slowest, range_.mean, range_.fastest))
        ends = [
            (each.low, load.height if each.high is None else each.high) for each in hold.targets
        ]
        lack = most - len(ends)
        zones.append([*ends, *[(0.0, load.height)] * lack])
        asked.append([*(each.force for each in hold.targets), *[nothing] * lack])
        above.append(
            [
                *(high > load.height * (1.0 + 1e-9) or low >= high for low, high in ends),
                *[False] * lack,
            ]
        )
    count = len(rows)
    columns = np.array(rows, dtype=float).reshape(count, len(_COLUMNS)).T
    return LoadColumns(
        loads=tuple(loads),
        holds=tuple(holds),
        **dict(zip(_COLUMNS, columns, strict=True)),
        support=np.array(support, dtype=float).reshape(count, 3),
        is_soft=np.array([each.hoop_stiffness is not None for each in loads], dtype=bool),
        zones=np.array(zones, dtype=float).reshape(count, most, 2),
        asked=np.array(asked, dtype=float).reshape(count, most),
        is_above=np.array(above, dtype=bool).reshape(count, most),
    )
