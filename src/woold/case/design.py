"""What may be changed to use less film."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.words import say

__all__ = ["Design"]

_MOST_STEPS = 200


class Design(Section):
    """What may be changed to use less film."""

    force_least: float = quantity(
        "force", "lowest force to load to try", "20 N", gt=0, le=2000, usual=("2 N", "250 N")
    )
    force_most: float = quantity(
        "force", "highest; what the dancer holds", "100 N", gt=0, le=2000, usual=("5 N", "300 N")
    )
    force_step: float = quantity(
        "force", "step of the setting", "5 N", gt=0, usual=("0.1 N", "50 N"), le=2000
    )
    prestretches: tuple[float, ...] = quantity(
        "elongation",
        "pre-stretch settings that there are; today's only if left out",
        (),
        example='["200 %", "260 %"]',
        max_length=50,
        usual=("0 %", "400 %"),
        each=(1, 8),
    )
    speeds: tuple[float, ...] = quantity(
        "turning_speed",
        "turning speeds that there are; today's only if left out",
        (),
        example='["10 rpm", "12 rpm"]',
        max_length=50,
        usual=("3 rpm", "80 rpm"),
        each=(1e-06, 31.5),
    )
    rise_least: float = quantity(
        "small_length",
        "lowest rise per turn to try",
        "80 mm",
        gt=0,
        usual=("10 mm", "900 mm"),
        le=5,
    )
    rise_most: float = quantity(
        "small_length", "highest rise per turn to try", "400 mm", gt=0, usual=("10 mm", "1 m"), le=5
    )
    rise_step: float = quantity(
        "small_length", "step of the setting", "10 mm", gt=0, usual=("1 mm", "200 mm"), le=5
    )
    one_rise: bool = plain("one setting for the way up and down", False)
    bottom_wraps_least: int = plain("fewest bottom wraps", 1, ge=0, le=100, usual=(0, 12))
    bottom_wraps_most: int = plain("most bottom wraps", 8, ge=0, le=100, usual=(0, 20))
    top_wraps_least: int = plain("fewest top wraps", 1, ge=0, le=100, usual=(0, 12))
    top_wraps_most: int = plain("most top wraps", 8, ge=0, le=100, usual=(0, 20))
    bands_most: int = plain(
        "most stops of the carriage on its way, for extra turns", 0, ge=0, usual=(0, 6), le=20
    )
    height_step: float = quantity(
        "small_length",
        "step of the heights of stops",
        "10 mm",
        gt=0,
        usual=("1 mm", "300 mm"),
        le=5,
    )
    film_speed_limit: float | None = quantity(
        "speed", "fastest film demand", None, gt=0, usual=("0.2 m/s", "10 m/s"), le=100
    )
    cycle_time_limit: float | None = quantity(
        "time", "longest cycle", None, gt=0, usual=("10 s", "15 min"), le=86_400
    )
    tension_peak: float = quantity(
        "ratio",
        "highest film tension over its mean round the corners",
        "1.3",
        span=("1.05", "2"),
        placeholder="estimate; a simulation or a recorded trace gives it",
        ge=1,
        le=5,
        usual=("1", "3"),
    )
    film_margin: float = quantity(
        "fraction",
        "peak tension stays this far under the drawing force",
        "10 %",
        ge=0,
        lt=1,
        usual=("0 %", "50 %"),
    )
    grip_margin: float | None = quantity(
        "fraction",
        "force that both pre-stretch rollers must hold beyond what the gears ask for",
        None,
        ge=0,
        le=10,
        usual=("0 %", "200 %"),
    )

    @model_validator(mode="after")
    def _ranges(self) -> Self:
        for name in ("force", "rise", "bottom_wraps", "top_wraps"):
            least, most = getattr(self, f"{name}_least"), getattr(self, f"{name}_most")
            if least > most:
                raise ValueError(say("{name}_least at most {name}_most", name=name))
            if (most - least) / getattr(self, f"{name}_step", 1) > _MOST_STEPS:
                raise ValueError(
                    say(
                        "at most {count} steps from {name}_least to {name}_most",
                        count=_MOST_STEPS,
                        name=name,
                    )
                )
        return self
