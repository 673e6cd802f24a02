"""What may be chosen in a design: films, forces, rises, wraps, stops and speeds."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from woold.case.design import Design
from woold.case.film import Film
from woold.case.model import Case
from woold.design.settings import Settings, Stop

__all__ = ["FINEST", "Choices", "allowed_choices", "held_choices"]

FINE_FORCE = 1.0
"""Steps of the force between those of the setting [N]."""

FINEST = 1e-4
"""Finest step of a rise that is told apart [m]."""


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be chosen.

    Args:
        films: places on the shelf.
        prestretches: stretch ratios [-].
        forces: force to load [N].
        rises, falls: carriage travel in a turn; no falls where the cycle ends at the top [m].
        one_rise: rise and fall are one setting.
        bottom, top: fewest and most wraps [-].
        speeds: turning speeds [rad/s].
        bands_most: most stops on the way that may be added.
        bands: stops that every program has.
        whole_rises: beside the rises and falls given, those that lay whole layers of a film.
    """

    films: tuple[int, ...]
    prestretches: tuple[float, ...]
    forces: tuple[float, ...]
    rises: tuple[float, ...]
    falls: tuple[float, ...]
    one_rise: bool
    bottom: tuple[float, float]
    top: tuple[float, float]
    speeds: tuple[float, ...]
    bands_most: int
    bands: tuple[Stop, ...] = ()
    whole_rises: bool = False

    def finer_forces(self) -> tuple[float, ...]:
        """The forces, and finer steps between the least and the most [N]."""
        if len(self.forces) < 2:
            return self.forces
        low, high = min(self.forces), max(self.forces)
        count = int((high - low) / FINE_FORCE + 1e-9)
        steps = (round(low + index * FINE_FORCE, 9) for index in range(count + 1))
        return tuple(sorted({*self.forces, *steps}))

    def between_steps(self) -> Choices:
        """The choices with finer forces, and with the rises that lay whole layers."""
        return replace(self, forces=self.finer_forces(), whole_rises=True)

    def with_whole_rises(self, width: float) -> Choices:
        """The choices for a film of a width [m], the rises that lay whole layers among them."""
        if not self.whole_rises:
            return self
        return replace(
            self,
            whole_rises=False,
            rises=_with_whole(self.rises, width),
            falls=_with_whole(self.falls, width),
        )

    def including(self, settings: Settings) -> Choices:
        """The choices with the force, rise and fall of a program among them."""
        falls = () if settings.fall_per_turn_m is None else (settings.fall_per_turn_m,)
        rises = (settings.rise_per_turn_m, *(falls if self.one_rise else ()))
        return replace(
            self,
            forces=_with(self.forces, (settings.force_to_load_n,)),
            rises=_with(self.rises, rises),
            falls=_with(self.falls, falls) if self.falls else (),
        )

    def pairs(self) -> list[tuple[float, float | None]]:
        """Every rise with every fall that may go with it."""
        if not self.falls:
            return [(rise, None) for rise in self.rises]
        if self.one_rise:
            return [(rise, rise) for rise in self.rises]
        return list(itertools.product(self.rises, self.falls))

    @property
    def programs_per_pair(self) -> int:
        """Programs that share one rise, fall, film, pre-stretch and force."""
        wraps = (self.bottom[1] - self.bottom[0] + 1) * (self.top[1] - self.top[0] + 1)
        return int(wraps) * len(self.speeds)


def allowed_choices(case: Case, shelf: tuple[Film, ...], limits: Design) -> Choices:
    """Everything that a case allows to be chosen."""
    at_top = case.program.ends_at == "top"
    rises = _steps(limits.rise_least, limits.rise_most, limits.rise_step)
    return Choices(
        films=tuple(range(len(shelf))),
        prestretches=limits.prestretches or (case.carriage.prestretch,),
        forces=_steps(limits.force_least, limits.force_most, limits.force_step),
        rises=rises,
        falls=() if at_top else rises,
        one_rise=limits.one_rise,
        bottom=(limits.bottom_wraps_least, limits.bottom_wraps_most),
        top=(limits.top_wraps_least, limits.top_wraps_most),
        speeds=limits.speeds or (case.machine.speed,),
        bands_most=limits.bands_most,
    )


def _with(values: tuple[float, ...], more: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(sorted({*values, *more}))


def _with_whole(rises: tuple[float, ...], width: float) -> tuple[float, ...]:
    """Rises with the film's width over whole numbers among them, set down to `FINEST`."""
    if len(rises) < 2:
        return rises
    low, high = min(rises), max(rises)
    counts = range(max(math.ceil(width / high), 1), math.floor(width / low) + 1)
    whole = (round(math.floor(width / count / FINEST) * FINEST, 9) for count in counts)
    return tuple(sorted({*rises, *(rise for rise in whole if low <= rise <= high)}))


def _steps(least: float, most: float, step: float) -> tuple[float, ...]:
    count = math.floor((most - least) / step + 1e-9) + 1
    return tuple(round(least + index * step, 9) for index in range(count))


def held_choices(choices: Choices, today: Settings, free: frozenset[str]) -> Choices:
    """The choices with every setting held at today's, but for those that are free to change."""
    held: Mapping[str, Mapping[str, Any]] = {
        "prestretch": {"prestretches": (today.prestretch,)},
        "force_to_load_n": {"forces": (today.force_to_load_n,)},
        "rise_per_turn_m": {"rises": (today.rise_per_turn_m,)},
        "fall_per_turn_m": {
            "falls": () if today.fall_per_turn_m is None else (today.fall_per_turn_m,)
        },
        "bottom_wraps": {"bottom": (today.bottom_wraps,) * 2},
        "top_wraps": {"top": (today.top_wraps,) * 2},
        "speed_rad_per_s": {"speeds": (today.speed_rad_per_s,)},
        "film": {"films": (0,)},
        "bands": {"bands_most": 0, "bands": today.bands},
    }
    for name, values in held.items():
        if name not in free:
            choices = replace(choices, **values)
    return choices
