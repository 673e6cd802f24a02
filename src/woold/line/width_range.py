"""Between which widths, and at which least mass, any choice of free dimensions lays a film."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.line.free_carriage import FreeCarriage
from woold.line.line_file import CornerTension
from woold.physics.carriage import CarriageSetting, LaidFilm, laid_film
from woold.physics.grip import RollerGrip, roller_power
from woold.physics.rollers import geared_stretch
from woold.physics.stretch import stretch_before_roller
from woold.prediction.film_on_load import known_width, laid_as_floats
from woold.prediction.film_roll import film_roll
from woold.prediction.result import FilmOnLoad

__all__ = ["WidthRange", "gap_steps", "geared_choices", "least_and_most_gap", "width_range"]

Floats = NDArray[np.float64]
_STRETCHES = 41
_GAPS = 25
_ALL_ROUND = 40.0
"""A contact angle at which every roller holds what is asked [rad]."""


@dataclass(frozen=True, eq=False)
class WidthRange:
    """How any choice lays a film, in steps of the delivered stretch and of the gap.

    Args:
        sheet: the film on the load by one of them.
        stretches: ends of the steps, rising, shape (steps + 1,) [-].
        widest, narrowest: width on the load in each step of stretch and gap, shape (steps, gaps)
            [m].
        masses: the least that a metre of it can weigh in each step, shape (steps,) [kg/m].
        torque, power, film_speed: the least that the drive is asked for in each, as
            :class:`woold.line.choice.DriveAsked` has them.
        has_bound: all this holds for every choice.
    """

    sheet: FilmOnLoad
    stretches: Floats
    widest: Floats
    narrowest: Floats
    masses: Floats
    torque: Floats
    power: Floats
    film_speed: Floats
    has_bound: bool

    @property
    def least(self) -> float:
        """Narrowest of all [m]."""
        above = self.narrowest[self.narrowest > 0.0]
        return float(above.min()) if above.size else self.most

    @property
    def most(self) -> float:
        """Widest of all [m]."""
        return float(self.widest.max())


def width_range(case: Case, free: FreeCarriage, tension: CornerTension) -> WidthRange | None:
    """How any choice of free dimensions lays a film; None where it tears or is not rated for any.

    The delivered stretch, whatever the rollers hold, lies in one of some steps between the stretch
    at which the film draws evenly and the most that the wheels give. In each the film is no wider
    than over the step's shortest gap and the shortest arc, no narrower than over the longest, and
    no lighter than at the better of its ends.

    Args:
        case: says film and force to load.
        free: the carriage.
        tension: of the film in a turn.
    """
    curve = film_roll(case.film).curve
    natural = float(curve.natural_draw_stretch)
    stretches = _stretches(case, free, float(curve.largest_stretch), natural)
    if stretches is None:
        return None
    short, long = (_laid(case, free, stretches, each) for each in (True, False))
    shape = stretches.size, _GAPS
    whole = ~np.broadcast_to(short.breaks, shape)[:, 0]
    wide, narrow = (
        np.broadcast_to(np.asarray(each.width, dtype=float), shape) for each in (short, long)
    )
    whole &= wide[:, 0] > 0.0
    kept = int(np.flatnonzero(whole)[-1]) + 1 if whole.any() else 0
    if kept < 1:
        return None
    # The film tears beyond some stretch; up to there the steps are whole.
    if kept < 2:
        stretches = np.append(stretches[:1], stretches[:1])
        wide, narrow = (np.repeat(each[:1], 2, axis=0) for each in (wide, narrow))
        kept = 2
    masses = _column(short.mass_per_metre, shape)
    drive = _drive(case, free, short, shape, tension)
    pick = np.minimum(np.arange(kept), masses.size - 1)

    def lower(values: Floats) -> Floats:
        mine = values[pick]
        return np.minimum(mine[:-1], mine[1:])

    entry = float(
        np.asarray(
            stretch_before_roller(curve, film_roll(case.film).area, case.carriage.unwind_tension)
        )
    )
    return WidthRange(
        sheet=laid_as_floats(
            _laid(case, free, stretches[kept - 1 : kept], True, is_flat=True), natural,
            float(stretches[kept - 1]),
        ),
        stretches=stretches[:kept],
        widest=np.maximum(wide[: kept - 1, :-1], wide[1:kept, :-1]),
        narrowest=np.minimum(narrow[: kept - 1, 1:], narrow[1:kept, 1:]),
        masses=lower(masses),
        torque=lower(drive[0]),
        power=lower(drive[1]),
        film_speed=lower(drive[2]),
        has_bound=entry <= 1.0,
    )  # fmt: skip


def _column(values: object, shape: tuple[int, int]) -> Floats:
    """What does not hang on the gap."""
    return np.broadcast_to(np.asarray(values, dtype=float), shape)[:, 0]


def _drive(
    case: Case, free: FreeCarriage, laid: LaidFilm, shape: tuple[int, int], tension: CornerTension
) -> tuple[Floats, Floats, Floats]:
    """Torque at the smallest fast roller, power and film speed where all rollers hold the film."""
    force = case.program.force_to_load
    faster = np.asarray(laid.delivered.stretch, dtype=float) / np.asarray(laid.stretch, dtype=float)
    sizes = free.choices_of("slow", "diameter"), free.choices_of("fast", "diameter")
    found = [
        roller_power(
            laid.delivered, laid.delivered.stretch, case.carriage.unwind_tension, end,
            min(sizes[0]), min(sizes[1]), faster,
        )
        for end in (tension.lowest * force, tension.highest * force)
    ]  # fmt: skip
    torque = np.max([np.abs(_column(each.torque_fast, shape)) for each in found], axis=0)
    power = np.max([np.abs(_column(each.power_drive, shape)) for each in found], axis=0)
    return torque, power, _column(faster, shape)


def geared_choices(case: Case, free: FreeCarriage) -> tuple[float, ...]:
    """Stretch ratios that the wheels can be chosen to give, rising [-].

    Args:
        case: says what is given where no wheels are.
        free: the carriage.
    """
    teeth = [free.choices_of(role, "teeth") for role in ("slow", "fast")]
    if not teeth[0] or not teeth[1]:
        return (case.carriage.prestretch,)
    sizes = [free.choices_of(role, "diameter") for role in ("slow", "fast")]
    ratios = (geared_stretch(*each) for each in itertools.product(*teeth, *sizes))
    return tuple(sorted({round(each, 12) for each in ratios if each > 1.0}))


def _stretches(case: Case, free: FreeCarriage, ends: float, natural: float) -> Floats | None:
    """Stretches that any choice may deliver, rising; None where all are beyond the film's."""
    rated = case.film.rated_prestretch
    able = [
        each
        for each in geared_choices(case, free)
        if each < ends and (rated is None or each <= rated * (1.0 + 1e-12))
    ]
    if not able:
        return None
    low = min(natural, *able)
    return np.unique(np.append(np.linspace(max(low, 1.0 + 1e-6), max(able), _STRETCHES), able))


def gap_steps(free: FreeCarriage) -> Floats:
    """Ends of the steps of the gap that are looked at, rising [m].

    Args:
        free: the carriage.
    """
    return np.linspace(*least_and_most_gap(free), _GAPS)


def _laid(
    case: Case, free: FreeCarriage, stretches: Floats, is_short: bool, is_flat: bool = False
) -> LaidFilm:
    """Film at each stretch over each gap, with the shortest or the longest arc."""
    frictions, sizes = free.choices_of("slow", "friction"), free.choices_of("slow", "diameter")
    slow = next(each.name for each in free.base.carriage.rollers if each.role == "slow")
    has_nip = any(each.presses_on == slow for each in free.base.carriage.rollers)
    # A nip may hold the film where the belt equation alone would not: then no arc is drawn on.
    radius, friction = 0.5 * max(sizes), min(frictions)
    if is_short:
        radius, friction = 0.0 if has_nip else 0.5 * min(sizes), max(frictions)
    # Hold enough for every stretch, so that the film is laid at just that one.
    grip = RollerGrip(friction, _ALL_ROUND / friction, 1e6)
    gaps = gap_steps(free)
    setting = CarriageSetting(
        stretches if is_flat else stretches[:, None],
        gaps[0] if is_flat else gaps[None, :],
        grip, grip, case.carriage.unwind_tension, radius,
    )  # fmt: skip
    return laid_film(film_roll(case.film), setting, case.program.force_to_load, known_width(case))


def least_and_most_gap(free: FreeCarriage) -> tuple[float, float]:
    """The shortest and the longest free film between slow and fast roller of all choices [m].

    sqrt(D^2 - k^2) of the tangent between two circles, k = r_slow + r_fast on opposite sides and
    their difference on one; D from the two boxes in which the centres may stand.

    Args:
        free: the carriage.
    """
    slow, fast = free.box("slow"), free.box("fast")
    near = math.hypot(*(max(b[0] - a[1], a[0] - b[1], 0.0)
                        for a, b in zip(slow, fast, strict=True)))  # fmt: skip
    far = math.hypot(*(max(abs(b[1] - a[0]), abs(a[1] - b[0]))
                       for a, b in zip(slow, fast, strict=True)))  # fmt: skip
    shortest, longest = math.inf, 0.0
    moves = free.opens("slow") or free.opens("fast")
    for one, other in itertools.product(
        free.choices_of("slow", "diameter"), free.choices_of("fast", "diameter")
    ):
        together = 0.5 * (one + other)
        k = together if free.are_opposite() else 0.5 * abs(one - other)
        # Rollers stand clear of one another, and as far apart as threading asks if neither opens.
        room = 0.0 if moves or not free.are_opposite() else free.envelope.threading_room
        least = max(near, together + room)
        shortest = min(shortest, math.sqrt(max(least * least - k * k, 0.0)))
        longest = max(longest, math.sqrt(max(far * far - k * k, 0.0)))
    if free.is_straight_in_the_gap():
        return shortest, max(longest, shortest)
    # With rollers between the two the free spans are added up, none longer than all the room.
    spans = 1 + sum(each.role == "idler" for each in free.base.carriage.rollers)
    room_across = math.hypot(
        free.envelope.high[0] - free.envelope.low[0], free.envelope.high[1] - free.envelope.low[1]
    )
    return 0.0, spans * room_across
