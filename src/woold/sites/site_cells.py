"""What is usual in the cells of a table of sites, and what is asked about the others."""

from __future__ import annotations

from woold.case.carriage import Carriage
from woold.case.fields import Section, as_in, plain, quantity
from woold.case.film import Film
from woold.case.load import Load
from woold.case.machine import Machine
from woold.case.program import Program

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
    force_to_load: float = as_in(Program, "force_to_load", "force to the load")
    gap: float = as_in(Carriage, "gap", "between the rollers")
    load_height: float = as_in(Load, "height", "of the load")
    load_mass: float = as_in(Load, "mass", "of the load")
    load_perimeter: float = quantity(
        "length", "round the load", gt=0.0, usual=("1 m", "12 m"), le=100.0
    )
    prestretch: float = quantity(
        "elongation", "of the film", ge=1.0, usual=("20 %", "450 %"), le=11.0
    )
    thickness: float = as_in(Film, "thickness", "of the film")
    turning_speed: float = as_in(Machine, "speed", "of the machine")
