"""Made-up plants in which a carriage is fitted once: rolls, drift, season and slow wander."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.trial.before_after import judge_before_after
from woold.trial.table import LoadTable

__all__ = ["Plant", "decided", "records"]


@dataclass(frozen=True)
class Plant:
    """What a before-and-after trial is drawn from; the trial lasts 12 weeks.

    Args:
        rolls: before, and as many after, unless rolls_after says otherwise.
        loads: weighed of each roll.
        step: ln of the film ratio of the change.
        hold_step: ln of the hold ratio of the change.
        roll_spread: of film mass per metre, from roll to roll.
        spread, pull_spread: from load to load.
        drift: spread (standard deviation) of a steady drift over the trial.
        season: amplitude of a yearly wave of random phase.
        wander, memory: spread of slow changes, and their correlation from roll to roll.
        own_wander: the same of each machine by itself.
        control: an unchanged machine beside it shares drift, season and wander.
        weighed: rolls are weighed, and their mass a metre is known to 0.3 %.
    """

    rolls: int = 12
    loads: int = 4
    step: float = 0.0
    hold_step: float = 0.0
    roll_spread: float = 0.03
    spread: float = 0.03
    pull_spread: float = 0.10
    drift: float = 0.0
    season: float = 0.0
    wander: float = 0.0
    memory: float = 0.0
    own_wander: float = 0.0
    control: bool = False
    weighed: bool = False
    rolls_after: int = 0


def records(rng: np.random.Generator, plant: Plant) -> LoadTable:
    """The records of one such trial."""
    blocks = plant.rolls + (plant.rolls_after or plant.rolls)
    time = np.arange(blocks) / blocks
    shared = plant.drift * rng.standard_normal() * time
    shared += plant.season * np.sin(2 * np.pi * (time * 12 / 52 + rng.random()))
    shared += plant.wander * _wander(rng, blocks, plant.memory)
    machines = (0, 1) if plant.control else (0,)
    own = [plant.own_wander * _wander(rng, blocks, plant.memory) for _ in machines]
    after = np.arange(blocks) >= plant.rolls
    rows = []
    for block in range(blocks):
        for machine in machines:
            roll = plant.roll_spread * rng.standard_normal()
            known = roll + 0.003 * rng.standard_normal()
            changed = float(after[block] and machine == 0)
            of_roll = shared[block] + own[machine][block] + roll + plant.step * changed
            for _ in range(plant.loads):
                film = of_roll + plant.spread * rng.standard_normal()
                # More film holds more; a change of hold beyond that is the carriage's.
                hold = film + (plant.hold_step - plant.step) * changed
                zones = hold + plant.pull_spread * rng.standard_normal(3)
                rows.append((block, machine, changed, film, known, *zones))
    data = np.array(rows)
    count = len(rows)
    nothing = np.full(count, np.nan)
    return LoadTable(
        numbers=tuple(str(1 + index) for index in range(count)),
        treatment=data[:, 2].astype(int),
        load_type=np.zeros(count, int),
        block=data[:, 0].astype(int),
        block_names=tuple(str(1 + block) for block in range(blocks)),
        machine=data[:, 1].astype(int),
        roll=1 + data[:, 0].astype(int) + blocks * data[:, 1].astype(int),
        shift=np.zeros(count, int),
        roll_density=0.02 * np.exp(data[:, 4]) if plant.weighed else nothing,
        film_mass=0.18 * np.exp(data[:, 3]),
        cycle_time=nothing,
        turns=nothing,
        breaks=nothing,
        marks_stretch=nothing,
        film_width=nothing,
        dancer_force=nothing,
        zones=30.0 * np.exp(data[:, 5:8]),
        pull_age=np.full(count, 1800.0),
        pulls=(),
        mix=np.array([1000.0]),
        type_names=("jars",),
        zone_names=("bottom", "middle", "top"),
        notes={},
    )


def _wander(rng: np.random.Generator, count: int, memory: float) -> np.ndarray:
    steps = rng.standard_normal(count)
    for place in range(1, count):
        steps[place] = memory * steps[place - 1] + math.sqrt(1 - memory**2) * steps[place]
    return steps


def decided(plant: Plant, trials: int, seed: int) -> tuple[int, int, int]:
    """Trials that show film to be less or more, the same at equal hold, and the film intervals
    that hold the truth.
    """
    film = equal = covered = 0
    for trial in range(trials):
        table = records(np.random.default_rng([seed, trial]), plant)
        judged, _ = judge_before_after(table, 0.10, is_filled=True)
        assert judged.film is not None
        assert judged.equal_hold is not None
        film += judged.film.is_less or judged.film.is_more
        equal += judged.equal_hold.is_less or judged.equal_hold.is_more
        interval = judged.film.interval
        low, high = interval.low or 0.0, interval.high or math.inf
        covered += low <= math.exp(plant.step) <= high
    return film, equal, covered
