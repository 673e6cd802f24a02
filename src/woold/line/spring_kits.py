"""Spring kits: for each carriage the fewest springs and holes that serve the line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.things import CarriageThing
from woold.dancer.results import DANCER_CAUTIONS
from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.kit_cover import Cover, best_cover, fewest_springs
from woold.line.line_file import LineFile
from woold.line.spring_needs import MOST_OUTLINES, Served, SpringNeed, Trials, needs_of, trials_of
from woold.prediction.result import Finding
from woold.rows.told import Told
from woold.words import say

__all__ = ["CarriageKit", "KitNeed", "KitSize", "KitSpring", "SpringKits", "spring_kits"]

Floats = NDArray[np.float64]

_LEAST_WEIGHT = 1e-6
"""Of a need that nobody wraps by today, beside the heaviest."""


@dataclass(frozen=True, slots=True)
class KitSpring:
    """A spring of the kit, named by its rate."""

    spring: int
    rate_n_per_m: float
    free_length_m: float


@dataclass(frozen=True, slots=True)
class KitNeed:
    """A film at a force: its spring and hole; none where nothing serves it, and why."""

    film: str
    force_n: float
    machines: tuple[str, ...]
    loads_per_year: float
    spring: int | None
    rate_n_per_m: float | None
    hole_m: float | None
    travel_share: float | None
    tension_ripple: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class KitSize:
    """What a kit of at most so many springs can do.

    Args:
        springs: how many, at most.
        rates_n_per_m, holes_m: of those that it takes.
        share_served: of the loads that are wrapped by what any spring serves or not [-].
        needs_served: how many films and forces.
        tension_ripple: mean over what is served [-].
        tension_ripple_any_hole: the same with every hole allowed [-].
    """

    springs: int
    rates_n_per_m: tuple[float, ...]
    holes_m: tuple[float, ...]
    share_served: float
    needs_served: int
    tension_ripple: float
    tension_ripple_any_hole: float


@dataclass(frozen=True, slots=True)
class CarriageKit:
    """The kit of one carriage.

    Args:
        carriage: its name.
        springs_listed, holes_listed: how many there are to choose from.
        springs, holes_m: in the kit.
        is_exact: whether no smaller kit can exist.
        share_served: of the loads of all films and forces [-].
        needs: film and force by film and force.
        sizes: kits of fewer springs, this one, and one more.
        tried: dancers that were put into motion.
    """

    carriage: str
    springs_listed: int
    holes_listed: int
    springs: tuple[KitSpring, ...]
    holes_m: tuple[float, ...]
    is_exact: bool
    share_served: float
    needs: tuple[KitNeed, ...]
    sizes: tuple[KitSize, ...]
    tried: int


@dataclass(frozen=True, slots=True, repr=False)
class SpringKits(Told):
    """Kits of all carriages that have springs to choose from."""

    told_as = "spring-kits"
    told_by = "woold.line.kit_rows:kit_blocks"

    title: str
    by_machine: bool
    kits: tuple[CarriageKit, ...]
    most_outlines: int
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = DANCER_CAUTIONS


def spring_kits(
    line: LineFile,
    catalogue: Catalogue,
    carriage: str | None = None,
    by_machine: bool = False,
    progress: Callable[[], None] | None = None,
) -> SpringKits:
    """The fewest springs and holes that serve every film and force of the line, by carriage.

    A spring in a hole serves a film at a force when it does so at rest and, on each machine, in
    motion with the loads that move the dancer most. The kit is a covering in whole numbers; where
    a load further down the list is not smooth with what it takes, that is struck out and the kit
    is found anew.

    Args:
        line, catalogue: the line and its loads.
        carriage: that one alone.
        by_machine: each machine may have its own spring for a film and force.
        progress: called now and then.

    Raises:
        InputError: no such carriage, or none with springs; a load for which no recipe fits.
    """
    wanted = _carriages(line, carriage)
    needs = needs_of(line.things, catalogue.loads, by_machine)
    return SpringKits(
        title=line.line.title,
        by_machine=by_machine,
        kits=tuple(_kit(Trials(line.things, each, needs), progress) for each in wanted),
        most_outlines=MOST_OUTLINES,
        findings=tuple(_findings(line, wanted)),
    )


def _carriages(line: LineFile, name: str | None) -> tuple[CarriageThing, ...]:
    there = [each for each in line.things.candidates if each.dancer and each.dancer.springs]
    if not there:
        raise InputError.one(
            "carriages.dancer.springs",
            say("none"),
            say("one spring or more in a carriage of the line"),
            say("Add [[carriages.dancer.springs]] to a carriage, one for each spring."),
        )
    if name is None:
        return tuple(there)
    found = [each for each in there if each.name == name.removeprefix("@")]
    if not found:
        names = ", ".join(f'"{each.name}"' for each in there)
        raise InputError.one(
            "--carriage", repr(name), names, say("Name a carriage of the line that has springs.")
        )
    return tuple(found)


def _findings(line: LineFile, wanted: Sequence[CarriageThing]) -> list[Finding]:
    without = [
        each.name for each in line.things.candidates if not (each.dancer and each.dancer.springs)
    ]
    found = []
    if without:
        found.append(
            Finding(
                "no_springs",
                "carriages.dancer",
                say(
                    "No springs are listed for {carriages}: no kit is said of them.",
                    carriages=", ".join(without),
                ),
            )
        )
    placeholders = [
        each.name
        for each in wanted
        if each.dancer is not None and "anchor" not in each.dancer.model_fields_set
    ]
    if placeholders:
        found.append(
            Finding(
                "spring_anchor_not_measured",
                "carriages.dancer.anchor",
                say(
                    "Where the spring is fixed is a placeholder on {carriages}: measure it before"
                    " springs are bought, every line of the kit rests on it.",
                    carriages=", ".join(placeholders),
                ),
            )
        )
    return found


class _Table:
    """Which spring in which hole serves which need, as far as it was tried."""

    def __init__(self, trials: Trials, served: Sequence[dict[tuple[int, int], Served]]) -> None:
        shape = (len(trials.needs), len(trials.springs), len(trials.holes))
        self.served = served
        self.fits = np.zeros(shape, bool)
        self.cost = np.zeros(shape)
        for need, pairs in enumerate(served):
            for (spring, hole), each in pairs.items():
                self.fits[need, spring, hole] = each.fits
                self.cost[need, spring, hole] = each.ripple
        weights = np.array([each.loads_per_year for each in trials.needs])
        heaviest = float(weights.max(initial=0.0)) or 1.0
        self.weights = np.maximum(weights, _LEAST_WEIGHT * heaviest)

    def strike(self, need: int, spring: int, hole: int, reason: str) -> None:
        """It does not serve after all."""
        self.fits[need, spring, hole] = False
        before = self.served[need][spring, hole]
        self.served[need][spring, hole] = replace(before, fits=False, reason=reason)

    def raise_ripple(self, need: int, spring: int, hole: int, ripple: float) -> None:
        """Another load ripples more."""
        self.cost[need, spring, hole] = max(self.cost[need, spring, hole], ripple)


def _kit(trials: Trials, progress: Callable[[], None] | None) -> CarriageKit:
    """The kit of one carriage, and those of other sizes."""
    table = _Table(trials, trials_of(trials, progress))
    checked: set[tuple[int, int, int]] = set()
    while True:
        count = fewest_springs(table.fits) or 0
        sizes = range(1, min(count + 1, len(trials.springs)) + 1) if count else ()
        covers = [(most, _cover(table, most, False), _cover(table, most, True)) for most in sizes]
        taken = [each for _, with_fewest, free in covers for each in (with_fewest, free)]
        if not _strike(trials, table, taken, checked):
            break
        if progress is not None:
            progress()
    best = covers[count - 1][1] if covers else None
    return CarriageKit(
        carriage=trials.carriage.name,
        springs_listed=len(trials.springs),
        holes_listed=len(trials.holes),
        springs=tuple(
            KitSpring(each + 1, trials.springs[each].rate, trials.springs[each].free_length)
            for each in (best.springs if best else ())
        ),
        holes_m=tuple(trials.holes[each] for each in (best.holes if best else ())),
        is_exact=best is None or best.is_exact,
        share_served=best.weight_served if best else 0.0,
        needs=tuple(
            _need(trials, table, index, each, best) for index, each in enumerate(trials.needs)
        ),
        sizes=tuple(_size(trials, most, cover, free) for most, cover, free in covers),
        tried=trials.tried,
    )


def _cover(table: _Table, most: int, any_hole: bool) -> Cover:
    return best_cover(table.fits, table.cost, table.weights, most, any_hole)


def _strike(
    trials: Trials, table: _Table, covers: Sequence[Cover], checked: set[tuple[int, int, int]]
) -> bool:
    """Try what the kits take with every load; whether anything had to be struck or raised."""
    changed = False
    for cover in covers:
        for need in np.flatnonzero(cover.spring_of >= 0):
            place = (int(need), int(cover.spring_of[need]), int(cover.hole_of[need]))
            if place in checked:
                continue
            checked.add(place)
            ripple, fault = trials.in_motion(*place, range(1, MOST_OUTLINES))
            if fault:
                table.strike(*place, fault)
                changed = True
            elif ripple > table.cost[place]:
                table.raise_ripple(*place, ripple)
                changed = True
    return changed


def _size(trials: Trials, most: int, cover: Cover, free: Cover) -> KitSize:
    return KitSize(
        springs=most,
        rates_n_per_m=tuple(trials.springs[each].rate for each in cover.springs),
        holes_m=tuple(trials.holes[each] for each in cover.holes),
        share_served=cover.weight_served,
        needs_served=int((cover.spring_of >= 0).sum()),
        tension_ripple=cover.cost,
        tension_ripple_any_hole=free.cost,
    )


def _need(
    trials: Trials, table: _Table, index: int, need: SpringNeed, cover: Cover | None
) -> KitNeed:
    spring = -1 if cover is None else int(cover.spring_of[index])
    hole = -1 if cover is None else int(cover.hole_of[index])
    served = table.served[index].get((spring, hole))
    rest = served.at_rest if served else None
    return KitNeed(
        film=need.film.name,
        force_n=need.force,
        machines=need.machine_names,
        loads_per_year=need.loads_per_year,
        spring=None if spring < 0 else spring + 1,
        rate_n_per_m=None if spring < 0 else trials.springs[spring].rate,
        hole_m=None if spring < 0 else trials.holes[hole],
        travel_share=None if rest is None else rest.travel_share,
        tension_ripple=None if spring < 0 else float(table.cost[index, spring, hole]),
        reason="" if spring >= 0 else _why_none(trials, table.served[index]),
    )


def _why_none(trials: Trials, served: dict[tuple[int, int], Served]) -> str:
    """What speaks against the spring and hole that come nearest."""
    nearest = min(
        served.items(),
        key=lambda pair: (
            pair[1].at_rest is None or not pair[1].at_rest.fits,
            pair[1].at_rest.rank if pair[1].at_rest else 0,
        ),
    )
    (spring, hole), each = nearest
    if each.at_rest is None:
        return each.reason
    return say(
        "nearest is {rate} N/mm in {hole} mm: {reason}",
        rate=f"{trials.springs[spring].rate / 1000.0:.3g}",
        hole=f"{trials.holes[hole] * 1000.0:.0f}",
        reason=each.reason,
    )
