"""Grip of the pre-stretch rollers: what stretch it lets through; torque, power, air film."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from woold.physics.film_curve import FilmCurve
from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.physics.stretch import stretch_before_roller

__all__ = [
    "AIR_VISCOSITY",
    "GOVERNS",
    "DeliveredStretch",
    "Governs",
    "RollerGrip",
    "RollerPower",
    "air_film_thickness",
    "air_traction_fraction",
    "delivered_stretch",
    "drawing_force",
    "grip_limit",
    "least_tension_that_holds",
    "roller_power",
    "stretch_with_less_grip",
]

AIR_VISCOSITY = 1.81e-5  # Pa s, dry air at 15 to 20 °C

Governs = Literal["gears", "slow roller", "fast roller", "film"]
GOVERNS: tuple[Governs, ...] = ("gears", "slow roller", "fast roller", "film")


@dataclass(frozen=True, slots=True)
class RollerGrip:
    """What makes a roller hold the film.

    Args:
        friction: coefficient of friction of film on roller [-].
        contact_angle: arc of roller that the film touches [rad].
        nip_force: force of a roller pressed on it [N].
    """

    friction: FloatOrArray
    contact_angle: FloatOrArray
    nip_force: FloatOrArray = 0.0

    def __post_init__(self) -> None:
        above, zero_or_more = "a number above 0", "0 or more"
        refuse_unless(np.greater(self.friction, 0), "friction", self.friction, above)
        refuse_unless(
            np.greater_equal(self.contact_angle, 0),
            "contact_angle",
            self.contact_angle,
            zero_or_more,
        )
        refuse_unless(
            np.greater_equal(self.nip_force, 0), "nip_force", self.nip_force, zero_or_more
        )


def grip_limit(low_tension: FloatOrArray, grip: RollerGrip) -> FloatOrArray:
    """Greatest tension that a roller holds against a tension on its other side.

    T_high = T_low exp(mu beta) + 2 mu N

    Args:
        low_tension: tension on the slacker side [N].
        grip: friction, contact angle and nip of the roller.

    Returns:
        Tension on the tighter side at which the film begins to slip [N].

    Source:
        Euler (1769) and Eytelwein (1808), the belt equation; a nip rubs on both faces of the film.
    """
    held: FloatOrArray = low_tension * np.exp(np.multiply(grip.friction, grip.contact_angle))
    return held + 2.0 * grip.friction * grip.nip_force


def least_tension_that_holds(force: FloatOrArray, grip: RollerGrip) -> FloatOrArray:
    """Tension that must be on a roller's slacker side for it to hold a force without slip.

    T_low = (F - 2 mu N) exp(-mu beta), never below 0

    Args:
        force: tension on the tighter side [N].
        grip: friction, contact angle and nip of the roller.

    Returns:
        Tension [N].
    """
    left = np.maximum(force - 2.0 * np.multiply(grip.friction, grip.nip_force), 0.0)
    needed: FloatOrArray = left * np.exp(-np.multiply(grip.friction, grip.contact_angle))
    return needed


def drawing_force(curve: FilmCurve, area: FloatOrArray, stretch: FloatOrArray) -> FloatOrArray:
    """Force that gives the film a stretch.

    F = P(lambda) A0; between the elastic part and the natural draw the film necks at the force of
    its natural draw, whatever the mean stretch.

    Args:
        curve: nominal stress of the film against stretch.
        area: unstretched cross-section [m^2].
        stretch: stretch ratio [-].

    Returns:
        Force [N].
    """
    stress = curve.nominal_stress(stretch)
    even = np.greater_equal(stretch, curve.natural_draw_stretch)
    force: FloatOrArray = area * np.where(even, stress, np.minimum(stress, curve.drawing_stress))
    return force[()] if isinstance(force, np.ndarray) else force


@dataclass(frozen=True, slots=True)
class DeliveredStretch:
    """Pre-stretch that reaches the film, and what sets it.

    Args:
        stretch: delivered stretch ratio [-].
        governs: index into :data:`GOVERNS` of what sets it.
        drawing_force: tension between the slow and the fast roller [N].
        geared_force: tension that the geared stretch asks for [N].
        limit_slow, limit_fast: tension that each roller can hold [N].
        is_drawn: False where the film stays elastic: the pre-stretch is not held at all.
        entry_stretch: stretch that the unwind tension gave the film before the slow roller already,
            which the rollers multiply; 1 where it only is elastic there [-].
    """

    stretch: FloatOrArray
    governs: npt.NDArray[np.int_]
    drawing_force: FloatOrArray
    geared_force: FloatOrArray
    limit_slow: FloatOrArray
    limit_fast: FloatOrArray
    is_drawn: npt.NDArray[np.bool_]
    entry_stretch: FloatOrArray = 1.0

    @property
    def margin_slow(self) -> FloatOrArray:
        """Tension that the slow roller holds over the one that the geared stretch asks for [-]."""
        return self.limit_slow / self.geared_force

    @property
    def margin_fast(self) -> FloatOrArray:
        """Tension that the fast roller holds over the one that the geared stretch asks for [-]."""
        return self.limit_fast / self.geared_force

    def governs_name(self) -> Governs:
        """Name of what sets the stretch, for a single case."""
        return GOVERNS[int(self.governs)]


def delivered_stretch(
    curve: FilmCurve,
    area: FloatOrArray,
    geared_stretch: FloatOrArray,
    slow: RollerGrip,
    fast: RollerGrip,
    unwind_tension: FloatOrArray,
    force_to_load: FloatOrArray,
) -> DeliveredStretch:
    """Pre-stretch that reaches the film: the geared one, or what the grip lets through.

    lambda = min(geared, P^-1(limit_slow/A0), P^-1(limit_fast/A0)); the curve is inverted on its
    rising part, or on its elastic part where the limit does not draw the film. An unwind tension
    that draws the film before the slow roller gives it a stretch that the geared one multiplies.

    Args:
        curve: nominal stress of the film against stretch.
        area: unstretched cross-section [m^2].
        geared_stretch: ratio of the rollers' surface speeds [-].
        slow, fast: grip of the two rollers.
        unwind_tension: tension before the slow roller [N].
        force_to_load: tension behind the fast roller [N].

    Returns:
        The stretch, the forces and what governs, in the broadcast shape. Where the geared stretch
        lies beyond the curve's end its force is infinite and the margins are 0.

    Raises:
        InputError: geared stretch not above 1, a tension below 0.
    """
    refuse_unless(
        np.greater(geared_stretch, 1) & np.isfinite(geared_stretch),
        "prestretch",
        np.subtract(geared_stretch, 1),
        "a pre-stretch above 0 (0 %)",
    )
    for field, tension in (("unwind_tension", unwind_tension), ("force_to_load", force_to_load)):
        refuse_unless(np.greater_equal(tension, 0), field, tension, "0 or more")
    limits = np.broadcast_arrays(grip_limit(unwind_tension, slow), grip_limit(force_to_load, fast))
    weakest = np.minimum(*limits)
    entry = stretch_before_roller(curve, area, unwind_tension)
    asked = np.multiply(geared_stretch, entry)
    geared_force = drawing_force(curve, area, asked)
    # Where every roller holds the geared stretch, the curve need not be inverted to know it.
    holds = bool(np.all(weakest >= geared_force))
    held = asked if holds else np.maximum(curve.stretch_at(weakest / area), entry)
    stretch = np.minimum(asked, held)
    by_roller = np.where(limits[0] <= limits[1], 1, 2)
    slips = np.less(held, asked)
    film_ends = slips & np.greater_equal(held, curve.largest_stretch)
    governs = np.where(film_ends, 3, np.where(slips, by_roller, 0))
    force = np.minimum(geared_force, weakest)
    return DeliveredStretch(
        stretch=stretch[()],
        governs=governs,
        drawing_force=force[()],
        geared_force=geared_force,
        limit_slow=limits[0][()],
        limit_fast=limits[1][()],
        is_drawn=np.asarray(weakest / area >= curve.drawing_stress),
        entry_stretch=entry,
    )


def stretch_with_less_grip(
    curve: FilmCurve, area: FloatOrArray, stretch: FloatOrArray, grip_lost: FloatOrArray = 0.1
) -> FloatOrArray:
    """Stretch left when the roller that just holds a stretch loses a part of its grip.

    lambda' = P^-1((1 - c) P(lambda)): on the flat plateau a little grip costs much stretch

    Args:
        curve: nominal stress of the film against stretch.
        area: unstretched cross-section [m^2].
        stretch: stretch ratio that is just held [-].
        grip_lost: part c of the holding force that is missing [-].

    Returns:
        Stretch ratio [-].
    """
    force = drawing_force(curve, area, stretch)
    return np.minimum(curve.stretch_at((1.0 - grip_lost) * force / area), stretch)[()]


@dataclass(frozen=True, slots=True)
class RollerPower:
    """Torque and power that film asks of the two rollers and of their common drive.

    Args:
        torque_slow, torque_fast: torque of the film's pull on the roller; positive drives the film
            on, negative holds it back [N m].
        power_slow, power_fast: power given to the film, negative where the film drives [W].
        speed_slow, speed_fast: surface speeds [m/s].
    """

    torque_slow: FloatOrArray
    torque_fast: FloatOrArray
    power_slow: FloatOrArray
    power_fast: FloatOrArray
    speed_slow: FloatOrArray
    speed_fast: FloatOrArray

    @property
    def power_drive(self) -> FloatOrArray:
        """Power at the drive that couples both rollers, losses left out [W]."""
        return self.power_slow + self.power_fast


def roller_power(
    delivered: DeliveredStretch,
    geared_stretch: FloatOrArray,
    unwind_tension: FloatOrArray,
    force_to_load: FloatOrArray,
    diameter_slow: FloatOrArray,
    diameter_fast: FloatOrArray,
    film_speed: FloatOrArray,
) -> RollerPower:
    """Torque and power at the slow and the fast roller and at their common drive.

    M_slow = -(F - T_unwind) r, M_fast = (F - T_load) r, power = M omega. The roller that slips
    turns faster or slower than its film; the other one turns with it.

    Args:
        delivered: delivered stretch and the forces of it.
        geared_stretch: ratio of the rollers' surface speeds [-].
        unwind_tension: tension before the slow roller [N].
        force_to_load: tension behind the fast roller [N].
        diameter_slow, diameter_fast: roller diameters [m].
        film_speed: speed of the film as it leaves the fast roller [m/s].

    Returns:
        Torques, powers and surface speeds.
    """
    fast_slips = np.equal(delivered.governs, 2)
    film_speed_slow = film_speed * delivered.entry_stretch / delivered.stretch
    speed_fast = np.where(fast_slips, film_speed_slow * geared_stretch, film_speed)[()]
    speed_slow = speed_fast / geared_stretch
    pull_slow = delivered.drawing_force - unwind_tension
    pull_fast = delivered.drawing_force - force_to_load
    return RollerPower(
        torque_slow=-pull_slow * diameter_slow / 2,
        torque_fast=pull_fast * diameter_fast / 2,
        power_slow=-pull_slow * speed_slow,
        power_fast=pull_fast * speed_fast,
        speed_slow=speed_slow,
        speed_fast=speed_fast,
    )


def air_film_thickness(
    radius: FloatOrArray,
    tension_per_width: FloatOrArray,
    film_speed: FloatOrArray,
    surface_speed: FloatOrArray,
    viscosity: FloatOrArray = AIR_VISCOSITY,
) -> FloatOrArray:
    """Air that the film drags in between itself and a roller.

    h0 = 0.643 R (6 mu_air (v_film + v_roller)/T_w)^(2/3)

    Args:
        radius: roller radius [m].
        tension_per_width: film tension over film width [N/m].
        film_speed: speed of the film [m/s].
        surface_speed: speed of the roller's surface [m/s].
        viscosity: viscosity of air [Pa s].

    Returns:
        Thickness of the air film [m].

    Source:
        Knox and Sweeney, Industrial & Engineering Chemistry Process Design and Development 10
        (1971) 201-205.
    """
    number = 6.0 * viscosity * np.add(film_speed, surface_speed) / tension_per_width
    thickness: FloatOrArray = 0.643 * radius * np.power(number, 2.0 / 3.0)
    return thickness


def air_traction_fraction(air_film: FloatOrArray, roughness: FloatOrArray) -> FloatOrArray:
    """Part of the friction that is left over an air film.

    1 while h0 <= sigma, falling evenly to 0 at 3 sigma

    Args:
        air_film: thickness of the air film [m].
        roughness: combined rms roughness of film and roller, sigma [m].

    Returns:
        Fraction [-].

    Source:
        The customary web-handling rule; from memory, no source at hand.
    """
    return np.clip((3.0 - np.divide(air_film, roughness)) / 2.0, 0.0, 1.0)[()]
