"""Parts and wear: one carriage on every machine beside the carriages of today.

What a year asks of the drive at the rollers that stretch the film, standstill to change rolls, and
parts that are in common. All of it as a ratio to today's; no life is said of any part.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.fields import facts_of
from woold.case.outline import load_outline
from woold.case.things import CarriageThing, DriveRating, MachineModel
from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.choice import chosen_film
from woold.line.line_file import LineFile
from woold.line.service_factors import SERVICE_FACTORS
from woold.line.things import LineChoice
from woold.line.wear_parts import part_kinds
from woold.line.wear_result import DriveDuty, LineWear, MachineWear
from woold.line.wrapped_film import LoadsWithMachine, WrappedFilm, loads_with_machine, wrapped_by
from woold.physics.demand import demand_range
from woold.physics.grip import roller_power
from woold.prediction.film_on_load import carriage_setting, lacing_of, lay_film
from woold.prediction.result import Finding
from woold.words import say

__all__ = ["line_wear"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Side:
    """A carriage for each model of machine, and the loads as they are wrapped by it."""

    carriages: tuple[CarriageThing | None, ...]
    wrapped: WrappedFilm


def line_wear(
    line: LineFile, catalogue: Catalogue, carriage: str, rethread: float | None = None
) -> LineWear:
    """What one carriage changes in parts, roll changes and the duty of the drive.

    Args:
        line, catalogue: the line and its loads.
        carriage: that goes on every machine.
        rethread: time to change a roll with it, on every machine; each machine's own if not given
            [s].

    Raises:
        InputError: no such carriage; no machine of which is known which carriage is fitted; or no
            load that both serve.
    """
    things = line.things
    one = next((each for each in things.carriages if each.name == carriage.removeprefix("@")), None)
    if one is None:
        names = ", ".join(f'"{each.name}"' for each in things.carriages)
        raise InputError.one("--carriage", repr(carriage), names, say("Name one of the line's."))
    today = tuple(things.fitted(each.name) for each in things.models)
    if not any(today):
        raise InputError.one(
            "machines",
            say("no machine with a carriage"),
            say("the carriage that is fitted to each machine today"),
            say("State it in [[machines]]: carriage = \"@NAME\"."),
        )  # fmt: skip
    loads = loads_with_machine(line, catalogue)
    sides = [
        _Side(each, wrapped_by(line, each, loads))
        for each in (today, tuple(one if each else None for each in today))
    ]
    machines = tuple(
        found
        for at, model in enumerate(things.models)
        if (found := _machine(line, (at, model), loads, sides, rethread)) is not None
    )
    if not machines:
        raise InputError.one(
            "--carriage", repr(carriage), say("a carriage that serves loads which today's serve"),
            say("Look at: woold line map"),
        )  # fmt: skip
    fitted = {each.name: each for each in today if each is not None}
    return LineWear(
        title=line.line.title,
        carriage=one.name,
        parts=part_kinds(tuple(fitted.values()), one),
        machines=machines,
        findings=tuple(_findings(line, machines, today)),
    )


def _machine(
    line: LineFile,
    numbered: tuple[int, MachineModel],
    loads: LoadsWithMachine,
    sides: Sequence[_Side],
    rethread: float | None,
) -> MachineWear | None:
    """One model of machine; None where nothing can be compared."""
    number, model = numbered
    here = loads.models == number
    before, after = (each.wrapped.serves & here for each in sides)
    both = before & after
    if not both.any():
        return None
    duties = [_duty(line, numbered, loads, each, both) for each in sides]
    rolls = [_rolls(line, loads, each.wrapped, both) for each in sides]
    yearly = float(loads.per_year[here].sum())
    own = _rethread(line, model)
    then = own if rethread is None else (rethread, rethread, rethread)
    times = [
        [count * each for each in time] for count, time in zip(rolls, (own, then), strict=True)
    ]
    return MachineWear(
        machine=model.name,
        loads_per_year=yearly,
        compared_share=float(loads.per_year[both].sum()) / yearly,
        not_served_share=float(loads.per_year[before & ~after].sum()) / yearly,
        before=duties[0],
        after=duties[1],
        film_ratio=duties[1].film_m / duties[0].film_m,
        turns_ratio=_ratio(duties[1].fast_turns, duties[0].fast_turns),
        torque_ratio=_ratio(duties[1].torque_peak_n_m, duties[0].torque_peak_n_m),
        work_ratio=_ratio(duties[1].work_j, duties[0].work_j),
        rolls_before=rolls[0],
        rolls_after=rolls[1],
        rethread_before_s=times[0][0],
        rethread_before_low_s=times[0][1],
        rethread_before_high_s=times[0][2],
        rethread_after_s=times[1][0],
        rethread_after_low_s=times[1][1],
        rethread_after_high_s=times[1][2],
        rethread_is_typed=own[1] == own[2],
    )


def _ratio(after: float | None, before: float | None) -> float | None:
    return None if after is None or not before else after / before


def _rethread(line: LineFile, model: MachineModel) -> tuple[float, float, float]:
    """Time to change a roll, with its range where it is a placeholder [s]."""
    value = model.machine.rethread_time
    origin = line.things.stated.get(("machine_models", model.name), {}).get("machine.rethread_time")
    if origin is not None and origin.low is not None and origin.high is not None:
        return value, origin.low, origin.high
    if "rethread_time" in model.machine.model_fields_set:
        return value, value, value
    facts = facts_of(type(model.machine), "rethread_time")
    return value, facts.low or value, facts.high or value


def _rolls(
    line: LineFile, loads: LoadsWithMachine, wrapped: WrappedFilm, where: NDArray[np.bool_]
) -> float:
    """Rolls used up in a year."""
    total = 0.0
    for at, film in enumerate(line.things.films):
        rows = where & (wrapped.film == at)
        mass = float((loads.per_year[rows] * wrapped.mass[rows]).sum())
        total += mass / film.roll_mass
    return total


def _duty(
    line: LineFile,
    numbered: tuple[int, MachineModel],
    loads: LoadsWithMachine,
    side: _Side,
    where: NDArray[np.bool_],
) -> DriveDuty:
    """What the loads of a year ask of the drive."""
    number, model = numbered
    carriage = side.carriages[number]
    assert carriage is not None
    film_m = turns = work = torque_peak = power_peak = speed_peak = 0.0
    knows_rollers = True
    for part in _parts(line, model, loads, side.wrapped, where, carriage):
        film_m += part.film_m
        power_peak = max(power_peak, part.power_peak)
        speed_peak = max(speed_peak, part.film_speed_peak)
        if part.diameter is None:
            knows_rollers = False
            continue
        turned = part.film_m / (math.pi * part.diameter)
        turns += turned
        work += part.torque * 2.0 * math.pi * turned
        torque_peak = max(torque_peak, part.torque_peak)
    drives = (carriage.drive, model.drive)
    torque_rating, power_rating = (_lower(drives, each) for each in ("torque", "power"))
    couples_by = (carriage.drive.couples_by if carriage.drive else None) or ""
    safety = _safety(
        couples_by,
        (torque_rating, torque_peak if knows_rollers else None),
        (power_rating, power_peak),
    )
    return DriveDuty(
        carriage=carriage.name,
        film_m=film_m,
        fast_turns=turns if knows_rollers else None,
        torque_n_m=work / (2.0 * math.pi * turns) if knows_rollers and turns > 0.0 else None,
        torque_peak_n_m=torque_peak if knows_rollers else None,
        power_peak_w=power_peak,
        film_speed_peak_m_per_s=speed_peak,
        work_j=work if knows_rollers else None,
        couples_by=couples_by,
        torque_rating_n_m=torque_rating,
        power_rating_w=power_rating,
        safety_low=safety[0],
        safety_high=safety[1],
    )


@dataclass(frozen=True, slots=True)
class _Part:
    """Loads of one film and recipe.

    Args:
        film_m: through the fast roller in a year [m].
        diameter: of the fast roller; None where it is not listed [m].
        torque, torque_peak: at the fast roller, at the force to load and at most [N m].
        power_peak: of the drive at the fastest corner [W].
        film_speed_peak: behind the fast roller there [m/s].
    """

    film_m: float
    diameter: float | None
    torque: float
    torque_peak: float
    power_peak: float
    film_speed_peak: float


def _parts(
    line: LineFile,
    model: MachineModel,
    loads: LoadsWithMachine,
    wrapped: WrappedFilm,
    where: NDArray[np.bool_],
    carriage: CarriageThing,
) -> Iterator[_Part]:
    groups: dict[tuple[int, str], list[int]] = {}
    for row in np.flatnonzero(where).tolist():
        groups.setdefault((int(wrapped.film[row]), wrapped.recipe[row]), []).append(row)
    things = line.things
    for (film, name), rows in groups.items():
        recipe = next(each for each in things.recipes if each.name == name)
        choice = LineChoice(carriage, model, things.films[film], recipe)
        chosen = chosen_film(things, choice, loads.loads[rows[0]], line.line.corner_tension)
        if chosen.sheet is None or chosen.drive is None:
            continue
        lacing = lacing_of(chosen.case)
        diameter = lacing.path.contact("fast").roller.diameter if lacing.path else None
        force = chosen.case.program.force_to_load
        laid = lay_film(chosen.case, lacing).delivered
        power = roller_power(
            laid,
            carriage_setting(chosen.case, lacing).geared_stretch,
            chosen.case.carriage.unwind_tension,
            force,
            1.0,
            diameter or 1.0,
            chosen.drive.film_speed,
        )
        # Film on the load lies stretched a little more or less than behind the fast roller.
        length = loads.per_year[rows] * wrapped.mass[rows] / chosen.sheet.mass_per_metre
        fastest = max(
            demand_range(load_outline(loads.loads[row].load), model.machine.speed).fastest
            for row in rows
        )
        yield _Part(
            film_m=float(length.sum()) * chosen.drive.film_speed,
            diameter=diameter,
            torque=abs(float(np.asarray(power.torque_fast))),
            torque_peak=chosen.drive.torque,
            power_peak=chosen.drive.power * fastest,
            film_speed_peak=chosen.drive.film_speed * fastest,
        )


def _lower(drives: Sequence[DriveRating | None], name: str) -> float | None:
    """The lowest rating that is stated."""
    stated = [value for each in drives if each and (value := getattr(each, name)) is not None]
    return min(stated) if stated else None


def _safety(
    couples_by: str, *pairs: tuple[float | None, float | None]
) -> tuple[float | None, float | None]:
    """The lower of what ratings leave over what is asked, after the service factor."""
    known = [have / asked for have, asked in pairs if have is not None and asked]
    if couples_by not in SERVICE_FACTORS or len(known) < len(pairs):
        return None, None
    low, high, _ = SERVICE_FACTORS[couples_by]
    return min(known) / high, min(known) / low


def _findings(
    line: LineFile, machines: Sequence[MachineWear], today: Sequence[CarriageThing | None]
) -> Iterator[Finding]:
    unknown = [
        model.name for model, each in zip(line.things.models, today, strict=True) if each is None
    ]
    if unknown:
        yield Finding(
            "carriage_today_unknown",
            "machines",
            say(
                "Which carriage is fitted is not stated, or not the same, on {machines}: they are"
                " left out.",
                machines=", ".join(unknown),
            ),
        )
    lost = [each.machine for each in machines if each.not_served_share > 0.0]
    if lost:
        yield Finding(
            "loads_not_served",
            "line.carriages",
            say(
                "The one carriage does not serve all loads that today's serve, on {machines}: what"
                " is compared leaves them out.",
                machines=", ".join(lost),
            ),
        )
    weak = [
        each.machine
        for each in machines
        if each.after.safety_low is not None and each.after.safety_low < 1.0
    ]
    if weak:
        yield Finding(
            "drive_too_weak",
            "carriages.drive",
            say(
                "By the larger service factor of selection rules the drive is too weak on"
                " {machines}: ask its maker before anything is fitted.",
                machines=", ".join(weak),
            ),
        )
