"""Starting a trial: only one whose records can be analysed."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np

from woold.errors import ConflictError, InputError, Problem
from woold.store import Cell, Store
from woold.trial.compare import compare_zones, means_of
from woold.trial.load_order import PlannedLoad
from woold.trial.records import PLAN, TRIAL, records_of
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.table import LoadTable
from woold.trial.worksheet import load_height, zone_limits
from woold.words import say

__all__ = ["refuse_what_cannot_be_analysed", "start_trial"]


def refuse_what_cannot_be_analysed(setup: TrialSetup, order: Sequence[PlannedLoad]) -> None:
    """Raise what would stop the analysis, before anything is wrapped.

    Zones must have limits that lie on the load, and loads like the planned ones, drawn at random
    and all measured, must be comparable.

    Args:
        setup: the trial.
        order: its planned loads; where there are none, only the zones are looked at.

    Raises:
        InputError: each thing that is missing.
    """
    problems = [
        problem for each in setup.trial.load_types for problem in _zone_problems(setup, each.name)
    ]
    if problems:
        raise InputError.many(dict.fromkeys(problems))
    if not order:
        return
    table = _made_up(setup, order)
    means_of(table, table.film_mass, say("planned loads"))
    zones, _ = compare_zones(table, setup.trial.aim.margin)
    if len(zones) < len(table.zone_names):
        raise InputError.one(
            say("planned loads"),
            say("{count}, too few to compare every zone", count=len(order)),
            say("more loads than load types, treatments and blocks together"),
            say("Plan more loads, or larger blocks."),
        )


def _zone_problems(setup: TrialSetup, load_type: str) -> list[Problem]:
    limits, height = zone_limits(setup, load_type), load_height(setup, load_type)
    if limits is None:
        return [
            Problem(
                "zones.limits",
                say("nothing, and no case that gives the load's height"),
                say(
                    "the heights over the deck between the zones ({count})",
                    count=len(setup.trial.zones.names) - 1,
                ),
                say(
                    'Add limits = ["0.5 m", "1.0 m"] to [zones], or name a case for each load type.'
                ),
            )
        ]
    if height is not None and limits and limits[-1] >= height:
        return [
            Problem(
                "zones.limits",
                f"{limits[-1]:g} m",
                say(
                    "below {height} m, the height of {load_type}",
                    height=f"{height:g}",
                    load_type=load_type,
                ),
                say("Lower the limits, or leave them out: then they are shares of the height."),
            )
        ]
    return []


def _made_up(setup: TrialSetup, order: Sequence[PlannedLoad]) -> LoadTable:
    """A table of the planned loads with values drawn at random: only its shape counts."""
    rng = np.random.default_rng(0)
    trial, count = setup.trial, len(order)
    names = list(dict.fromkeys(load.block for load in order))
    types = {each.name: place for place, each in enumerate(trial.load_types)}
    nothing = np.full(count, np.nan)
    return LoadTable(
        numbers=tuple(str(load.number) for load in order),
        treatment=np.array([TREATMENTS.index(load.treatment) for load in order]),
        load_type=np.array([types[load.load_type] for load in order]),
        block=np.array([names.index(load.block) for load in order]),
        block_names=tuple(names),
        machine=np.zeros(count, int),
        roll=np.zeros(count, int),
        shift=np.zeros(count, int),
        roll_density=np.full(count, np.nan),
        film_mass=rng.normal(0.2, 0.01, count),
        cycle_time=nothing,
        turns=nothing,
        breaks=nothing,
        marks_stretch=nothing,
        film_width=nothing,
        dancer_force=nothing,
        zones=rng.normal(30.0, 2.0, (count, len(trial.zones.names))),
        pull_age=nothing,
        pulls=(),
        mix=np.array([each.loads_per_year for each in trial.load_types]),
        type_names=tuple(types),
        zone_names=trial.zones.names,
        notes={},
    )


def start_trial(
    store: Store, setup: TrialSetup, order: Sequence[PlannedLoad], by: str, reason: str = ""
) -> None:
    """Keep a trial and its planned order, so that sheets can be printed and read back.

    Args:
        store: where.
        setup: the trial.
        order: its planned loads.
        by: who.
        reason: why it is changed, where the trial is kept already.

    Raises:
        InputError: what it would record could not be analysed.
        ConflictError: the trial is kept already and no reason was given, or loads were wrapped and
            the order would change.
    """
    refuse_what_cannot_be_analysed(setup, order)
    key = setup.trial.key
    cells = {"tables": Cell(json.dumps(setup.tables, default=str))}
    cells |= {
        f"case:{name}": Cell(json.dumps(table, default=str))
        for name, table in setup.case_tables.items()
    }
    with store.writing(by) as batch:
        kept = batch.current(key, TRIAL)
        if kept and not reason:
            if dict(kept[0].cells) == cells:
                return
            raise ConflictError.one(
                "trial",
                say("{key}, kept with other values", key=key),
                say("a new key, or a reason"),
                say("Give --reason to change the trial that is kept."),
            )
        if kept:
            gone = {name: Cell("") for name in kept[0].cells if name not in cells}
            batch.correct(kept[0], gone | cells, reason)
        else:
            batch.add(key, TRIAL, key, cells)
        planned = {each.key: each for each in records_of(batch, key, PLAN)}
        wanted = {str(load.number): _plan_cells(load) for load in order}
        if planned and {name: dict(each.cells) for name, each in planned.items()} != wanted:
            if batch.current(key, "load"):
                raise ConflictError.one(
                    "order",
                    say("loads were wrapped in the order that is kept"),
                    say("the same order"),
                    say(
                        "Keep [order], [[load_types]] and the number of loads, or start a new"
                        " trial."
                    ),
                )
            for name, each in planned.items():
                batch.correct(each, wanted.get(name, {}), reason, void=name not in wanted)
        for name, values in wanted.items():
            if name not in planned:
                batch.add(key, PLAN, name, values)


def _plan_cells(load: PlannedLoad) -> dict[str, Cell]:
    cells = {
        "treatment": Cell(load.treatment),
        "load_type": Cell(load.load_type),
        "block": Cell(load.block),
        "shift": Cell(load.shift),
        "roll": Cell(load.roll),
    }
    return {**cells, "machine": Cell(load.machine)} if load.machine else cells
