"""The stretch wrapper."""

from __future__ import annotations

from woold.case.fields import Section, plain, quantity
from woold.case.machine_kinds import MachineKind
from woold.case.panel import PanelSetting

__all__ = ["Machine"]


class Machine(Section):
    """The stretch wrapper: what turns, how fast, and where the film comes from."""

    kind: MachineKind = plain(
        "turntable, rotary arm or ring: what turns", "turntable", example='"turntable"'
    )
    speed: float = quantity(
        "turning_speed",
        "of the turning part",
        example="12 rpm",
        gt=0,
        le=31.5,
        usual=("3 rpm", "80 rpm"),
    )
    exit_distance: float = quantity(
        "length",
        "from the axis of turning to the film's exit point",
        example="1.5 m",
        gt=0,
        le=30,
        usual=("0.5 m", "3.5 m"),
    )
    ramp_up: float = quantity(
        "time",
        "from standstill to full speed",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
        usual=("0 s", "15 s"),
        le=3600,
    )
    ramp_down: float = quantity(
        "time",
        "from full speed to standstill",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
        usual=("0 s", "15 s"),
        le=3600,
    )
    end_time: float = quantity(
        "time",
        "load in, film fixed, film cut, load out",
        "30 s",
        span=("10 s", "90 s"),
        placeholder="time it with a stop watch",
        ge=0,
        usual=("0 s", "10 min"),
        le=86_400,
    )
    rethread_time: float = quantity(
        "time",
        "to change a roll and lace the film again",
        "4 min",
        span=("2 min", "8 min"),
        placeholder="time it with a stop watch",
        ge=0,
        usual=("10 s", "30 min"),
        le=86_400,
    )
    carriage_speed_limit: float | None = quantity(
        "speed",
        "fastest travel of the carriage on its mast",
        None,
        gt=0,
        usual=("0.02 m/s", "1.5 m/s"),
        le=20,
    )
    panel: tuple[PanelSetting, ...] = plain(
        "the machine's own words for its settings", (), max_length=30
    )
