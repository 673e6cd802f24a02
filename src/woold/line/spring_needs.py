"""What the springs of a carriage are needed for: every film and force of the line, on its machines.

A spring in a hole serves a need when it balances the force within the arm's travel, and when the
dancer stays smooth at every machine's speed with the loads whose corners move it most.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.outline import load_outline
from woold.case.things import CarriageThing, MachineModel, ShelfFilm
from woold.dancer.case_dancer import case_dancer, choices_of, dancer_of, springs_of
from woold.errors import WooldError
from woold.line.things import LineChoice, LineLoad, LineThings, case_of, recipe_for
from woold.physics.dancer_setup import DancerSetup
from woold.physics.dancer_springs import SpringChoice
from woold.physics.dancer_tuning import Tuning, TuningAim, tried_in_motion
from woold.physics.demand import film_demand
from woold.physics.outlines import Outline
from woold.units import show
from woold.words import say

__all__ = [
    "MOST_OUTLINES",
    "OnMachine",
    "Served",
    "SpringNeed",
    "Trials",
    "film_swing",
    "needs_of",
    "trials_of",
]

Floats = NDArray[np.float64]

MOST_OUTLINES = 6
"""Outlines of load that a need is tried with on a machine: those that move the dancer most."""

_ANGLES = np.linspace(0.0, 2.0 * np.pi, 361)


@dataclass(frozen=True, slots=True)
class OnMachine:
    """A machine, and loads there by how much they move the dancer, the most first."""

    model: MachineModel
    loads: tuple[LineLoad, ...]


@dataclass(frozen=True, slots=True)
class SpringNeed:
    """A film at a force, on the machines that wrap with it.

    Args:
        film: which.
        force: film tension asked for [N].
        machines: where, each with loads to try.
        loads_per_year: wrapped so in a year, or that might be where nobody said in which film.
    """

    film: ShelfFilm
    force: float
    machines: tuple[OnMachine, ...]
    loads_per_year: float

    @property
    def machine_names(self) -> tuple[str, ...]:
        """Models of machine."""
        return tuple(each.model.name for each in self.machines)


@dataclass(frozen=True, slots=True)
class Served:
    """How a spring in a hole serves a need.

    Args:
        at_rest: the spring in the hole, standing still; None where nothing could be worked out.
        fits: whether it serves, as far as it was tried.
        ripple: largest tension ripple over the machines tried [-].
        reason: why it does not.
    """

    at_rest: SpringChoice | None
    fits: bool
    ripple: float = 0.0
    reason: str = ""


def needs_of(
    things: LineThings, loads: Sequence[LineLoad], by_machine: bool
) -> tuple[SpringNeed, ...]:
    """Every film and force of the line.

    Args:
        things: of the line.
        loads: its catalogue.
        by_machine: each machine may have a spring of its own for a film and force.

    Raises:
        InputError: a load for which no recipe fits.
    """
    on_model: dict[str, list[LineLoad]] = {}
    for load in loads:
        model = things.model_of(load.machine) if load.machine else things.models[0]
        on_model.setdefault(model.name, []).append(load)
    found: list[SpringNeed] = []
    for film in things.films:
        by_force: dict[float, list[tuple[OnMachine, float]]] = {}
        for model in things.models:
            groups: dict[float, list[LineLoad]] = {}
            for load in on_model.get(model.name, ()):
                recipe = recipe_for(things, model, film, load)
                groups.setdefault(recipe.program.force_to_load, []).append(load)
            for force, group in groups.items():
                here = OnMachine(model, _most_moving(group, model))
                yearly = sum(
                    each.loads_per_year or 0.0 for each in group if each.film in ("", film.name)
                )
                by_force.setdefault(force, []).append((here, yearly))
        for force, places in sorted(by_force.items()):
            parts = [[each] for each in places] if by_machine else [places]
            found += [
                SpringNeed(
                    film, force, tuple(each for each, _ in part), sum(year for _, year in part)
                )
                for part in parts
            ]
    return tuple(found)


def _most_moving(loads: Sequence[LineLoad], model: MachineModel) -> tuple[LineLoad, ...]:
    """Loads of different outlines, those first whose corners move the dancer most."""
    distance = model.machine.exit_distance
    different: dict[tuple[object, ...], tuple[float, LineLoad]] = {}
    for each in loads:
        load = each.load
        key = (load.length, load.width, load.diameter, load.footprint, load.offset)
        if key not in different:
            different[key] = film_swing(load_outline(load), distance), each
    ranked = sorted(different.values(), key=lambda pair: -pair[0])
    return tuple(load for _, load in ranked[:MOST_OUTLINES])


def film_swing(outline: Outline, exit_distance: float) -> float:
    """Film that a dancer must give and take back in a turn at an even film speed.

    max - min of ∫ (p(θ) - mean p) dθ

    Args:
        outline: of the load.
        exit_distance: of the film from the axis [m].
    """
    speed = film_demand(_ANGLES[:-1], outline, exit_distance, 1.0)
    stored = np.cumsum(speed - speed.mean()) * (_ANGLES[1] - _ANGLES[0])
    return float(np.ptp(stored))


class Trials:
    """Springs of a carriage tried in its holes for each need, those asked for alone.

    Args:
        things: of the line.
        carriage: whose springs and holes.
        needs: what they are for.
    """

    def __init__(
        self, things: LineThings, carriage: CarriageThing, needs: Sequence[SpringNeed]
    ) -> None:
        self.things, self.carriage, self.needs = things, carriage, needs
        dancer = carriage.dancer
        self.springs = springs_of(dancer) if dancer else ()
        self.holes = dancer.holes if dancer else ()
        self._setups: dict[tuple[int, int, int], DancerSetup | str] = {}
        self.tried = 0

    def at_rest(self, need: int) -> dict[tuple[int, int], SpringChoice]:
        """Every spring in every hole for a need, standing still, by their numbers from 0."""
        asked = self.needs[need]
        place = asked.machines[0]
        case = case_of(self.things, self._choice(asked, place), place.loads[0])
        number = {id(each): index for index, each in enumerate(self.springs)}
        choices = choices_of(case, dancer_of(case), self.springs)
        return {
            (number[id(each.spring)], self.holes.index(each.hole_radius)): each for each in choices
        }

    def in_motion(
        self, need: int, spring: int, hole: int, loads: Iterable[int]
    ) -> tuple[float, str]:
        """Largest ripple over the need's machines with loads of these places, and what fails.

        Args:
            need, spring, hole: their numbers, from 0.
            loads: places of loads in each machine's list.
        """
        ripple = 0.0
        for at, place in enumerate(self.needs[need].machines):
            for which in loads:
                if which >= len(place.loads):
                    continue
                found = self._tried(need, at, which, (spring, hole))
                if isinstance(found, str):
                    return ripple, self._where(place, which, found)
                ripple = max(ripple, found.swing.ripple)
                if not found.fits:
                    return ripple, self._where(place, which, _fault(found))
        return ripple, ""

    def _choice(self, need: SpringNeed, place: OnMachine) -> LineChoice:
        recipe = recipe_for(self.things, place.model, need.film, place.loads[0])
        return LineChoice(self.carriage, place.model, need.film, recipe)

    def _tried(
        self, need: int, at: int, which: int, spring_and_hole: tuple[int, int]
    ) -> Tuning | str:
        """One dancer in motion, or why it cannot be."""
        asked = self.needs[need]
        place = asked.machines[at]
        key = (need, at, which)
        if key not in self._setups:
            load = place.loads[which]
            recipe = recipe_for(self.things, place.model, asked.film, load)
            choice = LineChoice(self.carriage, place.model, asked.film, recipe)
            try:
                case = case_of(self.things, choice, load)
                self._setups[key] = case_dancer(case, 1, self.holes[0]).setup
            except WooldError as error:
                self._setups[key] = str(error.problems[0])
        setup = self._setups[key]
        if isinstance(setup, str):
            return setup
        spring, hole = spring_and_hole
        self.tried += 1
        aim = TuningAim(place.model.machine.speed, asked.force)
        set_so = replace(setup, spring=self.springs[spring], hole_radius=self.holes[hole])
        return tried_in_motion(set_so, aim) or say("its motion runs away")

    def _where(self, place: OnMachine, which: int, fault: str) -> str:
        return say(
            "on {machine} with {load}: {fault}",
            machine=place.model.name,
            load=place.loads[which].name,
            fault=fault,
        )


def _fault(found: Tuning) -> str:
    if found.swing.faults:
        return "; ".join(found.swing.faults)
    return say(
        "mean tension {error} off the asked one", error=f"{100.0 * found.tension_error:+.0f} %"
    )


def trials_of(
    trials: Trials, progress: Callable[[], None] | None = None
) -> list[dict[tuple[int, int], Served]]:
    """How every spring in every hole serves each need, tried with the load that moves it most.

    Args:
        trials: of a carriage.
        progress: called after each need.
    """
    found: list[dict[tuple[int, int], Served]] = []
    for need in range(len(trials.needs)):
        served: dict[tuple[int, int], Served] = {}
        too_wide = _too_wide(trials.carriage, trials.needs[need].film)
        for (spring, hole), rest in trials.at_rest(need).items():
            if too_wide or not rest.fits:
                served[spring, hole] = Served(
                    None if too_wide else rest, False, reason=too_wide or rest.reason
                )
                continue
            ripple, fault = trials.in_motion(need, spring, hole, (0,))
            served[spring, hole] = Served(rest, not fault, ripple, fault)
        found.append(served)
        if progress is not None:
            progress()
    return found


def _too_wide(carriage: CarriageThing, film: ShelfFilm) -> str:
    widest = carriage.carriage.widest_roll
    if widest is None or film.roll_width <= widest + 1e-6:
        return ""
    return say(
        "a roll {width} wide, and the carriage takes {widest} at most",
        width=show(film.roll_width, "small_length"),
        widest=show(widest, "small_length"),
    )
