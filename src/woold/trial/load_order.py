"""The order in which a trial's loads are wrapped: mixed in blocks, or before and after."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from woold.trial.setup import TREATMENTS, Trial

__all__ = ["CONTROL", "PlannedLoad", "order_of"]

CONTROL = "control"
"""Machine of the planned loads of an unchanged machine."""


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """One load of the order.

    Args:
        number: place in the order, and the load's number.
        block: loads wrapped close together, on one film roll (or one pair of rolls).
        shift: when.
        roll: which roll of the pair, "A" or "B"; "" where both treatments share one.
        treatment: baseline or candidate.
        load_type: what is wrapped.
        machine: "" the machine of the trial, else an unchanged one beside it.
    """

    number: int
    block: str
    shift: str
    roll: str
    treatment: str
    load_type: str
    machine: str = ""


def order_of(trial: Trial, counts: list[int], names: list[str]) -> tuple[PlannedLoad, ...]:
    """A random order in blocks; each block holds the same loads with both treatments.

    Both treatments of a block share its shift and its film roll, so neither can pass for a
    treatment. Where each treatment takes film from a roll of its own, the two rolls change places
    in the next block.
    """
    if trial.is_fitted_once:
        return _before_and_after(trial, counts, names)
    rules = trial.order
    rng = np.random.default_rng(rules.seed)
    types = _spread_types(counts, names, rng)
    size = rules.loads_per_block
    blocks = [types[start : start + size] for start in range(0, len(types), size)]
    first_treatments = np.resize([0, 1], len(blocks))
    rng.shuffle(first_treatments)
    order: list[PlannedLoad] = []
    for index, block in enumerate(blocks):
        pairs = [(treatment, name) for treatment in TREATMENTS for name in block]
        if rules.changeover == "each load":
            pairs = [pairs[place] for place in rng.permutation(len(pairs))]
        else:
            halves = [pairs[: len(block)], pairs[len(block) :]]
            halves = [[half[place] for place in rng.permutation(len(half))] for half in halves]
            pairs = halves[first_treatments[index]] + halves[1 - first_treatments[index]]
        for treatment, name in pairs:
            order.append(
                PlannedLoad(
                    number=0,
                    block=str(index + 1),
                    shift=rules.shifts[index % len(rules.shifts)],
                    roll=_roll(rules.rolls, index, TREATMENTS.index(treatment)),
                    treatment=treatment,
                    load_type=name,
                )
            )
    return tuple(replace(each, number=place) for place, each in enumerate(order, start=1))


def _roll(rolls: str, block: int, treatment: int) -> str:
    return "" if rolls == "shared" else "AB"[(treatment + block) % 2]


def _spread_types(counts: list[int], names: list[str], rng: np.random.Generator) -> list[str]:
    """Load types, each spread evenly over the trial from a random start."""
    places = sorted(
        ((step + rng.random()) / count, name)
        for name, count in zip(names, counts, strict=True)
        for step in range(count)
    )
    return [name for _, name in places]


def _before_and_after(trial: Trial, counts: list[int], names: list[str]) -> tuple[PlannedLoad, ...]:
    """All loads of the baseline, roll by roll, then those of the candidate.

    A block is a roll of the trial's machine. Where an unchanged machine is weighed beside it, the
    same loads are wrapped there in the same block.
    """
    rules = trial.order
    rng = np.random.default_rng(rules.seed)
    order: list[PlannedLoad] = []
    for treatment in TREATMENTS:
        types = _spread_types(counts, names, rng)
        for start in range(0, len(types), rules.loads_per_block):
            of_roll = types[start : start + rules.loads_per_block]
            block = len({each.block for each in order}) + 1
            shift = rules.shifts[(block - 1) % len(rules.shifts)]
            for machine in ("", CONTROL) if trial.fitted_once.control else ("",):
                order += [
                    PlannedLoad(
                        number=0,
                        block=str(block),
                        shift=shift,
                        roll="" if machine else str(block),
                        # The unchanged machine keeps the baseline.
                        treatment=TREATMENTS[0] if machine else treatment,
                        load_type=name,
                        machine=machine,
                    )
                    for name in of_roll
                ]
    return tuple(replace(each, number=place) for place, each in enumerate(order, start=1))
