"""Kinds of quantities: what each is called, in which units it is read and shown."""

from __future__ import annotations

from dataclasses import dataclass

from woold.words import to_say

__all__ = ["KINDS", "Kind"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: how it is read and how it is shown.

    Args:
        name: what it is called in messages, with its article.
        unit: SI unit that the value inside is in.
        metric: unit shown under "si".
        trade: unit shown under "trade" (the same as ``metric`` where the trade has no other).
        examples: texts that can be read.
        is_elongation: text is an elongation ("260 %"), the value inside a stretch ratio (3.6).
    """

    name: str
    unit: str
    metric: str
    trade: str
    examples: tuple[str, ...]
    is_elongation: bool = False


KINDS: dict[str, Kind] = {
    "length": Kind(to_say("a length"), "m", "m", "in", ("1.2 m", "48 in")),
    "small_length": Kind(to_say("a length"), "m", "mm", "in", ("40 mm", "1.5 in")),
    "thickness": Kind(to_say("a thickness"), "m", "um", "gauge", ("63 gauge", "16 um", "0.63 mil")),
    "roughness": Kind(to_say("a length"), "m", "um", "um", ("5 um",)),
    "film_length": Kind(to_say("a length"), "m", "m", "ft", ("120 m", "400 ft")),
    "area": Kind(to_say("an area"), "m^2", "mm^2", "in^2", ("8 mm^2",)),
    "mass": Kind(to_say("a mass"), "kg", "kg", "lb", ("600 kg", "1300 lb")),
    "small_mass": Kind(to_say("a mass"), "kg", "g", "oz", ("300 g", "10 oz")),
    "linear_density": Kind(to_say("a mass per length"), "kg/m", "g/m", "oz/ft", ("3.6 g/m",)),
    "density": Kind(to_say("a density"), "kg/m^3", "kg/m^3", "lb/ft^3", ("918 kg/m^3",)),
    "force": Kind(to_say("a force"), "N", "N", "lbf", ("45 N", "10 lbf")),
    "tension_per_width": Kind(to_say("a force per length"), "N/m", "N/m", "lbf/in", ("300 N/m",)),
    "stress": Kind(to_say("a stress"), "Pa", "MPa", "psi", ("9 MPa", "1300 psi")),
    "stiffness": Kind(to_say("a spring rate"), "N/m", "N/mm", "lbf/in", ("1.2 N/mm", "7 lbf/in")),
    "damping": Kind(to_say("a damping"), "N*m*s", "N*m*s", "N*m*s", ("0.4 N*m*s",)),
    "torsion_stiffness": Kind(
        to_say("a torque per angle"), "N*m/rad", "N*m/rad", "N*m/rad", ("2000 N*m/rad",)
    ),
    "drive_gain": Kind(
        to_say("a film speed per angle"),
        "m/s/rad",
        "m/s/rad",
        "m/s/rad",
        ("1.2 m/s/rad", "0.02 m/s/deg"),
    ),
    "drive_integral_gain": Kind(
        to_say("a film speed per angle and time"),
        "m/s/rad/s",
        "m/s/rad/s",
        "m/s/rad/s",
        ("0.5 m/s/rad/s",),
    ),
    "inertia": Kind(to_say("a moment of inertia"), "kg*m^2", "kg*m^2", "lb*ft^2", ("0.05 kg*m^2",)),
    "torque": Kind(to_say("a torque"), "N*m", "N*m", "lbf*ft", ("2 N*m",)),
    "power": Kind(to_say("a power"), "W", "W", "W", ("120 W",)),
    "angle": Kind(to_say("an angle"), "rad", "deg", "deg", ("180 deg",)),
    "turning_speed": Kind(to_say("a turning speed"), "rad/s", "rpm", "rpm", ("12 rpm",)),
    "frequency": Kind(to_say("a frequency"), "Hz", "Hz", "Hz", ("2 Hz",)),
    "speed": Kind(to_say("a speed"), "m/s", "m/s", "ft/min", ("0.8 m/s", "150 ft/min")),
    "acceleration": Kind(to_say("an acceleration"), "m/s^2", "m/s^2", "ft/s^2", ("2 m/s^2",)),
    "time": Kind(to_say("a time"), "s", "s", "s", ("15 s", "2 min", "16 h")),
    "hours": Kind(to_say("a time"), "s", "h", "h", ("16 h", "30 day")),
    "temperature": Kind(to_say("a temperature"), "K", "degC", "degF", ("23 degC", "73 degF")),
    "elongation": Kind(
        to_say("an elongation"), "", "percent", "percent", ("260 %",), is_elongation=True
    ),
    "fraction": Kind(to_say("a fraction"), "", "percent", "percent", ("5 %", "0.05")),
    "ratio": Kind(to_say("a plain number"), "", "", "", ("0.6",)),
}
