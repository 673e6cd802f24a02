"""The stretch wrapper."""

from __future__ import annotations

from typing import Literal

from woold.case.fields import Section, plain, quantity
from woold.case.panel import PanelSetting

__all__ = ["Machine"]


class Machine(Section):
    """The stretch wrapper. Turntable, rotary arm and ring share the relative motion."""

    kind: Literal["turntable", "rotary arm", "ring"] = plain(
        "turntable, rotary arm or ring: what turns", "turntable", example='"turntable"'
    )
    speed: float = quantity("turning_speed", "of the turning part", example="12 rpm", gt=0, le=12.6)
    exit_distance: float = quantity(
        "length", "from the axis of turning to the film's exit point", example="1.5 m", gt=0, le=10
    )
    ramp_up: float = quantity(
        "time",
        "from standstill to full speed",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    ramp_down: float = quantity(
        "time",
        "from full speed to standstill",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    end_time: float = quantity(
        "time",
        "load in, film fixed, film cut, load out",
        "30 s",
        span=("10 s", "90 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    rethread_time: float = quantity(
        "time",
        "to change a roll and lace the film again",
        "4 min",
        span=("2 min", "8 min"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    carriage_speed_limit: float | None = quantity(
        "speed", "fastest travel of the carriage on its mast", None, gt=0
    )
    panel: tuple[PanelSetting, ...] = plain(
        "the machine's own words for its settings", (), max_length=30
    )
