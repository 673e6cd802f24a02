"""What is usual in the cells of a table of sites, and what is asked about the others."""

from __future__ import annotations

from woold.case.fields import Section, plain, quantity

__all__ = ["SiteCells"]


class SiteCells(Section):
    """Columns of a table of sites that have a meaning; SI."""

    saving: float = quantity("fraction", "film saved", gt=-1.0, usual=("-30 %", "60 %"), lt=1.0)
    standard_error: float = quantity(
        "fraction", "of the saving", gt=0.0, usual=("0.05 %", "15 %"), lt=1.0
    )
    low: float = quantity("fraction", "lower 95 % limit", ge=-1.0, usual=("-60 %", "60 %"), lt=1.0)
    high: float = quantity("fraction", "upper 95 % limit", gt=-1.0, usual=("-20 %", "80 %"), lt=1.0)
    loads: int = plain("loads that were weighed", ge=0, usual=(0, 5000), lt=10**9)
    contact_angle: float = quantity(
        "angle", "of film on the rollers", ge=0.0, usual=("20 deg", "300 deg"), le=7.0
    )
    force_to_load: float = quantity(
        "force", "force to the load", ge=0.0, usual=("5 N", "300 N"), le=10_000.0
    )
    gap: float = quantity(
        "small_length", "between the rollers", ge=0.0, usual=("2 mm", "400 mm"), le=5.0
    )
    load_height: float = quantity(
        "length", "of the load", gt=0.0, usual=("0.1 m", "2.8 m"), le=20.0
    )
    load_mass: float = quantity(
        "mass", "of the load", gt=0.0, usual=("15 kg", "3000 kg"), le=100_000.0
    )
    load_perimeter: float = quantity(
        "length", "round the load", gt=0.0, usual=("1 m", "12 m"), le=100.0
    )
    prestretch: float = quantity(
        "elongation", "of the film", ge=1.0, usual=("20 %", "450 %"), le=11.0
    )
    thickness: float = quantity(
        "thickness", "of the film", gt=0.0, usual=("6 um", "60 um"), le=0.001
    )
    turning_speed: float = quantity(
        "turning_speed", "of the machine", gt=0.0, usual=("3 rpm", "80 rpm"), le=105.0
    )
